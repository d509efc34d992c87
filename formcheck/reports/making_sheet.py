"""What stands on a weigh-out and making sheet, put together once for all its forms: terminal, HTML, JSON, CSV.

Texts of the formula are as written; every form escapes them for where they go.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ..bench import making
from ..bench.acidbase import Prediction
from ..bench.adjusting import Planned, planned
from ..bench.batch_size import Amount
from ..bench.titration import Plan
from ..bench.waterphase import predicted
from ..bench.weigh_out import ToTaste, Weighing, WeighOut, off_by, unsettled, weigh_out
from ..bench.weighing import to_step
from ..bench.worksheet import Worksheet
from ..records import NamedTuple
from ..reference.material import Material
from ..review.model import HOLD, UNREAD, Review
from ..review.rule import SEVERITIES, Finding
from ..review.words import grams, listed, names, number, percent, share
from .making_words import StepWords, Teller
from .safe_text import sentence
from .terminal import CAUTION_RULES

CAUTION = (
    "Read the safety data sheet of every raw material before you start. Data sheets, local rules and licensed practice come "
    "before this sheet; it does not say that the product is safe, lawful or stable."
)
SUMS = "Temperatures and times of the sheet are sums; thermometer, meter and balance decide."
NO_PROCEDURE = "The file has no procedure. Write every step down as you go: what, how much, how warm, how long."
HEADS = ("Batch number", "Date", "Made by", "Balance", "Room temperature")
SIGNATURES = ("Weighed by", "Weighing checked by", "Made by", "Released or rejected by")
OBSERVATIONS = ("Look, smell, feel", "pH after a day", "Viscosity", "What went otherwise than written")


class OpenFinding(NamedTuple):
    """A finding at the head of the sheet. holds: whether it puts the formula on hold; step: where it happens, or None."""

    severity: str
    rule: str
    message: str
    remedy: str
    holds: bool
    step: int | None


class Row(NamedTuple):
    """A line to weigh. grams: to the balance's step, "" where that cannot be said; lot: as the file has it."""

    name: str
    known_as: str
    percent: str
    grams: str
    lot: str
    note: str
    hazards: str


class PhaseTable(NamedTuple):
    """A vessel's lines; sum: what they weigh together."""

    letter: str
    rows: tuple[Row, ...]
    sum: str


class Portion(NamedTuple):
    """A portion of acid or base: how much, what to do then, and the pH that is expected."""

    add: str
    then: str
    expected: str


class PHPlan(NamedTuple):
    """One step that moves the pH. head: what for; says: sentences; portions: () where nothing can be predicted."""

    head: str
    says: tuple[str, ...]
    portions: tuple[Portion, ...]


class Content(NamedTuple):
    """The whole sheet. banners: (large words, sentence) at its head; facts: (label, value)."""

    title: str
    file: str
    verdict: str
    banners: tuple[tuple[str, str], ...]
    facts: tuple[tuple[str, str], ...]
    findings: tuple[OpenFinding, ...]
    left_out: str
    cautions: tuple[str, ...]
    phases: tuple[PhaseTable, ...]
    to_taste: tuple[Row, ...]
    sum: str
    weighing_notes: tuple[str, ...]
    steps: tuple[StepWords, ...]
    plans: tuple[PHPlan, ...]


def content(sheet: Worksheet, review: Review, amount: Amount, threshold: str, balance_assumed: bool) -> Content:
    """The sheet of a formula at its batch size. sheet, review: of the scaled formula; amount: how the size came about."""
    weighed = weigh_out(sheet)
    formula = sheet.formula
    cautions = [finding for finding in review.findings if finding.rule in CAUTION_RULES]
    other = [finding for finding in review.findings if finding.rule not in CAUTION_RULES]
    notes = sum(finding.severity == "note" for finding in other)
    fill = amount.units.shown if amount.units else ""
    teller = Teller(sheet, fill, amount.unit_g)
    return Content(
        formula.name,
        formula.path,
        review.verdict,
        tuple(_banners(sheet, review, threshold)),
        tuple(_facts(sheet, amount, weighed, balance_assumed)),
        tuple(_finding(finding, threshold) for finding in other if finding.severity != "note"),
        f"{notes} note{'s' if notes > 1 else ''} left out here; formcheck review shows them" if notes else "",
        tuple(f"{_capital(sentence(finding.message))} {finding.remedy}" for finding in cautions),
        tuple(_phase(sheet, phase.letter, weighings, weighed) for phase, weighings in weighed.phases),
        tuple(_taste_row(sheet, each) for each in weighed.to_taste),
        f"{weighed.sum_g:f} g",
        tuple(_weighing_notes(weighed)),
        tuple(teller.tell(act) for act in making.acts(sheet)),
        tuple(_plans(sheet)),
    )


