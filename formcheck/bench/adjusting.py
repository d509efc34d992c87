"""The steps of a procedure that move the pH: from where, to where, with what, and where the written amounts end.

Nothing here knows a single acid or base; what a reagent is comes from the reference. The chemistry is that of acidbase
and titration.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..formula.model import Step
from ..formula.names import fold
from ..records import NamedTuple
from ..reference.material import Material
from .acidbase import Prediction, Solute
from .composition import Item
from .errors import NotGiven, OutOfRange
from .titration import Plan, Reagent, charge_per_mol, plan
from .waterphase import WaterPhase, build, chemistry, predicted

if TYPE_CHECKING:
    from .worksheet import Worksheet

VERBS = ("adjust pH", "neutralise")
PURE = 100.0
_SOLID = ("powder", "crystals", "flakes", "granules", "solid")
_BASES_AND_STRONG = ("base", "strong acid")
_MORE_THAN_AN_ADJUSTER = ("preservative", "active", "antioxidant", "medicinal", "fatty acid", "emulsifier", "buffer")


class Adjuster(NamedTuple):
    """An acid or base that a step uses. items: lines of the phases that are it. strength_percent: as the step says."""

    material: Material
    items: tuple[Item, ...]
    strength_percent: float | None

    @property
    def acid(self) -> bool:
        """Whether it lowers the pH."""
        return self.material.is_a("acid")


class Stage(NamedTuple):
    """A step that moves the pH.

    target: the lowest and highest pH it aims at, None where nothing says so. before: the batch when the step begins;
    what later steps adjust with is not in it yet. written: grams of each reagent where the file says how much, else ().
    """

    step: Step
    adjusters: tuple[Adjuster, ...]
    target: tuple[float, float] | None
    before: WaterPhase
    written: tuple[tuple[Reagent, float], ...]
    unsaid: str

    @property
    def after_written(self) -> WaterPhase:
        """The batch with the written amounts in it."""
        phase = self.before
        for reagent, grams in self.written:
            phase = phase.plus(reagent.solute(grams), reagent.water_kg(grams))
        return phase


def is_adjuster(sheet: Worksheet, item: Item) -> bool:
    """Whether a line is in the formula for its pH alone: a base or strong acid, or a little of another acid."""
    material = item.material
    if material.is_a(*_MORE_THAN_AN_ADJUSTER) or not material.is_a("acid", "base"):
        return False
    return material.is_a(*_BASES_AND_STRONG) or item.amount <= sheet.limit("most that is an adjuster")


def stages(sheet: Worksheet) -> tuple[Stage, ...]:
    """The steps that move the pH, in their order, each with the batch as it is when the step begins."""
    steps = [step for step in sheet.formula.procedure if step.verb in VERBS]
    if not steps:
        return ()
    used: set[int] = set()
    adjusters = [tuple(_adjusters(sheet, step, used)) for step in steps]
    course = _Course(sheet, frozenset(used))
    result = []
    for step, group in zip(steps, adjusters):
        last = step is steps[-1]
        stage = _stage(sheet, step, group, course.phase(step, last), last)
        result.append(stage)
        if not last:
            course.follow(stage)
    return tuple(result)


class _Course:
    """What earlier steps have added, for the batch that a later one meets."""

    def __init__(self, sheet: Worksheet, later: frozenset[int]) -> None:
        self.sheet = sheet
        self.later = later
        self.added: list[tuple[Reagent, float]] = []
        self.extra_charge_mol = 0.0
        self.refusal = ""

    def phase(self, step: Step, last: bool) -> WaterPhase:
        """The batch at a step. The last one has all lines in it; an earlier one those that are in the vessel by then."""
        without = self.later if last else self.later | self.still_out(step)
        phase = build(self.sheet, without) if without else self.sheet.water_phase
        for reagent, grams in self.added:
            phase = phase.plus(reagent.solute(grams), reagent.water_kg(grams))
        return phase._replace(extra_charge_mol=self.extra_charge_mol, refusal=phase.refusal or self.refusal)

    def still_out(self, step: Step) -> frozenset[int]:
        moment = next((each for each in self.sheet.thermal.moments if each.step is step), None)
        if moment is None or not moment.items:
            return frozenset()
        inside = {id(item) for item in moment.items}
        return frozenset(id(item) for item in self.sheet.items if id(item) not in inside)

    def follow(self, stage: Stage) -> None:
        """With the written amounts, else brought to the step's own aim."""
        if stage.written:
            self.added.extend(stage.written)
        elif stage.step.to_pH is not None and stage.target is not None:
            try:
                self.extra_charge_mol = stage.before.brought_to(middle(stage.target)).extra_charge_mol
            except OutOfRange as error:
                self.refusal = str(error)
        else:
            names = " and ".join(each.material.name for each in stage.adjusters) or "acid or base"
            self.refusal = f"nothing says how much {names} step {stage.step.number} adds, or up to which pH"


