"""The weigh-out and making sheet of one formula: what a maker takes to the bench.

Grams to the step of the balance, the procedure in numbered steps with what to watch, the pH plan, cautions, and room to
tick, write and sign. The formula is reviewed at the size that is made, and open findings stand at the head; one on hold
says so in large letters. A formula that does not add up gets no sheet unless told. Exit status: 0 a
sheet, 1 a sheet of a formula on hold, 2 no sheet.
"""

from __future__ import annotations

import argparse
import sys
from decimal import Decimal
from typing import TYPE_CHECKING

from ..bench import batch_size
from ..bench.errors import NotGiven, OutOfRange
from ..bench.weigh_out import off_by, unsettled
from ..bench.worksheet import Worksheet
from ..formula.units import Misread
from ..reading.document import Place, Unreadable
from ..records import NamedTuple
from ..reports.safe_text import one_line, visible
from ..review.model import READY
from ..review.run import Reviewer
from .given import piped, say_at, say_faults, say_unreadable
from .main import complain
from .quantities import Quantity, containers, density, mass, percent
from .writing import put

if TYPE_CHECKING:
    from ..reports.making_sheet import Content

EXAMPLES = """examples:
  formcheck batch hand-gel.formula.yaml
  formcheck batch hand-gel.formula.yaml --size 750 g --loss 3 %
  formcheck batch hand-gel.formula.yaml --units 12 x 50 ml --loss 3 % --format html --output sheet.html
  formcheck batch hand-gel.formula.yaml --format csv --output weigh-out.csv
"""
USAGE = "formcheck batch FILE [--size 750 g | --units 12 x 50 ml] [options]"
FORMATS = ("text", "html", "json", "csv")


class _Made(NamedTuple):
    """The formula at the size that is made. balance_assumed: nobody said what the balance shows."""

    sheet: Worksheet
    amount: batch_size.Amount
    balance_assumed: bool


class _Refused(Exception):
    """There is no sheet; the message is one line for the user, the place where the file calls for it."""

    def __init__(self, message: str, place: Place | None = None) -> None:
        super().__init__(message)
        self.place = place


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", nargs="?", help="a formula file, or - for what is piped in")
    parser.usage = USAGE
    for option, metavar, about in (
        (
            "--size",
            ("MASS", "UNIT"),
            "make so much that this is left at the end, such as 750 g (default: the batch size in the file)",
        ),
        ("--units", ("N", "x CONTENT"), "make enough to fill these containers, such as 12 x 50 ml"),
        ("--loss", ("PERCENT", "%"), "how much sticks to the vessels, such as 3 %%; that much more is weighed"),
        (
            "--balance",
            ("MASS", "UNIT"),
            "the smallest step your balance shows, such as 0.01 g (default: the one in the file)",
        ),
        (
            "--density",
            ("NUMBER", "g/ml"),
            "how heavy the product is, where you measured it, such as 1.02 (default: worked out)",
        ),
    ):
        parser.add_argument(option, action=Quantity, nargs="+", metavar=metavar, help=about)
    parser.add_argument(
        "--as-written",
        action="store_true",
        help="make a sheet although the percents do not add to 100, and say so in large letters",
    )
    parser.add_argument(
        "--format",
        choices=FORMATS,
        default="text",
        help="text for the screen (default), html to print, csv or json for other programs",
    )
    parser.add_argument(
        "--paper",
        choices=("a4", "letter"),
        default="a4",
        help="the paper that html is laid out for: a4 (default) or letter",
    )
    parser.add_argument("--output", metavar="FILE", help="write the sheet to a file instead of the screen")


def run(options: argparse.Namespace) -> int:
    from ..reports.making_sheet import content

    named = [name for name in (options.file, getattr(options, "file_after", None)) if name is not None]
    if len(named) != 1:
        return complain(f"one formula file was expected{', not ' + ' and '.join(map(visible, named)) if named else ''}")
    file = named[0]
    reviewer = Reviewer()
    say_faults(reviewer)
    try:
        made = _make(options, reviewer.sheet(file, piped(file)))
        review = reviewer.judge(made.sheet, file)
        found = content(made.sheet, review, made.amount, review.threshold, made.balance_assumed)
    except Unreadable as error:
        return say_unreadable(file, error)
    except (Misread, NotGiven, OutOfRange) as error:
        return complain(one_line(str(error)))
    except _Refused as error:
        say_at(file, error.place, str(error)) if error.place else complain(one_line(str(error)))
        return 2
    if not put(_rendered(found, options), options.output, file):
        return 2
    return 0 if review.verdict == READY else 1


def _make(options: argparse.Namespace, sheet: Worksheet) -> _Made:
    """The formula at the size asked for. Raises Misread, NotGiven, OutOfRange and _Refused."""
    if options.size is not None and options.units is not None:
        raise _Refused("--size and --units both say how much is made; give one of them")
    asked = batch_size.Asked(
        mass(options.size, "the batch size"),
        containers(options.units),
        percent(options.loss or "0"),
        density(options.density),
    )
    balance = mass(options.balance, "the balance's step") or sheet.formula.batch.balance_g
    if not options.as_written:
        _refuse_what_does_not_add_up(sheet)
    found = batch_size.amount(sheet, asked)
    step = balance or Decimal(repr(sheet.limit("balance step where none is given")))
    scaled = batch_size.scaled(sheet.formula, found.batch_g, step)
    return _Made(Worksheet(scaled, sheet.book, sheet.today, sheet.options), found, balance is None)


def _refuse_what_does_not_add_up(sheet: Worksheet) -> None:
    why, off = unsettled(sheet), off_by(sheet)
    if not why and off is not None:
        side = "over" if off > 0 else "short of"
        why = f"the percents add to {sheet.composition.fixed.normalize():f}, {abs(off).normalize():f} {side} 100"
    if why:
        raise _Refused(
            f"{why}; no sheet is made of it (--as-written makes one all the same)", sheet.formula.phases_place
        )


def _rendered(found: Content, options: argparse.Namespace) -> str:
    if options.format == "html":
        from ..reports.making_html import page

        return page(found, options.paper)
    if options.format in ("json", "csv"):
        from ..reports.making_data import data, sheet_table

        return data(found) if options.format == "json" else sheet_table(found)
    from ..reports.making_text import text
    from ..reports.terminal import width_of

    return text(found, 96 if options.output else width_of(sys.stdout))
