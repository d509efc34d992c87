"""Adding something later: what the rules about heat correct alike."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Step
from formcheck.review.rule import Finding

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

STRUCTURE = ("oil", "emulsifier", "co-emulsifier", "thickener", "surfactant", "water")
"""What makes the product itself; when that goes in is more than a question of heat."""


def behind_cooling(sheet: Worksheet, finding: Finding, celsius: float) -> Iterator[Correction]:
    """The step that adds something too hot goes behind the later step that cools its vessel to celsius or lower."""
    from formcheck.review.corrections import Correction, editor_of

    steps = sheet.formula.procedure
    step = steps[finding.step - 1] if finding.step is not None else None
    vessel = _vessel(sheet, step) if step is not None else None
    if step is None or step.verb != "add" or vessel is None or _makes_the_product(sheet, step):
        return
    for later in steps[step.number :]:
        if later.verb == "cool" and later.to and later.to.celsius <= celsius and _vessel(sheet, later) == vessel:
            what = f"step {step.number} (add {', '.join(step.objects)}) goes behind step {later.number}, which cools"
            yield Correction(what, editor_of(sheet).move_behind(step.path, later.path))
            return


def _vessel(sheet: Worksheet, step: Step) -> str | None:
    found = {moment.vessel for moment in sheet.thermal.moments if moment.step is step}
    return next(iter(found)) if len(found) == 1 else None


def _makes_the_product(sheet: Worksheet, step: Step) -> bool:
    brought = [entry.item for entry in sheet.thermal.entries if entry.step is step]
    brought += [item for merging in sheet.thermal.mergings if merging.step is step for item in merging.poured_items]
    return any(item.material.is_a(*STRUCTURE) for item in brought)
