"""A gum or polymer that goes into water all at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.composition import Item, Part
from formcheck.bench.thermal import Entry
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Step
from formcheck.formula.names import fold
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, number, percent
from formcheck_rules.thickening._water import (
    COARSE,
    STANDING,
    Meeting,
    dry_thickeners,
    label,
    meeting,
    watery,
    wetting_ratio,
)

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="a gum or polymer added all at once to water, neither wetted out first nor strewn slowly",
    harm="fails",
    why=(
        "Where a heap of it meets water, the outside swells at once and seals the dry inside: lumps that no stirring "
        "gets rid of, and a product thinner than it should be by all that stays in them."
    ),
    remedy="Strew it slowly onto the stirred water, or stir it into a little glycerin, glycol or oil first.",
    needs=("procedure",),
    facts=("wetting", "form", "dissolving temperature"),
    sources=("fish-eyes-2012", "xanthan-hydration-report", "usp-xanthan-solution-2005", "common-practice"),
    flawed="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1.2, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
procedure:
  - add: Hydroxyethylcellulose
    into: A
  - heat: A
    to: 50 °C
    hold: 30 min
  - rest: A
    for: 4 h
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
  - heat: A
    to: 50 °C
    hold: 30 min
  - rest: A
    for: 4 h
  - fill: A
""",
)

SLOWLY = ("sprinkle", "disperse")
FORGIVING = ("hyaluronate", "clay thickener", "starch thickener")
"""Kinds whose lumps come apart with time and stirring."""
MEDIA = {"polyol": "glycerin or a glycol", "oil": "oil"}


def concerns(sheet: Worksheet) -> bool:
    return any(_lumps(sheet, part) for part in dry_thickeners(sheet))


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    dumped: dict[int, list[tuple[Part, Meeting]]] = {}
    thin: list[Part] = []
    open_: list[Part] = []
    drowned: list[tuple[Part, Step]] = []
    unknown: list[str] = []
    for part in dry_thickeners(sheet):
        met = meeting(sheet, part.item) if _lumps(sheet, part) else None
        if met is None or _sheared(met) or _harmless(sheet, part, met):
            continue
        if sheet.value(part.material, "wetting") is None:
            unknown.extend([part.item.name] if _dumped(sheet, met) else [])
            continue
        if met.step is None or _together(sheet, part, met):
            open_.extend([] if _stands(sheet, met) else [part])
        elif (watered := _watered(sheet, part)) is not None:
            drowned.append((part, watered))
        elif _thin_slurry(sheet, part):
            thin.append(part)
        elif _dumped(sheet, met):
            dumped.setdefault(met.step.number, []).append((part, met))
    for group in dumped.values():
        yield _finding(sheet, group)
    for part in thin:
        yield _thin_finding(sheet, part)
    for part, watered in drowned:
        yield _drowned_finding(sheet, part, watered)
    if unknown:
        yield rule.unchecked(f"how {names(unknown)} is wetted: add «wetting:» under «materials:»")
    if open_:
        yield rule.unchecked(
            f"how {names(part.item.name for part in open_)} goes into the water: add a step such as "
            f"«sprinkle: {open_[0].item.name}» or «disperse: {open_[0].item.name}»"
        )


def _lumps(sheet: Worksheet, part: Part) -> bool:
    """Whether it is of a kind that lumps when dumped."""
    wetting = sheet.value(part.material, "wetting") or ()
    return "self-wetting" not in wetting and sheet.value(part.material, "form") not in COARSE


def _sheared(met: Meeting) -> bool:
    """Whether the next thing done to the vessel is homogenising, which breaks lumps while they are soft."""
    following = met.moment.next
    return following is not None and following.step is not None and following.step.verb == "homogenise"


def _harmless(sheet: Worksheet, part: Part, met: Meeting) -> bool:
    """Water of a temperature at which it does not swell yet: hot for some cellulose ethers, cold for what must be boiled."""
    celsius = met.moment.celsius
    dissolves = sheet.value(part.material, "dissolving temperature")
    if dissolves is not None:
        return celsius is None or celsius < float(dissolves)
    hot: bool = "hot water" in (sheet.value(part.material, "wetting") or ())
    return hot and celsius is not None and celsius >= sheet.limit("hot water for strewing")