def _banners(sheet: Worksheet, review: Review, threshold: str) -> Iterator[tuple[str, str]]:
    if review.verdict == HOLD:
        holding = SEVERITIES[: SEVERITIES.index(threshold) + 1]
        counts = listed(f"{count} {severity}" for severity in holding if (count := review.count(severity)))
        yield "ON HOLD", f"Do not weigh before this is settled: {counts}."
    elif review.verdict == UNREAD:
        faults = names(fault.who for fault in review.faults)
        yield (
            "NOT REVIEWED",
            f"Parts of the review failed ({faults}), so that this formula has not been checked as a whole.",
        )
    open_line, off = unsettled(sheet), off_by(sheet)
    if open_line:
        yield "DOES NOT ADD UP", f"{sentence(open_line)} Weights that cannot be worked out are left open."
    elif off is not None:
        side = "over" if off > 0 else "short of"
        yield "DOES NOT ADD UP", f"The percents are {percent(abs(off))} {side} 100; weighed as written."


def _facts(sheet: Worksheet, amount: Amount, weighed: WeighOut, balance_assumed: bool) -> Iterator[tuple[str, str]]:
    formula, pack = sheet.formula, sheet.formula.packaging
    for label, value in (("Code", formula.code), ("Version", formula.version)):
        if value:
            yield label, value
    yield "To be weighed", f"{to_step(amount.batch_g, weighed.step_g):f} g in all"
    if amount.units is not None:
        yield "To fill", f"{amount.units.shown}, {grams(round(float(amount.net_g), 2))} in all"
    if amount.loss_percent:
        yield "Loss allowed", f"{percent(amount.loss_percent)}, so that {grams(round(float(amount.net_g), 2))} are left"
    yield from _density(amount)
    step = f"{weighed.step_g:f} g"
    yield "Balance step", f"{step} (none given, so this is assumed)" if balance_assumed else step
    if pack is not None:
        words = " ".join(filter(None, (pack.wall, pack.material, pack.container)))
        size = f"{pack.size_ml.normalize():f} ml" if pack.size_ml is not None else ""
        yield "Pack", ", ".join(filter(None, (words, size)))


def _density(amount: Amount) -> Iterator[tuple[str, str]]:
    found = amount.density
    if found is None:
        return
    if found.low == found.high:
        yield "Density", f"{number(found.g_ml, 4)} g/ml, as given"
        return
    yield (
        "Density",
        (
            f"about {found.g_ml:.2f} g/ml by the sums ({found.low:.2f} to {found.high:.2f}); at the ends "
            f"{grams(round(amount.low_g or 0, 1))} or {grams(round(amount.high_g or 0, 1))} fill the packs; weigh one full pack"
        ),
    )


def _finding(finding: Finding, threshold: str) -> OpenFinding:
    holds = SEVERITIES.index(finding.severity) <= SEVERITIES.index(threshold)
    return OpenFinding(finding.severity, finding.rule, finding.message, finding.remedy, holds, finding.step)


# --- weighing


def _phase(sheet: Worksheet, letter: str, weighings: tuple[Weighing, ...], weighed: WeighOut) -> PhaseTable:
    rows = tuple(_row(sheet, each) for each in weighings)
    return PhaseTable(letter, rows, f"{weighed.sum_of(weighings):f} g")


def _row(sheet: Worksheet, each: Weighing) -> Row:
    line, item = each.item.line, each.item
    shown = "q.s." if item.percent is None else percent(item.percent)
    weight = "" if each.grams is None or each.too_small else f"{each.grams:f}"
    material = item.material
    return Row(
        line.name,
        _known_as(material, line.name),
        shown,
        weight,
        line.lot or "",
        line.note or "",
        _hazards(sheet, material),
    )


def _taste_row(sheet: Worksheet, each: ToTaste) -> Row:
    strength = f" {number(each.strength_percent)} % solution" if each.strength_percent is not None else ""
    known_as = _known_as(each.material, each.name) if each.material else ""
    hazards = _hazards(sheet, each.material) if each.material else ""
    return Row(each.name + strength, known_as, "", _taste_grams(sheet, each), "", f"for step {each.step}", hazards)


