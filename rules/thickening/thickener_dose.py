"""A thickener outside the dose that is usual for it."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import names, number, span
from formcheck_rules.thickening._water import thickeners

rule = declare(
    finds="a thickener outside its usual dose",
    harm="untidy",
    why=(
        "Far above it a gel turns to rubber, drags and pills on the skin and holds air; far below it, where nothing else "
        "thickens, there is no gel."
    ),
    remedy="Start from the middle of the usual range and go by how the product flows.",
    facts=("dose",),
    options=(Option("slack", 50, "%", "how far past the usual dose nobody would speak of it"),),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 20, Xanthan Gum: 4, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
""",
    mended="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 20, Xanthan Gum: 1, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
""",
)

BODY = ("thickener", "surfactant thickener", "film former", "oil", "surfactant", "powder", "sugar")
"""What gives a product body besides the thickener in question."""


@once
def _dosed(sheet: Worksheet) -> list[tuple[list[Part], Fact]]:
    """Thickeners of the formula, the lines of one material together, with their usual dose."""
    groups: dict[str, list[Part]] = {}
    for part in thickeners(sheet):
        groups.setdefault(part.material.name, []).append(part)
    return [(group, fact) for group in groups.values() if (fact := sheet.fact(group[0].material, "dose"))]


def concerns(sheet: Worksheet) -> bool:
    return bool(_dosed(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    slack = 1 + rule.option("slack", sheet) / 100
    for parts, dose in _dosed(sheet):
        amount = sum(part.amount for part in parts)
        high = dose.value.high is not None and amount > dose.value.high * slack
        low = dose.value.low is not None and amount * slack < dose.value.low and _alone(sheet, parts)
        if high or low:
            yield rule.finding(
                parts[0].item.line,
                f"{names(part.label for part in parts)} at {number(amount)} %; the usual dose is {span(dose.value, '%')}",
                remedy="" if not low else f"{rule.remedy} Below {number(dose.value.low)} % it thickens hardly at all.",
                source=sheet.cite(dose),
                materials=[parts[0].material.name],
            )


def _alone(sheet: Worksheet, parts: list[Part]) -> bool:
    """Whether a gel rests on this thickener only."""
    if sheet.product.form != "gel":
        return False
    own = {id(part.item) for part in parts}
    return all(id(part.item) in own for part in sheet.outer(*BODY))
