"""More acid or base written than it takes to reach the stated pH."""

from collections.abc import Iterator

from formcheck.bench.acidbase import Prediction
from formcheck.bench.adjusting import PURE, Stage, lowers, plan_with
from formcheck.bench.composition import Item
from formcheck.bench.waterphase import build
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, Unchecked, declare
from formcheck.review.words import grams, names, number, percent
from formcheck_rules.ph._predicted import adjuster_lines, astray, pH_of, told, unpredictable

rule = declare(
    finds="an amount of acid or base that would carry the pH past the target, by the acid-base model",
    harm="fails",
    why="Poured in at once it overshoots; going back with the opposite only adds salt and buffer, and thins many gels.",
    remedy="Add most of what the model says, stir, measure, and then the rest in small portions.",
    needs=("pH",),
    facts=("pKa", "counter-ions", "equivalent mass"),
    options=(
        Option("margin", 0.3, "pH", "how far past the target the whole predicted band has to lie"),
        Option("margin without a step", 0.5, "pH", "the same where no step says that the line adjusts the pH"),
        Option(
            "sure without a step", 1.0, "pH", "margin from which such a line is a major finding rather than a minor one"
        ),
        Option(
            "stock", 0.3, "%", "weak acid among the phases that a step uses as far as the pH needs: minor up to this"
        ),
    ),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Cold-frame hand gel
product: {use: leave-on, form: gel, area: [hands]}
batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - heat: A
    to: 60 °C
    hold: 30 min
  - cool: A
    to: 30 °C
  - add: B
    into: A
  - adjust pH: A
    to: 5.5
    with: Citric Acid
    strength: 20 %
    amount: 6 g
  - measure pH: A
  - rest: A
    for: 12 h
  - fill: A
finished: {pH: 5.5 ± 0.3}
""",
    mended="""
formcheck: 1
name: Cold-frame hand gel
product: {use: leave-on, form: gel, area: [hands]}
batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - heat: A
    to: 60 °C
    hold: 30 min
  - cool: A
    to: 30 °C
  - add: B
    into: A
  - adjust pH: A
    to: 5.5
    with: Citric Acid
    strength: 20 %
  - measure pH: A
  - rest: A
    for: 12 h
  - fill: A
finished: {pH: 5.5 ± 0.3}
""",
)


def concerns(sheet: Worksheet) -> bool:
    if sheet.formula.finished.measured_pH is not None or unpredictable(sheet):
        return False
    return any(step.with_ for step in sheet.formula.procedure) or sheet.holds("acid", "base")


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    if not sheet.pH_stages:
        yield from _lines(sheet)
    for stage in sheet.pH_stages:
        if stage.unsaid:
            yield rule.unchecked(f"whether step {stage.step.number} adds too much: {stage.unsaid}")
        elif stage.written and stage.target:
            yield from _stage(sheet, stage, stage.target)


def _stage(sheet: Worksheet, stage: Stage, target: tuple[float, float]) -> Iterator[Finding]:
    down = lowers(sheet, stage.adjusters[0].material, (target[0] + target[1]) / 2)
    end = astray(sheet, stage.after_written, target, rule.option("margin", sheet), -1 if down else 1)
    if end is None or _short(stage, end, bool(down)):
        return
    written = names(
        f"{grams(amount)} of {reagent.name}{_strength(reagent.strength())}" for reagent, amount in stage.written
    )
    step = stage.step
    at = (step.places["amount"], f"{step.path}/amount") if "amount" in step.places else step
    yield rule.finding(
        at,
        f"{written} would carry the pH to about {told(end)}, past the {_aim(target)} aimed at",
        remedy=_remedy(sheet, stage, target),
        harm=None if "amount" in step.places or _sure(sheet, stage) else "untidy",
        materials=[reagent.name for reagent, _ in stage.written],
        step=step.number,
    )


def _sure(sheet: Worksheet, stage: Stage) -> bool:
    """Whether a line among the phases is a major finding though its step says how far to go.

    A little of a weak acid is stock at hand: alkali that raw materials bring takes some of it up, and the rest stays in
    its bottle.
    """
    caustic = all(each.material.is_a("base", "strong acid") for each in stage.adjusters)
    line = sum(item.amount for each in stage.adjusters for item in each.items)
    return caustic or line > rule.option("stock", sheet)


def _short(stage: Stage, end: Prediction, down: bool) -> bool:
    """Whether the batch was beyond the target before anything went in, so that the amount is not the cause."""
    before = pH_of(stage.before)
    return before is not None and (before < end.pH if down else before > end.pH)


def _strength(percent_: float) -> str:
    return "" if percent_ >= PURE else f" solution of {percent(percent_)}"


def _aim(target: tuple[float, float]) -> str:
    low, high = target
    return number(low) if high - low < 1e-9 else f"{number(low)} to {number(high)}"


def _remedy(sheet: Worksheet, stage: Stage, target: tuple[float, float]) -> str:
    reagent, _ = stage.written[0]
    made = plan_with(sheet, stage.before, stage.adjusters[0].material, reagent.strength_percent, target).plan
    if made is None:
        return rule.remedy
    about = (
        f"About {grams(float(number(made.grams, 2)))} ({number(made.low_g, 2)} to {number(made.high_g, 2)}) would do. "
    )
    return about + rule.remedy


def _lines(sheet: Worksheet) -> Iterator[Finding]:
    """Acid or base among the phases, without a step that says so."""
    target = sheet.stated_pH
    for side in (-1, 1):
        lines = adjuster_lines(sheet, side)
        if not lines or target is None:
            continue
        end = astray(sheet, sheet.water_phase, target, rule.option("margin without a step", sheet), side)
        if end is not None and _brought_there(sheet, lines, target, side):
            yield _of_lines(sheet, lines, end, target)


def _brought_there(sheet: Worksheet, lines: list[Item], target: tuple[float, float], side: int) -> bool:
    """Whether the batch without those lines has a pH, and that is not already past the target."""
    rest = pH_of(build(sheet, [id(item) for item in lines]))
    return rest is not None and (rest > target[0] if side < 0 else rest < target[1])


def _of_lines(sheet: Worksheet, lines: list[Item], end: Prediction, target: tuple[float, float]) -> Finding:
    written = names(f"{percent(item.amount)} of {item.name}" for item in lines)
    # A weak acid may still be answered by a base that the file leaves out; nobody leaves out what tames a caustic.
    caustic = all(item.material.is_a("base", "strong acid") for item in lines)
    past = max(target[0] - end.high, end.low - target[1])
    return rule.finding(
        lines[0].line,
        f"with {written} the pH comes to about {told(end)}, past the stated {_aim(target)}",
        harm="fails" if caustic and past >= rule.option("sure without a step", sheet) else "untidy",
        materials=[item.material.name for item in lines],
    )
