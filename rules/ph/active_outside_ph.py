"""A finished pH at which an active does not work or does not keep."""

from collections.abc import Iterator

from formcheck.bench.windows import KEEPS, Window
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import number
from formcheck_rules.ph._beyond import aim, beyond, of_kinds, told, watery

rule = declare(
    finds="a finished pH outside the window in which an active works or keeps",
    harm="fails",
    why="Outside its window an active is in the wrong form or breaks down, and the product does not do what it is bought for.",
    remedy="Adjust the pH to the active's window, or choose one that suits the pH.",
    needs=("pH",),
    facts=("pH window", "stable pH"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Seed-bed night serum
product: {use: leave-on, form: serum, area: [face]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.8, Sodium Gluconate: 0.2}
  B: {Bean peptide solution: 3, Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
materials:
  Bean peptide solution: {class: peptide, pH window: 4.5 to 6.5}
finished: {pH: 3.8 ± 0.2}
""",
    mended="""
formcheck: 1
name: Seed-bed night serum
product: {use: leave-on, form: serum, area: [face]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.8, Sodium Gluconate: 0.2}
  B: {Bean peptide solution: 3, Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
materials:
  Bean peptide solution: {class: peptide, pH window: 4.5 to 6.5}
finished: {pH: 5.5 ± 0.3}
""",
)

KINDS = ("active", "other")


def concerns(sheet: Worksheet) -> bool:
    return bool(watery(sheet)) and bool(of_kinds(sheet, KINDS))


def check(sheet: Worksheet) -> Iterator[Finding]:
    missed = beyond(sheet, KINDS)
    for harm in ("fails", "untidy"):
        group = [each for each in missed if _harm(sheet, each) == harm]
        if group:
            yield rule.finding(
                sheet.pH_anchor,
                f"the finished pH of {number(sheet.pH or 0)} lies outside the window of {told(group)}",
                remedy=aim(sheet, group),
                source=sheet.cite(*(each.fact for each in group if each.fact)),
                harm=harm,
                materials=[each.material.name for each in group if each.material],
            )


def _harm(sheet: Worksheet, window: Window) -> str:
    """Slow loss, an uncertain bound, a helper, or minutes on the skin are good practice missed rather than failure."""
    firm = window.kind == "active" and window.certainty != "low" and sheet.product.use != "rinse-off"
    if window.says == KEEPS:
        firm = firm and window.certainty == "high" and window.apart(sheet.pH or 0) >= 1
    return "fails" if firm else "untidy"
