"""A batch whose measured pH is not the one that the formula states."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import number, span
from formcheck_rules.ph._beyond import GRACE, watery

rule = declare(
    finds="a measured pH that is not the stated one",
    harm="untidy",
    why=(
        "Preservative, actives and thickener were chosen for the stated pH. A batch that came out elsewhere is another "
        "product than the one on paper, or the meter was off."
    ),
    remedy=(
        "Check the meter in two fresh buffers and measure once more. If the figure holds, adjust the batch in small "
        "portions, or state the pH that it has."
    ),
    needs=("pH",),
    options=(Option("apart", 0.3, "pH", "how far from a stated pH without a range the measured one may be"),),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Watering-can hand gel
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5.5 ± 0.3, measured pH: 6.6}
""",
    mended="""
formcheck: 1
name: Watering-can hand gel
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5.5 ± 0.3, measured pH: 5.6}
""",
)


def concerns(sheet: Worksheet) -> bool:
    finished = sheet.formula.finished
    return finished.pH is not None and finished.measured_pH is not None and watery(sheet)


def check(sheet: Worksheet) -> Iterator[Finding]:
    finished = sheet.formula.finished
    stated, measured = finished.pH, finished.measured_pH
    if stated is None or measured is None:
        return
    low, high = stated.low, stated.high
    slack = rule.option("apart", sheet) if low == high else sheet.limit(GRACE)
    beyond = max((low - measured) if low is not None else 0, (measured - high) if high is not None else 0)
    if beyond <= slack + 1e-9:
        return
    aim = number(low or 0) if low == high else span(stated)
    yield rule.finding(sheet.pH_anchor, f"measured pH {number(measured)}; stated is pH {aim}, {number(beyond, 2)} away")
