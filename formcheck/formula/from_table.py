"""A spreadsheet's table -> what a formula file says: phases, lines, and all that found no place in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from ..reading.tables import Area, BadTable, Sheet, within
from ..records import NamedTuple
from . import table_words as words
from .names import fold
from .table_columns import Column, Head, head_of, with_table
from .table_rows import Aside, Row, Rows, Unclear, rows_of
from .table_shares import NEAR, WHOLE, Shares, agrees, written
from .table_titles import Titles

_NEARLY = Decimal("0.005")


class Line(NamedTuple):
    """One line of the formula to be. percent: None for q.s.; grams: only where they are not what percent and batch give."""

    name: str
    percent: Decimal | None
    grams: Decimal | None = None
    lot: str = ""
    note: str = ""
    inci: str = ""
    row: int = 0


class Understood(NamedTuple):
    """What a table says. unclear: cells that were not understood, each with its row as a comment in its phase.

    columns: as they were taken; remarks: what was guessed or worked out, a sentence each; titles: name, code,
    version and pH from cells above the table, those that stand there.
    """

    sheet: Sheet
    head: Head
    columns: tuple[Column, ...]
    phases: dict[str, list[Line]]
    unclear: tuple[Unclear, ...]
    asides: tuple[Aside, ...]
    remarks: tuple[str, ...]
    titles: dict[str, str]
    batch_g: Decimal | None


def understand(sheets: list[Sheet], area: Area | None = None, columns: Mapping[str, int] | None = None) -> Understood:
    """The formula in the only table of some sheets.

    area: the cells to keep to; columns: meaning -> column, as named by hand. Raises BadTable.
    """
    given = columns or {}
    if area is not None:
        sheets = [cut for sheet in sheets if (cut := within(sheet, area)).rows]
        if not sheets:
            raise BadTable("there is nothing in that range of cells")
    sheet = sheets[0] if len(sheets) == 1 else with_table(sheets)
    others = [other.name for other in sheets if other is not sheet]
    head, repeated = head_of(sheet, given)
    comma, said = _decimal_mark(sheet)
    head = _with_amount(sheet, head, comma)
    rows = rows_of(sheet, head, repeated, comma)
    remarks = [*sheet.remarks, *said]
    if others:
        remarks.append(f"left unread: {', '.join(f'sheet «{name}»' for name in others)}")
    if repeated:
        remarks.append(f"the headings stand again in row {', '.join(str(each.rows[0]) for each in repeated)}")
    return _Formula(sheet, head, rows, remarks).made()


def _decimal_mark(sheet: Sheet) -> tuple[bool, list[str]]:
    """Whether the table's numbers have a decimal comma; and a word on it."""
    told = [words.has_comma(cell.text) for row in sheet.rows for cell in row if cell.number is None]
    commas, points = told.count(True), told.count(False)
    if not commas:
        return False, []
    mixed = ["numbers with a decimal comma and with a decimal point stand side by side; each was read as it is written"]
    return commas >= points, mixed if points else ["its numbers have a decimal comma"]


def _with_amount(sheet: Sheet, head: Head, comma: bool) -> Head:
    """A column of amounts in no stated unit: percents where it has q.s. or adds to 100, else grams."""
    column = next((each for each in head.columns.values() if each.meaning == words.AMOUNT), None)
    if column is None:
        return head
    meanings = {each.meaning for each in head.columns.values()}
    meaning = words.GRAMS if words.PERCENT in meanings else words.PERCENT
    if not meanings & {words.PERCENT, words.GRAMS}:
        cells = [
            cell for row in sheet.rows for cell in row if cell.column == column.number and row[0].row > max(head.rows)
        ]
        said = [words.amount(cell.text, comma) for cell in cells]
        whole = sum((each.value for each in said if each.value is not None), Decimal(0))
        percents = any(each.remainder for each in said) or any(cell.as_percent for cell in cells)
        near = abs(whole - WHOLE) <= 1 or abs(whole - 2 * WHOLE) <= 2  # with its total, twice
        meaning = words.PERCENT if percents or near else words.GRAMS
    return Head(head.rows, {**head.columns, column.number: column._replace(meaning=meaning)})


