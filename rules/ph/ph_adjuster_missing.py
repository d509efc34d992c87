"""A stated pH that the formula does not come to by itself, and nothing that would bring it there."""

from collections.abc import Iterator

from formcheck.bench.acidbase import Prediction
from formcheck.bench.adjusting import as_weighed, lowers
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, number
from formcheck_rules.ph._beyond import GRACE, watery
from formcheck_rules.ph._predicted import adjuster_lines, astray, told, unpredictable
from formcheck_rules.thickening._bases import acid_polymers, neutralised

rule = declare(
    finds="a stated pH far from the predicted one, with no acid or base to move it",
    harm="untidy",
    why="The batch will not come out at the stated pH, and whoever makes it has to improvise.",
    remedy="Add a step «adjust pH: A», with «to:», «with:» and «strength:».",
    needs=("pH",),
    facts=("pKa", "counter-ions", "equivalent mass"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Sorrel-row hair rinse
product: {use: rinse-off, form: solution, area: [hair]}
phases:
  A: {Aqua: q.s., Propanediol: 4, Lactic Acid: 3, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5 ± 0.2}
""",
    mended="""
formcheck: 1
name: Sorrel-row hair rinse
product: {use: rinse-off, form: solution, area: [hair]}
phases:
  A: {Aqua: q.s., Propanediol: 4, Lactic Acid: 3, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
procedure:
  - mix: A
    for: 10 min
  - add: B
    into: A
  - adjust pH: A
    to: 5
    with: Sodium Hydroxide
    strength: 10 %
  - measure pH: A
  - fill: A
finished: {pH: 5 ± 0.2}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return bool(watery(sheet)) and sheet.formula.finished.measured_pH is None and not unpredictable(sheet)


def check(sheet: Worksheet) -> Iterator[Finding]:
    target = sheet.stated_pH
    if target is None or _unneutralised(sheet) or _plainly_provided(sheet):
        return
    found = astray(sheet, as_weighed(sheet), target, sheet.limit(GRACE))
    if found is None or _provided(sheet, found, target):
        return
    below = found.pH < target[0]
    wrong = [each.material.name for stage in sheet.pH_stages for each in stage.adjusters]
    there = f"; {names(wrong)} moves it the other way" if wrong else "; nothing in the file moves it"
    aim = number(target[0]) if target[0] == target[1] else f"{number(target[0])} to {number(target[1])}"
    yield rule.finding(
        sheet.pH_anchor,
        f"as weighed the pH comes to about {told(found)}, not to the stated {aim}{there}",
        remedy=f"Adjust it with {'a base' if below else 'an acid'} in small portions. {rule.remedy}",
    )


def _unneutralised(sheet: Worksheet) -> bool:
    """An acid polymer without any base is another rule's business."""
    return bool(acid_polymers(sheet)) and not neutralised(sheet)


def _plainly_provided(sheet: Worksheet) -> bool:
    """Whether all that adjusts is an acid where there is none yet, or a base where there is none yet: no need to compute."""
    kinds = {adjuster.material.is_a("acid") for stage in sheet.pH_stages for adjuster in stage.adjusters}
    return len(kinds) == 1 and not sheet.holds("acid" if kinds.pop() else "base")


def _provided(sheet: Worksheet, found: Prediction, target: tuple[float, float]) -> bool:
    """Whether a step adjusts the right way, or a line is itself what carries the pH too far."""
    down = found.pH > target[1]
    middle = (target[0] + target[1]) / 2
    for stage in sheet.pH_stages:
        for adjuster in stage.adjusters:
            if lowers(sheet, adjuster.material, middle) in (down, None):
                return True
        if len(stage.adjusters) < len(stage.step.with_):
            return True
    return bool(adjuster_lines(sheet, 1 if down else -1))