def _adjusters(sheet: Worksheet, step: Step, used: set[int]) -> Iterable[Adjuster]:
    for name in step.with_:
        material = material_of(sheet, name)
        if material is None:
            continue
        same = [item for item in sheet.items if fold(item.material.name) == fold(material.name)]
        own = (
            ()
            if step.amount_g is not None
            else tuple(item for item in same if id(item) not in used and is_adjuster(sheet, item))
        )
        used.update(id(item) for item in own)
        strength = None if step.strength_percent is None else float(step.strength_percent)
        yield Adjuster(material, own, strength)


def material_of(sheet: Worksheet, name: str) -> Material | None:
    """The material that a step names: a line of the formula as written, or one that the reference knows."""
    for item in sheet.items:
        if fold(item.name) == fold(name):
            return item.material
    return sheet.book.find(name)


def _stage(sheet: Worksheet, step: Step, group: tuple[Adjuster, ...], phase: WaterPhase, last: bool) -> Stage:
    written: list[tuple[Reagent, float]] = []
    unsaid = ""
    try:
        written = list(_written(sheet, step, group))
    except NotGiven as error:
        unsaid = str(error)
    return Stage(step, group, _target(sheet, step, last), phase, tuple(written), unsaid)


def _target(sheet: Worksheet, step: Step, last: bool) -> tuple[float, float] | None:
    aim = step.to_pH
    if aim is not None:
        low = aim.low if aim.low is not None else aim.high
        high = aim.high if aim.high is not None else aim.low
        return None if low is None or high is None else (low, high)
    return sheet.stated_pH if last else None


def _written(sheet: Worksheet, step: Step, group: tuple[Adjuster, ...]) -> Iterable[tuple[Reagent, float]]:
    if step.amount_g is not None and len(group) == 1:
        if sheet.formula.batch.size_g is None:
            raise NotGiven("batch size", "the size of the batch, for example 200 g")
        strength = PURE if group[0].strength_percent is None else group[0].strength_percent
        yield reagent_of(sheet, group[0].material, strength), float(step.amount_g)
        return
    for adjuster in group:
        for item in adjuster.items:
            grams = item.amount / 100.0 * (sheet.water_phase.batch_kg * 1000.0)
            yield reagent_of(sheet, item.material, PURE), grams


def middle(pH: tuple[float, float]) -> float:
    """The middle of a range of pH."""
    return (pH[0] + pH[1]) / 2.0


def reagent_of(sheet: Worksheet, material: Material, strength_percent: float | None) -> Reagent:
    """A material as a reagent. A solution has the strength of what it contains; else strength_percent counts.

    Raises NotGiven where its constants, or what it contains, are not known.
    """
    if material.contains:
        return _reagent_in(sheet, material)
    known = chemistry(material)
    if known is None:
        raise NotGiven(
            f"the chemistry of {material.name}", "its «pKa:» or «counter-ions:» and «formula:» under «materials:»"
        )
    return Reagent(material.name, known.pKa, known.top_charge, known.ions, known.mass, strength_percent)


def _reagent_in(sheet: Worksheet, material: Material) -> Reagent:
    inside = [(sheet.book.find(name), share) for name, share in material.contains]
    acting = [(found, share) for found, share in inside if found is not None and chemistry(found) is not None]
    if len(acting) != 1:
        raise NotGiven(f"one acid or base in {material.name}", "a single acid or base and its strength")
    found, share = acting[0]
    known = chemistry(found)
    assert known is not None
    return Reagent(found.name, known.pKa, known.top_charge, known.ions, known.mass, float(share))


class Planned(NamedTuple):
    """A plan, or why there is none and what to give. step: the number of the step it is for, None for none."""

    plan: Plan | None
    missing: str
    step: int | None = None