def _together(sheet: Worksheet, part: Part, met: Meeting) -> bool:
    """Whether one step names thickener and water side by side, which says nothing about their order."""
    entry = sheet.thermal.entry_of(part.item)
    return met.directly and entry is not None and not watery(sheet, entry.before)


def _dumped(sheet: Worksheet, met: Meeting) -> bool:
    step = met.step
    if step is None or step.verb in SLOWLY or step.over_seconds or step.verb != "add":
        return False
    around = _brought(sheet, met) if met.directly else met.before
    return bool(wetting_ratio(around) < sheet.limit("least wetting medium"))


def _brought(sheet: Worksheet, met: Meeting) -> tuple[Item, ...]:
    """What the same step puts in together with the thickener."""
    return tuple(entry.item for entry in sheet.thermal.entries if entry.moment is met.moment)


def _thin_slurry(sheet: Worksheet, part: Part) -> bool:
    """Whether it is stirred into less of a polyol or oil than covers it."""
    medium = _medium(sheet, part)
    return bool(medium) and sum(item.amount for item in medium) < sheet.limit("least wetting medium") * part.amount


def _medium(sheet: Worksheet, part: Part) -> list[Item]:
    """The dry medium that a step disperses it in; nothing for water or a whole phase."""
    entry = sheet.thermal.entry_of(part.item)
    if entry is None or entry.how != "disperse":
        return []
    return [] if watery(sheet, entry.before) else _named(entry)


def _watered(sheet: Worksheet, part: Part) -> Step | None:
    """The earlier step that put the water to the medium in which a later one means to wet the thickener out.

    None where the water stands beside the medium from the start: a step that adds it was then left unwritten.
    """
    entry = sheet.thermal.entry_of(part.item)
    if entry is None or entry.how != "disperse" or not watery(sheet, entry.before):
        return None
    medium = _named(entry)
    steps = [_came_by(sheet, item, entry.moment.vessel) for item in entry.before if watery(sheet, [item])]
    one = bool(steps) and all(step is steps[0] for step in steps)
    return steps[0] if one and medium and not watery(sheet, medium) else None


def _came_by(sheet: Worksheet, item: Item, vessel: str) -> Step | None:
    """The step that put a line into a vessel; None where it was there from the start."""
    poured = [
        merging.step for merging in sheet.thermal.mergings if item in merging.poured_items and merging.into == vessel
    ]
    entry = sheet.thermal.entry_of(item)
    return poured[0] if poured else entry.step if entry is not None else None


def _named(entry: Entry) -> list[Item]:
    """The lines of the vessel that the step names as what to disperse in."""
    wanted = {fold(name) for name in entry.medium}
    return [item for item in entry.before if not wanted.isdisjoint(map(fold, (item.name, *item.material.names)))]


def _finding(sheet: Worksheet, group: list[tuple[Part, Meeting]]) -> Finding:
    parts = [part for part, _ in group]
    met = group[0][1]
    step = met.step
    assert step is not None
    mild = all(part.material.is_a(*FORGIVING) for part in parts) or _stands(sheet, met)
    facts = [fact for part in parts if (fact := sheet.fact(part.material, "wetting"))]
    return rule.finding(
        step,
        f"step {step.number} ({step.verb}) brings water together all at once with {names(map(label, parts))}, "
        "neither wetted out nor strewn",
        remedy=_remedy(sheet, parts[0], met),
        source=sheet.cite(*facts) if facts else sheet.reference.cite(rule.sources[:1]),
        harm="untidy" if mild else None,
        materials=[part.material.name for part in parts],
        step=step.number,
    )


def _stands(sheet: Worksheet, met: Meeting) -> bool:
    """Whether the vessel is left or stirred long enough afterwards for most lumps to swell through."""
    faster = sheet.limit("stirring counts as standing")
    seconds = 0.0
    moment = met.moment.next
    while moment is not None:
        if moment.step is not None and moment.step.verb in (*STANDING, "mix"):
            seconds += moment.seconds * (faster if moment.step.verb == "mix" else 1)
        moment = moment.next
    return seconds >= sheet.limit("standing that dissolves lumps")


