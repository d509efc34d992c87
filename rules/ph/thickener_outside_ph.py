"""A finished pH that a thickener, an emulsifier or a surfactant does not bear."""

from collections.abc import Iterator

from formcheck.bench.windows import Window
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import number
from formcheck_rules.ph._beyond import aim, beyond, of_kinds, told, watery

rule = declare(
    finds="a finished pH outside what a thickener or emulsifier bears",
    harm="fails",
    why="Outside its window a thickener thins and an emulsifier lets go: the product turns to water or separates.",
    remedy="Adjust the pH, or choose a thickener or emulsifier that bears it.",
    needs=("pH",),
    facts=("pH window", "stable pH"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Row-end hand gel
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Bramble gum: 1, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
materials:
  Bramble gum: {class: gum, pH window: 5 to 9}
finished: {pH: 4.2 ± 0.2}
""",
    mended="""
formcheck: 1
name: Row-end hand gel
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Bramble gum: 1, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
materials:
  Bramble gum: {class: gum, pH window: 5 to 9}
finished: {pH: 5.6 ± 0.3}
""",
)

KINDS = ("thickener", "emulsifier", "surfactant")


def concerns(sheet: Worksheet) -> bool:
    return bool(watery(sheet)) and bool(of_kinds(sheet, KINDS))


def check(sheet: Worksheet) -> Iterator[Finding]:
    missed = beyond(sheet, KINDS)
    for harm in ("fails", "untidy"):
        group = [each for each in missed if _harm(each) == harm]
        if group:
            yield rule.finding(
                sheet.pH_anchor,
                f"the finished pH of {number(sheet.pH or 0)} lies outside what {told(group)} bears",
                remedy=aim(sheet, group),
                source=sheet.cite(*(each.fact for each in group if each.fact)),
                harm=harm,
                materials=[each.material.name for each in group if each.material],
            )


def _harm(window: Window) -> str:
    """A surfactant is lost slowly, and a bound from memory is no more than a hint."""
    sure = window.certainty != "low" and window.says == "pH window"
    return "fails" if sure and window.kind != "surfactant" else "untidy"
