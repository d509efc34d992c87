"""Something that is weighed and never gets into the product."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names

rule = declare(
    finds="a phase or material that no step puts into the product that is filled",
    harm="cannot be made",
    why="What is left standing on the bench is missing from the product: a preservative, for instance.",
    remedy="Add the step that brings it in, or take it out of the formula.",
    needs=("procedure",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
  B: {Panthenol: 1}
procedure:
  - disperse: Xanthan Gum
    in: Glycerin
  - rest: A
    for: 12 h
  - fill: A
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
  B: {Panthenol: 1}
procedure:
  - disperse: Xanthan Gum
    in: Glycerin
  - add: B
    into: A
  - rest: A
    for: 12 h
  - fill: A
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    history = sheet.thermal
    product = {id(item) for item in _product(sheet)}
    left_out = [item for item in sheet.items if id(item) not in product]
    by_phase: dict[str, list[str]] = {}
    for item in left_out:
        by_phase.setdefault(item.phase.letter, []).append(item.name)
    for phase in sheet.formula.phases:
        missing = by_phase.get(phase.letter, [])
        if not missing:
            continue
        whole = len(missing) == len(phase.lines)
        what = f"phase {phase.letter} ({names(missing)})" if whole else f"{names(missing)} of phase {phase.letter}"
        goal = "the product that is filled" if history.fillings else "the vessel that the product ends in"
        first = next(line for line in phase.lines if line.name in missing)
        yield rule.finding(
            phase if whole else first,
            f"no step brings {what} into {goal}",
            remedy=f"{rule.remedy} Such as «add: {phase.letter if whole else missing[0]}» with «into:».",
            source=sheet.reference.cite(rule.sources),
            materials=missing,
        )


def _product(sheet: Worksheet) -> tuple[Item, ...]:
    """What is filled; where nothing is filled, what the fullest vessel holds at the end."""
    history = sheet.thermal
    if history.fillings:
        return tuple(item for filling in history.fillings for item in filling.items)
    last = {moment.vessel: moment for moment in history.moments if moment.next is None}
    return max((moment.items for moment in last.values()), key=len, default=())
