"""Pictures of the making: which vessel goes where, how hot it gets, how long it takes to cool. The caption comes last."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from ..bench.thermal import SETTLED_K, Moment
from ..bench.worksheet import Worksheet
from ..formula.model import Step
from ..review.lesson_sheet import Picture
from ..review.words import celsius, time
from .lesson_drawing import Ruler, short, ticks
from .lesson_values import NoValue, Scene, component_of, item_of
from .steps import sentence

_LABEL = 33
_BEARS = ("maximum temperature", "withstands")
_NEEDS = ("dissolving temperature", "melting point")
_DEGREES_PER_ROW = 5


def route(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """Every vessel as a line downwards; pouring runs across, filling ends in V."""
    formula = scene.flawed.sheet.formula
    letters = [phase.letter for phase in formula.phases]
    if not formula.procedure:
        raise NoValue("a picture of the route needs a procedure")
    label = max(_LABEL, width - 4 - 4 * len(letters) - 24)
    standing = dict.fromkeys(letters, True)
    yield f"{'':<{label}} " + "".join(f"{letter[:3]:<4}" for letter in letters).rstrip()
    for step in formula.procedure:
        cells = {letter: "|" if standing[letter] else " " for letter in letters}
        poured = [each for each in step.objects if each in standing] if step.verb == "add" else []
        for letter in step.objects:
            if letter in cells:
                cells[letter] = "V" if step.verb == "fill" else "o"
        if step.into in cells:
            for letter in poured:
                cells[letter] = "+"
                standing[letter] = letter == step.into
            cells[step.into] = "*" if poured or step.objects else "|"
        line = "".join(f"{cells[letter]:<4}" for letter in letters).rstrip()
        yield f"{short(_numbered(step), label):<{label}} {line}"
        if step.verb == "fill":
            standing.update({letter: False for letter in step.objects if letter in standing})
    left = [letter for letter in letters if standing[letter]]
    still = f" Still standing on the bench at the end: {', '.join(left)}." if left else ""
    yield f"One line a vessel: o something is done to it, + emptied into *, V filled.{still}"


def heat(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """The vessel that each step works on, as hot as it is then, with what the material bears or needs marked."""
    sheet = scene.flawed.sheet
    moments = _by_step(sheet)
    if not moments:
        raise NoValue("a picture of the heat needs a procedure")
    item = item_of(sheet, picture.of) if picture.of else None
    mark, bears, told = _mark(sheet, picture)
    known = [moment.celsius for _, moment in moments if moment.celsius is not None]
    known.append(sheet.formula.room_celsius)
    low = 10.0 * floor(min(known) / 10)
    ruler = Ruler(low, 10.0 * ceil((max([*known, mark or 0]) + 1) / 10), width, label=_LABEL)
    for step, moment in moments:
        inside = item is not None and any(each is item for each in moment.items)
        yield ruler.row(_numbered(step), _heat_cells(ruler, moment, mark, inside and bears), _tail(moment, inside))
    yield ruler.scale(ticks(low, ruler.high, 10), "°C")
    name = component_of(sheet, picture.of).name if picture.of else ""
    yield _heat_caption(name, mark, bears, told)


def _heat_cells(ruler: Ruler, moment: Moment, mark: float | None, spoils: bool) -> list[str]:
    if moment.celsius is None:
        return ruler.blank()
    cells = ruler.bar(ruler.low, moment.celsius)
    if mark is not None:
        if spoils and moment.celsius > mark + SETTLED_K:
            for column in range(ruler.column(mark) + 1, ruler.column(moment.celsius) + 1):
                cells[column] = "!"
        ruler.mark(cells, mark, ":")
    return cells


def _tail(moment: Moment, inside: bool) -> str:
    warm = "open" if moment.celsius is None else celsius(moment.celsius)
    return f"{moment.vessel} {warm}" + (" *" if inside else "")


def _heat_caption(name: str, mark: float | None, bears: bool, told: str) -> str:
    if mark is None:
        return "How hot the vessel is after each step."
    too_hot = "; ! is heat beyond that" if bears else ""
    star = f" A star: {name} is in the vessel." if name else ""
    return f"How hot the vessel is after each step. The colons stand at {celsius(mark)}, {told}{too_hot}.{star}"


def _mark(sheet: Worksheet, picture: Picture) -> tuple[float | None, bool, str]:
    """The temperature to mark, whether more than that spoils, and what it is."""
    if not picture.of:
        return None, False, ""
    component = component_of(sheet, picture.of)
    for property in (picture.mark,) if picture.mark else (*_BEARS, *_NEEDS):
        if property in sheet.reference.limits:
            return sheet.limit(property), True, f"the limit for {property}"
        found = sheet.value(component.material, property)
        if found is not None:
            value = found if isinstance(found, (int, float)) else found.low
            needs = property in _NEEDS
            told = f"which {component.name} {'needs' if needs else 'bears'} ({property})"
            return float(value), not needs, told
    raise NoValue(f"«{picture.of}»: no temperature to mark is known")


def _by_step(sheet: Worksheet) -> list[tuple[Step, Moment]]:
    last: dict[int, Moment] = {}
    for moment in sheet.thermal.moments:
        if moment.step is not None:
            last[moment.step.number] = moment
    return [(step, last[step.number]) for step in sheet.formula.procedure if step.number in last]


def _numbered(step: Step) -> str:
    return f"{step.number} {sentence(step)}"


def cooling(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """How long the vessel that the material goes into takes by itself down to what the material bears."""
    sheet = scene.flawed.sheet
    mark, _, _ = _mark(sheet, picture)
    step, start = _met(sheet, picture, mark)
    if mark is None or step is None or start is None or start <= mark:
        raise NoValue(f"«{picture.of}» goes into nothing that would have to cool first")
    rows = [start - n * _DEGREES_PER_ROW for n in range(int((start - mark) / _DEGREES_PER_ROW) + 1)]
    rows += [mark] if rows[-1] > mark + SETTLED_K else []
    minutes = [(warm, sheet.minutes_to_cool(step, warm)) for warm in rows]
    known = [(warm, after) for warm, after in minutes if after is not None]
    if len(known) < len(rows) or not known[-1][1]:
        raise NoValue("how long it takes to cool cannot be worked out")
    ruler = Ruler(0.0, known[-1][1], width)
    for warm, after in known:
        yield ruler.row(celsius(warm), ruler.bar(0, after), time(60 * after) if after else "at once")
    yield f"How long the vessel of step {step.number} takes by itself to cool so far (within a factor of two)."


def _met(sheet: Worksheet, picture: Picture, mark: float | None) -> tuple[Step | None, float | None]:
    """The step before the one at which the material meets more heat than the mark, and how warm the vessel is then."""
    path = sheet.thermal.path_of(item_of(sheet, picture.of))
    hot = (each for each in path if each.celsius is not None and mark is not None and each.celsius > mark + SETTLED_K)
    first = next(hot, None)
    if first is None or first.step is None:
        return None, None
    before = [(step, moment) for step, moment in _by_step(sheet) if step.number == first.step.number - 1]
    return (before[0][0], before[0][1].celsius) if before else (None, None)
