"""A raw material whose described contents do not add to 100."""

from collections.abc import Iterator
from decimal import Decimal

from formcheck.bench.composition import total
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import percent

rule = declare(
    finds="a material whose `contains` does not add to 100",
    harm="untidy",
    why=(
        "Limits and labels are worked out from what a blend contains. What is missing from its description goes "
        "unchecked; what is too much is counted against limits that are kept."
    ),
    remedy="Take the shares from the supplier's composition sheet; water and carriers count too.",
    options=(Option("tolerance", 0.5, "%", "how far from 100 the contents may be"),),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Gentle preserver: 1}
materials:
  Gentle preserver:
    contains: {Phenoxyethanol: 80, Ethylhexylglycerin: 10}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Gentle preserver: 1}
materials:
  Gentle preserver:
    contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    for material in sheet.formula.materials:
        for fact in material.facts:
            if fact.property != "contains":
                continue
            whole = total(Decimal(repr(share)) for _, share in fact.value)
            if abs(whole - 100) > Decimal(str(rule.option("tolerance", sheet))):
                yield rule.finding(
                    (fact.place or material.place, material.path + "/contains"),
                    f"what {material.name} contains adds to {percent(whole)}, not 100 %",
                    source=sheet.reference.cite(rule.sources),
                    materials=[material.name],
                )
