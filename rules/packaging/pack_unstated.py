"""Something that light destroys, and no word about the pack."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names
from formcheck_rules.packaging.light_sensitive_in_clear_pack import sensitive

rule = declare(
    finds="a light-sensitive material, and no packaging given",
    harm="worth knowing",
    why="Whether it lasts depends on the pack.",
    remedy="Add «packaging:» with container, material and wall; opaque, amber and cobalt keep light out.",
    facts=("light sensitivity",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden night oil
product: {use: leave-on, form: oil, area: [face]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Retinol: 0.1, Tocopherol: 0.5}
""",
    mended="""
formcheck: 1
name: Garden night oil
product: {use: leave-on, form: oil, area: [face]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Retinol: 0.1, Tocopherol: 0.5}
packaging: {container: dropper bottle, material: glass, wall: amber}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    found = sensitive(sheet, "high")
    if sheet.formula.packaging is None and found:
        part = found[0][0]
        yield rule.finding(
            part.item.line,
            f"light destroys {names(p.label for p, _ in found)}, and no packaging is given",
            source=sheet.cite(*(fact for _, fact in found)),
            materials=[p.material.name for p, _ in found],
        )
