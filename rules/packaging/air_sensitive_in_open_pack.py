"""Something that oxidises in a pack that is opened wide at every use."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, percent

rule = declare(
    finds="something that oxidises in a jar or another open pack",
    harm="untidy",
    why="Every opening lets fresh air in: what oxygen destroys is used up long before the jar is.",
    remedy="Take an airless bottle, a tube or a narrow-necked bottle, and fill it to the brim.",
    needs=("container",),
    facts=("air sensitivity",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden night balm
product: {use: leave-on, form: balm, area: [face]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Cera Alba: 15, Retinol: 0.1, Tocopherol: 0.5}
packaging: {container: jar, material: glass, wall: opaque}
""",
    mended="""
formcheck: 1
name: Garden night balm
product: {use: leave-on, form: balm, area: [face]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Cera Alba: 15, Retinol: 0.1, Tocopherol: 0.5}
packaging: {container: tube, material: aluminium, wall: opaque}
""",
)


@once
def _sensitive(sheet: Worksheet) -> list[tuple[Part, Fact]]:
    """What air destroys, protecting antioxidants aside: being used up is their work."""
    least = sheet.limit("share that matters in light or air")
    return [
        (part, fact)
        for part, fact in sheet.with_fact("air sensitivity")
        if fact.value == "high" and part.amount >= least and not part.material.is_a("antioxidant")
    ]


def concerns(sheet: Worksheet) -> bool:
    return bool(_sensitive(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    found = _sensitive(sheet)
    pack = sheet.formula.packaging
    if pack is not None and sheet.opens_wide and found:
        yield rule.finding(
            (pack.places.get("container", pack.place), "/packaging/container"),
            f"{pack.container}, and air destroys {names(f'{p.label} ({percent(p.percent)})' for p, _ in found)}",
            source=sheet.cite(*(fact for _, fact in found)),
            materials=[part.material.name for part, _ in found],
        )
