"""A picture of what is in it: the whole as a bar cut into phases, and every phase as a bar cut into its lines."""

from __future__ import annotations

from collections.abc import Iterator

from ..bench.composition import Item
from ..bench.worksheet import Worksheet
from ..review.words import grams, listed, number, percent
from .drawing import WIDTH, box, fitting, line, picture, width_of, words
from .markup import Markup
from .picture import Picture, Table

_FILLS = (None, "rising", "dots", "level", "falling", "grid", "upright", "empty")
_LEFT = 4.0
_LONG = WIDTH - 2 * _LEFT
_BAR, _ENTRY = 22.0, 17.0
_MOST_LINES = 14
_TITLE = "What is in it, phase by phase"


def parts(sheet: Worksheet, id: str) -> Picture | None:
    """The picture; None where no percent is known."""
    if not any(item.amount > 0 for item in sheet.items):
        return None
    chart = _Chart(sheet)
    shapes = list(chart.shapes())
    summary = _summary(sheet, chart)
    drawn = picture(id, WIDTH, chart.y + 4, _TITLE, summary, shapes)
    key = "The first bar is the whole. Below it each phase has a bar of its own, cut into its lines."
    return Picture(id, _TITLE, drawn, summary, (_table(sheet),), key)


def _summary(sheet: Worksheet, chart: _Chart) -> str:
    said = [f"{_phase(letter)} {_share(amount)}" for letter, amount in chart.phases.items()]
    text = f"{listed(said)} of the whole."
    if abs(chart.sum - 100) > 0.005:
        text += f" Together that is {_share(chart.sum)}, not 100 %."
    largest = max(sheet.items, key=lambda item: item.amount)
    return f"{text[:1].upper()}{text[1:]} Most of it is {largest.name}, {_share(largest.amount)}."


def _table(sheet: Worksheet) -> Table:
    rows = [
        (
            item.phase.letter,
            item.name,
            ("q.s., " if item.line.is_remainder else "") + ("open" if item.percent is None else percent(item.percent)),
            "" if item.grams is None else grams(item.grams),
        )
        for item in sheet.items
    ]
    return Table("The lines", ("phase", "material", "% w/w", "in the batch"), tuple(rows))


def _phase(letter: str) -> str:
    return f"phase {letter}" if len(letter) <= 2 else letter


def _share(amount: float) -> str:
    return f"{number(amount, 4)} %"


class _Chart:
    """Draws from the top down; y is how far it has come."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet
        self.phases: dict[str, float] = {}
        for item in sheet.items:
            self.phases[item.phase.letter] = self.phases.get(item.phase.letter, 0.0) + max(item.amount, 0.0)
        self.sum = sum(self.phases.values())
        self.y = 4.0

    def shapes(self) -> Iterator[Markup]:
        yield from self._whole()
        for number_, letter in enumerate(self.phases):
            yield from self._one(number_, letter)

    def _whole(self) -> Iterator[Markup]:
        yield words(_LEFT, self.y + 10, "the whole", "strong")
        self.y += 16
        scale = _LONG / max(self.sum, 100.0)
        x = _LEFT
        for index, (letter, amount) in enumerate(self.phases.items()):
            wide = amount * scale
            yield box(x, self.y, wide, _BAR, "part", _fill(index))
            label = letter if wide < 60 else f"{letter} {_share(amount)}"
            if width_of(label) + 4 < wide:
                yield words(x + wide / 2, self.y + 15, label, "strong halo", "middle")
            x += wide
        if self.sum < 99.995:
            yield box(x, self.y, _LEFT + _LONG - x, _BAR, "missing")
        elif self.sum > 100.005:
            full = _LEFT + 100 * scale
            yield line(full, self.y - 5, full, self.y + _BAR + 5, "breach-line")
        self.y += _BAR
        if abs(self.sum - 100) > 0.005:
            word = f"{_share(100 - self.sum)} missing" if self.sum < 100 else f"{_share(self.sum - 100)} too much"
            yield words(_LEFT + _LONG, self.y + 14, word, "strong", "end")
            self.y += 12
        self.y += 14

    def _one(self, index: int, letter: str) -> Iterator[Markup]:
        items = [item for item in self.sheet.items if item.phase.letter == letter]
        amount = self.phases[letter]
        yield box(_LEFT, self.y + 1, 10, 10, "part", _fill(index))
        head = f"{_phase(letter)}: {_share(amount)} of the whole"
        yield words(_LEFT + 16, self.y + 10, fitting(head[:1].upper() + head[1:], _LONG - 16), "strong")
        self.y += 16
        if amount > 0:
            yield from self._bar(items, amount)
        items = sorted(items, key=lambda item: -item.amount)
        for rank, item in enumerate(items[:_MOST_LINES]):
            yield from self._entry(rank, item)
        if len(items) > _MOST_LINES:
            more = f"and {len(items) - _MOST_LINES} more; the table has them all"
            yield words(_LEFT + 16, self.y + 12, more, "small")
            self.y += _ENTRY
        self.y += 12

    def _bar(self, items: list[Item], amount: float) -> Iterator[Markup]:
        x = _LEFT
        for rank, item in enumerate(sorted(items, key=lambda each: -each.amount)):
            wide = max(item.amount, 0.0) / amount * _LONG
            yield box(x, self.y, wide, _BAR - 8, "part", _fill(rank))
            x += wide
        self.y += _BAR - 4

    def _entry(self, rank: int, item: Item) -> Iterator[Markup]:
        share = "open" if item.percent is None else percent(item.percent)
        if item.line.is_remainder:
            share = f"q.s., {share}"
        weight = "" if item.grams is None else grams(item.grams)
        yield box(_LEFT, self.y + 3, 10, 10, "part", _fill(rank))
        yield words(_LEFT + 16, self.y + 12, fitting(item.name, 218), "label")
        yield words(308, self.y + 12, share, "label", "end")
        yield words(_LEFT + _LONG, self.y + 12, weight, "small", "end")
        self.y += _ENTRY


def _fill(index: int) -> str | None:
    return _FILLS[index % len(_FILLS)]
