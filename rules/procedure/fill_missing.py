"""A procedure that never comes to the pack."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare

rule = declare(
    finds="a procedure that never fills",
    harm="worth knowing",
    why="Filling has a temperature and a time of its own; what is not written is not checked and not repeated alike.",
    remedy="Add «fill:» with the vessel as the last step.",
    needs=("procedure",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
procedure:
  - mix: A
    for: 5 min
""",
    mended="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
procedure:
  - mix: A
    for: 5 min
  - fill: A
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    steps = sheet.formula.procedure
    if not any(step.verb == "fill" for step in steps):
        yield rule.finding(
            (steps[-1].place, steps[-1].path),
            f"the procedure ends after step {steps[-1].number} ({steps[-1].verb}) and never fills",
            source=sheet.reference.cite(rule.sources),
        )
