"""Which raw materials of a formula have a hazard at the bench, and in what amount: shared by the cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from formcheck.bench.composition import Item, Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.reference.material import Material
from formcheck.review.words import names, number

DECIDES = (
    "The suppliers' safety data sheets decide, with local rules and whatever licence or training the work asks for."
)


STRONG = ("strong acid", "strong base")
CAUSTIC = (*STRONG, "acid", "base")


def caustic(sheet: Worksheet, item: Item, classes: tuple[str, ...] = CAUSTIC) -> bool:
    """Whether a line is an acid or alkali, or a solution of one."""
    return item.material.is_a(*classes) or any(part.material.is_a(*classes) for part in sheet.parts_of(item))


def hazardous(sheet: Worksheet, hazard: str) -> Iterable[Item]:
    """Lines whose material, as it is bought, has the hazard: by its own entry, else by enough of what it contains."""
    return _by_hazard(sheet).get(hazard, {}).values()


def has(sheet: Worksheet, item: Item, hazard: str) -> bool:
    """Whether a line's material has a hazard as it is bought."""
    return id(item) in _by_hazard(sheet).get(hazard, {})


@once
def _by_hazard(sheet: Worksheet) -> dict[str, dict[int, Item]]:
    """Hazard -> the lines that have it, by their id."""
    found: dict[str, dict[int, Item]] = {}
    for item in sheet.items:
        for hazard in _hazards(sheet, item) if item.percent is not None else ():
            found.setdefault(hazard, {})[id(item)] = item
    return found


def _hazards(sheet: Worksheet, item: Item) -> Iterable[str]:
    own: tuple[str, ...] | None = sheet.value(item.material, "hazards")
    if own is not None or not item.material.contains:
        return own or ()
    parts = sheet.parts_of(item)
    inside = {hazard for part in parts for hazard in sheet.value(part.material, "hazards") or ()}
    return [hazard for hazard in inside if _mixture_has(sheet, item, hazard)]


def _mixture_has(sheet: Worksheet, item: Item, hazard: str) -> bool:
    """Whether enough of a mixture has the hazard; it is dusty only where all of it is."""
    inside = _having(sheet, item, hazard)
    if hazard == "dust":
        return len(inside) == len(sheet.parts_of(item))
    least = item.amount * sheet.limit("caution, corrosive in a solution") / 100
    return any(part.amount >= least for part in inside)


def amount(sheet: Worksheet, item: Item, hazard: str) -> float:
    """% of the formula that has the hazard: the substance itself where the line is a solution of it."""
    inner = [part.amount for part in _having(sheet, item, hazard)]
    return sum(inner) if inner else item.amount


def _having(sheet: Worksheet, item: Item, hazard: str) -> list[Part]:
    """What a line consists of, as far as it has the hazard itself."""
    known = (part for part in sheet.parts_of(item) if "hazards" in part.material.facts)
    return [part for part in known if hazard in (sheet.value(part.material, "hazards") or ())]


def in_steps(sheet: Worksheet, hazard: str) -> Iterator[Material]:
    """Materials that only a step names, such as the base a pH is adjusted with."""
    written = {item.material.name for item in sheet.items}
    for step in sheet.formula.procedure:
        for name in step.with_:
            material = sheet.book.find(name)
            if (
                material is not None
                and material.name not in written
                and hazard in (sheet.value(material, "hazards") or ())
            ):
                yield material


def listed_with_amounts(items: Iterable[Item]) -> str:
    """The lines with their percents, largest first, each material once."""
    ordered = sorted(items, key=lambda item: -item.amount)
    return names(f"{item.name} ({number(item.percent or 0)} %)" for item in ordered)


def parts_with(sheet: Worksheet, property: str) -> Iterator[tuple[Part, float]]:
    """Parts of the formula that have a numeric fact of this kind, with it."""
    for part, fact in sheet.with_fact(property, sheet.parts):
        yield part, float(fact.value)
