"""What Nettle Row, an invented allotment workshop, adds to formcheck: two rules, a kind of raw material, a report."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from formcheck.plugins import implements
from formcheck.review.model import Review
from formcheck.review.rule import Rule, pack


@implements
def formcheck_rules() -> Iterable[Rule]:
    """Every file of rules/<family>/ is a rule."""
    from . import rules

    return pack(rules)


@implements
def formcheck_materials() -> Iterable[str]:
    """A class of material, the materials in it, the limits that our rules read, and the source of both."""
    return [str(Path(__file__).with_name("garden.yaml"))]


@implements
def formcheck_reports() -> dict[str, Callable[[Iterable[Review]], str]]:
    """formcheck review --format slate"""
    from .slate import slate

    return {"slate": slate}
