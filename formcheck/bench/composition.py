"""What is in the formula, from the lines as written down to single substances, in exact decimals."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from decimal import Context, Decimal

from ..formula.model import Formula, Line, Phase
from ..formula.names import fold
from ..records import NamedTuple
from ..reference.material import Material
from ..reference.store import MaterialBook

HUNDRED = Decimal(100)
EXACT = Context(prec=60)
"""Enough digits that sums of percents, and products with the shares of blends in blends, are exact."""
DEEPEST_BLEND = 6
MOST_PARTS = 10_000
"""Of a formula with more parts than this no more are worked out, and it is not reviewed: blends of wide blends grow as
fast as they are deep."""


class Item(NamedTuple):
    """One line of the formula with the material behind it.

    percent: % w/w of the formula, the q.s. line worked out (None where that is impossible); grams: for the batch size.
    """

    line: Line
    phase: Phase
    material: Material
    percent: Decimal | None
    grams: Decimal | None

    @property
    def name(self) -> str:
        """As the formula writes it."""
        return self.line.name

    @property
    def amount(self) -> float:
        """% w/w as a float, 0 where it is unknown or less than nothing: for physics, not for sums."""
        return max(0.0, float(self.percent)) if self.percent is not None else 0.0


class Part(NamedTuple):
    """A material inside a line: the line's own, or what its blend contains. percent: % w/w of the formula."""

    material: Material
    percent: Decimal
    item: Item
    blend: Material | None = None

    @property
    def amount(self) -> float:
        """% w/w of the formula as a float: for physics, not for sums."""
        return float(self.percent)

    @property
    def label(self) -> str:
        """Its name, with the blend it comes in."""
        return f"{self.material.name} (in {self.blend.name})" if self.blend else self.material.name


class ByClass:
    """Parts of a formula, found by the classes of their materials; in the order of the formula."""

    def __init__(self, parts: Sequence[Part]) -> None:
        self.parts = parts
        self._of: defaultdict[str, list[Part]] = defaultdict(list)
        for part in parts:
            for name in part.material.classes:
                self._of[name].append(part)

    def has(self, classes: Sequence[str]) -> bool:
        """Whether any part belongs to one of the classes."""
        return not self._of.keys().isdisjoint(classes)

    def of(self, classes: Sequence[str]) -> Sequence[Part]:
        """The parts that belong to one of the classes."""
        if self._of.keys().isdisjoint(classes):
            return ()
        there = [name for name in classes if name in self._of]
        if len(there) == 1:
            return self._of[there[0]]
        return [part for part in self.parts if not part.material.classes.isdisjoint(there)]


class Component(NamedTuple):
    """A single substance, summed over all lines and blends that bring it."""

    material: Material
    percent: Decimal
    parts: tuple[Part, ...]

    @property
    def amount(self) -> float:
        """% w/w of the formula as a float: for physics, not for sums."""
        return float(self.percent)

    @property
    def name(self) -> str:
        """The substance's name in the reference, else as the formula writes it."""
        return self.material.name

    @property
    def line(self) -> Line:
        """The first line that brings it."""
        return self.parts[0].item.line

    @property
    def label(self) -> str:
        """Its name, with the blends that bring it."""
        blends = list(dict.fromkeys(part.blend.name for part in self.parts if part.blend))
        return f"{self.name} (in {', '.join(blends)})" if blends else self.name


class Composition(NamedTuple):
    """fixed: sum of the written percents; remainder: what q.s. stands for, None without exactly one q.s. line.

    items: lines in the order written; parts: the lines with blends expanded to what they contain; components: parts
    of one material summed, in the order of first mention.
    """

    fixed: Decimal
    remainder: Decimal | None
    items: tuple[Item, ...]
    parts: tuple[Part, ...]
    components: tuple[Component, ...]


def compose(formula: Formula, book: MaterialBook) -> Composition:
    """Works the composition of a formula out."""
    lines = [(phase, line) for phase in formula.phases for line in phase.lines]
    fixed = total(line.percent for _, line in lines if line.percent is not None)
    open_lines = sum(1 for _, line in lines if line.percent is None)
    remainder = EXACT.subtract(HUNDRED, fixed) if open_lines == 1 else None
    size = formula.batch.size_g
    items = tuple(_item(line, phase, book, remainder, size) for phase, line in lines)
    parts: list[Part] = []
    for item in items:
        if item.percent is not None:
            _expand(item.material, item.percent, item, None, book, parts, 0)
    return Composition(fixed, remainder, items, tuple(parts), _merge(parts))


def total(percents: object) -> Decimal:
    """The exact sum of decimals."""
    result = Decimal(0)
    for percent in percents:  # type: ignore[attr-defined]
        result = EXACT.add(result, percent)
    return result


def _item(line: Line, phase: Phase, book: MaterialBook, remainder: Decimal | None, size: Decimal | None) -> Item:
    percent = line.percent
    if percent is None and remainder is not None and remainder >= 0:
        percent = remainder
    grams = EXACT.multiply(EXACT.divide(percent, HUNDRED), size) if percent is not None and size is not None else None
    return Item(line, phase, book.material(line.name), percent, grams)


def _expand(
    material: Material,
    percent: Decimal,
    item: Item,
    blend: Material | None,
    book: MaterialBook,
    parts: list[Part],
    depth: int,
) -> None:
    if len(parts) > MOST_PARTS:
        return
    contains = material.contains
    if not contains or depth >= DEEPEST_BLEND:
        parts.append(Part(material, percent, item, blend))
        return
    for name, share in contains:
        inner = book.material(name)
        if fold(inner.name) == fold(material.name):
            inner = Material(inner.name, {}, inner.classes, inner.known)
        amount = EXACT.divide(EXACT.multiply(percent, Decimal(repr(share))), HUNDRED)
        _expand(inner, amount, item, blend or material, book, parts, depth + 1)


def _merge(parts: list[Part]) -> tuple[Component, ...]:
    grouped: dict[str, list[Part]] = {}
    for part in parts:
        grouped.setdefault(fold(part.material.name), []).append(part)
    return tuple([Component(group[0].material, _sum(group), tuple(group)) for group in grouped.values()])


def _sum(group: list[Part]) -> Decimal:
    return group[0].percent if len(group) == 1 else total(part.percent for part in group)
