"""Benzoate and ascorbic acid in one product: traces of benzene."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, number

rule = declare(
    finds="benzoate together with ascorbic acid, which can form traces of benzene",
    harm="unsafe",
    why=(
        "Ascorbic acid with a trace of iron or copper turns benzoic acid into benzene, sooner in light and warmth. "
        "Benzene causes cancer and is banned from cosmetics."
    ),
    remedy="Preserve it with something other than benzoate, or use a form of vitamin C that is not ascorbic acid itself.",
    sources=("gardner-benzene-1993", "fda-benzene-beverages"),
    flawed="""
formcheck: 1
name: Rosehip hand mist
phases:
  A: {Aqua: q.s., Glycerin: 3, Sodium Benzoate: 0.5, Ascorbic Acid: 1, Disodium EDTA: 0.1}
finished: {pH: 4.2}
""",
    mended="""
formcheck: 1
name: Rosehip hand mist
phases:
  A: {Aqua: q.s., Glycerin: 3, Sodium Benzoate: 0.5, Sodium Ascorbyl Phosphate: 1, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.7}
finished: {pH: 4.8}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("benzoate") and sheet.preservation.holds_water


def check(sheet: Worksheet) -> Iterator[Finding]:
    benzoates, acids = sheet.inside("benzoate") or sheet.outer("benzoate"), sheet.outer("ascorbic acid")
    if not acids:
        return
    chelated = bool(sheet.inside("chelator"))
    slower = " The chelator in it slows this down and does not stop it." if chelated else ""
    pH = f" at pH {number(sheet.pH, 3)}" if sheet.pH is not None else ""
    yield rule.finding(
        benzoates[0].item.line,
        f"{names(part.label for part in benzoates)} with {names(part.label for part in acids)}{pH} can form benzene",
        remedy=f"{rule.remedy}{slower}",
        source=sheet.reference.cite(rule.sources),
        materials=[part.material.name for part in (*benzoates, *acids)],
    )
