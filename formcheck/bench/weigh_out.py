"""What is weighed for a batch: every line to the step of the balance, how true that is, and what is added to taste."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from ..formula.model import Phase
from ..formula.names import fold
from ..records import NamedTuple
from .adjusting import VERBS, Planned, material_of, planned
from .composition import HUNDRED, Item, total
from .errors import OutOfRange
from .weighing import Predilution, error, predilution, to_step

if TYPE_CHECKING:
    from ..reference.material import Material
    from .worksheet import Worksheet


class Weighing(NamedTuple):
    """One line to weigh.

    grams: to the step of the balance, None where its share cannot be worked out; exact_g: before rounding. error_percent:
    what the balance leaves open at most. solution: to weigh instead where that is too much, None where none is needed or
    none will do.
    """

    item: Item
    grams: Decimal | None
    exact_g: Decimal | None
    error_percent: float
    solution: Predilution | None

    @property
    def too_small(self) -> bool:
        """Whether the balance shows nothing for it."""
        return self.grams is not None and not self.grams and bool(self.exact_g)


class ToTaste(NamedTuple):
    """An acid or base that a step adds and no phase lists.

    amount_g: as the step says, None where it is added up to a pH. material: None where nothing is known of it.
    """

    name: str
    step: int
    strength_percent: Decimal | None
    amount_g: Decimal | None
    material: Material | None
    planned: Planned | None


class WeighOut(NamedTuple):
    """All of it: phases in the order written, each with its lines; what is added to taste. step_g: of the balance."""

    phases: tuple[tuple[Phase, tuple[Weighing, ...]], ...]
    to_taste: tuple[ToTaste, ...]
    step_g: Decimal

    def sum_of(self, weighings: tuple[Weighing, ...]) -> Decimal:
        """What lines weigh together as rounded, g."""
        return total(each.grams for each in weighings if each.grams is not None)

    @property
    def sum_g(self) -> Decimal:
        """What all lines weigh together as rounded, g."""
        return total(self.sum_of(weighings) for _, weighings in self.phases)


def weigh_out(sheet: Worksheet) -> WeighOut:
    """What is weighed for the formula's batch size on its balance, both of which it has to have."""
    step_g = sheet.formula.batch.balance_g
    assert step_g is not None
    grouped: dict[str, list[Weighing]] = {phase.letter: [] for phase in sheet.formula.phases}
    for item in sheet.items:
        grouped[item.phase.letter].append(_weighing(sheet, item, step_g))
    phases = tuple((phase, tuple(grouped[phase.letter])) for phase in sheet.formula.phases)
    return WeighOut(phases, tuple(_to_taste(sheet)), step_g)


def _weighing(sheet: Worksheet, item: Item, step_g: Decimal) -> Weighing:
    if item.grams is None:
        return Weighing(item, None, None, 0.0, None)
    grams, amount, step = to_step(item.grams, step_g), float(item.grams), float(step_g)
    if amount <= 0.0:
        return Weighing(item, grams, item.grams, 0.0, None)
    off = error(amount, step).relative_percent
    most = sheet.limit("weighing error that is let pass")
    return Weighing(item, grams, item.grams, off, _solution(amount, step, most) if off > most else None)


def _solution(amount_g: float, step_g: float, most_percent: float) -> Predilution | None:
    try:
        return predilution(amount_g, step_g, most_percent)
    except OutOfRange:
        return None


def _to_taste(sheet: Worksheet) -> Iterator[ToTaste]:
    held = {fold(item.material.name) for item in sheet.items}
    plans = {stage.step.number: stage for stage in sheet.pH_stages}
    for step in sheet.formula.procedure:
        for name in step.with_ if step.verb in VERBS else ():
            material = material_of(sheet, name)
            if material is not None and fold(material.name) in held:
                continue
            stage = plans.get(step.number)
            made = planned(sheet, stage) if stage else None
            yield ToTaste(name, step.number, step.strength_percent, step.amount_g, material, made)


def off_by(sheet: Worksheet) -> Decimal | None:
    """How far the percents miss 100 (negative: short of it); None where they add up, as far as anybody can weigh.

    More than one q.s. line, or fixed lines above 100, cannot be put in a number: see unsettled().
    """
    composition = sheet.composition
    if composition.remainder is not None or any(item.line.is_remainder for item in sheet.items):
        return None
    off = composition.fixed - HUNDRED
    return off if abs(float(off)) > sheet.limit("sum of the percents, off by at most") else None


def unsettled(sheet: Worksheet) -> str:
    """Why the share of a line cannot be worked out at all; "" where it can."""
    if all(item.percent is not None for item in sheet.items):
        return ""
    open_lines = [item.name for item in sheet.items if item.line.is_remainder]
    if len(open_lines) > 1:
        return f"{len(open_lines)} lines are q.s. ({', '.join(open_lines)}); one at most can be"
    return f"the other lines add to {sheet.composition.fixed.normalize():f} %, so that nothing is left for {open_lines[0]} (q.s.)"
