"""How much of each declarable fragrance allergen a product holds: itself, in essential oils and in perfumes, added up.

What an oil or a perfume brings is what its `allergens` say, the high end of the usual range or the supplier's own figure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from ..formula.names import fold
from ..records import NamedTuple
from ..reference.legal import Allergen
from .composition import EXACT, HUNDRED, Component, Part

if TYPE_CHECKING:
    from .worksheet import Worksheet


class Held(NamedTuple):
    """An allergen in the product.

    percent: % w/w of the product, everything that is counted as this allergen together. threshold: % w/w above which the
    list of ingredients has to name it. bearers: what brings it, in the order of the formula.
    """

    allergen: Allergen
    percent: Decimal
    threshold: Decimal
    bearers: tuple[Component, ...]

    @property
    def name(self) -> str:
        """The name for the label."""
        return self.allergen.declare_as

    @property
    def over(self) -> bool:
        """Whether it has to be named."""
        return self.percent > self.threshold


def held(sheet: Worksheet, market: str) -> list[Held]:
    """The allergens that the law of a market knows today and the product holds, most first."""
    known = sheet.legal.allergens(market)
    found: dict[str, Held] = {}
    for component in sheet.components:
        for allergen, percent in _of(sheet, component, known):
            if allergen.applies_from > sheet.today.isoformat():
                continue
            before = found.get(allergen.declare_as) or Held(allergen, Decimal(0), _threshold(sheet, allergen), ())
            found[allergen.declare_as] = before._replace(
                percent=EXACT.add(before.percent, percent), bearers=(*before.bearers, component)
            )
    return sorted(found.values(), key=lambda each: -each.percent)


def to_declare(sheet: Worksheet, market: str) -> list[Held]:
    """Those over their thresholds, most first."""
    return [each for each in held(sheet, market) if each.over]


def itself(component: Component, known: Mapping[str, Allergen]) -> Allergen | None:
    """The allergen that a component is, by any of its names; known: as Legal.allergens gives it."""
    names = component.material.folded_names
    return None if known.keys().isdisjoint(names) else next(known[name] for name in names if name in known)


def unknown(sheet: Worksheet) -> Iterator[Part]:
    """Perfumes and mixtures of aroma materials of which nobody said which allergens they hold."""
    for part in sheet.outer("fragrance"):
        single = part.material.is_a("fragrance allergen", "essential oil") or part.material.molar_mass is not None
        if not part.material.facts.get("allergens") and not single:
            yield part


def _of(sheet: Worksheet, component: Component, known: Mapping[str, Allergen]) -> Iterator[tuple[Allergen, Decimal]]:
    own = itself(component, known)
    if own is not None:
        yield own, component.percent
    for name, share in sheet.value(component.material, "allergens") or ():
        allergen = known.get(fold(name))
        # an isomer says under which common name it is declared: that is itself once more
        if allergen is not None and (own is None or allergen.declare_as != own.declare_as):
            yield allergen, EXACT.divide(EXACT.multiply(component.percent, Decimal(repr(share))), HUNDRED)


def _threshold(sheet: Worksheet, allergen: Allergen) -> Decimal:
    return allergen.rinse_off_percent if sheet.product.use == "rinse-off" else allergen.leave_on_percent
