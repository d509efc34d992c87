"""The built-in rules: one folder a family, one file a rule. A plug-in like anybody else's."""

from __future__ import annotations

import sys
from collections.abc import Iterable

from formcheck.plugins import implements
from formcheck.review.rule import Rule, pack


@implements
def formcheck_rules() -> Iterable[Rule]:
    """All built-in rules."""
    return pack(sys.modules[__name__])
