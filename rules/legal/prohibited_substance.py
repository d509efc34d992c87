"""A substance that a market prohibits."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, percent

rule = declare(
    finds="a substance on the prohibited list of a market the product is for",
    harm="unlawful",
    why="The law bans it because it harms people; a product with it may not be sold, whatever the dose.",
    remedy="Take it out. If you mean another material, correct the name.",
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Garden brightening cream
product: {use: leave-on, form: cream, area: [face], markets: [EU]}
phases:
  A: {Petrolatum: q.s., Hydroquinone: 2}
""",
    mended="""
formcheck: 1
name: Garden brightening cream
product: {use: leave-on, form: cream, area: [face], markets: [EU]}
phases:
  A: {Petrolatum: q.s., Caprylic/Capric Triglyceride: 2}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    markets = tuple(law.markets(sheet))
    for component in sheet.components:
        hits: dict[str, list[str]] = {}
        for market in markets:
            for ban in law.bans(sheet, market, component):
                if not ban.certain:
                    where = ban.allowed_in or ban.scope or "some products"
                    yield rule.unchecked(
                        f"whether {component.name} is banned here ({ban.source}: {where}): add «product: {{use: ..., form: ..., area: [...]}}»"
                    )
                    continue
                hits.setdefault(market, []).append(ban.source)
        if hits:
            yield rule.finding(
                component.line,
                f"{component.label}, {percent(component.percent)}, is prohibited in cosmetics: {names(hits)}",
                source="; ".join(dict.fromkeys(source for sources in hits.values() for source in sources)),
                materials=[component.name],
            )
