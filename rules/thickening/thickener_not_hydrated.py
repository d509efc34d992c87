"""A thickener that gets too little time in water, or never the temperature at which it swells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from formcheck.bench.composition import Part
from formcheck.bench.thermal import Moment
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Fact, Step
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, time
from formcheck_rules.thickening._bases import PH_STEPS
from formcheck_rules.thickening._water import dry_thickeners, label, meeting

rule = declare(
    finds="a thickener with too little time in water, or never at a temperature at which its kind swells",
    harm="fails",
    why=(
        "What has not swollen does not thicken. The batch looks too thin, is mended with more gum, and thickens far "
        "past its aim in the pack."
    ),
    remedy="Give it time to swell before the rest goes in, warm where its kind likes that.",
    needs=("procedure",),
    facts=(
        "hydration time",
        "hot hydration time",
        "hot hydration temperature",
        "swells below",
        "dissolving temperature",
        "needs neutralising",
    ),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1.2, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - mix: A
    for: 5 min
  - fill: A
""",
    mended="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1.2, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - hydrate: A
    for: 20 min
    at: 50 °C
  - rest: A
    for: 4 h
  - fill: A
""",
)

TIMED = ("rest", "hydrate", "mix", "hold")
"""Verbs whose length decides; without it nothing can be said."""
SLICES = 8


class Swelling(NamedTuple):
    """How far a thickener gets. share: of the time it needs; seconds: that the procedure states or implies."""

    part: Part
    share: float
    seconds: float
    end: Step


class Stretch(NamedTuple):
    """So many seconds between two temperatures, °C; stated: by the procedure's own words; sheared: by a homogeniser."""

    seconds: float
    start: float
    end: float
    stated: bool
    sheared: bool


@once
def _swelling(sheet: Worksheet) -> list[Part]:
    """What swells in water by itself; gums that emulsify do their work at the oil as soon as they are wet."""
    return [part for part in dry_thickeners(sheet) if _swells(sheet, part)]


def _swells(sheet: Worksheet, part: Part) -> bool:
    hot_only = sheet.value(part.material, "dissolving temperature") is not None
    emulsifies = part.material.is_a("polymeric emulsifier") and sheet.oil_percent >= 1
    return bool(sheet.value(part.material, "hydration time")) and not hot_only and not emulsifies


