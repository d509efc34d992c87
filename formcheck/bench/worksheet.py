"""The worksheet: a formula with all that can be computed from it, each part worked out once, when first asked for.

Rules read it and compute little themselves. Names of single ingredients never appear here; classes do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import wraps
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

from ..formula.model import Fact, Formula, Product, Step
from ..formula.names import fold
from ..lazy import cached_property
from ..reading.document import Place
from ..reference.material import Material
from ..reference.store import MaterialBook, Reference
from . import thermal
from .composition import ByClass, Component, Composition, Item, Part, compose, total

if TYPE_CHECKING:
    from ..reference.legal import Legal
    from ..reference.legal_product import ProductWords
    from .acidbase import Prediction, Solute
    from .adjusting import Planned, Stage
    from .emulsion import Emulsion
    from .law import Held
    from .preservation import Preservation
    from .waterphase import WaterPhase
    from .windows import Window

T = TypeVar("T")

NO_OPTIONS: Mapping[str, Mapping[str, float]] = MappingProxyType({})
_HEAT_CLASSES = ("water", "polyol", "volatile alcohol", "oil", "powder")


class Worksheet:
    """One formula on the bench.

    today: the day by which law in force is judged; options: rule -> option -> value, where the house has set its own.
    product: what the formula is and who it is for; reference: the materials, limits and sources it is worked out with.
    limit: gives a general limit of shared/limits as a number, by its name; raises KeyError.
    """

    def __init__(
        self,
        formula: Formula,
        book: MaterialBook,
        today: date | None = None,
        options: Mapping[str, Mapping[str, float]] = NO_OPTIONS,
    ) -> None:
        self.formula = formula
        self.book = book
        self.product: Product = formula.product
        self.reference: Reference = book.reference
        self.today = today or date.today()
        self.options = options
        self.limit: Callable[[str], float] = self.reference.figure
        self._outer: dict[tuple[str, ...], tuple[Part, ...]] = {}
        self._inside: dict[tuple[str, ...], tuple[Part, ...]] = {}
        self._with_fact: dict[str, tuple[tuple[Part, Fact], ...]] = {}
        self._specific_heats: dict[int, float] = {}
        self._kept: dict[Callable[[Worksheet], Any], Any] = {}

    def let_go(self) -> None:
        """Forgets everything. What it is made of refers to it: it would wait for the collector, which costs time and room."""
        vars(self).clear()

    # --- what is in it

    @cached_property
    def composition(self) -> Composition:
        """Lines with their materials and percents, blends expanded."""
        return compose(self.formula, self.book)

    @property
    def items(self) -> tuple[Item, ...]:
        """The lines as written, each with its material."""
        return self.composition.items

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every line, blends expanded."""
        return self.composition.parts

    @property
    def components(self) -> tuple[Component, ...]:
        """Single substances, summed."""
        return self.composition.components

    def outer(self, *classes: str) -> tuple[Part, ...]:
        """What belongs to one of the classes: a line's own material where it does, else what its blend contains."""
        found = self._outer.get(classes)
        if found is None:
            whole, blended = self._whole.of(classes), self._in_blends.of(classes)
            if blended:
                taken = {id(part.item) for part in whole}
                whole = [*whole, *(part for part in blended if id(part.item) not in taken)]
            found = self._outer[classes] = tuple(whole)
        return found

    def inside(self, *classes: str) -> tuple[Part, ...]:
        """The single substances that belong to one of the classes, blends expanded, in the order of the formula."""
        found = self._inside.get(classes)
        if found is None:
            found = self._inside[classes] = tuple(self._single.of(classes))
        return found

    @cached_property
    def _whole(self) -> ByClass:
        """The lines' own materials, as far as their percents are known."""
        return ByClass([Part(item.material, item.percent, item) for item in self.items if item.percent is not None])

    @cached_property
    def _single(self) -> ByClass:
        """The single substances, blends expanded."""
        return ByClass(self.parts)

    @cached_property
    def _in_blends(self) -> ByClass:
        """What blends contain."""
        return ByClass([part for part in self.parts if part.blend is not None])

    def holds(self, *classes: str) -> bool:
        """Whether anything belongs to one of the classes."""
        return self._whole.has(classes) or self._in_blends.has(classes)

    def percent_of(self, *classes: str) -> Decimal:
        """% w/w of all that belongs to one of the classes."""
        return total(part.percent for part in self.outer(*classes))

    def component(self, name: str) -> Component | None:
        """The substance of this name, summed; None where the formula lacks it."""
        return self._components_by_name.get(fold(name))

    @cached_property
    def _components_by_name(self) -> dict[str, Component]:
        return {fold(component.name): component for component in self.components}

    @cached_property
    def water_percent(self) -> float:
        """% w/w of water, blends and solutions expanded."""
        return float(total(part.percent for part in self.inside("water")))

    @cached_property
    def oil_percent(self) -> float:
        """% w/w of all that belongs to the oil phase: oils, butters, waxes, fatty alcohols and acids, silicones."""
        return float(total(part.percent for part in self.inside("oil")))

    # --- facts and limits

    def fact(self, material: Material, property: str, **extra: str) -> Fact | None:
        """The fact that holds for this product."""
        return material.fact(property, self.product, **extra)

    def value(self, material: Material, property: str, **extra: str) -> Any:
        """The value of fact(), or None."""
        if property not in material.facts:
            return None
        fact = material.fact(property, self.product, **extra)
        return None if fact is None else fact.value

    def with_fact(self, property: str, parts: Iterable[Part] | None = None) -> tuple[tuple[Part, Fact], ...]:
        """Lines with the fact that applies to them: the line's own material where it has one, else its blend's contents."""
        if parts is not None:
            return self._facts(property, parts)
        found = self._with_fact.get(property)
        if found is None:
            whole, blended = self._facts(property, self._whole.parts), self._facts(property, self._in_blends.parts)
            if blended:
                own = {id(part.item) for part, _ in whole}
                whole = (*whole, *(each for each in blended if id(each[0].item) not in own))
            found = self._with_fact[property] = whole
        return found

    def _facts(self, property: str, parts: Iterable[Part]) -> tuple[tuple[Part, Fact], ...]:
        return tuple(
            [
                (part, fact)
                for part in parts
                if property in part.material.facts and (fact := part.material.fact(property, self.product)) is not None
            ]
        )

    def cite(self, *facts: Fact) -> str:
        """The works behind facts, in one line; the formula's own file where it brought them."""
        ids = [source for fact in facts for source in fact.source]
        own = any(not fact.source for fact in facts)
        cited = self.reference.cite(dict.fromkeys(ids))
        return "; ".join(
            text for text in (cited, "the formula's own description of the material" if own else "") if text
        )

    def cite_limit(self, *names: str) -> str:
        """The works behind general limits."""
        return self.cite(*(self.reference.limit(name) for name in names))

    @cached_property
    def legal(self) -> Legal:
        """The legal tables."""
        return self.reference.legal

    @cached_property
    def legal_words(self) -> ProductWords:
        """The law's product words answered for this product."""
        return self.legal.words(self.product)

    @cached_property
    def lawful(self) -> dict[tuple[str, str, str], tuple[Held, ...]]:
        """What formcheck.bench.law has looked up so far, by market, substance and purpose."""
        return {}

    @cached_property
    def lawful_of_all(self) -> dict[str, tuple[Held, ...]]:
        """The same for all substances together, by market."""
        return {}

    # --- pH

    @cached_property
    def stated_pH(self) -> tuple[float, float] | None:
        """Lowest and highest finished pH: as stated, else what the last pH step aims at. None where neither is there."""
        wanted = self.formula.finished.pH
        if wanted is None:
            aims = [step.to_pH for step in self.formula.procedure if step.to_pH is not None]
            wanted = aims[-1] if aims else None
        if wanted is None:
            measured = self.formula.finished.measured_pH
            return None if measured is None else (measured, measured)
        low = wanted.low if wanted.low is not None else wanted.high
        high = wanted.high if wanted.high is not None else wanted.low
        return None if low is None or high is None else (low, high)

    @cached_property
    def pH(self) -> float | None:
        """The pH to judge by: as measured, else the middle of what is stated."""
        if self.formula.finished.measured_pH is not None:
            return self.formula.finished.measured_pH
        return None if self.stated_pH is None else round((self.stated_pH[0] + self.stated_pH[1]) / 2, 6)

    @property
    def pH_anchor(self) -> tuple[Place, str]:
        """Where the judged pH stands in the file, with its JSON Pointer."""
        finished = self.formula.finished
        for key in ("measured pH", "pH"):
            if key in finished.places:
                return finished.places[key], f"/finished/{key}"
        for step in reversed(self.formula.procedure):
            if step.to_pH is not None:
                return step.places["to"], step.path + "/to"
        return self.formula.place, ""

    @cached_property
    def water_phase(self) -> WaterPhase:
        """Acids, bases and salts in the water of the batch, all lines as written; what had to be left out."""
        from .waterphase import build

        return build(self)

    @property
    def solutes(self) -> tuple[Solute, ...]:
        """What the acid-base model knows of the water phase, for the batch (for a kilogram where none is given)."""
        return self.water_phase.solutes

    @property
    def water_kg(self) -> float:
        """Water in the batch (in a kilogram where none is given)."""
        return self.water_phase.water_kg

    @cached_property
    def _predicted_pH(self) -> tuple[Prediction | None, str]:
        from .adjusting import first_prediction

        return first_prediction(self)

    @property
    def predicted_pH(self) -> Prediction | None:
        """The pH of the batch before anything is adjusted to taste, with its band; None where it cannot be predicted."""
        return self._predicted_pH[0]

    @property
    def not_predicted(self) -> str:
        """Why there is no predicted pH; "" where there is one."""
        return self._predicted_pH[1]

    @cached_property
    def pH_stages(self) -> tuple[Stage, ...]:
        """The steps that move the pH, each with the batch as it is when the step begins."""
        from .adjusting import stages

        return stages(self)

    @cached_property
    def pH_plans(self) -> tuple[Planned, ...]:
        """How much acid or base each of those steps needs to reach its pH (the last one the finished pH), or what is missing."""
        from .adjusting import planned

        return tuple(planned(self, stage) for stage in self.pH_stages)

    @cached_property
    def pH_windows(self) -> tuple[Window, ...]:
        """The pH windows of all that is in it, and of skin for what is left on it."""
        from .windows import windows

        return windows(self)

    # --- the pack

    @property
    def lets_light_in(self) -> bool | None:
        """Whether light gets through the wall of the pack; None where the file does not say."""
        pack = self.formula.packaging
        if pack is None:
            return None
        if pack.wall is not None:
            return pack.wall in ("clear", "frosted")
        metal = (pack.material or "").lower() in ("aluminium", "aluminum", "tin", "tinplate", "steel")
        return False if metal or pack.container == "tin" else None

    @property
    def opens_wide(self) -> bool:
        """Whether fingers and air reach the product at every use: a jar, a tin, a pot."""
        pack = self.formula.packaging
        words = (pack.container or "").split() if pack is not None else []
        return "airless" not in words and not {"jar", "pot", "tin", "tub", "crock"}.isdisjoint(words)

    # --- oil and water

    @cached_property
    def emulsion(self) -> Emulsion:
        """Oil, water and what holds the two together."""
        from .emulsion import Emulsion

        return Emulsion(self)

    # --- germs

    @cached_property
    def preservation(self) -> Preservation:
        """What keeps germs out: water activity, preservatives and what is left of each where it works."""
        from .preservation import Preservation

        return Preservation(self)

    # --- heat

    @cached_property
    def physics(self) -> thermal.Physics:
        """What the simulated procedure reckons with where a material has no figures of its own."""
        return thermal.Physics(
            self.specific_heat,
            self.limit("heat loss of a vessel"),
            self.limit("density of a batch"),
            self.limit("batch where none is given"),
        )

    def specific_heat(self, item: Item) -> float:
        """J/(g K) of a line: the material's own figure, else that of its kind, by weight of what a blend contains."""
        key = id(item)
        found = self._specific_heats.get(key)
        if found is None:
            material = item.material
            if material.contains:
                found = self._specific_heat(material, 0)
            else:
                found = material.once("specific heat", lambda: self._specific_heat(material, 0))
            self._specific_heats[key] = found
        return found

    def _specific_heat(self, material: Material, depth: int) -> float:
        own = material.value("specific heat")
        if own is not None:
            return float(own)
        if material.contains and depth < 4:
            weights = [(share, self.book.find(name)) for name, share in material.contains]
            known = [(share, self._specific_heat(inner, depth + 1)) for share, inner in weights if inner is not None]
            whole = sum(share for share, _ in known)
            if whole:
                return sum(share * heat for share, heat in known) / whole
        for kind in _HEAT_CLASSES:
            if material.is_a(kind):
                return self.limit(f"specific heat, {kind}")
        return self.limit("specific heat, other")

    @cached_property
    def thermal(self) -> thermal.History:
        """The procedure walked through: vessels, what is in them, how hot they are."""
        return thermal.walk(self.formula, self.items, self.physics, self.book.find)

    def parts_of(self, item: Item) -> tuple[Part, ...]:
        """What one line consists of, blends expanded."""
        return self._parts_by_item.get(id(item), ())

    @cached_property
    def _parts_by_item(self) -> dict[int, tuple[Part, ...]]:
        grouped: dict[int, list[Part]] = {}
        for part in self.parts:
            grouped.setdefault(id(part.item), []).append(part)
        return {key: tuple(parts) for key, parts in grouped.items()}

    def minutes_to_cool(self, step: Step, target_celsius: float) -> float | None:
        """About how many minutes the vessel after a step takes to cool to a temperature by itself. None where unknown."""
        moment = next((m for m in reversed(self.thermal.moments) if m.step is step), None)
        if moment is None or moment.celsius is None or not moment.items:
            return None
        batch_g = float(self.formula.batch.size_g or 0)
        mass = sum(item.amount for item in moment.items) / 100 * batch_g
        if not mass:
            return None
        heat = sum(item.amount * self.specific_heat(item) for item in moment.items) / 100 * batch_g
        constant = thermal.time_constant_s(mass, heat / mass, self.physics)
        seconds = thermal.seconds_to_cool(moment.celsius, target_celsius, self.formula.room_celsius, constant)
        return None if seconds is None else seconds / 60


def once(function: Callable[[Worksheet], T]) -> Callable[[Worksheet], T]:
    """A function of a worksheet that is worked out once for each worksheet, for what several rules ask alike.

    It may not read options: a worksheet can be judged a second time, under other settings.
    """

    @wraps(function)
    def kept(sheet: Worksheet) -> T:
        found = sheet._kept
        if function not in found:
            found[function] = function(sheet)
        result: T = found[function]
        return result

    return kept

