"""Fine powders that get into the air when they are weighed."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck_rules.bench._hazards import DECIDES, has, hazardous, listed_with_amounts

rule = declare(
    finds="fine powders in amounts that raise dust, or powders that irritate as well",
    harm="worth knowing",
    why="Dust that is breathed in irritates or settles in the lungs, however harmless the powder is on the skin.",
    remedy=f"Weigh without a draught, pour close to the vessel, wear a dust mask and goggles, wipe up damp. {DECIDES}",
    facts=("hazards",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Greenhouse dusting powder
product: {use: leave-on, form: powder}
phases:
  A: {Talc: q.s., Zinc Oxide: 10}
""",
    mended="""
formcheck: 1
name: Greenhouse balm
product: {use: leave-on, form: balm}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Cera Alba: 20, Zinc Oxide: 2}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return any(True for _ in hazardous(sheet, "dust"))


def check(sheet: Worksheet) -> Iterator[Finding]:
    least = sheet.limit("caution, dust at all")
    dusty = [item for item in hazardous(sheet, "dust") if item.amount >= least]
    enough = sum(item.amount for item in dusty) >= sheet.limit("caution, dust")
    listed = dusty if enough else [item for item in dusty if _sharp(sheet, item)]
    if listed:
        yield rule.finding(
            listed[0].line,
            f"dusty to weigh: {listed_with_amounts(listed)}",
            source=sheet.cite_limit("caution, dust"),
            materials=[item.material.name for item in listed],
        )


def _sharp(sheet: Worksheet, item: Item) -> bool:
    """A powder that irritates as well, in an amount that matters."""
    return item.amount >= sheet.limit("caution, irritant dust") and has(sheet, item, "irritant")
