"""Wording that has to stand on the label."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.wording import due
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare

rule = declare(
    finds="wording that law or guidance wants on the label because of what is in the product",
    harm="untidy",
    why="The buyer is to be told what the maker knows; without the wording the product may not be sold.",
    remedy="Put the wording on the label, in the words that the law gives; what stands here is the gist.",
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Bean row peel
product: {use: leave-on, form: toner, area: [face], markets: [US]}
phases:
  A: {Aqua: q.s., Glycolic Acid: 5, Sodium Hydroxide: 1, Phenoxyethanol: 0.9, Sodium Phytate: 0.1}
finished: {pH: 4.0}
packaging: {container: bottle, material: PET, wall: opaque}
""",
    mended="""
formcheck: 1
name: Bean row toner
product: {use: leave-on, form: toner, area: [face], markets: [US]}
phases:
  A: {Aqua: q.s., Glycerin: 5, Phenoxyethanol: 0.9, Sodium Phytate: 0.1}
finished: {pH: 5.0}
packaging: {container: bottle, material: PET, wall: opaque}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    product = sheet.formula.product
    at = (product.places["markets"], "/product/markets") if "markets" in product.places else (sheet.formula.place, "")
    for market in law.markets(sheet):
        wordings = due(sheet, market)
        if wordings:
            shown = (f"{each.shown} [{each.cause}{'' if each.duty == 'law' else ', guidance'}]" for each in wordings)
            yield rule.finding(
                at,
                f"the label in {market} has to carry {len(wordings)} wording{'s' if len(wordings) > 1 else ''}: "
                + "; ".join(shown),
                source="; ".join(dict.fromkeys(each.source for each in wordings if each.source)),
            )
