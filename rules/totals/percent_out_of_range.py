"""A percent that no line can have."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import percent

rule = declare(
    finds="zero or negative percents, or one over 100",
    harm="cannot be made",
    why="A line of nothing cannot be weighed, and no line can be more than the whole.",
    remedy="Correct the percent, or take the line out.",
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 0, Xanthan Gum: 0.6}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    for line in sheet.formula.lines:
        if line.percent is not None and not 0 < line.percent <= 100:
            yield rule.finding(
                (line.percent_place, line.path),
                f"{line.name} has {percent(line.percent)}; a line has more than 0 % and at most 100 %",
                source=sheet.reference.cite(rule.sources),
                materials=[line.name],
            )
