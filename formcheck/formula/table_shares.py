"""The share of every row of a table in the whole: from its percents, or from its grams."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from ..reading.tables import BadTable, Sheet
from . import table_words as words
from .table_columns import Head
from .table_rows import Row, Sum, Unclear

WHOLE = Decimal(100)
NEAR = Decimal("0.0005")
"""How far from 1 the sum of a column of fractions may be."""
_STEP = Decimal("0.000001")
_MOST_DIGITS = 20
_ENOUGH = 100
"""Rows of which the batch is asked; every answer is held against all rows."""
_NOBODY_MINDS, _A_SPECK_G = Decimal("0.01"), Decimal("0.005")


def written(value: Decimal) -> str:
    """A number without an exponent and without trailing zeros."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def agrees(percent: Decimal, grams: Decimal, batch_g: Decimal) -> bool:
    """Whether grams are what a percent of the batch is, rounded, and by no more than nobody would weigh differently."""
    meant = percent * batch_g / WHOLE
    half_a_step = Decimal(1).scaleb(min(0, int(grams.normalize().as_tuple().exponent))) / 2
    return abs(meant - grams) <= min(half_a_step, abs(meant) * _NOBODY_MINDS + _A_SPECK_G)


class Shares:
    """shares: one a row, None for a row that was not understood and is noted in unclear. Raises BadTable when made.

    batch_g: as stated, else what the grams are of; from_percents: whether the table has percents.
    """

    def __init__(self, sheet: Sheet, head: Head, rows: list[Row], sums: Iterable[Sum], batch_g: Decimal | None) -> None:
        self.sheet = sheet
        self.head = head
        self.totals = [each.grams for each in sums if each.grams and not each.part]
        self.batch_g = batch_g
        self.unclear: list[Unclear] = []
        self.remarks: list[str] = []
        self.from_percents = any(column.meaning == words.PERCENT for column in head.columns.values())
        self.shares = self.percents(rows) if self.from_percents else self.from_grams(rows)

    def percents(self, rows: list[Row]) -> list[words.Amount | None]:
        """The share of every row; None for one that was not understood, which is noted."""
        self.batch_g = self.batch_g or self.batch_of(rows)
        factor = self.factor(rows)
        taken = self.taken(rows)
        return [self.percent(self.as_needed(row, taken), factor) for row in rows]

    @staticmethod
    def taken(rows: list[Row]) -> bool:
        """Whether a row says plainly that it takes all that is missing to the whole."""
        return any(row.percent is not None and row.percent.remainder and not row.percent.needed for row in rows)

    @staticmethod
    def as_needed(row: Row, taken: bool) -> Row:
        """Beside a row that takes the rest a bare q.s. means as much as it takes, which is no percent."""
        said = row.percent
        if not taken or said is None or not said.needed:
            return row
        why = "as much as it takes is no percent; give one, or write a step that adjusts with it"
        return row._replace(percent=words.Amount(why=why))

    def factor(self, rows: list[Row]) -> Decimal:
        """100 where a column of percents holds fractions of one."""
        said = [row.percent for row in rows if row.percent is not None and row.percent.value is not None]
        open_ = any(row.percent is not None and row.percent.remainder for row in rows)
        whole = sum((each.value for each in said if each.value is not None), Decimal(0))
        if open_ or len(said) < 2 or any(row.as_percent for row in rows) or abs(whole - 1) > NEAR:
            return Decimal(1)
        self.remarks.append("the percents are written as fractions of one and were multiplied by 100")
        return WHOLE

    def percent(self, row: Row, factor: Decimal) -> words.Amount | None:
        said = row.percent
        if said is not None and (said.remainder or said.value is not None) and said.unit in ("", "%"):
            return said._replace(value=said.value * factor) if said.value is not None else said
        if row.grams is not None and row.grams.value is not None and self.batch_g and said is None:
            value = _trimmed(_rounded(row.grams.value / self.batch_g * WHOLE))
            self.remarks.append(f"the percent of {row.name} was worked out from its grams")
            return words.Amount(value)
        cell, why = row.percent_cell or row.grams_cell, said.why if said is not None else "there is no percent"
        self.not_understood(row, cell, why or f"«{said.unit if said else ''}» is no percent")
        return None

    def from_grams(self, rows: list[Row]) -> list[words.Amount | None]:
        """Shares of the whole weight; they add to exactly 100 where every row has its grams."""
        weights: list[Decimal | None] = []
        open_ = [row for row in rows if row.grams is not None and row.grams.remainder]
        for row in rows:
            known = row.grams is not None and (row.grams.value is not None or row.grams.remainder)
            weights.append(row.grams.value if row.grams is not None else None)
            if not known:
                self.not_understood(
                    row, row.grams_cell, row.grams.why if row.grams is not None else "there are no grams"
                )
        whole = self.whole_g([weight for weight in weights if weight is not None], open_)
        self.batch_g = self.batch_g or whole
        self.remarks.append(f"percents were worked out from the grams, of {written(whole)} g in all")
        shares = [None if weight is None else _rounded(weight / whole * WHOLE) for weight in weights]
        numbers = [share for share in shares if share is not None]
        if not open_ and abs(sum(numbers) - WHOLE) <= _STEP * len(numbers):
            largest = shares.index(max(numbers))
            shares[largest] = max(numbers) + WHOLE - sum(numbers)
        return [self.share(row, share) for row, share in zip(rows, shares)]

    @staticmethod
    def share(row: Row, share: Decimal | None) -> words.Amount | None:
        if row.grams is not None and row.grams.remainder:
            return row.grams
        return None if share is None else words.Amount(_trimmed(share))

    def whole_g(self, weights: list[Decimal], open_: list[Row]) -> Decimal:
        """The weight of all. Raises BadTable where a q.s. line leaves it open."""
        if not open_:
            whole = sum(weights, Decimal(0))
            if whole <= 0:
                raise BadTable("the grams add to nothing")
            return whole
        stated = [row.grams.to for row in open_ if row.grams is not None and row.grams.to is not None]
        found = [each for each in (*stated, *self.totals, self.batch_g) if each]
        if not found:
            raise BadTable(
                f"{open_[0].name} is q.s. (cell {open_[0].grams_cell}), and nothing says how many grams the whole has; "
                "add a row with the total, or a column of percents"
            )
        return found[0]

    def batch_of(self, rows: list[Row]) -> Decimal | None:
        """The batch that the grams beside the percents are of: the one with which most rows agree."""
        pairs = [
            (row.percent.value, row.grams.value)
            for row in rows
            if row.percent is not None and row.percent.value and row.grams is not None and row.grams.value is not None
        ]
        weights = [row.grams.value for row in rows if row.grams is not None and row.grams.value is not None]
        heading = self.batch_of_heading()
        if not weights:
            return heading
        ratios = dict.fromkeys(_rounded(grams / percent * WHOLE) for percent, grams in pairs[:_ENOUGH])
        whole = [sum(weights, Decimal(0))] if len(weights) == len(rows) else []
        candidates = [each for each in (heading, *self.totals, *whole, *ratios) if each]

        def agreeing(batch: Decimal) -> int:
            return sum(agrees(percent, grams, batch) for percent, grams in pairs)

        best = max(candidates, key=agreeing, default=None)
        return None if best is None or (pairs and not agreeing(best)) else _trimmed(best)

    def batch_of_heading(self) -> Decimal | None:
        """The batch in a heading such as «Batch 500 g»."""
        for column in self.head.columns.values():
            match = re.search(r"([0-9][0-9.,]*)\s*(k?g)\b", column.heading) if column.meaning == words.GRAMS else None
            value = words.number(match.group(1), False) if match else None
            if match and value:
                return value * (words.grams_in(match.group(2)) or 1)
        return None

    def not_understood(self, row: Row, cell: str, why: str) -> None:
        said = row.percent if row.percent_cell == cell else row.grams
        written = self.text_of(cell) if said is not None else ""
        rest = " | ".join(text for text in (row.name, row.inci, written, row.lot, row.note) if text)
        self.unclear.append(Unclear(row.number, cell or f"row {row.number}", written or row.name, why, rest, row.phase))

    def text_of(self, reference: str) -> str:
        cells = (cell for row in self.sheet.rows for cell in row if cell.reference == reference)
        cell = next(cells, None)
        return "" if cell is None else cell.text or f"={cell.formula}"


def _rounded(value: Decimal) -> Decimal:
    """To a millionth; as it is where it has too many digits before the point for that."""
    return value.quantize(_STEP) if value.adjusted() < _MOST_DIGITS else value


def _trimmed(value: Decimal) -> Decimal:
    return Decimal(written(value))
