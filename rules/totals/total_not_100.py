"""The percents do not add to 100."""

from collections.abc import Iterator
from decimal import Decimal

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import percent

rule = declare(
    finds="percents that do not add to 100, with no line left open as q.s.",
    harm="cannot be made",
    why=(
        "Percents are shares of the whole. When they do not add to 100 nobody knows which line is wrong, and every "
        "weight worked out from them is off."
    ),
    remedy="Find the line that is off, or write q.s. for the water so that it takes what is left.",
    options=(Option("tolerance", 0.01, "%", "how far from 100 the sum may be"),),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: 93.5, Glycerin: 4, Xanthan Gum: 0.6}
  B: {Phenoxyethanol: 0.9}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: 94.5, Glycerin: 4, Xanthan Gum: 0.6}
  B: {Phenoxyethanol: 0.9}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    if any(item.line.is_remainder for item in sheet.items):
        return
    total = sheet.composition.fixed
    off = total - 100
    if abs(off) <= Decimal(str(rule.option("tolerance", sheet))):
        return
    direction = "over" if off > 0 else "short of"
    water = max((item for item in sheet.items if item.material.is_a("water")), key=lambda i: i.amount, default=None)
    remedy = rule.remedy
    if water is not None and water.percent is not None and water.percent - off > 0:
        remedy = f"With {water.name} at {percent(water.percent - off)} it adds up; or write q.s. for it. {rule.remedy}"
    yield rule.finding(
        (sheet.formula.phases_place, "/phases"),
        f"the percents add to {percent(total)}, {percent(abs(off))} {direction} 100 %",
        remedy=remedy,
        source=sheet.reference.cite(rule.sources),
    )
