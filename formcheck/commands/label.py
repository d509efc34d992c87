"""The label of one formula: the list of ingredients in the order that the law of a market wants, and what else is due.

INCI names, blends expanded and merged, by weight from 1 % and then in any order, fragrance allergens over their
thresholds, colourants last, nano marked; names as the United States use them there. It says which wordings are due, what
to decide about shelf life, and what is still missing. It is a draft: the official text and the safety assessment decide.
Exit status: 0 shown, 2 the file could not be read or the list not be worked out.
"""

from __future__ import annotations

import argparse
import sys

from ..bench.errors import NotGiven
from ..formula.names import listed
from ..reading.document import Unreadable
from ..reports.safe_text import visible
from ..review.run import Reviewer
from .given import piped, say_at, say_faults, say_unreadable
from .main import complain
from .writing import put

EXAMPLES = """examples:
  formcheck label hand-gel.formula.yaml
  formcheck label hand-gel.formula.yaml --market US
  formcheck label lavender-balm.formula.yaml --oils-as-perfume
  formcheck label hand-gel.formula.yaml --format json --output label.json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a formula file, or - for what is piped in")
    parser.add_argument(
        "--market",
        action="append",
        metavar="MARKET",
        help="whose law the label goes by: EU, UK, US or CA; give it again for several (default: the markets in the file)",
    )
    parser.add_argument(
        "--oils-as-perfume",
        action="store_true",
        help="list essential oils under the word for perfume, as they are there for their scent; their allergens are named all "
        "the same",
    )
    parser.add_argument(
        "--format",
        choices=("text", "json"),
        default="text",
        help="text for the screen (default) or json for other programs",
    )
    parser.add_argument("--output", metavar="FILE", help="write the label to a file instead of the screen")


def run(options: argparse.Namespace) -> int:
    from ..bench.declaration import label
    from ..reference.label_law import markets
    from ..reports import label_report
    from ..reports.terminal import width_of

    reviewer = Reviewer()
    say_faults(reviewer)
    try:
        sheet = reviewer.sheet(options.file, piped(options.file))
    except Unreadable as error:
        return say_unreadable(options.file, error)
    known = markets()
    wanted = list(dict.fromkeys(market.upper() for market in options.market or sheet.product.markets))
    strange = [market for market in wanted if market not in known]
    if strange and (options.market or len(strange) == len(wanted)):
        return complain(
            f"the labels of {listed(map(visible, strange))} are not described here; known are {listed(known)}"
        )
    for market in strange:
        print(f"formcheck: the labels of {visible(market)} are not described here and left out", file=sys.stderr)
    try:
        labels = [label(sheet, market, options.oils_as_perfume) for market in wanted if market in known]
    except NotGiven as error:
        say_at(options.file, sheet.formula.phases_place, str(error))
        return 2
    if options.format == "json":
        text = label_report.data(sheet, labels)
    else:
        text = label_report.text(sheet, labels, 96 if options.output else width_of(sys.stdout))
    return 0 if put(text, options.output, options.file) else 2
