"""The procedure as it is worked through: at every step what goes in, how warm it is, what bears how much, how long it takes.

Temperatures come from the walk through the procedure (thermal); they are sums, and the thermometer decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ..formula.model import Step
from ..records import NamedTuple
from .composition import Item
from .thermal import Moment, seconds_to_cool, time_constant_s

if TYPE_CHECKING:
    from .worksheet import Worksheet

BEARS, GOES_IN_BELOW = "maximum temperature", "cool-down temperature"


class Heat(NamedTuple):
    """A temperature in °C that something bears, and what that is."""

    celsius: float
    names: tuple[str, ...]


class Act(NamedTuple):
    """One step at the bench.

    vessel: the letter of the vessel it ends in, "" where the walk did not understand the step. lines: what goes in by name;
    poured: vessels emptied into this one, each with its content and temperature. before, after: °C of the vessel, None
    where the procedure leaves it open. held: what is in it afterwards. goes_in_below: lowest limit of what goes in now;
    bears: lowest limit of all that is in the vessel. cooling_s: about how long it takes to cool by itself to where the
    step wants it, None where there is nothing to wait for or nothing to tell from.
    """

    step: Step
    vessel: str
    lines: tuple[Item, ...]
    poured: tuple[tuple[str, tuple[Item, ...], float | None], ...]
    before: float | None
    after: float | None
    held: tuple[Item, ...]
    goes_in_below: Heat | None
    bears: Heat | None
    cooling_s: float | None


def acts(sheet: Worksheet) -> tuple[Act, ...]:
    """Every step of the procedure, in its order."""
    return tuple(_acts(sheet))


def _acts(sheet: Worksheet) -> Iterator[Act]:
    history = sheet.thermal
    latest: dict[str, Moment] = {moment.vessel: moment for moment in history.moments if moment.step is None}
    for step in sheet.formula.procedure:
        moments = [moment for moment in history.moments if moment.step is step]
        lines = tuple(entry.item for entry in history.entries if entry.step is step)
        mergings = [merging for merging in history.mergings if merging.step is step]
        poured = tuple((each.poured, each.poured_items, each.poured_celsius) for each in mergings)
        end = moments[-1] if moments else None
        before = latest.get(end.vessel) if end else None
        coming = (*lines, *(item for _, items, _ in poured for item in items))
        limit = _lowest(sheet, coming, (BEARS, GOES_IN_BELOW))
        yield Act(
            step,
            end.vessel if end else "",
            lines,
            poured,
            before.celsius if before else None,
            end.celsius if end else None,
            end.items if end else (),
            limit,
            _lowest(sheet, end.items if end else (), (BEARS,)),
            _cooling(sheet, step, before, limit),
        )
        latest.update((moment.vessel, moment) for moment in moments)


def _lowest(sheet: Worksheet, items: Iterable[Item], properties: tuple[str, ...]) -> Heat | None:
    """The lowest of the temperatures that any of the lines bears, with all that bear no more."""
    found = [each for item in items for each in _borne(sheet, item, properties)]
    if not found:
        return None
    lowest = min(celsius for celsius, _ in found)
    return Heat(lowest, tuple(dict.fromkeys(label for celsius, label in found if celsius == lowest)))


def _borne(sheet: Worksheet, item: Item, properties: tuple[str, ...]) -> Iterator[tuple[float, str]]:
    """What a line bears: by what is said of the material itself, else of what is in it."""
    own = [fact for name in properties if (fact := sheet.fact(item.material, name)) is not None]
    if own:
        yield min(float(fact.value) for fact in own), item.name
        return
    for part in sheet.parts_of(item):
        for name in properties:
            fact = sheet.fact(part.material, name)
            if fact is not None:
                yield float(fact.value), part.label


def _cooling(sheet: Worksheet, step: Step, before: Moment | None, limit: Heat | None) -> float | None:
    if before is None or before.celsius is None or not before.items:
        return None
    target = step.to.celsius if step.verb == "cool" and step.to else limit.celsius if limit else None
    if target is None or target >= before.celsius:
        return None
    grams = [(float(item.grams or 0), sheet.specific_heat(item)) for item in before.items]
    mass = sum(each for each, _ in grams)
    if not mass:
        return None
    heat = sum(each * specific for each, specific in grams) / mass
    constant = time_constant_s(mass, heat, sheet.physics)
    return seconds_to_cool(before.celsius, target, sheet.formula.room_celsius, constant)
