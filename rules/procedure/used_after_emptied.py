"""A step on a vessel that has nothing in it any more."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare

rule = declare(
    finds="a step that works on a vessel which is already emptied into another",
    harm="cannot be made",
    why="A phase that was poured into another is gone; the mixture keeps the letter of the vessel it was poured into.",
    remedy="Name the vessel that holds the mixture, or put the step before the pouring.",
    needs=("procedure",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
  B: {Panthenol: 1}
procedure:
  - add: B
    into: A
  - mix: B
    for: 5 min
  - fill: A
""",
    mended="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
  B: {Panthenol: 1}
procedure:
  - add: B
    into: A
  - mix: A
    for: 5 min
  - fill: A
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    for step, vessel, earlier, into in sheet.thermal.emptied:
        yield rule.finding(
            step,
            f"step {step.number} ({step.verb}) works on {vessel}, which step {earlier.number} emptied into {into}",
            remedy=f"Write {into} here, or put this step before step {earlier.number}.",
            source=sheet.reference.cite(rule.sources),
        )
