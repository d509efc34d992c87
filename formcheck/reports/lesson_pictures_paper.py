"""Pictures of what stands on paper: sums, grams, weighings, amounts beside their limits. The caption comes last."""

from __future__ import annotations

from collections.abc import Iterator

from ..bench.weighing import error
from ..bench.worksheet import Worksheet
from ..formula.units import Range
from ..review.lesson_sheet import Picture
from ..review.words import grams, number, percent, share
from .lesson_drawing import Ruler, round_up, ticks
from .lesson_values import NoValue, Scene, component_of, lawful_most

SENSITIVE = "light sensitivity"
WEIGHING = (0.1, 1000.0)
LET_PASS = "weighing error that is let pass"


def total(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """Every line as a stretch of one staircase; 100 is marked."""
    sheet = scene.flawed.sheet
    whole = max(100.0, float(sheet.composition.fixed))
    ruler = Ruler(0.0, whole, width)
    so_far = 0.0
    for item in sheet.items:
        cells = ruler.bar(so_far, so_far + item.amount, "#") if item.percent is not None else ruler.blank()
        tail = percent(item.percent) if item.percent is not None else "q.s.?"
        yield ruler.row(item.name, ruler.mark(cells, 100, ":"), tail)
        so_far += item.amount
    yield ruler.scale((0, 25, 50, 75, 100), "%")
    yield "Every line adds its stretch to the ones above; the colons stand at 100 %."


def written_grams(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """The grams as written under those that percent and batch size give."""
    sheet = scene.flawed.sheet
    items = [item for item in sheet.items if item.grams is not None and item.line.grams is not None]
    if not items:
        raise NoValue("no line gives grams beside its percent and a batch size")
    most = max(max(float(item.grams or 0), float(item.line.grams or 0)) for item in items)
    ruler = Ruler(0.0, round_up(most), width)
    for item in items:
        meant, written = item.grams or 0, item.line.grams or 0
        yield ruler.row(f"{item.name}", ruler.bar(0, float(meant), "="), grams(meant))
        yield ruler.row("  as written", ruler.bar(0, float(written), "#"), grams(written))
    yield ruler.scale(ticks(0, ruler.high, ruler.high / 4), "g")
    yield "Upper bar: percent times batch size. Lower bar: the grams that stand in the file."


def weighing(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """How far every weighing may be off, on a scale where each step is a factor of ten."""
    sheet = scene.flawed.sheet
    step = sheet.formula.batch.balance_g
    items = [item for item in sheet.items if item.grams]
    if step is None or not items:
        raise NoValue("a picture of the weighings needs the batch size and the balance")
    passes = sheet.limit(LET_PASS)
    ruler = Ruler(*WEIGHING, width, log=True)
    for item in items:
        off = error(float(item.grams or 0), float(step)).relative_percent
        cells = ruler.bar(WEIGHING[0], off, "#" if off > passes else "=")
        tail = f"±{share(off)}"
        yield ruler.row(f"{item.name}, {grams(item.grams or 0)}", ruler.mark(cells, passes, ":"), tail)
    yield ruler.scale((0.1, 1, 10, 100, 1000), "%")
    yield f"How far off each weighing may be, in % of what is weighed; the colons stand at {number(passes)} %."


def amount(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """What the formula holds of a substance, on one axis with its window or limit."""
    sheet = scene.flawed.sheet
    component = component_of(sheet, picture.of)
    held = component.amount
    window = _window(sheet, picture)
    ends = [end for end in (window.low, window.high) if end is not None]
    ruler = Ruler(0.0, round_up(1.1 * max(held, *ends)), width)
    yield ruler.row("in this formula", ruler.bar(0, held, "#"), percent(component.percent))
    if scene.mended is not None:
        after = scene.mended.sheet.component(component.name)
        if after is not None and after.percent != component.percent:
            yield ruler.row("once mended", ruler.bar(0, after.amount, "="), percent(after.percent))
    yield ruler.row(picture.mark or "dose", ruler.window(window.low, window.high), _told(window))
    yield ruler.scale(ticks(0, ruler.high, ruler.high / 4), "%")
    yield f"{component.name}, all that brings it counted together, beside its {picture.mark or 'dose'}, in % of the formula."


def _told(window: Range) -> str:
    if window.low is None or window.low == 0:
        return f"to {number(window.high or 0)}"
    return f"from {number(window.low)}" if window.high is None else f"{number(window.low)} to {number(window.high)}"


def _window(sheet: Worksheet, picture: Picture) -> Range:
    """The range to mark: a property of the material, or its limit by law."""
    component = component_of(sheet, picture.of)
    if picture.mark == "limit by law":
        most = lawful_most(sheet, component)
        if most is None:
            raise NoValue(f"«{picture.of}»: no limit by law is known for this product")
        return Range(0.0, most)
    found = sheet.value(component.material, picture.mark or "dose")
    if isinstance(found, Range):
        most_of_it = found.high if picture.mark == "solubility" else None
        return Range(0.0, most_of_it) if most_of_it is not None else found
    if isinstance(found, float):
        return Range(0.0, found)
    raise NoValue(f"«{picture.of}»: nothing is known of its {picture.mark or 'dose'}")


def make_up(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """Water, oil and what could hold them together."""
    ruler = Ruler(0.0, 100.0, width)
    cases = [("", scene.flawed.sheet)]
    if scene.mended is not None:
        cases.append((", once mended", scene.mended.sheet))
    for suffix, sheet in cases:
        holding = sum(part.amount for part in (*sheet.emulsion.emulsifiers, *sheet.emulsion.detergents))
        amounts = (("water", sheet.water_percent), ("oil", sheet.emulsion.oil_percent), ("emulsifier", holding))
        for label, held in amounts:
            cells = ruler.bar(0, held, "#") if held else ruler.blank()
            yield ruler.row(label + suffix, cells, share(held) if held else "none")
    yield ruler.scale((0, 25, 50, 75, 100), "%")
    yield "What is to stay together, and what is there to hold it."


def light(scene: Scene, picture: Picture, width: int) -> Iterator[str]:
    """How much light harms what is in the pack, and what the wall of the pack lets in."""
    sheet = scene.flawed.sheet
    grades = tuple(reversed(sheet.reference.properties[SENSITIVE].words))
    ruler = Ruler(0.0, len(grades) - 1.0, width)
    for item in sheet.items:
        grade = sheet.value(item.material, SENSITIVE)
        if grade in grades:
            cells = ruler.bar(0, grades.index(grade), "#") if grades.index(grade) else ruler.blank()
            yield ruler.row(item.name, cells, grade)
    pack = sheet.formula.packaging
    wall = (pack.wall if pack is not None else None) or "not stated"
    let = {True: "light gets in", False: "light stays out", None: "nobody knows"}[sheet.lets_light_in]
    yield f"How much light harms each material. The wall of the pack: {wall}, {let}."
