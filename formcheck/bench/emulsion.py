"""Oil, water and what holds the two together, by the classes of what a formula holds.

Besides emulsifiers there are soap that forms in the vessel from a fatty acid and a base, gums and proteins that emulsify,
fats that take up water, surfactants and solubilisers, and gels that only keep droplets from rising.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ..formula.model import Fact, Step
from ..lazy import cached_property
from ..patterns import pattern
from ..reference.material import Material
from .composition import Item, Part

if TYPE_CHECKING:
    from .worksheet import Worksheet

_DETERGENTS = ("surfactant", "solubiliser", "surfactant thickener")
_NATURAL = ("thickener", "protein", "botanical extract", "plant water")
_SCENTS = ("essential oil", "fragrance")
_ALKALI = ("base", "strong base")
_FATS = ("vegetable oil", "butter", "polyunsaturated oil")
_CARRIERS = ("emulsifier", *_DETERGENTS, "thickener")
_TO_BE_SHAKEN = pattern(
    r"\b(shake (it |the bottle )?(up |very )?(well|before|thoroughly)|shaken (up |well )?before|to be shaken"
    r"|two[- ]phase|bi-?phas(e|ic)|in (two )?layers)\b",
    re.I,
)
_SHAKE = pattern(r"\bshak(e|en|ing)\b", re.I)
_ROOM = tuple(f"{celsius} °C" for celsius in (20, 25, 22, 21, 23, 24, 19, 18, 17, 16, 15))
"""Room temperature of the pharmacopoeias, 15 to 25 °C (European Pharmacopoeia, general notices, from memory), as tables give it
first."""
_SHAKEN_FORMS = ("lotion", "toner", "oil", "spray", "mist")


class Emulsion:
    """The two phases of one formula, each part worked out when first asked for. Percents are % w/w of the formula."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet

    # --- the phases

    @cached_property
    def readable(self) -> bool:
        """Whether every line has an amount that can be."""
        return all(item.percent is not None and 0 <= item.percent <= 100 for item in self.sheet.items)

    @cached_property
    def oils(self) -> tuple[Part, ...]:
        """The oil phase but for what an emulsifying or thickening raw material carries along."""
        return tuple(p for p in self.sheet.inside("oil") if id(p.item) not in self._carriers)

    @cached_property
    def scents(self) -> tuple[Part, ...]:
        """Essential oils and aroma materials that water does not dissolve at their dose."""
        return tuple(
            part
            for part in self.sheet.inside(*_SCENTS)
            if not part.material.is_a("oil", "preservative booster")
            and id(part.item) not in self._carriers
            and not self._dissolves(part)
        )

    @cached_property
    def oily(self) -> tuple[Part, ...]:
        """Oils and scents, the largest first."""
        return tuple(sorted((*self.oils, *self.scents), key=lambda part: -part.amount))

    @cached_property
    def oil_percent(self) -> float:
        """% w/w of oils and scents together."""
        return amount(self.oily)

    def in_dry_oil(self, part: Part) -> bool:
        """Whether it is written into a phase that holds oil and no water."""
        return self._dry_oils.get(part.item.phase.letter, False)

    @cached_property
    def _dry_oils(self) -> dict[str, bool]:
        inside: dict[str, list[Material]] = {}
        for part in self.sheet.parts:
            inside.setdefault(part.item.phase.letter, []).append(part.material)
        return {
            letter: any(m.is_a("oil") for m in found) and not any(m.is_a("water") for m in found)
            for letter, found in inside.items()
        }

    @cached_property
    def alcohol_share(self) -> float:
        """% w/w of volatile alcohol, acetone and the like in what it makes with the water; 0 where there is neither."""
        alcohol = amount(p for p in self.sheet.parts if p.material.is_a("volatile alcohol") or _joins(p.material))
        return 100 * alcohol / (alcohol + self.sheet.water_percent) if alcohol else 0.0

    @cached_property
    def polyol_percent(self) -> float:
        """% w/w of glycerol, glycols and other polyols."""
        return amount(self.sheet.inside("polyol"))

    @cached_property
    def solid_percent(self) -> float:
        """% w/w of powders, which soak oil up or sit on its drops."""
        return amount(self.sheet.inside("powder", "clay", "pigment"))

    def _dissolves(self, part: Part) -> bool:
        """Whether the water takes it up by itself, by its solubility."""
        fact = solubility(part.material)
        return fact is not None and part.amount <= most_dissolved(fact) * self.sheet.water_percent / 100

    @cached_property
    def _carriers(self) -> frozenset[int]:
        """Lines whose blend brings its own oil ready emulsified, by id."""
        whole = {id(p.item) for p in self.sheet.outer(*_CARRIERS) if p.material is p.item.material}
        for item in self.sheet.items:
            if item.material.contains:
                inside = [part.material for part in self.sheet.parts_of(item)]
                if any(m.is_a("water") for m in inside) and any(m.is_a(*_CARRIERS) for m in inside):
                    whole.add(id(item))
        return frozenset(whole)

    # --- what holds them together

    @cached_property
    def emulsifiers(self) -> tuple[Part, ...]:
        """Emulsifiers that emulsify alone, a blend as a whole where it is described as one."""
        return tuple(part for part in self.sheet.outer("emulsifier") if not part.material.is_a("co-emulsifier"))

    @cached_property
    def helpers(self) -> tuple[Part, ...]:
        """Emulsifiers of the kind that only helps a stronger one."""
        return tuple(part for part in self.sheet.outer("emulsifier") if part.material.is_a("co-emulsifier"))

    @cached_property
    def stiffeners(self) -> tuple[Part, ...]:
        """Fatty alcohols and other helpers, those within blends too: with an emulsifier they build a gel of layers."""
        return self.sheet.inside("co-emulsifier")

    @cached_property
    def detergents(self) -> tuple[Part, ...]:
        """Surfactants and solubilisers that are not emulsifiers of creams as well."""
        found = self.sheet.outer(*_DETERGENTS)
        return tuple(part for part in found if not part.material.is_a("emulsifier", "co-emulsifier"))

    @cached_property
    def naturals(self) -> tuple[Part, ...]:
        """Gums, proteins and the like of which it is known that they emulsify."""
        return tuple(p for p in self.sheet.inside(*_NATURAL) if _emulsifies(p.material))

    @cached_property
    def absorbers(self) -> tuple[Part, ...]:
        """Fats and sterols that take water up, where there is enough of them."""
        found = tuple(p for p in self.stiffeners if not p.material.is_a("emulsifier") and _emulsifies(p.material))
        return found if amount(found) >= self.sheet.limit("fat that takes up water") else ()

    @cached_property
    def waxes_that_hold_water(self) -> tuple[Part, ...]:
        """Waxes with free fatty acids, from which water parts slowly."""
        return tuple(p for p in self.stiffeners if _acid_wax(p.material))

    @cached_property
    def soap(self) -> tuple[Part, ...]:
        """What turns into soap in the vessel: fatty acids or beeswax with a base, fats with enough of a strong one."""
        if not self.alkali:
            return ()
        acids = tuple(p for p in self.sheet.parts if p.material.is_a("fatty acid") or _acid_wax(p.material))
        return acids or (self._fats if self._lime_soap or self.saponified else ())

    @cached_property
    def saponified(self) -> bool:
        """Whether there is so much strong base that fats become soap altogether."""
        caustic = amount(self.sheet.inside("strong base"))
        return bool(self._fats) and caustic >= self.sheet.limit("strong base that turns fats to soap")

    @property
    def _fats(self) -> tuple[Part, ...]:
        return self.sheet.inside(*_FATS)

    @property
    def _lime_soap(self) -> bool:
        """Whether the free acid of fats finds a strong base that nothing else is there to use up."""
        sheet = self.sheet
        caustic = amount(sheet.inside("strong base"))
        alkaline = sheet.pH is None or sheet.pH >= sheet.limit("soap of an oil's free acid, lowest pH")
        free = alkaline and not sheet.holds("acid", "acrylic acid polymer")
        return free and caustic >= sheet.limit("strong base that makes some soap")

    @cached_property
    def alkali(self) -> bool:
        """Whether a base is among the lines, or used to adjust."""
        if any(not p.material.is_a("emulsifier") for p in self.sheet.inside(*_ALKALI)):
            return True
        used = (self.sheet.book.find(name) for step in self.sheet.formula.procedure for name in step.with_)
        return any(material is not None and material.is_a(*_ALKALI) for material in used)

    @cached_property
    def thickeners(self) -> tuple[Part, ...]:
        """What thickens the water enough to keep drops from rising: thickeners and proteins from their usual dose up."""
        return tuple(
            p
            for p in self.sheet.outer("thickener", "protein")
            if not p.material.is_a("oil thickener") and self._dosed(p)
        )

    def _dosed(self, part: Part) -> bool:
        dose = self.sheet.value(part.material, "dose")
        return dose is None or dose.low is None or part.amount >= dose.low

    @property
    def held(self) -> bool:
        """Whether anything is there that emulsifies or dissolves oil, however much."""
        return bool(self.emulsifiers or self.detergents or self.naturals or self.absorbers or self.soap)

    @cached_property
    def unknown(self) -> tuple[Item, ...]:
        """Lines of which nobody can say whether they emulsify: unknown, or known without any class."""
        least = self.sheet.limit("emulsifier that matters")
        found: dict[int, Item] = {}
        for part in self.sheet.parts:
            if not (part.material.classes or part.item.material.classes) and part.amount >= least:
                found[id(part.item)] = part.item
        return tuple(found.values())

    @cached_property
    def shaken(self) -> bool:
        """Whether the file says that it is to be shaken or is meant to stand in layers; of pourable forms a word is enough."""
        formula = self.sheet.formula
        said = [formula.name, *(claim.text for claim in formula.claims), *_notes(formula.procedure)]
        said += [line.note or "" for line in formula.lines]
        words = _SHAKE if self.sheet.product.form in _SHAKEN_FORMS else _TO_BE_SHAKEN
        return any(words.search(text) or _TO_BE_SHAKEN.search(text) for text in said)


def amount(parts: Iterable[Part]) -> float:
    """% w/w of the formula that the parts make together."""
    return sum(part.amount for part in parts)


def solubility(material: Material) -> Fact | None:
    """How much of it dissolves in water near room temperature, % w/w of solution; None where it is not known."""
    for at in _ROOM if "solubility" in material.facts else ():
        fact = material.fact("solubility", None, in_="water", at=at)
        if fact is not None:
            return fact
    return None


def most_dissolved(fact: Fact) -> float:
    """The upper end of a solubility, % w/w of solution."""
    high: float | None = fact.value.high
    return float(fact.value.low if high is None else high)


def _joins(material: Material) -> bool:
    """Whether a solvent mixes with water and with oil, and so makes one liquid of both."""
    return material.is_a("solvent") and {"water", "oil"} <= set(material.value("dissolves in") or ())


def _emulsifies(material: Material) -> bool:
    return material.value("emulsion type") is not None


def _acid_wax(material: Material) -> bool:
    """Whether it is a wax with free fatty acids, which bases turn into an emulsifying soap."""
    return material.is_a("wax") and material.is_a("co-emulsifier") and not _emulsifies(material)


def _notes(steps: Iterable[Step]) -> Iterator[str]:
    return (step.note for step in steps if step.note)
