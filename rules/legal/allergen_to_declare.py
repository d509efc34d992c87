"""Fragrance allergens that the list of ingredients has to name."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.allergens import to_declare, unknown
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, share

rule = declare(
    finds="fragrance allergens over the declaration threshold, from essential oils too",
    harm="worth knowing",
    why="People who are allergic to one of them find it only if the list of ingredients names it.",
    remedy="Name them at the end of the list of ingredients; take the true contents from the supplier's allergen sheet.",
    facts=("allergens",),
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm, markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
  B: {Lavandula Angustifolia Oil: 0.5}
packaging: {container: tin, material: aluminium, wall: opaque}
""",
    mended="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm, markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
packaging: {container: tin, material: aluminium, wall: opaque}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for market in law.markets(sheet):
        over = to_declare(sheet, market)
        if over:
            listed = names((f"{each.name} about {share(float(each.percent))}" for each in over), most=len(over))
            use = sheet.product.use or "leave-on (assumed)"
            yield rule.finding(
                over[0].bearers[0].line,
                f"to be named in {market} ({use}): {listed}",
                source=over[0].allergen.source,
                materials=[each.name for each in over],
            )
    for part in unknown(sheet):
        yield rule.unchecked(
            f"the allergens of {part.label}: add «allergens:» under «materials:» from its allergen sheet"
        )
