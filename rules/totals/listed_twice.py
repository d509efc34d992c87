"""One material twice in one phase."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold
from formcheck.review.rule import Finding, declare
from formcheck.review.words import number, percent

rule = declare(
    finds="one material twice in the same phase, also under two of its names",
    harm="untidy",
    why="Two lines for one jar invite weighing it once, or twice; the limits that matter hold for the sum.",
    remedy="Make it one line with the sum, or move one of the two to the phase it belongs to.",
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6, glycerol: 2}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 6, Xanthan Gum: 0.6}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    seen: dict[tuple[str, str], Item] = {}
    for item in sheet.items:
        first = seen.setdefault((item.phase.letter, fold(item.material.name)), item)
        if first is item:
            continue
        same = "" if fold(first.name) == fold(item.name) else f" as {first.name}"
        both = (first.percent or 0) + (item.percent or 0)
        yield rule.finding(
            item.line,
            f"{item.name} stands twice in phase {item.phase.letter}: {_share(item)} here and {_share(first)}{same} "
            f"in line {first.line.place.line}",
            remedy=f"{rule.remedy} Together they are {number(both)} %.",
            source=sheet.reference.cite(rule.sources),
            materials=[item.name],
        )


def _share(item: Item) -> str:
    return "q.s." if item.line.percent is None else percent(item.line.percent)
