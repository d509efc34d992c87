"""Make a formula file from a spreadsheet, or a spreadsheet from a formula file.

From a spreadsheet (.xlsx, .csv, .tsv): headings in English, German, French or Spanish for phase, ingredient, INCI,
percent, grams, lot and note; decimal commas, q.s., totals and merged phases are understood. It says what each column was
taken for and which cells it did not understand; columns that a formula has no place for become notes of the lines, other
cells comments. From a formula: an xlsx with live sums, or CSV.

Exit status: 0 all was understood, 1 written with some cells not understood, 2 nothing was written.
"""

from __future__ import annotations

import argparse
import os
import re
import sys

from ..formula import table_words as words
from ..formula.names import suggestion
from ..reading.document import Unreadable
from ..reading.tables import Area, BadTable, area_of, column_of, is_table, read_sheets
from ..reports.safe_text import visible
from ..review.run import Reviewer
from ..review.settings import BadSettings
from .configured import complain_of
from .given import say_unreadable
from .main import complain
from .saving import NotSaved, save

EXAMPLES = """examples:
  formcheck convert hand-gel.xlsx hand-gel.formula.yaml
  formcheck convert gels.xlsx hand-gel.formula.yaml --sheet "Hand gel" --range A3:F18
  formcheck convert list.csv hand-gel.formula.yaml --column ingredient=B --column percent=D
  formcheck convert hand-gel.formula.yaml hand-gel.xlsx
"""
_YAML = (".yaml", ".yml")
_OTHER_TABLES = (".xls", ".xlsb", ".ods", ".numbers")
_PLAIN_NAMES = re.compile(r"(?:sheet|tabelle|feuil|hoja|blatt|table)\s*\d*", re.I)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("source", metavar="IN", help="a spreadsheet (.xlsx, .csv, .tsv) or a formula file")
    parser.add_argument(
        "target",
        metavar="OUT",
        nargs="?",
        help="the formula file (.formula.yaml) or spreadsheet (.xlsx, .csv) to write; left out, the text goes to the screen",
    )
    parser.add_argument("--sheet", metavar="NAME", help="read this sheet, where several have a table")
    parser.add_argument("--range", metavar="A3:F18", help="keep to these cells, headings included")
    parser.add_argument(
        "--column",
        action="append",
        default=[],
        metavar="MEANING=LETTER",
        help=f"say what a column holds, as in percent=D: {', '.join(words.MEANINGS)}; give it again for several",
    )
    parser.add_argument("--name", metavar="NAME", help="call the product so, where the spreadsheet does not say")
    parser.add_argument(
        "--replace", action="store_true", help="write the file even where there is one of that name already"
    )


class _Unusable(Exception):
    """What was asked for cannot be done; the message is for the user."""


def run(options: argparse.Namespace) -> int:
    if options.source.lower().endswith(_OTHER_TABLES):
        return complain(
            f"{visible(options.source)}: spreadsheets of this kind are not read; save it as .xlsx or as .csv"
        )
    try:
        return _from_table(options) if is_table(options.source) else _from_formula(options)
    except BadTable as error:
        return complain(f"{visible(options.source)}: {visible(str(error))}")
    except NotSaved as error:
        return complain(f"{visible(options.target)}: {visible(str(error))}")
    except BadSettings as error:
        return complain_of(error)
    except _Unusable as error:
        return complain(visible(str(error)))


# --- a spreadsheet becomes a formula


