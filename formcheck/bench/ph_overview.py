"""All that the bench can say of a formula's pH, gathered: windows, prediction, target, and how to get there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..formula.names import fold, suggestion
from ..records import NamedTuple
from ..reference.material import Material
from .acidbase import Prediction
from .adjusting import (
    PURE,
    Planned,
    as_weighed,
    fitting,
    is_adjuster,
    material_of,
    middle,
    plan_with,
    planned,
)
from .composition import Item
from .errors import OutOfRange
from .waterphase import LeftOut, WaterPhase, build
from .windows import SKIN, Agreement, Window, agree, alternatives, clash, firm, suited

if TYPE_CHECKING:
    from .worksheet import Worksheet

_BURNS = ("strong base", "strong acid")


class Asked(NamedTuple):
    """What the person at the bench gives. measured: the meter's pH now; to: the pH wanted; strength: % w/w."""

    measured: float | None = None
    to: float | None = None
    reagent: str | None = None
    strength: float | None = None


class Replacement(NamedTuple):
    """A material that no pH of the others suits, with materials of its class that one would."""

    name: str
    alternatives: tuple[str, ...]


class Overview(NamedTuple):
    """The pH of one formula.

    prediction: before anything is adjusted, or None with not_predicted. target: lowest and highest pH wanted. common:
    the pH that suits all windows a clash may rest on, None where there are none or no pH does; then clash, with what to
    replace. planned: the plan for target, or what is missing. earlier: plans of the steps before. cautions: sentences.
    """

    prediction: Prediction | None
    not_predicted: str
    left_out: tuple[LeftOut, ...]
    target: tuple[float, float] | None
    measured: float | None
    windows: tuple[Window, ...]
    common: tuple[float, float] | None
    clash: Agreement | None
    replace: tuple[Replacement, ...]
    planned: Planned
    earlier: tuple[Planned, ...]
    cautions: tuple[str, ...]


def overview(sheet: Worksheet, asked: Asked) -> Overview:
    """Works everything out; nothing here fails for want of data, it says what to give instead."""
    phase = as_weighed(sheet)
    measured = asked.measured if asked.measured is not None else sheet.formula.finished.measured_pH
    target = sheet.stated_pH if asked.to is None else (asked.to, asked.to)
    best = clash(sheet)
    plan = _plan(sheet, asked, target)
    return Overview(
        sheet.predicted_pH,
        sheet.not_predicted,
        phase.left_out,
        target,
        measured,
        sheet.pH_windows,
        None if best else _common(sheet),
        best,
        _replacements(sheet, best),
        plan,
        () if asked.reagent else sheet.pH_plans[:-1],
        _cautions(sheet, plan),
    )


def _common(sheet: Worksheet) -> tuple[float, float] | None:
    at_ease = [*firm(sheet, (each for each in sheet.pH_windows if each.kind != SKIN))]
    at_ease += [each for each in sheet.pH_windows if each.kind == SKIN]
    best = agree(at_ease)
    if best is not None and best.outside:
        best = agree(firm(sheet, sheet.pH_windows))
    return None if best is None or best.outside else (best.low, best.high)


def _replacements(sheet: Worksheet, best: Agreement | None) -> tuple[Replacement, ...]:
    if best is None:
        return ()
    pH = suited(sheet, best)
    return tuple(Replacement(each.name, tuple(alternatives(sheet, each, pH))) for each in best.outside)


def _plan(sheet: Worksheet, asked: Asked, target: tuple[float, float] | None) -> Planned:
    if target is None:
        return Planned(None, "no pH to reach is stated: add «finished: {pH: ...}», or give --to")
    if asked.measured is not None and target[0] <= asked.measured <= target[1]:
        return Planned(None, f"nothing to add: the measured pH of {asked.measured:g} lies inside the target")
    if asked.reagent is not None:
        return _plan_by(sheet, asked, asked.reagent, target)
    stages = sheet.pH_stages
    if not stages or not stages[-1].adjusters:
        return _unnamed(sheet, asked, target)
    if asked.strength is None and asked.measured is None and asked.to is None:
        return sheet.pH_plans[-1]
    stage = stages[-1]._replace(target=target)
    if asked.strength is None:
        return planned(sheet, stage, asked.measured)
    adjuster = fitting(sheet, stage.adjusters, stage.before, middle(target))
    found = plan_with(sheet, stage.before, adjuster.material, asked.strength, target, asked.measured)
    return found._replace(step=stage.step.number)


def _plan_by(sheet: Worksheet, asked: Asked, name: str, target: tuple[float, float]) -> Planned:
    material = material_of(sheet, name)
    if material is None:
        near = suggestion(name, sheet.reference.names)
        return Planned(None, f"nothing is known of «{name}»{near or '; describe it under «materials:»'}")
    stages = sheet.pH_stages
    step = stages[-1].step.number if stages else None
    strength = asked.strength if asked.strength is not None else _written_strength(sheet, material)
    found = plan_with(sheet, _before(sheet, material), material, strength, target, asked.measured)
    return found._replace(step=step)


def _written_strength(sheet: Worksheet, material: Material) -> float | None:
    """As a step gives it; a line of the phases is weighed as it is."""
    for stage in sheet.pH_stages:
        for adjuster in stage.adjusters:
            if fold(adjuster.material.name) == fold(material.name) and adjuster.strength_percent is not None:
                return adjuster.strength_percent
    return PURE if _own_lines(sheet, material) else None


def _own_lines(sheet: Worksheet, material: Material) -> list[Item]:
    """Lines that are a material and there for its pH."""
    same = fold(material.name)
    return [item for item in sheet.items if fold(item.material.name) == same and is_adjuster(sheet, item)]


def _before(sheet: Worksheet, material: Material) -> WaterPhase:
    """The batch before the last adjusting, without the lines that are the chosen material and there for its pH."""
    if sheet.pH_stages:
        return sheet.pH_stages[-1].before
    own = [id(item) for item in _own_lines(sheet, material)]
    return build(sheet, own) if own else as_weighed(sheet)


def _unnamed(sheet: Worksheet, asked: Asked, target: tuple[float, float]) -> Planned:
    """Nothing is named to adjust with: say which kind it takes."""
    phase = as_weighed(sheet)
    if phase.refusal and asked.measured is None:
        return Planned(None, f"the model has no starting point: {phase.refusal}")
    try:
        start = phase.pH() if asked.measured is None else asked.measured
    except OutOfRange as error:
        return Planned(None, str(error))
    if target[0] <= start <= target[1]:
        return Planned(None, "nothing to add by the model: the predicted pH lies inside the target; measure it")
    kind = "an acid" if start > target[1] else "a base"
    return Planned(
        None, f"{kind} is needed and none is named: give --with NAME --strength PERCENT, or a step «adjust pH»"
    )


def _cautions(sheet: Worksheet, plan: Planned) -> tuple[str, ...]:
    if plan.plan is None or not plan.plan.grams:
        return ()
    name = plan.plan.reagent
    material = sheet.book.find(name)
    burns = material is not None and (material.is_a(*_BURNS) or "corrosive" in (material.value("hazards") or ()))
    wear = (
        f"Gloves and goggles on: {name} burns eyes and skin, in solution too. Stir it into water, never water into it."
        if burns
        else f"Gloves and goggles on: {name} stings eyes and broken skin."
    )
    return (
        f"Read the safety data sheet of {name} first; it and local rules decide, not this page.",
        wear,
        "Never go back and forth between acid and base: stop as soon as the pH lies inside the target.",
        "Measure after stirring, at room temperature, with a meter calibrated the same day.",
    )
