"""The percents do not add to 100."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from formcheck.bench.composition import EXACT, Item
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import number, percent

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="percents that do not add to 100, with no line left open as q.s.",
    harm="cannot be made",
    why=(
        "Percents are shares of the whole. When they do not add to 100 nobody knows which line is wrong, and every "
        "weight worked out from them is off."
    ),
    remedy="Find the line that is off, or write q.s. for the water so that it takes what is left.",
    options=(
        Option("tolerance", 0.01, "%", "how far from 100 the sum may be"),
        Option("water takes up", 5, "%", "up to how far from 100 a correction lets the only water line take the rest"),
    ),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: 93.5, Glycerin: 4, Xanthan Gum: 0.6}
  B: {Phenoxyethanol: 0.9}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: 94.5, Glycerin: 4, Xanthan Gum: 0.6}
  B: {Phenoxyethanol: 0.9}
""",
)


FINEST = Decimal("1e-20")
"""A percent with more decimals was not written by a person, and is not scaled."""


def check(sheet: Worksheet) -> Iterator[Finding]:
    if any(item.line.is_remainder for item in sheet.items):
        return
    total = sheet.composition.fixed
    off = total - 100
    if abs(off) <= Decimal(str(rule.option("tolerance", sheet))):
        return
    direction = "over" if off > 0 else "short of"
    water = max((item for item in sheet.items if item.material.is_a("water")), key=lambda i: i.amount, default=None)
    remedy = rule.remedy if water is not None else "Find the line that is off."
    if water is not None and water.percent is not None and water.percent - off > 0:
        remedy = (
            f"Find the line that is off. Where all the others are right, {water.name} at {percent(water.percent - off)} "
            "makes it add up, or q.s. in its place, which takes what is left."
        )
    yield rule.finding(
        (sheet.formula.phases_place, "/phases"),
        f"the percents add to {percent(total)}, {percent(abs(off))} {direction} 100 %",
        remedy=remedy,
        source=sheet.reference.cite(rule.sources),
    )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """The only line of water takes what is missing or too much; or, on request, all lines are scaled."""
    from formcheck.review.corrections import Correction, editor_of, percent_edit, written

    edits = editor_of(sheet)
    off = sheet.composition.fixed - 100
    lines = [(item.line, item.line.percent) for item in sheet.items if item.line.percent is not None]
    scaled = _scaled([share for _, share in lines])
    if scaled:
        changes = zip(lines, scaled)
        yield Correction(
            f"every percent is multiplied by {number(100 / sheet.composition.fixed)}",
            tuple(percent_edit(edits, line, written(new)) for (line, old), new in changes if new != old),
            asked="rescale",
        )
    water = _only_water(sheet)
    if water is not None and water.line.percent is not None and water.line.percent - off > 0:
        small = abs(off) <= Decimal(str(rule.option("water takes up", sheet)))
        new = written(water.line.percent - off)
        what = f"{water.name}: {written(water.line.percent)} becomes {new}"
        yield Correction(what, (percent_edit(edits, water.line, new),), asked="" if small else "water")


def _only_water(sheet: Worksheet) -> Item | None:
    """The line of water, where there is one and no more."""
    lines = [item for item in sheet.items if item.material.is_a("water") and not item.material.is_a("plant water")]
    return lines[0] if len(lines) == 1 else None


def _scaled(shares: list[Decimal]) -> list[Decimal]:
    """Shares that add to 100 exactly, with two decimals or as many as the finest had; the largest takes the rounding."""
    total = sum(shares)
    if not shares or min(shares) <= 0:
        return []
    step = Decimal(1).scaleb(min(-2, *(int(share.as_tuple().exponent) for share in shares)))
    if step < FINEST:
        return []
    scaled = [EXACT.quantize(EXACT.divide(share * 100, total), step) for share in shares]
    largest = max(range(len(shares)), key=lambda index: shares[index])
    scaled[largest] += 100 - sum(scaled)
    return scaled if min(scaled) > 0 else []
