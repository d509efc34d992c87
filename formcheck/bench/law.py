"""What a formula holds against what the law of a market allows, each in the form in which the law counts it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from ..formula.names import fold
from ..records import NamedTuple
from ..reference.legal import Ban, Limit, binding
from ..reference.masses import ELEMENTS, share_of
from .composition import EXACT, Component, total

if TYPE_CHECKING:
    from ..reference.material import Material
    from .worksheet import Worksheet


class Held(NamedTuple):
    """A substance under a limit. counted: % w/w as the limit counts it; None where the conversion is not known."""

    component: Component
    limit: Limit
    counted: Decimal | None

    @property
    def over(self) -> bool:
        """Whether it is over the limit, or not allowed in this product at all."""
        most = self.limit.max_percent
        if not self.limit.permitted:
            return self.component.percent > 0
        return most is not None and self.counted is not None and self.counted > most


class Together(NamedTuple):
    """Substances that the law counts together. held: in the order of the formula."""

    group: str
    most: Decimal
    counted: Decimal
    held: tuple[Held, ...]


_ITS_OWN = ("the acid", "free base")
"""How a limit of salts names what it counts without naming it: what the salt releases."""


def counted(component: Component, limit: Limit) -> Decimal | None:
    """% w/w of a substance as the limit counts it (a salt as its acid, an ester as its alcohol)."""
    form = fold(limit.expressed_as)
    if not form or form in {fold(name) for name in component.material.names}:
        return component.percent
    share = component.material.releases.get(form)
    if share is None and len(component.material.releases) == 1 and form in _ITS_OWN:
        share = next(iter(component.material.releases.values()))
    if share is None:
        share = _of_element(form, component.material)
    return None if share is None else EXACT.multiply(component.percent, Decimal(repr(share)))


def _of_element(form: str, material: Material) -> float | None:
    """Part by weight of an element that the law counts in; None where it is none, or the material has no formula."""
    formula = material.value("formula")
    if form not in ELEMENTS or formula is None:
        return None
    return round(share_of(ELEMENTS[form], str(formula)), 6)


def limits(sheet: Worksheet, market: str, component: Component, purpose: str = "") -> tuple[Held, ...]:
    """The limits of a market that hold for a substance in this product, today."""
    key = (market, component.name, purpose)
    result = sheet.lawful.get(key)
    if result is None:
        found = _binding(sheet, market, component.material, purpose)
        result = tuple([Held(component, limit, counted(component, limit)) for limit in found])
        sheet.lawful[key] = result
    return result


def limits_of_all(sheet: Worksheet, market: str) -> tuple[Held, ...]:
    """The limits of a market that hold for any substance of the formula, in its order."""
    found = sheet.lawful_of_all.get(market)
    if found is None:
        found = tuple([held for component in sheet.components for held in limits(sheet, market, component)])
        sheet.lawful_of_all[market] = found
    return found


def _binding(sheet: Worksheet, market: str, material: Material, purpose: str) -> tuple[Limit, ...]:
    """What a market's law says of a material in products of this kind, today: the same for every formula."""
    legal, day = sheet.legal, sheet.today.isoformat()

    def look_up() -> tuple[Limit, ...]:
        found = legal.limits(market, (material.name, *material.names), material.cas, sheet.product)
        return binding(found, purpose, day)

    return material.once(("limits", sheet.legal_words, market, purpose, day), look_up)


def bans(sheet: Worksheet, market: str, component: Component) -> Iterator[Ban]:
    """The bans of a market that hold, or may hold, for a substance in this product, today and in this amount.

    A ban on a condition that the formula does not tell is passed over, unless more is in it than the law tolerates as a
    trace: no condition allows that.
    """
    for ban in _listed(sheet, market, component.material):
        most = ban.trace_percent
        tolerated = ban.conditional if most is None else component.percent <= most
        if not (tolerated or ban.applies_from > sheet.today.isoformat()):
            yield ban


def _listed(sheet: Worksheet, market: str, material: Material) -> tuple[Ban, ...]:
    """A market's bans on a material in products of this kind: the same for every formula."""
    legal = sheet.legal

    def look_up() -> tuple[Ban, ...]:
        return legal.bans(market, (material.name, *material.names), material.cas, sheet.product)

    return material.once(("bans", sheet.legal_words, market), look_up)


def markets(sheet: Worksheet) -> Iterator[str]:
    """The formula's markets that have tables."""
    known = sheet.legal.markets
    return (market for market in sheet.product.markets if market in known)


def together(held: Iterable[Held]) -> list[Together]:
    """The sums that the law limits, over substances of one group."""
    groups: dict[tuple[str, Decimal], list[Held]] = {}
    for each in held:
        for sum_limit in each.limit.totals:
            groups.setdefault((sum_limit.group, sum_limit.max_percent), []).append(each)
    result = []
    for (group, most), members in groups.items():
        whole = total(each.counted for each in members if each.counted is not None)
        result.append(Together(group, most, whole, tuple(members)))
    return result
