"""Perfume, essential oil or alcohol in a hot vessel."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.composition import Part
from formcheck.bench.thermal import SETTLED_K, Moment
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names
from formcheck_rules.heat._later import behind_cooling
from formcheck_rules.heat._setting import sets_hot

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="fragrance, essential oil or alcohol in a vessel so hot that it goes off, or its vapour can catch fire",
    harm="fails",
    why=(
        "What makes the scent is what leaves first: the product smells flat and of the wrong things. Vapour of alcohol "
        "and of many oils over a hot plate can catch fire."
    ),
    remedy="Let the vessel cool before it goes in; cover it, and keep flames and hot plates away.",
    needs=("procedure",),
    facts=("flash point", "maximum temperature"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s., Lavandula Angustifolia Oil: 0.5}
procedure:
  - heat: A
    to: 75 °C
  - fill: A
    at: 60 °C
""",
    mended="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
  B: {Lavandula Angustifolia Oil: 0.5}
procedure:
  - heat: A
    to: 75 °C
  - cool: A
    to: 55 °C
  - add: B
    into: A
  - fill: A
""",
)

FRAGRANT = ("essential oil", "fragrance")


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("volatile alcohol", *FRAGRANT)


def check(sheet: Worksheet) -> Iterator[Finding]:
    yield from _findings(sheet, sheet.outer(*FRAGRANT), "fragrance in a hot vessel")
    alcohol = sheet.outer("volatile alcohol")
    if sum(part.amount for part in alcohol) >= sheet.limit("alcohol that matters when heated"):
        yield from _findings(sheet, alcohol, "alcohol in a hot vessel")


def _findings(sheet: Worksheet, parts: tuple[Part, ...], limit_name: str) -> Iterator[Finding]:
    limit = sheet.limit(limit_name)
    groups: dict[int, list[tuple[Part, Moment]]] = {}
    for part in parts:
        own = sheet.value(part.material, "maximum temperature")
        bound = max(limit, own) if own is not None else limit
        first = next(
            (m for m in sheet.thermal.path_of(part.item) if m.celsius is not None and m.celsius > bound + SETTLED_K),
            None,
        )
        if first is not None:
            groups.setdefault(first.step.number if first.step else 0, []).append((part, first))
    for group in groups.values():
        first = group[0][1]
        step = first.step
        hot = first.celsius or 0
        flashing = names(
            f"{part.label} (flash point {celsius(flash)})"
            for part, _ in group
            if (flash := sheet.value(part.material, "flash point")) is not None and flash < hot
        )
        where = f"in vessel {first.vessel} at step {step.number} ({step.verb})" if step else "from the start"
        message = (
            f"{names(part.label for part, _ in group)}: {celsius(hot)} {where}; below {celsius(limit)} it stays in"
        )
        yield rule.finding(
            step or group[0][0].item.line,
            message + (f"; its vapour can catch fire: {flashing}" if flashing else ""),
            remedy=f"Add it below {celsius(limit)}. {rule.remedy}",
            source=sheet.cite_limit(limit_name),
            harm="untidy" if _poured_with_it(sheet, group) else None,
            materials=[part.material.name for part, _ in group],
            step=step.number if step else None,
        )


def _poured_with_it(sheet: Worksheet, group: list[tuple[Part, Moment]]) -> bool:
    """Perfume that goes into a stick or bar just before it is poured, or with it: it has to be hot."""
    scents = all(part.material.is_a(*FRAGRANT) for part, _ in group)
    hottest = max(first.celsius or 0 for _, first in group)
    going_in = all(first.step is not None and first.step.verb in ("add", "fill") for _, first in group)
    return scents and going_in and hottest <= sheet.limit("perfume in what is poured hot") and sets_hot(sheet)


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """It goes in after the cooling that the procedure has already."""
    limits = ("fragrance in a hot vessel", "alcohol in a hot vessel")
    yield from behind_cooling(sheet, finding, min(map(sheet.limit, limits)))
