"""What several commands share: packs named on the command line, and a word on a configuration that cannot be used."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..plugins import Plugins, gather
from ..reading.places import folder_of
from ..reference.store import Reference
from ..reports.safe_text import visible
from ..review.rule import Rule
from ..review.settings import BadSettings, Configuration

if TYPE_CHECKING:
    import argparse


def add_pack_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--pack",
        action="append",
        default=[],
        metavar="PACK",
        help="load a plug-in of your own and run its code: an installed module, or the path of a Python file",
    )


def plugins_of(options: argparse.Namespace) -> Plugins | None:
    """The plug-ins with the packs asked for; None where nobody asked for one."""
    return gather(packs=options.pack) if options.pack else None


def house_rules(rules: Sequence[Rule], reference: Reference) -> tuple[Rule, ...]:
    """The house rules that serve the working folder. Raises BadSettings."""
    return Configuration(rules, reference).of(folder_of("-")).house


def complain_of(error: BadSettings) -> int:
    """Says what is wrong with a configuration, a line a problem; gives the exit status."""
    for line in error.lines:
        print(visible(line), file=sys.stderr)
    return 2
