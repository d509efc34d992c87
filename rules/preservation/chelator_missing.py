"""A preserved water-based product without a chelator."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import share
from formcheck_rules.preservation._words import main_water

rule = declare(
    finds="a preserved, water-based product without a chelator",
    harm="untidy",
    why=(
        "A chelator takes the calcium that holds the coat of Pseudomonas and its kin together, so that preservatives get "
        "in, and the iron and copper that spoil oils, colours and vitamins."
    ),
    remedy="Add one at its usual dose, dissolved in the water first of all.",
    sources=("brannan-preservation-1995",),
    flawed="""
formcheck: 1
name: Plot-holder face toner
phases:
  A: {Aqua: q.s., Glycerin: 3, Panthenol: 0.5}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5.5}
""",
    mended="""
formcheck: 1
name: Plot-holder face toner
phases:
  A: {Aqua: q.s., Glycerin: 3, Panthenol: 0.5, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5.5}
""",
)

W_O = "water-in-oil emulsifier"


def concerns(sheet: Worksheet) -> bool:
    return sheet.water_percent >= sheet.limit("water-based") and bool(sheet.preservation.preservatives)


def check(sheet: Worksheet) -> Iterator[Finding]:
    if _has_chelator(sheet) or sheet.preservation.keeps_itself or _would_spoil(sheet) or _water_in_oil(sheet):
        return
    yield rule.finding(
        main_water(sheet).line,
        f"{share(sheet.water_percent)} of water, preserved, and no chelator",
        source=sheet.reference.cite(rule.sources),
        materials=[main_water(sheet).material.name],
    )


def _has_chelator(sheet: Worksheet) -> bool:
    """Among the lines, or added to taste by a step."""
    if sheet.inside("chelator"):
        return True
    added = (sheet.book.find(name) for step in sheet.formula.procedure for name in step.with_)
    return any(material.is_a("chelator") for material in added if material is not None)


def _would_spoil(sheet: Worksheet) -> bool:
    """Whether something in it would lose its metal to a chelator."""
    return any(other == "chelator" for part in sheet.parts for other, _ in part.material.quarrels())


def _water_in_oil(sheet: Worksheet) -> bool:
    """Whether its water lies in drops, held firm by salts that would use a chelator up."""
    kinds = {sheet.value(part.material, "emulsion type") for part in sheet.emulsion.emulsifiers}
    return kinds == {"water in oil"} or (bool(kinds) and all(p.material.is_a(W_O) for p in sheet.emulsion.emulsifiers))
