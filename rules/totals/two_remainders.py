"""More than one line is q.s."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, percent

rule = declare(
    finds="more than one q.s. line",
    harm="cannot be made",
    why="One open line can be worked out from the others; with two nobody knows how to share what is left.",
    remedy="Leave one line as q.s. and give the others their percent.",
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Xanthan Gum: 0.6, Phenoxyethanol: 0.9}
  B: {Glycerin: q.s.}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Xanthan Gum: 0.6, Phenoxyethanol: 0.9}
  B: {Glycerin: 4}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    lines = [item.line for item in sheet.items if item.line.is_remainder]
    if len(lines) < 2:
        return
    yield rule.finding(
        (lines[1].percent_place, lines[1].path),
        f"{len(lines)} lines are q.s. ({names(f'{line.name} in line {line.place.line}' for line in lines)}); "
        f"the fixed lines leave {percent(100 - sheet.composition.fixed)}",
        source=sheet.reference.cite(rule.sources),
        materials=[line.name for line in lines],
    )
