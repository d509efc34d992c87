"""The rows of a formula's table, one by one: lines, headings of phases, totals, and words that are none of these."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from ..reading.tables import Cell, Sheet
from ..records import NamedTuple
from . import table_words as words
from .table_columns import Column, Head

_RESTS = re.compile(r"\(?\s*(?:100\s*%?|1)\s*-.*", re.S)
"""A formula such as =100-SUM(D4:D12): as much as is missing."""

UNSTORED = "a formula whose value is not stored; open and save it in a spreadsheet program"
_LONGEST_PHASE = 16
_WHOLE = Decimal(100)


class Row(NamedTuple):
    """One material of the table. percent, grams: what the cells say, None where they are empty."""

    number: int
    name: str
    phase: str
    inci: str = ""
    percent: words.Amount | None = None
    grams: words.Amount | None = None
    percent_cell: str = ""
    grams_cell: str = ""
    lot: str = ""
    note: str = ""
    as_percent: bool = False


class Aside(NamedTuple):
    """A cell that is no part of a line: its reference and its text."""

    cell: str
    text: str


class Unclear(NamedTuple):
    """A cell that was not understood. number: of its row; row: all of that in words, which is kept as a comment."""

    number: int
    cell: str
    text: str
    why: str
    row: str = ""
    phase: str = ""


class Sum(NamedTuple):
    """A row that sums up. percent, grams: its figures, None where it has none or they are not stored."""

    row: int
    label: str
    part: bool
    percent: Decimal | None
    grams: Decimal | None


class Rows(NamedTuple):
    """What the table says, in its order. above, below: cells outside of the lines."""

    rows: tuple[Row, ...]
    above: tuple[tuple[Cell, ...], ...]
    asides: tuple[Aside, ...]
    unclear: tuple[Unclear, ...]
    sums: tuple[Sum, ...]
    without_phases: bool


def rows_of(sheet: Sheet, head: Head, repeated: Iterable[Head], comma: bool) -> Rows:
    """Goes through the table. comma: its numbers have a decimal comma."""
    return _Reader(sheet, head, comma).run({number for each in (head, *repeated) for number in each.rows})


class _Reader:
    def __init__(self, sheet: Sheet, head: Head, comma: bool) -> None:
        self.sheet = sheet
        self.columns = head.columns
        self.first = max(head.rows, default=0)
        self.comma = comma
        self.at: dict[str, Column] = {
            column.meaning: column for column in head.columns.values() if column.meaning != words.OTHER
        }
        self.phase = ""
        self.rows: list[Row] = []
        self.above: list[tuple[Cell, ...]] = []
        self.asides: list[Aside] = []
        self.unclear: list[Unclear] = []
        self.sums: list[Sum] = []
        self.phases: dict[str, Cell] = {}
        self.cells: dict[tuple[int, int], Cell] = {(cell.row, cell.column): cell for row in sheet.rows for cell in row}

    def run(self, headings: set[int]) -> Rows:
        for row in self.sheet.rows:
            number = row[0].row
            if number in headings:
                self.notes_of(row)
            elif number < self.first:
                self.above.append(row)
            else:
                self.take({cell.column: cell for cell in row})
        without = not any(row.phase for row in self.rows)
        if without:
            self.rows = [row._replace(phase="A") for row in self.rows]
            self.unclear = [each._replace(phase="A") for each in self.unclear]
        self.keep(cell for phase, cell in self.phases.items() if phase not in self.used)
        return Rows(
            tuple(self.rows), tuple(self.above), tuple(self.asides), tuple(self.unclear), tuple(self.sums), without
        )

    @property
    def used(self) -> set[str]:
        """Phases that hold something."""
        return {row.phase for row in self.rows} | {each.phase for each in self.unclear}

    def notes_of(self, row: Iterable[Cell]) -> None:
        """Comments fixed to headings are words to keep too."""
        self.asides.extend(Aside(cell.reference, f"comment: {cell.note}") for cell in row if cell.note)

    # --- one row

    def take(self, row: dict[int, Cell]) -> None:
        named = self.cell(row, words.INGREDIENT) or self.cell(row, words.INCI)
        measured = self.cell(row, words.PERCENT) or self.cell(row, words.GRAMS)
        first = min(row.values(), key=lambda cell: cell.column)
        if words.is_total(first.text) or (named is not None and words.is_total(named.text)):
            self.total(row, named if named is not None and words.is_total(named.text) else first)
        elif measured is None and self.heads_a_phase(row, first):
            pass
        elif named is None:
            self.nameless(row, measured)
        elif not named.text:
            self.not_understood(row, named, UNSTORED)
        elif measured is None:
            self.amountless(row, named)
        elif self.ended:
            self.not_understood(row, named, "a material below the total")
        else:
            self.line(row)

    def cell(self, row: dict[int, Cell], meaning: str) -> Cell | None:
        """The cell of a meaning, if it holds anything; a merged cell counts in each of its rows, except for amounts."""
        column = self.at.get(meaning)
        if column is None:
            return None
        found = row.get(column.number)
        if found is None and meaning in (words.PHASE, words.NOTE, words.LOT) and row:
            number = next(iter(row.values())).row
            found = self.cells.get(self.sheet.merged.get((number, column.number), (0, 0)))
        return found if found is not None and (found.text or found.formula) else None

    def heads_a_phase(self, row: dict[int, Cell], first: Cell) -> bool:
        """Takes a row that names the phase of those below it; whether it is one."""
        if self.cell(row, words.INCI) or self.cell(row, words.INGREDIENT) not in (None, first) or self.ended:
            return False
        column = self.at.get(words.PHASE)
        short = column is not None and first.column == column.number and len(first.text) <= _LONGEST_PHASE
        own = words.phase_name(first.text) if short else words.phase_heading(first.text)
        if own is None:
            return False
        self.enter(own[0], first)
        if own[1]:
            self.asides.append(Aside(first.reference, f"phase {own[0]}: {own[1]}"))
        self.keep(cell for cell in row.values() if cell is not first)
        return True

    def enter(self, phase: str, cell: Cell) -> None:
        self.phase = phase
        self.phases.setdefault(phase, cell)

    @property
    def ended(self) -> bool:
        """Whether a total of all stands above."""
        return any(not each.part for each in self.sums)

    def keep(self, cells: Iterable[Cell]) -> None:
        """Cells that say something, kept as words."""
        for cell in cells:
            if cell.text or cell.note:
                text = cell.text + (f" (comment: {cell.note})" if cell.note else "")
                self.asides.append(Aside(cell.reference, text.strip()))

    def nameless(self, row: dict[int, Cell], measured: Cell | None) -> None:
        """A row without a name: a total that does not say so, or words."""
        if measured is not None and self.sums_up(measured):
            self.total(row, measured)
        elif measured is not None and words.amount(measured.text, self.comma).value is not None:
            self.not_understood(row, measured, "an amount without a name")
        else:
            self.keep(row.values())

    def sums_up(self, cell: Cell) -> bool:
        """Whether an amount is what the lines above it add to, or the whole of 100."""
        column = self.at.get(words.PERCENT)
        in_percent = column is not None and cell.column == column.number
        value = cell.number if cell.number is not None else words.amount(cell.text, self.comma).value
        if cell.formula.upper().startswith("SUM(") or (in_percent and value == 100):
            return True
        written = [row.percent if in_percent else row.grams for row in self.rows]
        return value is not None and value == sum(each.value for each in written if each and each.value is not None)

    def amountless(self, row: dict[int, Cell], named: Cell) -> None:
        """A name without an amount: words below the table, or a material that nobody gave an amount."""
        column = self.at.get(words.PERCENT) or self.at.get(words.GRAMS)
        shared = column is not None and self.sheet.merged.get((named.row, column.number))
        if self.ended:
            self.keep(row.values())
        elif shared:
            self.not_understood(row, named, "its amount is merged with that of another row")
        else:
            self.not_understood(row, named, "a name without an amount")

    def not_understood(self, row: dict[int, Cell], cell: Cell, why: str) -> None:
        shown = " | ".join(text for _, each in sorted(row.items()) if (text := each.text or f"={each.formula}"))
        self.unclear.append(
            Unclear(cell.row, cell.reference, cell.text or f"={cell.formula}", why, shown, self.phase_of(row))
        )

    def phase_of(self, row: dict[int, Cell]) -> str:
        cell = self.cell(row, words.PHASE)
        return words.phase_name(cell.text)[0] if cell is not None else self.phase

    def total(self, row: dict[int, Cell], label: Cell) -> None:
        percent, grams = self.figure(row, words.PERCENT), self.figure(row, words.GRAMS)
        said = label.text if label.number is None else ""
        self.sums.append(Sum(label.row, said, words.is_subtotal(said), percent, grams))
        used = {column.number for column in self.at.values() if column.meaning in (words.PERCENT, words.GRAMS)}
        self.keep(cell for cell in row.values() if cell is not label and cell.column not in used)

    def figure(self, row: dict[int, Cell], meaning: str) -> Decimal | None:
        cell = self.cell(row, meaning)
        if cell is None:
            return None
        said = self.said(cell)
        unit = self.unit(meaning)
        return said.value * unit if said.value is not None else None

    # --- a line

    def line(self, row: dict[int, Cell]) -> None:
        phase = self.cell(row, words.PHASE)
        if phase is not None:
            name, rest = words.phase_name(phase.text)
            if rest and name != self.phase:
                self.asides.append(Aside(phase.reference, f"phase {name}: {rest}"))
            self.enter(name, phase)
        ingredient, inci = self.cell(row, words.INGREDIENT), self.cell(row, words.INCI)
        name_cell = ingredient or inci
        assert name_cell is not None
        percent, grams = self.cell(row, words.PERCENT), self.cell(row, words.GRAMS)
        self.rows.append(
            Row(
                name_cell.row,
                " ".join(name_cell.text.split()),
                self.phase,
                " ".join(inci.text.split()) if inci is not None and ingredient is not None else "",
                self.said(percent) if percent is not None else None,
                self.weighed(grams) if grams is not None else None,
                percent.reference if percent is not None else "",
                grams.reference if grams is not None else "",
                self.text(row, words.LOT),
                self.note(row),
                percent.as_percent if percent is not None else False,
            )
        )

    def said(self, cell: Cell) -> words.Amount:
        """What a cell says of an amount: its number, its text, or what its formula means."""
        if cell.formula and _RESTS.fullmatch(cell.formula):
            return words.Amount(remainder=True)
        if not cell.computed:
            return words.Amount(why=UNSTORED)
        if cell.number is not None:
            return words.Amount(cell.number)
        column = self.at.get(words.PERCENT)
        most = _WHOLE if column is not None and cell.column == column.number else None
        return words.amount(cell.text, self.comma, most)

    def weighed(self, cell: Cell) -> words.Amount:
        """The same in grams, by the unit of the cell or of the heading."""
        said = self.said(cell)
        if said.value is None:
            return said
        own = words.grams_in(said.unit) if said.unit else self.unit(words.GRAMS)
        if own is None:
            return words.Amount(why=f"«{said.unit}» is no unit of mass")
        return said._replace(value=said.value * own)

    def unit(self, meaning: str) -> Decimal:
        return words.unit_of(self.at[meaning].heading) if meaning == words.GRAMS else Decimal(1)

    def text(self, row: dict[int, Cell], meaning: str) -> str:
        cell = self.cell(row, meaning)
        return " ".join(cell.text.split()) if cell is not None else ""

    def note(self, row: dict[int, Cell]) -> str:
        """The note of a line, and all that stands in columns which a formula has no key for."""
        said = [self.text(row, words.NOTE)]
        for number, cell in sorted(row.items()):
            column = self.columns.get(number)
            other = column is not None and column.meaning == words.OTHER and not words.is_numbering(column.heading)
            text = " ".join(cell.text.split()) if cell.computed else f"={cell.formula}"
            if column is not None and other and text:
                said.append(f"{column.label}: {text}")
            if cell.note:
                said.append(f"comment on {cell.reference}: {cell.note}")
        return "; ".join(text for text in said if text)
