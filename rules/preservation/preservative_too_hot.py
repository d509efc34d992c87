"""A preservative that meets more heat than it survives."""

from collections.abc import Iterator

from formcheck_rules.heat._exposure import Overheated, by_step, overheated

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names, number

rule = declare(
    finds="a preservative that meets a vessel hotter than it survives, or is heated above that later",
    harm="unpreserved",
    why=(
        "Heat drives a preservative off or breaks it down. The product looks the same and is unprotected: germs grow "
        "in it unseen."
    ),
    remedy="Let the vessel cool before the preservative goes in, and do not heat it again afterwards.",
    needs=("procedure",),
    facts=("maximum temperature",),
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
    for group in by_step(overheated(sheet, sheet.outer("preservative"))):
        yield _finding(sheet, group)


def _finding(sheet: Worksheet, group: list[Overheated]) -> Finding:
    first = group[0]
    step = first.step
    limit = min(each.limit.value for each in group)
    met = first.first.celsius or 0
    where = f"in vessel {first.first.vessel} at step {step.number} ({step.verb})" if step else "from the start"
    later = first.hottest.celsius or 0
    rises = f", later {celsius(later)}" if later > met + 1 else ""
    return rule.finding(
        step or first.part.item.line,
        f"{names(each.part.label for each in group)}: {celsius(met)} {where}{rises}; the limit is {celsius(limit)}",
        remedy=_remedy(sheet, first, limit),
        source=sheet.cite(*(each.limit for each in group)),
        materials=[each.part.material.name for each in group],
        step=step.number if step else None,
    )


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
