"""Water from our own still that the procedure does not hold hot."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names, time

AT, FOR = "garden distillate, held at", "garden distillate, held for"

rule = declare(
    finds="water from our own still that is never held hot for long enough",
    harm="fails",
    why="Nothing keeps germs out of it between the still and the batch, and a preservative is no mop.",
    remedy="Put it into a phase that is heated and held, with the lid on.",
    needs=("procedure",),
    sources=("nettle-row-bench-book",),
    flawed="""
formcheck: 1
name: Garden shed face water
product: {use: leave-on, form: toner, area: [face]}
phases:
  A: {Nettle Row rose water: q.s., Glycerin: 3, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1}
procedure:
  - mix: A
    for: 5 min
  - fill: A
finished: {pH: 5.5}
""",
    mended="""
formcheck: 1
name: Garden shed face water
product: {use: leave-on, form: toner, area: [face]}
phases:
  A: {Nettle Row rose water: q.s., Glycerin: 3}
  B: {Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1}
procedure:
  - heat: A
    to: 78 °C
    hold: 20 min
  - cool: A
    to: 30 °C
  - add: B
    into: A
  - fill: A
finished: {pH: 5.5}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("garden distillate")


def check(sheet: Worksheet) -> Iterator[Finding]:
    least = 60 * sheet.limit(FOR)
    cold = [part for part in sheet.outer("garden distillate") if _seconds_hot(sheet, part) < least]
    if cold:
        yield rule.finding(
            cold[0].item.line,
            f"{names(part.item.name for part in cold)} is hot for {time(_seconds_hot(sheet, cold[0]))}; "
            f"it takes {time(least)} at {celsius(sheet.limit(AT))}",
            source=sheet.cite_limit(AT),
            materials=[part.material.name for part in cold],
        )


def _seconds_hot(sheet: Worksheet, part: Part) -> float:
    """How long the line is hot enough, by the procedure's own words."""
    states = sheet.thermal.path_of(part.item)
    return sum(state.seconds for state in states if state.celsius is not None and state.celsius >= sheet.limit(AT))
