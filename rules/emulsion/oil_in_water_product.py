"""A little oil or perfume in a product that is nearly all water."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import share
from formcheck_rules.emulsion._words import amounts, in_dry_form, of, what_it_is

rule = declare(
    finds="fragrance, essential oil or oil in a water product without solubiliser, emulsifier or enough alcohol",
    harm="fails",
    why=(
        "Oil floats on water in drops: the product is cloudy or in two layers, and the drops reach the skin undiluted, "
        "which burns where they are essential oils."
    ),
    remedy="Mix the oil with a solubiliser first, then stir the water in.",
    facts=("solubility", "emulsion type"),
    sources=("common-practice", "aromatic-waters-1918"),
    flawed="""
formcheck: 1
name: Potting-shed hand mist
product: {use: leave-on, form: mist}
phases:
  A: {Aqua: q.s., Glycerin: 3, Disodium EDTA: 0.1, Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
  B: {Lavandula Angustifolia Oil: 0.5}
finished: {pH: 5}
""",
    mended="""
formcheck: 1
name: Potting-shed hand mist
product: {use: leave-on, form: mist}
phases:
  A: {Aqua: q.s., Glycerin: 3, Disodium EDTA: 0.1, Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
  B: {Lavandula Angustifolia Oil: 0.5, Polyglyceryl-10 Laurate: 2}
finished: {pH: 5}
""",
)


def concerns(sheet: Worksheet) -> bool:
    emulsion = sheet.emulsion
    if not emulsion.readable or not emulsion.oily or in_dry_form(sheet):
        return False
    oil, water = emulsion.oil_percent, sheet.water_percent
    little = sheet.limit("oil that water takes up") < oil < sheet.limit("oil that makes an emulsion")
    return little and water > sheet.limit("water with a little oil in it") * oil


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    emulsion = sheet.emulsion
    if emulsion.held or emulsion.helpers or emulsion.shaken or _disposed_of(sheet):
        return
    if emulsion.unknown:
        yield rule.unchecked(what_it_is(emulsion.unknown))
        return
    shows = emulsion.oil_percent > sheet.limit("oil that shows on water")
    if emulsion.thickeners and not shows:
        return
    yield _finding(sheet, shows)


def _disposed_of(sheet: Worksheet) -> bool:
    """Filtered off, taken up by powder, or dissolved by alcohol."""
    emulsion = sheet.emulsion
    few = emulsion.oil_percent < emulsion.alcohol_share / sheet.limit("alcohol to a little oil")
    return (
        any(step.verb == "filter" for step in sheet.formula.procedure)
        or emulsion.solid_percent >= emulsion.oil_percent
        or emulsion.alcohol_share >= sheet.limit("alcohol that dissolves oils")
        or (few and emulsion.alcohol_share >= sheet.limit("alcohol that dissolves a little perfume"))
    )


def _finding(sheet: Worksheet, shows: bool) -> Finding:
    emulsion = sheet.emulsion
    oil = emulsion.oil_percent
    helped = emulsion.alcohol_share >= sheet.limit("alcohol that helps perfume")
    mild = bool(emulsion.thickeners) or not shows or helped
    keep = "only keeps" if len(of(emulsion.thickeners)) == 1 else "only keep"
    gel = f"; {amounts(emulsion.thickeners)} {keep} the drops from rising" if emulsion.thickeners else ""
    spirit = f"; {share(emulsion.alcohol_share)} alcohol in the water is too little to dissolve it" if helped else ""
    least, most = (sheet.limit(f"{end} solubiliser for perfume") for end in ("least", "most"))
    return rule.finding(
        emulsion.oily[0].item.line,
        f"{amounts(emulsion.oily)} in {share(sheet.water_percent)} water with nothing that dissolves or emulsifies oil"
        f"{gel or spirit}",
        remedy=f"Mix the oil with {share(least * oil)} to {share(most * oil)} solubiliser first, then stir the water in; "
        "try for clarity in the cold as well.",
        source=sheet.cite_limit("oil that shows on water", "least solubiliser for perfume"),
        harm="untidy" if mild else None,
        materials=of(emulsion.oily),
    )
