"""More perfume than this house puts into what stays on the skin."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import names, number, percent

rule = declare(
    finds="more perfume and essential oil than this house puts into what stays on the skin",
    harm="untidy",
    why="Our customers come back for faint scents, and what stays on the skin stays with them.",
    remedy="Take less, or make it a product that is rinsed off.",
    needs=("use",),
    # a house may set it otherwise in its formcheck.toml: [rules.perfume-above-house-limit] most = "0.5 %"
    options=(Option("most", 0.8, "%", "of perfume and essential oil together in a leave-on product"),),
    sources=("nettle-row-bench-book",),
    flawed="""
formcheck: 1
name: Garden shed body oil
product: {use: leave-on, form: oil, area: [body]}
phases:
  A:
    Helianthus Annuus Seed Oil: q.s.
    Tocopherol: 0.5
    Parfum: 1.2
""",
    mended="""
formcheck: 1
name: Garden shed body oil
product: {use: leave-on, form: oil, area: [body]}
phases:
  A:
    Helianthus Annuus Seed Oil: q.s.
    Tocopherol: 0.5
    Parfum: 0.6
""",
)

SCENTS = ("fragrance", "essential oil")


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds(*SCENTS)


def check(sheet: Worksheet) -> Iterator[Finding]:
    most = rule.option("most", sheet)
    scents = sheet.outer(*SCENTS)
    if sheet.product.use == "leave-on" and sheet.percent_of(*SCENTS) > most:
        yield rule.finding(
            scents[0].item.line,
            f"{percent(sheet.percent_of(*SCENTS))} of {names(part.label for part in scents)}; "
            f"this house stops at {number(most)} %",
            source=sheet.reference.cite(rule.sources),
            materials=[part.material.name for part in scents],
        )
