"""The list of ingredients of a label: names, order, allergens, colourants, as the law of a market wants them.

Blends are expanded and substances merged. From a share that the law names (1 %) the order is by weight; below it any
order will do, and here it is by weight as well. Fragrance allergens over their thresholds follow unless their own weight
puts them higher, colourants come last. What a step adds to taste counts as well, though no phase lists it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from ..formula.figures import number
from ..formula.names import fold
from ..records import NamedTuple
from ..reference.label_law import Duty, LabelLaw, markets
from ..reference.material import Material
from . import allergens, wording
from .adjusting import VERBS, material_of, planned
from .composition import EXACT, HUNDRED, Component, Item, total
from .errors import NotGiven, OutOfRange

if TYPE_CHECKING:
    from ..formula.model import Step
    from .worksheet import Worksheet

BY_WEIGHT, ANY_ORDER, ALLERGEN, COLOURANT = "by weight", "any order", "allergen", "colourant"
ORDER = (BY_WEIGHT, ANY_ORDER, ALLERGEN, COLOURANT)
TO_TASTE = "added to taste"
_NANO = re.compile(r"\(?\bnano\b\)?", re.I)
_COLOUR_INDEX = re.compile(r"CI \d{5}", re.I)


class Ingredient(NamedTuple):
    """One name of the list.

    percent: % w/w of the product, None where nothing says how much is added; part: BY_WEIGHT, ANY_ORDER, ALLERGEN or
    COLOURANT; materials: what is merged under the name; raw: the raw materials that bring it; about: what else the
    maker should know of it, "" for nothing.
    """

    name: str
    percent: Decimal | None
    part: str
    materials: tuple[str, ...]
    raw: tuple[str, ...]
    about: str = ""

    @property
    def amount(self) -> Decimal:
        """% w/w of the formula, 0 where it is unknown."""
        return self.percent if self.percent is not None else Decimal(0)


class Label(NamedTuple):
    """What a label in a market carries as far as the formula tells.

    ingredients: in the order of the list. wordings: that law or guidance wants. given: duties that the file answers, each
    with the answer; missing: those it does not; keeps: what to decide about shelf life. checks: what the maker has to
    look into before the list can be relied on.
    """

    market: str
    law: LabelLaw
    ingredients: tuple[Ingredient, ...]
    wordings: tuple[wording.Wording, ...]
    given: tuple[tuple[Duty, str], ...]
    missing: tuple[Duty, ...]
    keeps: tuple[Duty, ...]
    checks: tuple[str, ...]

    @property
    def text(self) -> str:
        """The list as it stands on the label."""
        return f"{self.law.heading}: {', '.join(each.name for each in self.ingredients)}."


def label(sheet: Worksheet, market: str, oils_as_perfume: bool = False) -> Label:
    """The label of a formula in a market.

    oils_as_perfume: essential oils are there for their scent, and go under the word for perfume. Raises OutOfRange for a
    market without a description, NotGiven where the percents cannot be worked out.
    """
    law = markets().get(market)
    if law is None:
        raise OutOfRange("market", market, ", ".join(markets()))
    if any(item.percent is None for item in sheet.items):
        raise NotGiven("the share of every material", "every line a percent, and q.s. to one line at most")
    maker = _Maker(sheet, law, oils_as_perfume)
    ingredients = maker.ingredients()
    duties = [duty for duty in law.duties if not duty.forms or sheet.product.form in duty.forms]
    answers = [(duty, _answer(sheet, duty)) for duty in duties]
    return Label(
        market,
        law,
        ingredients,
        tuple(wording.due(sheet, market)),
        tuple((duty, answer) for duty, answer in answers if answer),
        tuple(duty for duty, answer in answers if not answer),
        law.keeps,
        tuple(dict.fromkeys((*maker.checks, *_checks(sheet)))),
    )


def _answer(sheet: Worksheet, duty: Duty) -> str:
    pack = sheet.formula.packaging
    if duty.given_by == "size" and pack is not None and pack.size_ml is not None:
        return f"{pack.size_ml.normalize():f} ml"
    return ""


class _Maker:
    def __init__(self, sheet: Worksheet, law: LabelLaw, oils_as_perfume: bool) -> None:
        self.sheet = sheet
        self.law = law
        self.oils_as_perfume = oils_as_perfume
        self.declared = {fold(each.name): each for each in self._allergens()}
        self.known = sheet.legal.allergens(law.market)
        self.checks: list[str] = []
        self.found: dict[str, Ingredient] = {}

    def _allergens(self) -> Iterable[allergens.Held]:
        return allergens.to_declare(self.sheet, self.law.market)

    def ingredients(self) -> tuple[Ingredient, ...]:
        for component in self.sheet.components:
            if component.percent > 0:
                self.take(self.of(component))
        for each in self.to_taste():
            self.take(each)
        for allergen in self.declared.values():
            if fold(allergen.name) not in self.found:
                about = f"over {allergen.threshold.normalize():f} %"
                raw = tuple(dict.fromkeys(component.label for component in allergen.bearers))
                self.take(Ingredient(allergen.name, allergen.percent, ALLERGEN, (allergen.name,), raw, about))
        ranked = [self.ranked(each) for each in self.found.values()]
        return tuple(sorted(ranked, key=lambda each: (ORDER.index(each.part), -each.amount)))

    def take(self, new: Ingredient) -> None:
        """Adds an ingredient, merged with what has the same name already."""
        old = self.found.get(fold(new.name))
        if old is not None:
            known = [each.percent for each in (old, new) if each.percent is not None]
            new = old._replace(
                percent=total(known) if known else None,
                materials=tuple(dict.fromkeys((*old.materials, *new.materials))),
                raw=tuple(dict.fromkeys((*old.raw, *new.raw))),
                about="; ".join(dict.fromkeys(filter(None, (old.about, new.about)))),
            )
        self.found[fold(new.name)] = new

    def ranked(self, each: Ingredient) -> Ingredient:
        if each.part != COLOURANT and each.amount >= self.law.by_weight_from:
            return each._replace(part=BY_WEIGHT)
        return each

    # --- names

    def of(self, component: Component) -> Ingredient:
        raw = tuple(dict.fromkeys(part.blend.name if part.blend else part.item.name for part in component.parts))
        name, about = self.name(component, [part.item.name for part in component.parts if part.blend is None])
        part = COLOURANT if self.colours(component, raw) else ANY_ORDER
        return Ingredient(name, component.percent, part, (component.name,), raw, about)

    def name(self, component: Component, written: list[str]) -> tuple[str, str]:
        material = component.material
        if self.scents(material):
            flavour = fold(material.inci) == fold(markets()["EU"].flavour)
            return (self.law.flavour if flavour else self.law.perfume), ""
        own = allergens.itself(component, self.known)
        if own is not None and fold(own.declare_as) in self.declared and fold(own.declare_as) != fold(material.inci):
            return own.declare_as, f"{material.inci}, named as the law names this allergen"
        if self.colours(component, written):
            return self.colour_name(component), ""
        self.look_at(material)
        return self.marked(self.plain_name(material), (component.name, material.inci, *written)), ""

    def plain_name(self, material: Material) -> str:
        if self.law.market == "US":
            us: str | None = material.value("INCI US")
            return us or self.sheet.legal.label_name("US", material.inci)
        return material.inci

    def marked(self, name: str, names: Iterable[str]) -> str:
        """The name with the mark of a nano material where the law wants it."""
        bare = " ".join(_NANO.sub(" ", name).split())
        nano = self.law.nano and any(_NANO.search(each) for each in names)
        return f"{bare} (nano)" if nano else bare

    def scents(self, material: Material) -> bool:
        """Whether it goes under the word for perfume or flavour."""
        if material.is_a("essential oil"):
            return self.oils_as_perfume
        return material.is_a("fragrance") and not material.is_a("solvent", "preservative", "active")

    def colours(self, component: Component, written: Iterable[str]) -> bool:
        """Whether it is there to colour the product: a colourant that does nothing else, or one written by its number."""
        material = component.material
        if self.sheet.product.form == "hair dye" or not material.is_a("colourant"):
            return False
        by_number = any(_COLOUR_INDEX.fullmatch(name.strip()) for name in (component.name, *written))
        return by_number or not material.is_a("UV filter", "powder")

    def colour_name(self, component: Component) -> str:
        material = component.material
        market = "EU" if self.law.market == "CA" else self.law.market
        names = (component.name, *material.names)
        found = self.sheet.legal.colourant(market, names, material.cas)
        if not found:
            self.checks.append(f"{material.name}: not found among the colourants of {self.law.market}")
            return self.plain_name(material)
        return self.marked(" or ".join(dict.fromkeys(each.market_name for each in found)), names)

    def look_at(self, material: Material) -> None:
        reference = self.sheet.reference
        if not material.known:
            self.checks.append(f"{material.name}: not in the reference; is this its INCI name?")
        elif material.house and not material.value("INCI") and reference.find(material.name) is None:
            self.checks.append(f"{material.name}: give its «INCI:» or what it «contains:» under «materials:»")
        elif material.is_a("colourant") and material.is_a("UV filter", "powder"):
            self.checks.append(
                f"{material.name}: where it is there to colour, write it by its colour index number; it then stands last"
            )

    # --- what no phase lists

    def to_taste(self) -> Iterator[Ingredient]:
        held = {fold(item.material.name) for item in self.sheet.items}
        for step in self.sheet.formula.procedure:
            if step.verb in VERBS:
                for name in step.with_:
                    material = material_of(self.sheet, name) or Material(name, {}, frozenset(), known=False)
                    if fold(material.name) not in held:
                        yield from self.adjuster(step, material)

    def adjuster(self, step: Step, material: Material) -> Iterator[Ingredient]:
        """What an adjusting step brings into the product: of a solution all but its water."""
        about = f"{TO_TASTE} in step {step.number}" + (", if it is used" if len(step.with_) > 1 else "")
        for inner in _contents(self.sheet, material):
            self.look_at(inner)
            name = self.marked(self.plain_name(inner), (inner.name,))
            percent, predicted = _share(self.sheet, step, inner)
            guess = ", the amount predicted" if predicted else ""
            yield Ingredient(name, percent, ANY_ORDER, (inner.name,), (), about + guess)


def _contents(sheet: Worksheet, material: Material) -> Iterator[Material]:
    if not material.contains:
        yield material
        return
    for name, _ in material.contains:
        inner = sheet.book.find(name) or Material(name, {}, frozenset(), known=False)
        if not inner.is_a("water"):
            yield inner


def _share(sheet: Worksheet, step: Step, material: Material) -> tuple[Decimal | None, bool]:
    """% w/w of the product that a step adds of a substance, and whether that is predicted; None where nothing tells."""
    size = sheet.formula.batch.size_g
    stage = next((stage for stage in sheet.pH_stages if stage.step is step), None)
    if size is None or stage is None:
        return None, False
    amounts = [(reagent, grams) for reagent, grams in stage.written if reagent.name == material.name]
    if amounts:
        grams = sum(each * reagent.strength() / 100.0 for reagent, each in amounts)
    else:
        plan = planned(sheet, stage).plan
        if plan is None or plan.reagent != material.name:
            return None, False
        grams = plan.grams * plan.strength_percent / 100.0
    return EXACT.divide(EXACT.multiply(Decimal(repr(round(grams, 6))), HUNDRED), size), not amounts


def _checks(sheet: Worksheet) -> Iterator[str]:
    composition = sheet.composition
    off = abs(float(composition.fixed - HUNDRED))
    if composition.remainder is None and off > sheet.limit("sum of the percents, off by at most"):
        yield f"the percents add to {composition.fixed.normalize():f}, not to 100: the order is that of the file as it stands"
    for item in sheet.items:
        open_share = _undescribed(sheet, item)
        if open_share > 0:
            yield f"{item.name}: what makes up {number(open_share, 3)} % of the product in it is not described"
    for part in allergens.unknown(sheet):
        yield f"{part.label}: add its «allergens:» under «materials:» from its allergen sheet; none are counted"


def _undescribed(sheet: Worksheet, item: Item) -> Decimal:
    described = total(part.percent for part in sheet.parts_of(item))
    return EXACT.subtract(item.percent or Decimal(0), described)
