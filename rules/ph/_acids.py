"""Peeling acids held against published guidance: how much, and at which pH."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from formcheck.bench.composition import EXACT, Component, total
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold
from formcheck.records import NamedTuple
from formcheck.reference.legal import Guidance
from formcheck_rules.ph._beyond import watery

AHA = "alpha-hydroxy acids"
SALICYLIC = "salicylic acid"
EXFOLIATES_FROM = "share of an alpha-hydroxy acid that asks for its wording"
DISSOLVED_IN_A_BATH = ("bath", "powder", "toothpaste", "mouthwash")


class Counted(NamedTuple):
    """A substance that guidance counts. percent: % w/w as the free acid."""

    component: Component
    percent: Decimal


class Acids(NamedTuple):
    """All that a published limit counts together, and the limit. percent: their sum, % w/w as free acid."""

    held: tuple[Counted, ...]
    percent: Decimal
    level: Guidance

    @property
    def names(self) -> list[str]:
        return [each.component.name for each in self.held]


def peels(sheet: Worksheet) -> Acids | None:
    """The alpha-hydroxy acids, where they are enough to peel and stay in contact with skin as they are."""
    if not sheet.holds("alpha-hydroxy acid") or not watery(sheet) or sheet.product.form in DISSOLVED_IN_A_BATH:
        return None
    found = guided(sheet, AHA)
    if found is None or found.percent < Decimal(repr(sheet.limit(EXFOLIATES_FROM))):
        return None
    return found


def exfoliating(sheet: Worksheet) -> list[Component]:
    """Free alpha-hydroxy acids of a product that peels by them; their salts alone moisten."""
    found = peels(sheet)
    if found is None:
        return []
    free = [each for each in found.held if not each.component.material.is_a("electrolyte")]
    enough = total(each.percent for each in free) >= Decimal(repr(sheet.limit(EXFOLIATES_FROM)))
    return [each.component for each in free] if enough else []


def guided(sheet: Worksheet, subject: str) -> Acids | None:
    """What the formula holds of a subject of guidance, with the strictest level that surely fits the product."""
    levels = [level for level in sheet.legal.guidance(subject, sheet.product) if level.used and level.certain]
    if not levels:
        return None
    level = min(levels, key=lambda each: each.max_percent or Decimal(100))
    names, cas = {fold(name) for name in level.names}, set(level.cas)
    held = tuple(
        Counted(component, _as_acid(component, names))
        for component in sheet.components
        if component.percent > 0 and (_named(component, names) or cas & set(component.material.cas))
    )
    return Acids(held, total(each.percent for each in held), level) if held else None


def _named(component: Component, names: set[str]) -> bool:
    return fold(component.name) in names or not names.isdisjoint(component.material.releases)


def _as_acid(component: Component, names: Iterable[str]) -> Decimal:
    share = next((share for name, share in component.material.releases.items() if name in names), None)
    return component.percent if share is None else EXACT.multiply(component.percent, Decimal(repr(share)))
