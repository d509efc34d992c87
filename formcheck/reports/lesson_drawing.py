"""Pictures in plain characters: a ruler, bars and marks on it, rows with a label before and a value behind."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import log10

from ..review.words import number
from .safe_text import visible

LABEL = 27
TAIL = 11
FEWEST = 16


class Ruler:
    """A line of columns from low to high, in whose unit bars and marks are given. log: equal steps are equal factors."""

    def __init__(self, low: float, high: float, width: int, *, log: bool = False, label: int = LABEL) -> None:
        self.low, self.high, self.log, self.label = low, high, log, label
        self.columns = max(FEWEST, width - label - TAIL - 4)

    def column(self, value: float) -> int:
        """The column of a value; what lies outside is put at the end."""
        inside = min(max(value, self.low), self.high)
        if self.log:
            share = log10(inside / self.low) / log10(self.high / self.low)
        else:
            share = (inside - self.low) / (self.high - self.low)
        return round(share * (self.columns - 1))

    def blank(self) -> list[str]:
        return [" "] * self.columns

    def bar(self, start: float, end: float, mark: str = "=") -> list[str]:
        """Cells with a bar between two values, one column at least."""
        cells = self.blank()
        first, last = sorted((self.column(start), self.column(end)))
        for column in range(first, last + 1):
            cells[column] = mark
        return cells

    def window(self, start: float | None, end: float | None) -> list[str]:
        """Cells with a window; an open end is an arrow."""
        low, high = self.low if start is None else start, self.high if end is None else end
        cells = self.bar(low, high, "-")
        first, last = self.column(low), self.column(high)
        cells[first], cells[last] = "<" if start is None else "[", ">" if end is None else "]"
        return cells

    def mark(self, cells: list[str], value: float, mark: str) -> list[str]:
        """The cells with a mark over them."""
        cells[self.column(value)] = mark
        return cells

    def row(self, label: str, cells: Iterable[str], tail: str = "") -> str:
        return f"{short(label, self.label):<{self.label}} |{''.join(cells)}| {tail}".rstrip()

    def scale(self, values: Iterable[float], unit: str = "") -> str:
        """A line with the values under their columns; those that would run into each other are left out."""
        line = ""
        start = self.label + 2
        for value in values:
            text = number(value)
            at = max(0, start + self.column(value) - len(text) // 2)
            if not line or at > len(line):
                line = line.ljust(at) + text
        return f"{line} {unit}".rstrip()


def short(text: str, most: int = LABEL) -> str:
    """A label, harmless and no longer than there is room."""
    plain = " ".join(visible(text).split())
    return plain if len(plain) <= most else plain[: most - 2].rstrip(" ,(/-") + ".."


def ticks(low: float, high: float, step: float) -> Iterator[float]:
    """low, low + step, ... up to high."""
    value = low
    while value <= high + 1e-9:
        yield value
        value += step


def round_up(value: float) -> float:
    """The next 1, 2 or 5 times a power of ten that is not smaller."""
    from math import ceil

    scale = 10.0 ** ceil(log10(value) - 1.0) if value > 0 else 1.0
    return next(step * scale for step in (1.0, 2.0, 5.0, 10.0) if step * scale >= value * (1 - 1e-9))