def _taste_grams(sheet: Worksheet, each: ToTaste) -> str:
    step_g = sheet.formula.batch.balance_g
    if each.amount_g is not None and step_g is not None:
        return f"{to_step(each.amount_g, step_g):f}"
    plan = each.planned.plan if each.planned else None
    if plan is None or each.material is None or plan.reagent != each.material.name:
        return ""
    return f"about {number(plan.grams, 3)}"


def _known_as(material: Material, written: str) -> str:
    """The INCI name, or what a blend holds, where the line does not say it."""
    if material.contains:
        return ", ".join(name for name, _ in material.contains)
    return material.inci if material.known and material.inci.casefold() != written.casefold() else ""


def _hazards(sheet: Worksheet, material: Material) -> str:
    return ", ".join(sheet.value(material, "hazards") or ())


def _weighing_notes(weighed: WeighOut) -> Iterator[str]:
    for _, weighings in weighed.phases:
        for each in weighings:
            if each.too_small:
                yield f"{each.item.name}: {grams(round(float(each.exact_g or 0), 6))} is less than the balance shows.{_instead(each, weighed.step_g)}"
            elif each.solution is not None:
                yield f"{each.item.name}: the balance is off by up to {share(each.error_percent)} of it.{_instead(each, weighed.step_g)}"


def _instead(each: Weighing, step_g: Decimal) -> str:
    stock = each.solution
    if stock is None:
        return " Use a finer balance or make a larger batch."
    portion, carrier = (to_step(Decimal(repr(mass)), step_g) for mass in (stock.portion_g, stock.carrier_g))
    return (
        f" Or dissolve {grams(stock.active_g)} of it to {grams(stock.stock_g)} ({percent(stock.strength_percent)}) in "
        f"something of the formula that dissolves it, take {portion:f} g of that, and {carrier:f} g less of the solvent."
    )


# --- pH


def _plans(sheet: Worksheet) -> Iterator[PHPlan]:
    for stage in sheet.pH_stages:
        with_ = f" with {listed(stage.step.with_)}" if stage.step.with_ else ""
        aim = ""
        if stage.target is not None:
            low, high = stage.target
            aim = f", to pH {number(low)}" + ("" if low == high else f" to {number(high)}")
        made = planned(sheet, stage)
        head = f"Step {stage.step.number}{aim}{with_}"
        prediction, _ = predicted(sheet, stage.before)
        portions = _portions(made.plan, sheet.formula.batch.balance_g) if made.plan else ()
        yield PHPlan(head, tuple(_says(made, prediction)), portions)


def _says(made: Planned, prediction: Prediction | None) -> Iterator[str]:
    plan = made.plan
    if plan is None:
        yield f"No amount can be predicted: {made.missing}."
        yield "Measure; add a few drops; stir until even; measure again. Write down what went in."
        return
    start = f"pH {plan.start_pH:.1f}"
    if prediction is not None:
        start += f" ({prediction.low:.1f} to {prediction.high:.1f})"
    if plan.grams <= 0:
        yield f"Predicted before: {start}, which is where it should be: measure before adding anything."
    else:
        drops = f", some {plan.drops} drops," if plan.drops else ""
        yield (
            f"Predicted before: {start}. In all about {number(plan.grams, 3)} g{drops} of "
            f"{plan.reagent} {number(plan.strength_percent)} %; {number(plan.low_g, 2)} to {number(plan.high_g, 2)} g may be needed."
        )
    yield from (_capital(sentence(text)) for text in (*plan.assumed, *plan.advice))
    if plan.left_out:
        yield f"Not in the prediction: {names(plan.left_out)}."


def _portions(plan: Plan, step_g: Decimal | None) -> tuple[Portion, ...]:
    return tuple(
        Portion(
            _portion_g(step.grams, step_g) + (f" ({step.drops} drops)" if step.drops else ""),
            step.then,
            f"{step.expected_pH:.1f}",
        )
        for step in plan.steps
    )


def _portion_g(amount: float, step_g: Decimal | None) -> str:
    """To the step of the balance; what is less than that, in its own digits."""
    if step_g is None or amount < step_g:
        return f"{number(amount, 2)} g"
    return f"{to_step(Decimal(repr(amount)), step_g):f} g"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
