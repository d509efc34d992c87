"""A preservative that meets more heat than it survives."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.composition import Part
from formcheck.bench.thermal import SETTLED_K
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.reference.material import Material
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import celsius, names, number
from formcheck_rules.heat._exposure import Overheated, by_step, left_open, overheated
from formcheck_rules.heat._later import behind_cooling

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds=(
        "a preservative that meets a vessel hotter than it may, or is heated further than it withstands; in a minor finding, "
        "heated with its phase further than is good for the dose; in a note, added hotter than is the habit"
    ),
    harm="unpreserved",
    why=(
        "Heat drives a preservative off or breaks it down. The product looks the same and is unprotected: germs grow "
        "in it unseen."
    ),
    remedy="Let the vessel cool before the preservative goes in, and do not heat it again afterwards.",
    needs=("procedure",),
    facts=("maximum temperature", "withstands", "cool-down temperature"),
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


WARMED = "phase warmed with its preservative"
WARMING = ("heat", "hold", "hydrate")
MILD_WHY = (
    "It survives this heat, but some of it leaves with the steam or breaks down, and the dose has no slack for that."
)
HABIT = ", the habit of the trade, which leaves a margin"
HABIT_WHY = "Hardly any of it is lost at this heat; the habit of adding it cooler leaves a margin for a vessel hotter than it reads."


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for ask in left_open(sheet, sheet.outer("preservative")):
        yield rule.unchecked(ask)
    lost = list(overheated(sheet, sheet.outer("preservative")))
    for harm in ("unpreserved", "untidy"):
        for group in by_step(each for each in lost if _harm(sheet, each) == harm):
            yield _lost(sheet, group, harm)
    told = {id(each.part.item) for each in lost}
    parts = [part for part in _cool_down_parts(sheet) if id(part.item) not in told]
    warm = (each for each in overheated(sheet, parts, "cool-down temperature") if not _heated_along(sheet, each))
    for group in by_step(warm):
        yield _habit(sheet, group)


def _harm(sheet: Worksheet, each: Overheated) -> str:
    """What is heated with its phase is lost only where that goes further than it withstands."""
    if sheet.preservation.keeps_itself or (_heated_along(sheet, each) and not _destroyed(sheet, each)):
        return "untidy"
    return rule.harm


def _heated_along(sheet: Worksheet, each: Overheated) -> bool:
    """Whether it was warmed in its own phase rather than met heat by going in, or by something hot poured on it."""
    path = sheet.thermal.path_of(each.part.item)
    at = path.index(each.first)
    before = path[at - 1] if at else None
    if each.step is None or each.step.verb in WARMING:
        return True
    return before is not None and before.celsius is not None and before.celsius >= sheet.limit(WARMED) - SETTLED_K


def _withstands(sheet: Worksheet, each: Overheated) -> Fact:
    return sheet.fact(each.part.material, "withstands") or each.limit


def _destroyed(sheet: Worksheet, each: Overheated) -> bool:
    return bool((each.hottest.celsius or 0) > _withstands(sheet, each).value + SETTLED_K)


def _cool_down_parts(sheet: Worksheet) -> list[Part]:
    """Preservatives with a cool-down temperature. What a house says of its own blend as a whole goes before its contents."""
    return [
        part
        for part, _ in sheet.with_fact("cool-down temperature")
        if part.material.is_a("preservative") and not _spoken_for(part.blend)
    ]


def _spoken_for(blend: Material | None) -> bool:
    return blend is not None and blend.house and blend.value("maximum temperature") is not None


def _lost(sheet: Worksheet, group: list[Overheated], harm: str) -> Finding:
    first = group[0]
    along = all(_heated_along(sheet, each) for each in group)
    destroyed = along and harm == rule.harm
    limits = [_withstands(sheet, each) if destroyed else each.limit for each in group]
    limit = min(fact.value for fact in limits)
    advised = min(_advised(sheet, each) for each in group)
    return rule.finding(
        first.step or first.part.item.line,
        f"{_met(group)}; {f'it withstands {celsius(limit)}' if destroyed else f'the limit is {celsius(limit)}'}",
        harm=harm,
        why=None if harm == rule.harm else MILD_WHY,
        remedy=_remedy(sheet, first, advised, HABIT if advised < limit and not destroyed else ""),
        source=sheet.cite(*limits),
        materials=[each.part.material.name for each in group],
        step=first.step.number if first.step else None,
    )


def _advised(sheet: Worksheet, each: Overheated) -> float:
    """Where common practice adds it, °C; its limit where no habit is known."""
    habit = sheet.fact(each.part.material, "cool-down temperature")
    return float(min(each.limit.value, habit.value) if habit else each.limit.value)


def _habit(sheet: Worksheet, group: list[Overheated]) -> Finding:
    first = group[0]
    limit = min(each.limit.value for each in group)
    return rule.finding(
        first.step or first.part.item.line,
        f"{_met(group)}; common practice adds {'it' if len(group) == 1 else 'them'} below {celsius(limit)}",
        harm="worth knowing",
        why=HABIT_WHY,
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


def _remedy(sheet: Worksheet, first: Overheated, limit: float, why: str = "") -> str:
    minutes = None
    steps = sheet.formula.procedure
    if first.step is not None and first.step.verb == "add" and first.step.number > 1:
        minutes = sheet.minutes_to_cool(steps[first.step.number - 2], limit)
    wait = (
        f" Left to itself the vessel takes about {number(minutes, 2)} min to get there (within a factor of two)."
        if minutes
        else ""
    )
    return f"Add it below {celsius(limit)}{why}, and do not heat above that afterwards.{wait}"


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """It goes in after the cooling that the procedure has already."""
    parts = sheet.outer("preservative")
    for property in ("maximum temperature", "cool-down temperature"):
        chosen = parts if property == "maximum temperature" else _cool_down_parts(sheet)
        for group in by_step(overheated(sheet, chosen, property)):
            if group[0].step is not None and group[0].step.number == finding.step:
                yield from behind_cooling(sheet, finding, min(each.limit.value for each in group))
                return