def planned(sheet: Worksheet, stage: Stage, measured_pH: float | None = None) -> Planned:
    """How much of its acid or base a step needs."""
    number = stage.step.number
    if stage.target is None:
        return Planned(None, f"step {number} names no pH to reach: give «to:», or «finished: {{pH: ...}}»", number)
    if not stage.adjusters:
        named = " and ".join(stage.step.with_)
        what = f"nothing is known of {named}" if named else f"step {number} names no acid or base"
        return Planned(None, f"{what}: give «with:» an acid or a base of the reference", number)
    adjuster = fitting(sheet, stage.adjusters, stage.before, middle(stage.target))
    strength = PURE if adjuster.items and adjuster.strength_percent is None else adjuster.strength_percent
    return plan_with(sheet, stage.before, adjuster.material, strength, stage.target, measured_pH)._replace(step=number)


def fitting(sheet: Worksheet, adjusters: tuple[Adjuster, ...], phase: WaterPhase, target: float) -> Adjuster:
    """Of several adjusters the one that moves the pH the right way; the first where none does or none is needed."""
    if len(adjusters) > 1:
        try:
            down = phase.pH() > target
        except OutOfRange:
            return adjusters[0]
        for adjuster in adjusters:
            if lowers(sheet, adjuster.material, target) == down:
                return adjuster
    return adjusters[0]


def lowers(sheet: Worksheet, material: Material, pH: float) -> bool | None:
    """Whether a material lowers the pH of what has this pH; None where its chemistry is not known."""
    try:
        return charge_per_mol(reagent_of(sheet, material, PURE), pH) < 0.0
    except NotGiven:
        return None


def plan_with(
    sheet: Worksheet,
    phase: WaterPhase,
    material: Material,
    strength_percent: float | None,
    target: tuple[float, float],
    measured_pH: float | None = None,
) -> Planned:
    """How much of a material brings a batch to the middle of a target, from the measured or the predicted pH."""
    prediction, refusal = predicted(sheet, phase)
    if prediction is None:
        return Planned(None, f"the model has no starting point: {refusal}")
    size = sheet.formula.batch.size_g
    try:
        reagent = reagent_of(sheet, material, strength_percent)
        solid = reagent.strength_percent == PURE and material.value("form") in _SOLID
        found = plan(
            _with_extra(phase),
            phase.water_kg,
            reagent,
            middle(target),
            batch_g=None if size is None else float(size),
            measured_pH=measured_pH,
            drop_ml=None if solid else sheet.limit("drop"),
            left_out=prediction.left_out,
            band=(prediction.low, prediction.high),
        )
    except (NotGiven, OutOfRange) as error:
        return Planned(None, str(error))
    return Planned(found, "")


def _with_extra(phase: WaterPhase) -> tuple[Solute, ...]:
    extra = phase.extra_charge_mol
    if not extra:
        return phase.solutes
    return (*phase.solutes, Solute("added to taste", abs(extra), (), 0, ((1 if extra > 0 else -1, 1.0),)))


def as_weighed(sheet: Worksheet) -> WaterPhase:
    """The batch as it comes out before anything is adjusted: all lines, and what neutralising steps add by weight."""
    phase = sheet.water_phase
    if sheet.formula.batch.size_g is None:
        return phase
    for step in sheet.formula.procedure:
        if step.verb == "neutralise" and step.amount_g is not None:
            phase = _neutralised(sheet, phase, step)
    return phase


def _neutralised(sheet: Worksheet, phase: WaterPhase, step: Step) -> WaterPhase:
    strength = PURE if step.strength_percent is None else float(step.strength_percent)
    try:
        for name in step.with_:
            material = material_of(sheet, name)
            if material is None:
                raise NotGiven(f"the chemistry of {name}", "its description under «materials:»")
            reagent = reagent_of(sheet, material, strength)
            grams = float(step.amount_g or 0)
            phase = phase.plus(reagent.solute(grams), reagent.water_kg(grams))
    except NotGiven as error:
        return phase._replace(refusal=phase.refusal or str(error))
    return phase


def first_prediction(sheet: Worksheet) -> tuple[Prediction | None, str]:
    """The predicted pH of the batch before anything is adjusted, or why there is none."""
    return predicted(sheet, as_weighed(sheet))
