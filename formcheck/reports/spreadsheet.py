"""A formula as a spreadsheet: as CSV, and as an xlsx workbook whose sums, q.s. line and grams are live formulas.

Every text of the formula goes in as text: none of it can act as a spreadsheet's formula.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from ..bench.composition import Item
from ..bench.worksheet import Worksheet
from ..formula.table_shares import written
from ..reference.material import Material
from .csv_text import table
from .safe_text import one_line
from .steps import sentence

HEADINGS = ("Phase", "Ingredient", "INCI", "%", "g", "Lot", "Note")
_WIDTHS = (8, 34, 44, 12, 12, 14, 40)
_PERCENT, _GRAMS = "D", "E"
_HUNDRED_G = Decimal(100)
_ACTS = ("=", "+", "-", "@")


class NeedsOpenpyxl(Exception):
    """openpyxl is not installed; the message says how to install it."""


def csv_text(sheet: Worksheet) -> str:
    """The lines of the formula with their headings, for any spreadsheet program; begins with a UTF-8 mark."""
    return "\ufeff" + table([HEADINGS, *map(_row, sheet.items)])


def _row(item: Item) -> Sequence[str]:
    line = item.line
    weight = line.grams if line.grams is not None else item.grams
    return (
        item.phase.letter,
        line.name,
        inci_of(item.material),
        "q.s." if line.percent is None else written(line.percent),
        "" if weight is None else written(weight),
        line.lot or "",
        line.note or "",
    )


def inci_of(material: Material) -> str:
    """The INCI name, of a blend the names of what it contains; "" for a material of which nothing is known."""
    if not material.known:
        return ""
    return ", ".join(name for name, _ in material.contains) or material.inci


def xlsx_bytes(sheet: Worksheet) -> bytes:
    """The workbook. Raises NeedsOpenpyxl."""
    try:
        import openpyxl
    except ImportError:
        from ..reading.tables_xlsx import INSTALL

        raise NeedsOpenpyxl(INSTALL) from None
    book = openpyxl.Workbook()
    _Formula(book.active, sheet).write()
    if sheet.formula.procedure:
        _procedure(book.create_sheet("Procedure"), sheet)
    book.calculation.fullCalcOnLoad = True
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


class _Formula:
    """The sheet with the formula; what stands above the table decides where the table begins."""

    def __init__(self, page: Any, sheet: Worksheet) -> None:
        self.page = page
        self.sheet = sheet
        self.batch_cell = ""
        self.row = 0

    def write(self) -> None:
        self.page.title = "Formula"
        self.titles()
        self.row += 2
        for column, heading in enumerate(HEADINGS, 1):
            _put(self.page, self.row, column, heading, bold=True)
        self.page.freeze_panes = self.page.cell(self.row + 1, 1)
        first = self.row + 1
        for item in self.sheet.items:
            self.row += 1
            self.line(item, first)
        self.total(first)
        self.layout()

    def titles(self) -> None:
        formula = self.sheet.formula
        self.pair(formula.name, None, bold=True)
        for label, value in (("Code", formula.code), ("Version", formula.version)):
            if value:
                self.pair(label, value)
        self.pair("Batch size (g)", formula.batch.size_g or _HUNDRED_G)
        self.batch_cell = f"$B${self.row}"
        if self.sheet.stated_pH is not None:
            low, high = self.sheet.stated_pH
            self.pair("pH", f"{low:g}" if low == high else f"{low:g} to {high:g}")

    def pair(self, label: str, value: str | Decimal | None, bold: bool = False) -> None:
        self.row += 1
        _put(self.page, self.row, 1, label, bold)
        if value is not None:
            _put(self.page, self.row, 2, value)

    def line(self, item: Item, first: int) -> None:
        line = item.line
        for column, text in enumerate((item.phase.letter, line.name, inci_of(item.material)), 1):
            _put(self.page, self.row, column, text)
        share = self.page[f"{_PERCENT}{self.row}"]
        if line.percent is None:
            share.value = f"=100-{self.sum_of_others(first)}"
            share.number_format = '0.###" (q.s.)"'
        else:
            share.value = line.percent
        weight = self.page[f"{_GRAMS}{self.row}"]
        weight.value = line.grams if line.grams is not None else f"={_PERCENT}{self.row}/100*{self.batch_cell}"
        _put(self.page, self.row, 6, line.lot or "")
        _put(self.page, self.row, 7, line.note or "")

    def sum_of_others(self, first: int) -> str:
        """The sum of all percents but that of this row."""
        last = first + len(self.sheet.items) - 1
        ranges = [(first, self.row - 1), (self.row + 1, last)]
        named = ",".join(f"{_PERCENT}{low}:{_PERCENT}{high}" for low, high in ranges if low <= high)
        return f"SUM({named})" if named else "0"

    def total(self, first: int) -> None:
        last, self.row = self.row, self.row + 1
        _put(self.page, self.row, 1, "Total", bold=True)
        for letter in (_PERCENT, _GRAMS):
            self.page[f"{letter}{self.row}"].value = f"=SUM({letter}{first}:{letter}{last})"
            _bold(self.page[f"{letter}{self.row}"])

    def layout(self) -> None:
        for index, width in enumerate(_WIDTHS):
            self.page.column_dimensions["ABCDEFG"[index]].width = width
        self.page.page_setup.orientation = "landscape"
        self.page.page_setup.fitToWidth, self.page.page_setup.fitToHeight = 1, 0
        self.page.sheet_properties.pageSetUpPr.fitToPage = True


def _procedure(page: Any, sheet: Worksheet) -> None:
    """The steps in words; not read back."""
    for column, heading in enumerate(("Step", "What to do"), 1):
        _put(page, 1, column, heading, bold=True)
    for step in sheet.formula.procedure:
        _put(page, step.number + 1, 1, Decimal(step.number))
        _put(page, step.number + 1, 2, sentence(step))
    page.column_dimensions["B"].width = 90


def _put(page: Any, row: int, column: int, value: str | Decimal, bold: bool = False) -> None:
    """A value into a cell; text stays text, whatever it begins with."""
    if value == "":
        return
    cell = page.cell(row, column)
    if isinstance(value, str):
        cell.value = one_line(value)
        cell.data_type = "s"
        cell.quotePrefix = value.startswith(_ACTS)
    else:
        cell.value = value
    if bold:
        _bold(cell)


def _bold(cell: Any) -> None:
    from openpyxl.styles import Font

    cell.font = Font(bold=True)


def shown(sheet: Worksheet) -> Iterator[str]:
    """What the table leaves out, in words."""
    formula = sheet.formula
    for name, there in (
        ("product", bool(formula.product.places)),
        ("materials", bool(formula.materials)),
        ("packaging", formula.packaging is not None),
        ("claims", bool(formula.claims)),
        ("deviations", bool(formula.deviations)),
    ):
        if there:
            yield name
