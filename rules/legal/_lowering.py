"""Lowering a line to a legal limit: what two rules correct alike, on request."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from formcheck.bench.composition import Item
from formcheck.bench.law import Held
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding
from formcheck.review.words import listed

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction, Edit, Editor


def lowered(sheet: Worksheet, held: Iterable[Held], finding: Finding) -> Iterator[Correction]:
    """The line of the finding at the most that all limits allow; the q.s. line takes the rest, else the only water.

    Only where a single line brings the substance: of two, nobody can say which to lower.
    """
    from formcheck.review.corrections import Correction, editor_of, percent_edit, written

    over = [each for each in held if each.over and each.component.line.path == finding.path]
    lines = {id(part.item): part.item for each in over for part in each.component.parts}
    most = min((_most(each) for each in over), default=Decimal(0))
    if len(lines) != 1 or most <= 0:
        return
    item = next(iter(lines.values()))
    if item.line.percent is None:
        return
    edits = editor_of(sheet)
    markets = listed(sorted({each.limit.market for each in over}))
    yield Correction(
        f"{item.name}: {written(item.line.percent)} becomes {written(most)}, the most that {markets} allows",
        (percent_edit(edits, item.line, written(most)), *_rest(sheet, edits, item.line.percent - most)),
        asked="legal-maximum",
    )


def _most(held: Held) -> Decimal:
    """% of the line, rounded down: two decimals, four where it is little."""
    whole, most = held.component.parts[0].item.percent, held.limit.max_percent
    if not held.limit.permitted or not held.counted or whole is None or most is None:
        return Decimal(0)
    value = whole * most / held.counted
    step = Decimal(1).scaleb(-2 if value >= Decimal("0.1") else -4)
    return (value // step) * step


def _rest(sheet: Worksheet, edits: Editor, percent: Decimal) -> tuple[Edit, ...]:
    from formcheck.review.corrections import CannotEdit, percent_edit, written

    if any(item.line.is_remainder for item in sheet.items):
        return ()
    water = [item for item in sheet.items if _is_water(item)]
    if len(water) != 1 or water[0].line.percent is None:
        raise CannotEdit("neither a q.s. line nor one of water takes the rest; decide what does")
    return (percent_edit(edits, water[0].line, written(water[0].line.percent + percent)),)


def _is_water(item: Item) -> bool:
    return item.material.is_a("water") and not item.material.is_a("plant water")
