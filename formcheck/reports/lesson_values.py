"""Named values in the text of a lesson: `{pH}`, `{grams of Glycerin}`, `{mended free acid of ...}`.

Every number that a lesson tells stands in it by name and is worked out from the review and the worksheet when it is
shown; `mended` before a name takes the mended formula instead.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

from ..bench import hlb, law
from ..bench.composition import Component, Item
from ..bench.errors import OutOfRange
from ..bench.preservation import AcidState, Guard
from ..bench.weighing import error
from ..bench.worksheet import Worksheet
from ..formula.names import fold
from ..records import NamedTuple
from ..review.lesson_mended import Case
from ..review.lesson_sheet import Exercise
from ..review.words import celsius, grams, number, percent, share, time
from . import facts

BRACES = re.compile(r"\{([^{}]*)\}")
_MENDED = "mended "


class NoValue(Exception):
    """A name for which there is no value; the message says what was expected."""


class Scene(NamedTuple):
    """What a lesson is told from: the exercise, its flawed formula and, where there is one, the mended one."""

    exercise: Exercise
    flawed: Case
    mended: Case | None = None


def fill(text: str, scene: Scene) -> str:
    """The text with its values. Raises NoValue."""
    return BRACES.sub(lambda found: value(found[1].strip(), scene), text)


def value(name: str, scene: Scene) -> str:
    """One value, in words with its unit. Raises NoValue."""
    case = scene.flawed
    if name.startswith(_MENDED):
        if scene.mended is None:
            raise NoValue(f"«{name}»: this exercise has no mended formula")
        name, case = name[len(_MENDED) :].strip(), scene.mended
    if name in _PLAIN:
        return _plain(name, case)
    kind, of, thing = name.partition(" of ")
    if of and kind in _OF_MATERIAL:
        return _OF_MATERIAL[kind](case.sheet, thing)
    if of and kind in _OF_CASE:
        return _OF_CASE[kind](case, thing)
    if of and kind in case.sheet.reference.properties:
        return _property(case.sheet, kind, thing)
    known = [*_PLAIN, *(f"{kind} of ..." for kind in (*_OF_MATERIAL, *_OF_CASE))]
    raise NoValue(f"«{name}» is no value; there are {', '.join(known)}, and any property of a material")


# --- of the whole formula


def _plain(name: str, case: Case) -> str:
    try:
        found = _PLAIN[name](case.sheet)
    except OutOfRange:
        found = None
    if found is None:
        raise NoValue(f"«{name}» cannot be worked out for this formula")
    return found


def _said(value: Decimal | None, say: Callable[[Decimal], str]) -> str | None:
    return None if value is None else say(value)


def _pH(sheet: Worksheet) -> str | None:
    return None if sheet.pH is None else number(sheet.pH)


def _predicted(sheet: Worksheet) -> str | None:
    return None if sheet.predicted_pH is None else number(round(sheet.predicted_pH.pH, 1))


def _activity(sheet: Worksheet) -> str | None:
    found = sheet.preservation.activity
    return None if found is None else number(found.aw, 2)


def _written(sheet: Worksheet) -> str | None:
    """The amount that the last step writes."""
    stages = [stage for stage in sheet.pH_stages if stage.written]
    return grams(stages[-1].written[0][1]) if stages else None


def _after_written(sheet: Worksheet) -> str | None:
    """The pH at which the amounts end that the last step writes."""
    stages = [stage for stage in sheet.pH_stages if stage.written]
    return number(round(stages[-1].after_written.pH(), 1)) if stages else None


def _needed(sheet: Worksheet) -> str | None:
    """The acid or base that the last step needs by the model."""
    plan = sheet.pH_plans[-1].plan if sheet.pH_plans else None
    return None if plan is None else grams(float(number(plan.grams, 2)))


def _free_preservative(sheet: Worksheet) -> str:
    """All that is free in the water, of what works: 100 % is enough."""
    left = 100 * sheet.preservation.strength(sheet.preservation.free)
    return share(left) if left < 100 else f"{left:.0f} %"


def balance_of(sheet: Worksheet) -> hlb.Balance:
    """HLB offered and required, by the figures of the reference. Raises OutOfRange where there are none."""
    emulsion = sheet.emulsion
    holding = [
        hlb.Part(part.label, part.amount, sheet.value(part.material, "HLB"))
        for part in (*emulsion.emulsifiers, *emulsion.helpers)
    ]
    oils = [
        hlb.Part(part.label, part.amount, wanted)
        for part in emulsion.oily
        if (wanted := sheet.value(part.material, "required HLB")) is not None
    ]
    return hlb.balance(oils, holding)


_PLAIN: dict[str, Callable[[Worksheet], str | None]] = {
    "total": lambda sheet: percent(sheet.composition.fixed),
    "off by": lambda sheet: percent(abs(sheet.composition.fixed - 100)),
    "remainder": lambda sheet: _said(sheet.composition.remainder, percent),
    "batch": lambda sheet: _said(sheet.formula.batch.size_g, grams),
    "balance": lambda sheet: _said(sheet.formula.batch.balance_g, grams),
    "pH": _pH,
    "predicted pH": _predicted,
    "pH with the written amount": _after_written,
    "amount written": _written,
    "amount needed": _needed,
    "water": lambda sheet: share(sheet.water_percent),
    "oil": lambda sheet: share(sheet.oil_percent),
    "water phase": lambda sheet: share(sheet.preservation.water_phase_percent),
    "micelles": lambda sheet: share(sheet.preservation.micelles_percent),
    "water activity": _activity,
    "free preservative": _free_preservative,
    "HLB": lambda sheet: f"{balance_of(sheet).offered:.1f}",
    "required HLB": lambda sheet: f"{balance_of(sheet).required:.1f}",
}


# --- of a material


def item_of(sheet: Worksheet, name: str) -> Item:
    """The line of a material. Raises NoValue."""
    found = [item for item in sheet.items if fold(name) in (fold(item.name), fold(item.material.name))]
    if not found:
        raise NoValue(f"«{name}» is no line of the formula")
    return found[0]


def component_of(sheet: Worksheet, name: str) -> Component:
    """A substance, summed over the lines and blends that bring it. Raises NoValue."""
    found = sheet.component(name) or sheet.component(item_of(sheet, name).material.name)
    if found is None:
        raise NoValue(f"«{name}» is no single substance of the formula")
    return found


def guard_of(sheet: Worksheet, name: str) -> Guard:
    """A preservative of the formula. Raises NoValue."""
    wanted = fold(component_of(sheet, name).name)
    found = [guard for guard in sheet.preservation.present if fold(guard.material.name) == wanted]
    if not found:
        raise NoValue(f"«{name}» is no preservative of the formula")
    return found[0]


def acid_of(sheet: Worksheet, name: str) -> AcidState:
    """An acid preservative at the finished pH. Raises NoValue."""
    guard = guard_of(sheet, name)
    found = [state for state in sheet.preservation.acids if state.guard.material is guard.material]
    if not found:
        raise NoValue(f"«{name}» is no acid preservative, or no pH is stated")
    return found[0]


def hottest_of(sheet: Worksheet, name: str) -> float:
    """The highest temperature, °C, that a line meets in the procedure. Raises NoValue."""
    moment = sheet.thermal.hottest(item_of(sheet, name))
    if moment is None or moment.celsius is None:
        raise NoValue(f"«{name}»: the procedure does not say how hot it gets")
    return moment.celsius


def _grams(sheet: Worksheet, name: str) -> str:
    item = item_of(sheet, name)
    if item.grams is None:
        raise NoValue(f"«{name}»: no batch size, so no grams")
    return grams(item.grams)


def _weighing_error(sheet: Worksheet, name: str) -> str:
    item, step = item_of(sheet, name), sheet.formula.batch.balance_g
    if not item.grams or step is None:
        raise NoValue(f"«{name}»: no batch size or balance, so no weighing")
    return share(error(float(item.grams), float(step)).relative_percent)


def _percent(sheet: Worksheet, name: str) -> str:
    item = item_of(sheet, name)
    if item.percent is None:
        raise NoValue(f"«{name}»: its percent cannot be worked out")
    return percent(item.percent)


def _least_free(sheet: Worksheet, name: str) -> str:
    least = acid_of(sheet, name).least
    if least is None:
        raise NoValue(f"«{name}»: the least free acid that works is not known")
    return percent(least)


def lawful_most(sheet: Worksheet, component: Component) -> float | None:
    """The most of a substance, % w/w, that the markets of the formula allow in it; None where no limit is known."""
    most = [
        float(held.limit.max_percent)
        for market in law.markets(sheet)
        for purpose in ("preservative", "")
        for held in law.limits(sheet, market, component, purpose)
        if held.limit.max_percent is not None
    ]
    return min(most, default=None)


def _lawful(sheet: Worksheet, name: str) -> str:
    most = lawful_most(sheet, component_of(sheet, name))
    if most is None:
        raise NoValue(f"«{name}»: no limit by law is known for this product")
    return percent(most)


def _property(sheet: Worksheet, property: str, name: str) -> str:
    found = sheet.component(name)
    material = found.material if found else item_of(sheet, name).material
    fact = sheet.fact(material, property)
    if fact is None:
        raise NoValue(f"«{name}»: nothing is known of its {property}")
    return facts.shown(fact, sheet.reference.properties.get(property))


_OF_MATERIAL: dict[str, Callable[[Worksheet, str], str]] = {
    "percent": _percent,
    "sum": lambda sheet, name: percent(component_of(sheet, name).percent),
    "limit by law": _lawful,
    "grams": _grams,
    "weighing error": _weighing_error,
    "hottest": lambda sheet, name: celsius(hottest_of(sheet, name)),
    "undissociated": lambda sheet, name: share(acid_of(sheet, name).acid.undissociated_percent),
    "free acid": lambda sheet, name: share(acid_of(sheet, name).acid.free_percent),
    "least free acid": _least_free,
    "share in water": lambda sheet, name: share(100 * sheet.preservation.in_water(guard_of(sheet, name))),
    "share outside micelles": lambda sheet, name: share(100 / sheet.preservation.total_to_free(guard_of(sheet, name))),
}


# --- of a step, a line, a rule, a limit


def _step_number(case: Case, thing: str) -> int:
    found = re.fullmatch(r"step (\d+)", thing)
    steps = case.sheet.formula.procedure
    if not found or not 1 <= int(found[1]) <= len(steps):
        raise NoValue(f"«{thing}» is no step; such as step 2, of 1 to {len(steps)}")
    return int(found[1])


def _temperature(case: Case, thing: str) -> str:
    step = case.sheet.formula.procedure[_step_number(case, thing) - 1]
    found = [moment.celsius for moment in case.sheet.thermal.moments if moment.step is step]
    if not found or found[-1] is None:
        raise NoValue(f"«{thing}»: the procedure does not say how warm the vessel is then")
    return celsius(found[-1])


def _wait(case: Case, thing: str) -> str:
    """`step 2 down to 45 °C`, or down to the maximum temperature of a material: how long the vessel takes by itself."""
    step, _, goal = thing.partition(" down to ")
    steps, at = case.sheet.formula.procedure, _step_number(case, step)
    degrees = re.fullmatch(r"(\d+) °C", goal)
    if degrees:
        celsius_ = float(degrees[1])
    else:
        limit = case.sheet.value(item_of(case.sheet, goal).material, "maximum temperature")
        if limit is None:
            raise NoValue(f"«{goal}»: nothing is known of its maximum temperature")
        celsius_ = float(limit)
    minutes = case.sheet.minutes_to_cool(steps[at - 1], celsius_)
    if minutes is None:
        raise NoValue(f"«{thing}»: how long that takes cannot be worked out")
    return time(60 * minutes)


def _limit(case: Case, name: str) -> str:
    try:
        fact = case.sheet.reference.limit(name)
    except KeyError:
        raise NoValue(f"«{name}» is no general limit of the reference") from None
    return f"{number(fact.value)} {fact.unit}".rstrip()


def _finding(case: Case, rule: str) -> str:
    found = [finding for finding in case.review.findings if finding.rule == rule]
    if not found:
        raise NoValue(f"«{rule}» finds nothing in this formula")
    return found[0].message


_OF_CASE: dict[str, Callable[[Case, str], str]] = {
    "temperature": _temperature,
    "time to cool": _wait,
    "limit": _limit,
    "message": _finding,
}
