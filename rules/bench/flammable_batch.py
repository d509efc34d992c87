"""A batch whose vapour can catch fire."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names, number
from formcheck_rules.bench._hazards import DECIDES, parts_with

rule = declare(
    finds="a batch with so much alcohol or other light liquid that its vapour can catch fire",
    harm="worth knowing",
    why="The vapour is heavier than air, creeps along the bench and flashes back from a flame, a hot plate or a spark.",
    remedy=(
        "No flame, hot plate or spark nearby; air the room; small open vessels; keep a lid and a fire blanket at hand; store "
        f"and send it only as the rules for flammable liquids allow. {DECIDES}"
    ),
    facts=("flash point",),
    sources=("clp-flammable-liquids", "flash-points-aqueous-2013", "common-practice"),
    flawed="""
formcheck: 1
name: Greenhouse hand rub
product: {use: leave-on, form: hand rub, area: [hands]}
phases:
  A: {Alcohol: 70, Glycerin: 1.5, Aqua: q.s.}
""",
    mended="""
formcheck: 1
name: Greenhouse hand cream
product: {use: leave-on, form: balm, area: [hands]}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Cera Alba: 20}
""",
)


def _light(sheet: Worksheet) -> list[tuple[Part, float]]:
    """Liquids that flash in the room or a little above, with their flash point."""
    limit = sheet.limit("caution, flash point")
    return [(part, flash) for part, flash in parts_with(sheet, "flash point") if flash <= limit]


def concerns(sheet: Worksheet) -> bool:
    return bool(_light(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    light = _light(sheet)
    total = sum(part.amount for part, _ in light)
    if total >= sheet.limit("caution, flammable"):
        light.sort(key=lambda each: -each[0].amount)
        shown = names(f"{part.label} ({number(part.percent)} %, flashes at {celsius(flash)})" for part, flash in light)
        yield rule.finding(
            light[0][0].item.line,
            f"{number(total, 3)} % of flammable liquid: {shown}",
            source=sheet.cite_limit("caution, flammable", "caution, flash point"),
            materials=[part.material.name for part, _ in light],
        )
