"""An active or another delicate material above the temperature it survives."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import celsius, names
from formcheck_rules.heat._exposure import by_step, left_open, overheated
from formcheck_rules.heat._later import behind_cooling

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="an active above the temperature it survives",
    harm="fails",
    why="Heat breaks it down before the product reaches the shelf: the label promises what the jar no longer holds.",
    remedy="Add it in the cool-down phase, below its limit.",
    needs=("procedure",),
    facts=("maximum temperature",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden cream
phases:
  A: {Aqua: q.s., Glycerin: 4, Plum extract: 2}
materials:
  Plum extract: {class: botanical extract, maximum temperature: 40 °C}
procedure:
  - heat: A
    to: 75 °C
  - cool: A
    to: 25 °C
  - fill: A
""",
    mended="""
formcheck: 1
name: Garden cream
phases:
  A: {Aqua: q.s., Glycerin: 4}
  B: {Plum extract: 2}
materials:
  Plum extract: {class: botanical extract, maximum temperature: 40 °C}
procedure:
  - heat: A
    to: 75 °C
  - cool: A
    to: 35 °C
  - add: B
    into: A
  - fill: A
""",
)


def _delicate(sheet: Worksheet) -> list[Part]:
    """Everything with a heat limit that no other rule looks after."""
    others = ("preservative", "essential oil", "fragrance", "volatile alcohol")
    return [part for part, _ in sheet.with_fact("maximum temperature") if not part.material.is_a(*others)]


def concerns(sheet: Worksheet) -> bool:
    return bool(_delicate(sheet))


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for ask in left_open(sheet, _delicate(sheet)):
        yield rule.unchecked(ask)
    for group in by_step(overheated(sheet, _delicate(sheet))):
        first = group[0]
        step = first.step
        where = f"in vessel {first.first.vessel} at step {step.number} ({step.verb})" if step else "from the start"
        limits = names(f"{each.part.label} bears {celsius(each.limit.value)}" for each in group)
        yield rule.finding(
            step or first.part.item.line,
            f"{celsius(first.first.celsius or 0)} {where}: {limits}",
            remedy=f"Add {names(each.part.item.name for each in group)} below "
            f"{celsius(min(each.limit.value for each in group))}, and do not heat above that afterwards.",
            source=sheet.cite(*(each.limit for each in group)),
            materials=[each.part.material.name for each in group],
            step=step.number if step else None,
        )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """It goes in after the cooling that the procedure has already."""
    for group in by_step(overheated(sheet, _delicate(sheet))):
        if group[0].step is not None and group[0].step.number == finding.step:
            yield from behind_cooling(sheet, finding, min(each.limit.value for each in group))