def _remedy(sheet: Worksheet, part: Part, met: Meeting) -> str:
    ways = sheet.value(part.material, "wetting") or ("sprinkle", "polyol")
    name = part.item.name
    said = []
    if "sprinkle" in ways:
        said.append(f"strew it slowly onto the stirred water («sprinkle: {name}»)")
    if "hot water" in ways:
        hot = number(sheet.limit("hot water for strewing"))
        said.append(f"strew it onto water above {hot} °C and let it swell as that cools")
    media = [word for medium, word in MEDIA.items() if medium in ways]
    if media:
        amount = percent(round(part.item.amount * sheet.limit("good wetting medium"), 2), 3)
        said.append(f"stir it first into about {amount} of {' or '.join(media)} («disperse: {name}» with «in:»)")
    text = "; or ".join(said or ["wet it out as its supplier says"])
    return text[0].upper() + text[1:] + "."


def _thin_finding(sheet: Worksheet, part: Part) -> Finding:
    entry, medium = sheet.thermal.entry_of(part.item), _medium(sheet, part)
    assert entry is not None
    assert entry.step is not None
    good = sheet.limit("good wetting medium")
    inside = names(item.name for item in medium)
    return rule.finding(
        entry.step,
        f"{label(part)} is stirred into {number(sum(item.amount for item in medium))} % {inside}, less than covers it; "
        f"about {number(good)} parts to one make a slurry",
        remedy=f"Take about {percent(round(part.amount * good, 2), 3)} of {inside}, or strew the powder onto stirred water.",
        source=sheet.cite_limit("good wetting medium"),
        harm="untidy",
        materials=[part.material.name],
        step=entry.step.number,
    )


def _drowned_finding(sheet: Worksheet, part: Part, watered: Step) -> Finding:
    entry = sheet.thermal.entry_of(part.item)
    assert entry is not None
    assert entry.step is not None
    wetting = sheet.fact(part.material, "wetting")
    return rule.finding(
        entry.step,
        f"step {entry.step.number} is to wet {label(part)} out in {names(entry.medium)}, which lies in water since step {watered.number}",
        remedy=f"Put step {entry.step.number} before step {watered.number}: first the powder into {names(entry.medium)}, then the water.",
        source=sheet.cite(wetting) if wetting else "",
        harm="untidy" if part.material.is_a(*FORGIVING) or _stands_after(sheet, part) else None,
        materials=[part.material.name],
        step=entry.step.number,
    )


def _stands_after(sheet: Worksheet, part: Part) -> bool:
    met = meeting(sheet, part.item)
    return met is not None and _stands(sheet, met)


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """`add` becomes `sprinkle` where that suits all that the step adds; wetting out goes before the water."""
    from formcheck.reading.editing import below
    from formcheck.review.corrections import Correction, editor_of

    if finding.step is None:
        return
    step = sheet.formula.procedure[finding.step - 1]
    if step.verb == "add" and _all_strewn(sheet, step, finding):
        edit = editor_of(sheet).key(below(step.path, next(iter(step.places))), "sprinkle")
        yield Correction(f"step {step.number} sprinkles {names(step.objects)} instead of adding it at once", (edit,))
    for part in dry_thickeners(sheet):
        entry, watered = sheet.thermal.entry_of(part.item), _watered(sheet, part)
        if watered is not None and entry is not None and entry.step is step and _neighbours(sheet, watered, step):
            moved = editor_of(sheet).move_behind(watered.path, step.path)
            yield Correction(f"step {watered.number}, which brings the water, goes behind step {step.number}", moved)
            return


def _all_strewn(sheet: Worksheet, step: Step, finding: Finding) -> bool:
    """Whether a step brings nothing but thickeners of the finding that may be strewn onto water."""
    brought = [entry.item for entry in sheet.thermal.entries if entry.step is step]
    brought += [item for merging in sheet.thermal.mergings if merging.step is step for item in merging.poured_items]
    return bool(brought) and all(
        item.material.name in finding.materials and "sprinkle" in (sheet.value(item.material, "wetting") or ())
        for item in brought
    )


def _neighbours(sheet: Worksheet, earlier: Step, later: Step) -> bool:
    """Whether nothing but other wetting out stands between two steps."""
    return all(step.verb == "disperse" for step in sheet.formula.procedure[earlier.number : later.number - 1])