class _Formula:
    """Lines from rows: equal names joined, figures held against the totals."""

    def __init__(self, sheet: Sheet, head: Head, rows: Rows, remarks: list[str]) -> None:
        self.head = head
        self.rows = rows
        self.titles = Titles(rows.above)
        self.shares = Shares(sheet, head, list(rows.rows), rows.sums, self.titles.batch_g)
        self.remarks = [*remarks, *self.shares.remarks]
        self.sheet = sheet

    def made(self) -> Understood:
        if self.rows.without_phases and self.rows.rows:
            self.remarks.append("no phases are named; all is in phase A")
        phases: dict[str, list[Line]] = {}
        for row, share in zip(self.rows.rows, self.shares.shares):
            if share is not None:
                self.add(phases.setdefault(row.phase, []), row, share)
        if not phases:
            raise BadTable("no row has a name and an amount that could be understood")
        self.check_sums(phases)
        return Understood(
            self.sheet,
            self.head,
            tuple(column for _, column in sorted(self.head.columns.items())),
            phases,
            tuple(sorted((*self.rows.unclear, *self.shares.unclear), key=lambda each: each.number)),
            (*self.titles.asides, *self.rows.asides),
            tuple(dict.fromkeys(self.remarks)),
            self.titles.texts,
            self.shares.batch_g,
        )

    # --- lines

    def add(self, lines: list[Line], row: Row, share: words.Amount) -> None:
        """A line; a second one of the same name in the phase is joined with the first, which a file can have but once."""
        new = Line(row.name, share.value, self.odd_grams(row, share), row.lot, row.note, row.inci, row.number)
        same = next((index for index, line in enumerate(lines) if fold(line.name) == fold(new.name)), None)
        if same is None:
            lines.append(new)
            return
        old = lines[same]
        both = None if old.percent is None or new.percent is None else old.percent + new.percent
        note = f"rows {old.row} and {new.row}: {_share(old)} and {_share(new)}"
        self.remarks.append(f"{new.name} stands twice in phase {row.phase} and was made one line ({note})")
        notes = "; ".join(text for text in (old.note, new.note, note) if text)
        lots = "; ".join(dict.fromkeys(text for text in (old.lot, new.lot) if text))
        weights = [line.grams for line in (old, new) if line.grams is not None]
        lines[same] = old._replace(
            percent=both, note=notes, lot=lots, grams=sum(weights, Decimal(0)) if weights else None
        )

    def odd_grams(self, row: Row, share: words.Amount) -> Decimal | None:
        """The grams of a row, where they are not what its percent of the batch is, as far as their digits tell."""
        grams = row.grams.value if row.grams is not None else None
        if grams is None or not self.shares.from_percents:
            return None
        batch = self.shares.batch_g
        if batch and (share.value is None or agrees(share.value, grams, batch)):
            return None
        return grams

    def check_sums(self, phases: Mapping[str, Iterable[Line]]) -> None:
        """Holds the totals of the table against its lines and says what came of it."""
        lines = [line for each in phases.values() for line in each]
        whole = sum((line.percent for line in lines if line.percent is not None), Decimal(0))
        open_ = any(line.percent is None for line in lines)
        weights = [row.grams.value for row in self.rows.rows if row.grams is not None and row.grams.value is not None]
        for each in self.rows.sums:
            if each.part:
                continue
            if self.shares.from_percents and each.percent is not None:
                fraction = abs(each.percent - 1) <= NEAR and whole > 1 + NEAR
                self.say(each.row, each.percent * WHOLE if fraction else each.percent, whole, "%", open_)
            elif not self.shares.from_percents and each.grams is not None and not open_:
                self.say(each.row, each.grams, sum(weights, Decimal(0)), "g", False)

    def say(self, row: int, stated: Decimal, whole: Decimal, unit: str, open_: bool) -> None:
        if abs(stated - (WHOLE if open_ else whole)) < _NEARLY:
            self.remarks.append(f"the total in row {row} agrees: {written(stated)} {unit}")
        else:
            made = f"{written(whole)} {unit}{' and a q.s. line' if open_ else ''}"
            self.remarks.append(f"the total in row {row} says {written(stated)} {unit}; the lines are {made}")


def _share(line: Line) -> str:
    return "q.s." if line.percent is None else f"{written(line.percent)} %"