def concerns(sheet: Worksheet) -> bool:
    return bool(_swelling(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    enough = sheet.limit("too little swelling") / 100
    groups: dict[int, list[Swelling]] = {}
    for part in _swelling(sheet):
        reached = _reached(sheet, part)
        if reached is not None and reached.share < enough:
            groups.setdefault(reached.end.number, []).append(reached)
    for group in groups.values():
        yield _finding(sheet, group)


def _reached(sheet: Worksheet, part: Part) -> Swelling | None:
    """How far the thickener swells until it is filled or neutralised; None where the procedure leaves the times open."""
    met = meeting(sheet, part.item)
    if met is None:
        return None
    path = sheet.thermal.path_of(part.item)
    path = path[next(i for i, moment in enumerate(path) if moment is met.moment) :]
    end = next((i for i, moment in enumerate(path) if _ends(sheet, part, moment)), None)
    if not end:
        return None
    stretches = _stretches(sheet, path[: end + 1])
    last = path[end].step
    if stretches is None or last is None or not any(each.stated for each in stretches):
        return None
    share = sum(_share(sheet, part, each) for each in stretches)
    return Swelling(part, share, sum(each.seconds for each in stretches), last)


def _ends(sheet: Worksheet, part: Part, moment: Moment) -> bool:
    """Filling ends the swelling; what a base thickens is only wetted out until the base comes, and then swells at once."""
    verb = moment.step.verb if moment.step else ""
    if not sheet.value(part.material, "needs neutralising"):
        return verb == "fill"
    return verb in PH_STEPS or any(
        inner.material.is_a("base") for item in moment.items for inner in sheet.parts_of(item)
    )


def _stretches(sheet: Worksheet, path: list[Moment]) -> list[Stretch] | None:
    """The times along a path of states; None where a step that takes its time does not say how long."""
    pace = sheet.limit("pace of heating and cooling") / 60
    result: list[Stretch] = []
    before = path[0].celsius
    for moment, following in pairwise(path):
        if moment.celsius is None or before is None:
            return None
        step = moment.step
        if step is not None and step.verb in TIMED and not (step.for_seconds or step.hold_seconds):
            return None
        if step is not None and step.verb in ("heat", "cool"):
            result.append(Stretch(abs(moment.celsius - before) / pace, before, moment.celsius, False, False))
        if moment.seconds:
            later = following.celsius if following.step is step else None
            sheared = step is not None and step.verb == "homogenise"
            result.append(
                Stretch(moment.seconds, moment.celsius, moment.celsius if later is None else later, True, sheared)
            )
        before = moment.celsius
    return result


def _share(sheet: Worksheet, part: Part, stretch: Stretch) -> float:
    """Part of the swelling that a stretch brings, the temperature taken as even between its ends."""
    speed = sheet.limit("homogeniser shortens swelling by") if stretch.sheared else 1.0
    slices = 1 if stretch.start == stretch.end else SLICES
    rise = (stretch.end - stretch.start) / slices
    temperatures = (stretch.start + rise * (i + 0.5) for i in range(slices))
    return speed * _swollen(sheet, part, temperatures, stretch.seconds / slices)


def _swollen(sheet: Worksheet, part: Part, temperatures: Iterable[float], seconds: float) -> float:
    cold = float(sheet.value(part.material, "hydration time"))
    hot = sheet.value(part.material, "hot hydration time")
    hot_from = sheet.value(part.material, "hot hydration temperature")
    below = sheet.value(part.material, "swells below")
    total = 0.0
    for temperature in temperatures:
        if below is not None and temperature > below:
            continue
        warm = hot is not None and hot_from is not None and temperature >= hot_from
        total += seconds / (float(hot) if warm else cold)
    return total


def _finding(sheet: Worksheet, group: list[Swelling]) -> Finding:
    step = group[0].end
    slowest = max(group, key=lambda each: sheet.value(each.part.material, "hydration time"))
    return rule.finding(
        step,
        f"too little swelling before step {step.number} ({step.verb}): "
        + "; ".join(_said(sheet, each) for each in group),
        remedy=f"Before that, let it swell for {_need(sheet, slowest.part)}.",
        source=sheet.cite(*(_time(sheet, each.part) for each in group)),
        harm=None if any(_plain(sheet, each) for each in group) else "untidy",
        materials=[each.part.material.name for each in group],
        step=step.number,
    )


def _said(sheet: Worksheet, each: Swelling) -> str:
    if not each.share:
        return f"{label(each.part)} is never cool enough and takes {_need(sheet, each.part)}"
    return f"{label(each.part)} has about {time(each.seconds)} in water and takes {_need(sheet, each.part)}"


def _time(sheet: Worksheet, part: Part) -> Fact:
    fact = sheet.fact(part.material, "hydration time")
    assert fact is not None
    return fact


def _plain(sheet: Worksheet, swelling: Swelling) -> bool:
    """Whether it is beyond doubt: a small part of a time that is well known, before the filling itself."""
    far = swelling.share < sheet.limit("plainly too little swelling") / 100
    return far and _time(sheet, swelling.part).certainty != "low" and swelling.end.verb == "fill"


def _need(sheet: Worksheet, part: Part) -> str:
    below = sheet.value(part.material, "swells below")
    hot = sheet.value(part.material, "hot hydration time")
    hot_from = sheet.value(part.material, "hot hydration temperature")
    text = f"about {time(_time(sheet, part).value)}"
    if below is not None:
        return f"{text} below {celsius(below)}"
    if hot is not None and hot_from is not None:
        return f"{text} cold, or {time(hot)} from {celsius(hot_from)} on"
    return text
