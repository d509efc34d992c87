"""A pH that is adjusted, or stated, and never measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Step
from formcheck.review.rule import Finding, declare
from formcheck.review.words import number
from formcheck_rules.ph._beyond import watery

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="a pH adjusted without a later measurement, or a stated pH and a filling without one",
    harm="untidy",
    why="Drops of acid are not a pH. Only the meter says whether the batch came out where it should.",
    remedy="Add a step «measure pH: A» after the adjusting and before the filling, and write down what it showed.",
    needs=("procedure",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Trowel hand wash
product: {use: rinse-off, form: cleanser, area: [hands]}
phases:
  A: {Aqua: q.s., Cocamidopropyl Betaine: 12, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
procedure:
  - mix: A
    for: 10 min
  - add: B
    into: A
  - adjust pH: A
    to: 5.5
    with: Lactic Acid
    strength: 10 %
  - fill: A
finished: {pH: 5.5 ± 0.3}
""",
    mended="""
formcheck: 1
name: Trowel hand wash
product: {use: rinse-off, form: cleanser, area: [hands]}
phases:
  A: {Aqua: q.s., Cocamidopropyl Betaine: 12, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
procedure:
  - mix: A
    for: 10 min
  - add: B
    into: A
  - adjust pH: A
    to: 5.5
    with: Lactic Acid
    strength: 10 %
  - measure pH: A
  - fill: A
finished: {pH: 5.5 ± 0.3}
""",
)


def concerns(sheet: Worksheet) -> bool:
    finished = sheet.formula.finished
    wanted = finished.pH is not None or any(_adjusts(step) for step in sheet.formula.procedure)
    return wanted and finished.measured_pH is None and watery(sheet)


def check(sheet: Worksheet) -> Iterator[Finding]:
    steps = sheet.formula.procedure
    adjusting = [step for step in steps if _adjusts(step)]
    if adjusting:
        last = adjusting[-1]
        if not any(_measures(step) for step in steps[last.number - 1 :]):
            yield rule.finding(
                last,
                f"step {last.number} adjusts the pH, and no later step measures it",
                remedy=_remedy(last.objects),
                materials=last.with_,
                step=last.number,
            )
        return
    filling = next((step for step in steps if step.verb == "fill"), None)
    if filling is not None and not any(_measures(step) for step in steps[: filling.number]):
        yield rule.finding(
            filling,
            f"filled at step {filling.number} without a measurement, though a pH of {number(sheet.pH or 0)} is stated",
            remedy=_remedy(filling.objects),
            step=filling.number,
        )


def _remedy(vessels: Sequence[str]) -> str:
    return rule.remedy.replace("pH: A", f"pH: {vessels[0]}") if len(vessels) == 1 else rule.remedy


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """A step that measures, right before the only filling; without a filling, as the last step."""
    from formcheck.review.corrections import Correction, editor_of

    steps = sheet.formula.procedure
    filling = [filling.step.number for filling in sheet.thermal.fillings]
    adjusted = [step for step in steps if _adjusts(step)]
    if len(filling) == 1:
        vessel, before = sheet.thermal.fillings[0].vessel, filling[0] - 1
    elif not filling and adjusted and len(adjusted[-1].objects) == 1:
        vessel, before = adjusted[-1].objects[0], len(steps)
    else:
        return
    if before:
        edit = editor_of(sheet).insert_after(steps[before - 1].path, [("measure pH", vessel)])
        yield Correction(f"a step measures the pH of {vessel} after step {before}", (edit,))


def _adjusts(step: Step) -> bool:
    return step.verb == "adjust pH" or (step.verb == "neutralise" and step.to_pH is not None)


def _measures(step: Step) -> bool:
    return step.verb == "measure pH" or (step.note is not None and "measur" in step.note.casefold())