def _from_table(options: argparse.Namespace) -> int:
    from ..formula.from_table import understand
    from ..reports import formula_file, table_report
    from ..reports.terminal import width_of

    _check_target(options, _YAML, "a formula is written as YAML; name a file that ends in .formula.yaml")
    columns = _columns(options.column)
    area = _area(options.range)
    table = understand(read_sheets(options.source, options.sheet), area, columns)
    reviewer = Reviewer()
    book = reviewer.reference

    def heading(name: str) -> str | None:
        found = book.find(name)
        return None if found is None else found.name

    name = options.name or table.titles.get("name") or _name_of(options.source, table.sheet.name)
    text = formula_file.formula_text(table, name, table_report.where(table), heading)
    _check_reads(reviewer, options.target or "converted.formula.yaml", text)
    report = table_report.text(table, width_of(sys.stdout))
    if options.target is None:
        sys.stderr.write(report)
        sys.stdout.write(text)
    else:
        save(options.target, text.encode())
        sys.stdout.write(report)
        lines = sum(map(len, table.phases.values()))
        print(f"{visible(options.target)} has {_counted(lines, 'line')} in {_counted(len(table.phases), 'phase')}.")
        print(f"Next: formcheck review {visible(options.target)}")
    return 1 if table.unclear else 0


def _columns(asked: list[str]) -> dict[str, int]:
    """Meaning -> column, from `percent=D`. Raises _Unusable."""
    found = {}
    for text in asked:
        meaning, _, letter = text.partition("=")
        same = [known for known in words.MEANINGS if known.lower() == meaning.strip().lower()]
        if not same:
            hint = suggestion(meaning, words.MEANINGS) or f"; there are {', '.join(words.MEANINGS)}"
            raise _Unusable(f"«{meaning}» is nothing that a column holds{hint}")
        if not re.fullmatch(r"[A-Za-z]{1,3}", letter.strip()):
            raise _Unusable(f"«{text}» names no column; write it as {same[0]}=D")
        found[same[0]] = column_of(letter.strip())
    return found


def _area(text: str | None) -> Area | None:
    try:
        return None if text is None else area_of(text)
    except ValueError as error:
        raise _Unusable(str(error)) from None


def _name_of(source: str, sheet: str) -> str:
    """A name for the product where the table gives none: the sheet's, unless that says nothing, else the file's."""
    if sheet and not _PLAIN_NAMES.fullmatch(sheet.strip()):
        return sheet.strip()
    stem = os.path.splitext(os.path.basename(source))[0]
    return " ".join(re.sub(r"[_\-]+", " ", stem).split()) or "Formula"


def _check_reads(reviewer: Reviewer, path: str, text: str) -> None:
    """What is written has to be a formula file. Raises _Unusable."""
    try:
        reviewer.sheet(path, text.encode())
    except Unreadable as error:
        problem = error.problems[0]
        raise _Unusable(f"the table makes no formula that can be read: {problem.message}") from None


# --- a formula becomes a spreadsheet


def _from_formula(options: argparse.Namespace) -> int:
    from ..reports import spreadsheet

    if options.sheet or options.range or options.column or options.name:
        raise _Unusable("--sheet, --range, --column and --name are for reading a spreadsheet, and IN is a formula file")
    _check_target(options, (".xlsx", ".csv"), "a formula is written as .xlsx or .csv")
    try:
        sheet = Reviewer().sheet(options.source)
    except Unreadable as error:
        return say_unreadable(options.source, error)
    try:
        if options.target is None:
            sys.stdout.write(spreadsheet.csv_text(sheet).lstrip("\ufeff"))
            return 0
        workbook = options.target.lower().endswith(".xlsx")
        data = spreadsheet.xlsx_bytes(sheet) if workbook else spreadsheet.csv_text(sheet).encode()
    except spreadsheet.NeedsOpenpyxl as error:
        raise _Unusable(str(error)) from None
    save(options.target, data)
    left = ", ".join(spreadsheet.shown(sheet))
    rest = f"; {left} stand in the formula file only" if left else ""
    print(f"{visible(options.target)} has {_counted(len(sheet.items), 'line')}{rest}.")
    return 0


def _check_target(options: argparse.Namespace, endings: tuple[str, ...], otherwise: str) -> None:
    """Raises _Unusable for a target of the wrong kind, or one that is there already."""
    if options.target is None:
        return
    if not options.target.lower().endswith(endings):
        raise _Unusable(f"{options.target}: {otherwise}")
    if os.path.exists(options.target) and not options.replace:
        raise _Unusable(f"{options.target} is already there and was left alone; --replace writes it anew")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
