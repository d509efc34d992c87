"""Pictures of what goes on in the water: pH, free acid, germs, oil and foam that take a preservative. Captions last."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from ..bench.ph_overview import Asked, overview
from ..bench.preservation import GRADES, AcidState, Guard
from ..bench.worksheet import Worksheet
from ..review.lesson_sheet import Picture
from ..review.words import grams, number, share
from .lesson_drawing import LABEL, Ruler, ticks
from .lesson_values import NoValue, Scene, acid_of, balance_of, guard_of
from .ph_page import PHPage

_ACID_ROWS = (3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0)
_POURS = 8
_GRADES = tuple(sorted(GRADES, key=GRADES.__getitem__))
_CHARGES = {"anionic": 0, "nonionic": 1, "amphoteric": 1, "cationic": 2}


def pH_windows(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """All pH windows on one axis, as the pH page draws them."""
    sheet = scene.flawed.sheet
    yield from PHPage(sheet, overview(sheet, Asked()), width).chart()
    yield "The pH at which everything in the formula works, one line each."


def free_acid(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """The share of an acid preservative that is free acid, over the pH."""
    sheet = scene.flawed.sheet
    here = sheet.pH
    state = acid_of(sheet, picture.of)
    pHs = sorted({*_ACID_ROWS, *(pH for pH in (here,) if pH is not None)})
    ruler = Ruler(0.0, 100.0, width, label=14)
    for pH in pHs:
        at = _state_at(sheet, state, pH)
        enough = at.least is None or at.acid.free_percent >= at.least
        cells = ruler.bar(0, at.acid.undissociated_percent, "#" if enough else ".")
        yield ruler.row(f"pH {number(pH)}{' <- here' if pH == here else ''}", cells, share(at.acid.free_percent))
    yield ruler.scale((0, 25, 50, 75, 100), "% free")
    least = f", of which {number(state.least)} % works at least: below that the bar is dots" if state.least else ""
    yield f"How much of {state.guard.material.name} is free acid; at the right the free acid in the water{least}."


def _state_at(sheet: Worksheet, state: AcidState, pH: float) -> AcidState:
    return next(each for each in sheet.preservation.acids_at(pH) if each.guard is state.guard)


def pouring(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """The pH of the batch while the written amount of acid or base goes in."""
    stages = [stage for stage in scene.flawed.sheet.pH_stages if stage.written and stage.target]
    if not stages:
        raise NoValue("no step writes how much acid or base goes in")
    stage = stages[-1]
    reagent, whole = stage.written[0]
    low, high = stage.target or (0.0, 14.0)
    ruler = Ruler(2.0, 10.0, width, label=14)
    for portion in range(_POURS + 1):
        poured = whole * portion / _POURS
        pH = stage.before.plus(reagent.solute(poured), reagent.water_kg(poured)).pH()
        cells = ruler.mark(ruler.mark(ruler.blank(), low, ":"), high, ":")
        yield ruler.row(grams(float(number(poured, 3))), ruler.mark(cells, pH, "o"), f"pH {number(round(pH, 1))}")
    yield ruler.scale(ticks(2, 10, 1), "pH")
    yield f"The pH by the model as {reagent.name} goes in; the colons are the pH aimed at. The meter decides."


def activity(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """Water activity beside that below which germs do not grow."""
    sheet = scene.flawed.sheet
    found = sheet.preservation.activity
    if found is None:
        raise NoValue("without water there is no water activity")
    ruler = Ruler(0.5, 1.0, width)
    limits = (
        ("germs of no kind, up to", sheet.limit("low risk, water activity")),
        ("yeasts and moulds only, up to", sheet.limit("water activity of yeast and mould only")),
    )
    for label, most in limits:
        yield ruler.row(label, ruler.window(None, most), number(most))
    yield ruler.row("this formula", ruler.mark(ruler.blank(), found.aw, "o"), number(found.aw, 2))
    yield ruler.scale(ticks(0.5, 1.0, 0.1))
    yield "Water activity: how much of the water germs can use, from 0 for none to 1 for pure water."


def partition(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """How a preservative shares itself out between water and oil."""
    rows = ((guard, sheet.preservation.in_water(guard), label) for guard, sheet, label in _guards(scene, picture))
    yield from _shares(rows, width, "in the water", "in the oil")
    yield "Where the preservative is at rest. Germs live in the water."


def micelles(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """How much of a preservative the micelles leave free."""
    rows = (
        (guard, 1 / sheet.preservation.total_to_free(guard), label) for guard, sheet, label in _guards(scene, picture)
    )
    yield from _shares(rows, width, "free in the water", "in the micelles")
    yield "Where the preservative is. What sits in micelles, the little balls that a surfactant forms, meets no germ."


def _guards(scene: Scene, picture: Picture) -> Iterator[tuple[Guard, Worksheet, str]]:
    sheet = scene.flawed.sheet
    yield guard_of(sheet, picture.of), sheet, ""
    if scene.mended is not None:
        after = scene.mended.sheet
        for guard in after.preservation.preservatives:
            if guard.material.value("log P") is not None:
                yield guard, after, ", mended"


def _shares(rows: Iterator[tuple[Guard, float, str]], width: int, here: str, there: str) -> Iterator[str]:
    ruler = Ruler(0.0, 100.0, width)
    for guard, part, label in rows:
        cells = ruler.bar(0, 100, ".")
        for column in range(ruler.column(100 * part) + 1):
            cells[column] = "#"
        yield ruler.row(f"{guard.material.name}{label}", cells, share(100 * part))
    yield ruler.scale((0, 25, 50, 75, 100), "%")
    yield " " * (LABEL + 2) + f"# {here}   . {there}"


def germs(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """How well the whole system holds each kind of germ."""
    ruler = Ruler(0.0, len(_GRADES) - 1.0, width)
    cases = [("", scene.flawed.sheet)]
    if scene.mended is not None:
        cases.append((", once mended", scene.mended.sheet))
    for suffix, sheet in cases:
        for kingdom, grade in sheet.preservation.coverage().items():
            yield ruler.row(f"{kingdom}{suffix}", ruler.bar(0, grade, "#"), _GRADES[grade])
    yield "How well all preservatives together hold each kind of germ, by the best grade among them."


def charges(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """The charge of what carries one."""
    sheet = scene.flawed.sheet
    columns = ("negative", "none", "positive")
    wide = max(10, (width - LABEL - 4) // 3)
    yield " " * (LABEL + 2) + "".join(f"{name:<{wide}}" for name in columns).rstrip()
    for item in sheet.items:
        column = _CHARGES.get(str(sheet.value(item.material, "charge")), -1)
        if column >= 0:
            sign = ("(-)", "(0)", "(+)")[column]
            yield f"{item.name:<{LABEL}.{LABEL}}  {' ' * (wide * column)}{sign}"
    yield "The charge that each material carries in water. Opposite charges pair up and fall out."


def hlb_axis(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """The HLB that the oils require beside what the emulsifiers offer."""
    sheet = scene.flawed.sheet
    balance = balance_of(sheet)
    ruler = Ruler(0.0, 20.0, width)
    yield ruler.row("the oils require", ruler.mark(ruler.blank(), balance.required, "#"), f"{balance.required:.1f}")
    for part in sheet.emulsion.emulsifiers:
        own = float(sheet.value(part.material, "HLB"))
        label = f"{part.material.name}, {number(part.percent)} %"
        yield ruler.row(label, ruler.mark(ruler.blank(), own, "o"), number(own))
    yield ruler.row("both together", ruler.mark(ruler.blank(), balance.offered, "O"), f"{balance.offered:.1f}")
    if scene.mended is not None:
        after = balance_of(scene.mended.sheet).offered
        yield ruler.row("once mended", ruler.mark(ruler.blank(), after, "O"), f"{after:.1f}")
    yield ruler.scale(ticks(0, 20, ceil(20 / 5)), "HLB")
    yield "Low numbers love oil, high numbers love water; an emulsion wants its emulsifiers where its oils are."
