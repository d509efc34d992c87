"""How a dry thickener comes to water: what the rules of this family ask in common."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from formcheck.bench.composition import Item, Part
from formcheck.bench.thermal import Moment
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Step
from formcheck.records import NamedTuple
from formcheck.review.words import number

POURABLE = ("liquid", "viscous liquid", "paste", "gel")
COARSE = ("granules", "flakes", "crystals")
STANDING = ("rest", "hydrate")
WORKING = ("mix", "homogenise", "hydrate", "rest", "hold", "heat", "cool")


class Meeting(NamedTuple):
    """The first state in which a thickener lies in water.

    before: what it lay in until then, itself included; empty where it came in from its packet. directly: whether it
    was put into the water itself rather than carried along by what surrounds it.
    """

    item: Item
    moment: Moment
    before: tuple[Item, ...]
    directly: bool

    @property
    def step(self) -> Step | None:
        """The step that brings them together; None where they stand together from the start."""
        return self.moment.step


@once
def thickeners(sheet: Worksheet) -> tuple[Part, ...]:
    """Thickeners of water in amounts that matter, in a product with water."""
    if sheet.water_percent < sheet.limit("swelling water in a product"):
        return ()
    least = sheet.limit("thickener that matters")
    return tuple(part for part in sheet.outer("thickener") if part.amount >= least)


@once
def dry_thickeners(sheet: Worksheet) -> tuple[Part, ...]:
    """The thickeners that come as a powder."""
    return tuple(dry(sheet, thickeners(sheet)))


def dry(sheet: Worksheet, parts: Iterable[Part]) -> Iterator[Part]:
    """Those that come as a powder: neither poured, nor inside something that already holds water."""
    for part in parts:
        if sheet.value(part.material, "form") in POURABLE or part.material.is_a("acrylic emulsion thickener"):
            continue
        if sheet.value(part.item.material, "form") in POURABLE:
            continue
        if any(inner.material.is_a("water") for inner in sheet.parts_of(part.item)):
            continue
        yield part


def watery(sheet: Worksheet, items: Iterable[Item]) -> bool:
    """Whether enough water stands in a vessel to lump a gum; the thickeners themselves do not count."""
    water = rest = 0.0
    wet = _wet(sheet)
    for item in items:
        for is_water, amount in wet[id(item)]:
            if is_water:
                water += amount
            else:
                rest += amount
    return water > 0 and 100 * water / (water + rest) >= sheet.limit("water that makes a vessel watery")


@once
def _wet(sheet: Worksheet) -> dict[int, list[tuple[bool, float]]]:
    """By a line's id, whether what it consists of is water, and how much; nothing of a thickener."""
    return {
        id(item): []
        if item.material.is_a("thickener")
        else [(part.material.is_a("water"), part.amount) for part in sheet.parts_of(item)]
        for item in sheet.items
    }


def meeting(sheet: Worksheet, item: Item) -> Meeting | None:
    """Where a thickener first lies in water, by the procedure; None where it never does."""
    found = _meetings(sheet)
    if id(item) not in found:
        found[id(item)] = _meeting(sheet, item)
    return found[id(item)]


@once
def _meetings(sheet: Worksheet) -> dict[int, Meeting | None]:
    """The meetings looked for so far, by the line's id."""
    return {}


def _meeting(sheet: Worksheet, item: Item) -> Meeting | None:
    entry = sheet.thermal.entry_of(item)
    if entry is None:
        return None
    path = sheet.thermal.path_of(item)
    if _stands_in_water(sheet, path[0]):
        return Meeting(item, path[0], (), True)
    for earlier, later in pairwise(path):
        if _stands_in_water(sheet, later):
            return Meeting(item, later, earlier.items, False)
    return None


def _stands_in_water(sheet: Worksheet, moment: Moment) -> bool:
    """Whether the vessel is watery at a moment: what one thickener comes to, others come to as well."""
    found = _watery_moments(sheet)
    if id(moment) not in found:
        found[id(moment)] = watery(sheet, moment.items)
    return found[id(moment)]


@once
def _watery_moments(sheet: Worksheet) -> dict[int, bool]:
    """The moments looked at so far, by their id."""
    return {}


def wetting_ratio(items: Iterable[Item]) -> float:
    """Parts of other material per part of thickener in a vessel; 0 where there is no thickener."""
    gum = rest = 0.0
    for item in items:
        if item.material.is_a("thickener"):
            gum += item.amount
        else:
            rest += item.amount
    return rest / gum if gum else 0.0


def label(part: Part) -> str:
    """A thickener with its amount."""
    return f"{part.label} ({number(part.percent)} %)"
