"""The pH of one formula: windows of all that is in it, predicted and target pH, and how much acid or base it takes.

The prediction is an acid-base equilibrium of the water phase at 25 °C with an honest band; it serves to choose a first
portion, and the meter decides. Exit status: 0 shown, also where parts could not be worked out; 2 the file could not be
read or an argument not used.
"""

from __future__ import annotations

import argparse
import sys

from ..reading.document import Unreadable
from ..review.run import Reviewer
from .given import piped, say_faults, say_unreadable

EXAMPLES = """examples:
  formcheck ph hand-gel.formula.yaml
  formcheck ph hand-gel.formula.yaml --measured 5.9
  formcheck ph hand-gel.formula.yaml --with "lactic acid" --strength 20 --to 5.2
  formcheck ph hand-gel.formula.yaml --format json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a formula file, or - for what is piped in")
    parser.add_argument(
        "--format",
        choices=("text", "json"),
        default="text",
        help="text for the screen (default) or json for other programs",
    )
    parser.add_argument("--measured", type=_pH, metavar="PH", help="plan from this pH, the one your meter shows now")
    parser.add_argument("--to", type=_pH, metavar="PH", help="aim for this pH instead of the one in the file")
    parser.add_argument("--with", dest="reagent", metavar="MATERIAL", help="adjust with this acid or base")
    parser.add_argument(
        "--strength",
        type=_strength,
        metavar="PERCENT",
        help="how strong its solution is, %% w/w; 100 for the pure substance",
    )


def run(options: argparse.Namespace) -> int:
    from ..bench.ph_overview import Asked, overview

    reviewer = Reviewer()
    say_faults(reviewer)
    try:
        sheet = reviewer.sheet(options.file, piped(options.file))
    except Unreadable as error:
        return say_unreadable(options.file, error)
    found = overview(sheet, Asked(options.measured, options.to, options.reagent, options.strength))
    if options.format == "json":
        from ..reports.ph_json import render

        print(render(options.file, sheet, found), end="")
        return 0
    from ..reports.ph_page import PHPage
    from ..reports.terminal import wants_colour, width_of

    page = PHPage(sheet, found, min(width_of(sys.stdout), 96), wants_colour(sys.stdout))
    print("\n".join(page.lines(options.file)).rstrip())
    return 0


def _pH(text: str) -> float:
    return _number(text, "a pH is a number from 0 to 14, such as 5.5", 0.0, 14.0)


def _strength(text: str) -> float:
    return _number(text.strip().rstrip("%"), "a strength is a percent above 0, at most 100, such as 20", 1e-9, 100.0)


def _number(text: str, allowed: str, low: float, high: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise argparse.ArgumentTypeError(f"«{text}»: {allowed}")
    return value
