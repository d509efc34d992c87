"""A preservative that meets more heat than it survives."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.reference.material import Material
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names, number
from formcheck_rules.heat._exposure import Overheated, by_step, overheated

rule = declare(
    finds="a preservative that meets a vessel hotter than it survives, or is heated above that later; in a minor finding, hotter than common practice adds it",
    harm="unpreserved",
    why=(
        "Heat drives a preservative off or breaks it down. The product looks the same and is unprotected: germs grow "
        "in it unseen."
    ),
    remedy="Let the vessel cool before the preservative goes in, and do not heat it again afterwards.",
    needs=("procedure",),
    facts=("maximum temperature", "cool-down temperature"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1}
  B: {Gentle preserver: 1}
materials:
  Gentle preserver:
    contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}
    class: preservative
    maximum temperature: 45 °C
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - heat: A
    to: 70 °C
    hold: 20 min
  - add: B
    into: A
  - fill: A
    at: 30 °C
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1}
  B: {Gentle preserver: 1}
materials:
  Gentle preserver:
    contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}
    class: preservative
    maximum temperature: 45 °C
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - heat: A
    to: 70 °C
    hold: 20 min
  - cool: A
    to: 30 °C
  - add: B
    into: A
  - fill: A
""",
)


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("preservative")


def check(sheet: Worksheet) -> Iterator[Finding]:
    lost = by_step(overheated(sheet, sheet.outer("preservative")))
    for group in lost:
        yield _lost(sheet, group)
    told = {id(each.part.item) for group in lost for each in group}
    parts = [part for part in _cool_down_parts(sheet) if id(part.item) not in told]
    for group in by_step(overheated(sheet, parts, "cool-down temperature")):
        yield _weakened(sheet, group)


def _cool_down_parts(sheet: Worksheet) -> list[Part]:
    """Preservatives with a cool-down temperature. What a house says of its own blend as a whole goes before its contents."""
    return [
        part
        for part, _ in sheet.with_fact("cool-down temperature")
        if part.material.is_a("preservative") and not _spoken_for(part.blend)
    ]


def _spoken_for(blend: Material | None) -> bool:
    return blend is not None and blend.house and blend.value("maximum temperature") is not None


def _lost(sheet: Worksheet, group: list[Overheated]) -> Finding:
    first = group[0]
    limit = min(each.limit.value for each in group)
    return rule.finding(
        first.step or first.part.item.line,
        f"{_met(group)}; the limit is {celsius(limit)}",
        remedy=_remedy(sheet, first, limit),
        source=sheet.cite(*(each.limit for each in group)),
        materials=[each.part.material.name for each in group],
        step=first.step.number if first.step else None,
    )


def _weakened(sheet: Worksheet, group: list[Overheated]) -> Finding:
    first = group[0]
    limit = min(each.limit.value for each in group)
    return rule.finding(
        first.step or first.part.item.line,
        f"{_met(group)}; common practice adds {'it' if len(group) == 1 else 'them'} below {celsius(limit)}",
        harm="untidy",
        why="It survives this heat, but some of it leaves with the steam or breaks down, and the dose has no slack for that.",
        remedy=_remedy(sheet, first, limit),
        source=sheet.cite(*(each.limit for each in group)),
        materials=[each.part.material.name for each in group],
        step=first.step.number if first.step else None,
    )


def _met(group: list[Overheated]) -> str:
    first = group[0]
    met, later = first.first.celsius or 0, first.hottest.celsius or 0
    where = (
        f"in vessel {first.first.vessel} at step {first.step.number} ({first.step.verb})"
        if first.step
        else "from the start"
    )
    rises = f", later {celsius(later)}" if later > met + 1 else ""
    return f"{names(each.part.label for each in group)}: {celsius(met)} {where}{rises}"


def _remedy(sheet: Worksheet, first: Overheated, limit: float) -> str:
    minutes = None
    steps = sheet.formula.procedure
    if first.step is not None and first.step.verb == "add" and first.step.number > 1:
        minutes = sheet.minutes_to_cool(steps[first.step.number - 2], limit)
    wait = (
        f" Left to itself the vessel takes about {number(minutes, 2)} min to get there (within a factor of two)."
        if minutes
        else ""
    )
    return f"Add it below {celsius(limit)}, and do not heat above that afterwards.{wait}"
