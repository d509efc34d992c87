"""A picture of pH: what every material wants, what is aimed at, and where the batch comes out, on one axis."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..bench.acidbase import Prediction
from ..bench.ph_overview import Asked, Overview, overview
from ..bench.windows import KEEPS, SCALE, SKIN, Window
from ..bench.worksheet import Worksheet
from ..review.words import listed, number, span
from .drawing import WIDTH, Scale, box, cross, diamond, fitting, line, picture, polyline, width_of, words
from .markup import Markup
from .ph_json import holds
from .picture import Picture, Table

_SHOWN = (2.0, 12.0)
_LEFT, _TOP, _ROW, _BAR = 12.0, 40.0, 36.0, 10.0
_TITLE = "Which pH suits what"


def acidity(sheet: Worksheet, id: str) -> Picture | None:
    """The picture; None where nothing in the formula minds the pH."""
    if not sheet.pH_windows:
        return None
    found = overview(sheet, Asked())
    chart = _Chart(sheet, found)
    summary = _summary(sheet, found)
    drawn = picture(id, WIDTH, chart.height, _TITLE, summary, *chart.shapes())
    return Picture(id, _TITLE, drawn, summary, tuple(_tables(sheet, found)), _key(found))


def misses(sheet: Worksheet, found: Overview, window: Window) -> bool:
    """Whether the target lies outside a window that counts."""
    return found.target is not None and window.counts and not holds(sheet, window, found.target)


def borders(sheet: Worksheet, found: Overview, window: Window) -> bool:
    """Whether the middle of the target lies outside a window, but no farther than is let pass."""
    if found.target is None or misses(sheet, found, window):
        return False
    return window.apart((found.target[0] + found.target[1]) / 2) > 1e-9


def _summary(sheet: Worksheet, found: Overview) -> str:
    said = [f"The target is pH {_range(*found.target)}." if found.target else "No target pH is stated."]
    if found.measured is not None:
        said.append(f"The meter showed {number(found.measured)}.")
    if found.prediction is not None:
        band = _range(_tenth(found.prediction.low), _tenth(found.prediction.high))
        said.append(f"As weighed the batch comes to about {_tenth(found.prediction.pH):g}, likely {band}.")
    missed = [window.name for window in found.windows if misses(sheet, found, window)]
    near = [window.name for window in found.windows if borders(sheet, found, window)]
    if near:
        said.append(f"The target lies just outside what {listed(near)} {'wants' if len(near) == 1 else 'want'}.")
    if missed:
        said.append(f"The target does not suit {listed(missed)}.")
    elif not near and found.target is not None:
        said.append("The target suits everything drawn here.")
    said.append(_agreement(found))
    return " ".join(each for each in said if each)


def _agreement(found: Overview) -> str:
    if found.clash is not None:
        suits = listed([window.name for window in found.clash.agreeing])
        return f"No pH suits all; {_between(found.clash.low, found.clash.high)} suits {suits}."
    return "" if found.common is None else f"All agree at {_between(*found.common)}."


def _key(found: Overview) -> str:
    key = []
    if any(window.says != KEEPS for window in found.windows):
        key.append("A full bar is where a material works.")
    if any(window.says == KEEPS for window in found.windows):
        key.append("A hatched bar is where it only keeps.")
    if any(window.low is None or window.high is None for window in found.windows):
        key.append("An arrow goes on beyond.")
    if found.target is not None:
        key.append("The upright band is the target; a cross marks what it does not suit.")
    if found.prediction is not None:
        key.append("The diamond is the batch as weighed, with the band it is likely in.")
    return " ".join(key)


def _tables(sheet: Worksheet, found: Overview) -> Iterator[Table]:
    rows = []
    for window in found.windows:
        suits = _suits(sheet, found, window)
        kind = window.kind if window.kind not in ("other", SKIN) else ""
        rows.append((window.name, kind, span(window.range), "keeps" if window.says == KEEPS else "works", suits))
    yield Table("The windows", ("material", "as", "pH", "there it", "target suits"), tuple(rows))


def _suits(sheet: Worksheet, found: Overview, window: Window) -> str:
    if found.target is None or not window.counts:
        return "-"
    if misses(sheet, found, window):
        return "no"
    return "nearly" if borders(sheet, found, window) else "yes"


class _Chart:
    def __init__(self, sheet: Worksheet, found: Overview) -> None:
        self.sheet = sheet
        self.found = found
        marks = [*(found.target or ())]
        marks += [] if found.measured is None else [found.measured]
        marks += [] if found.prediction is None else [found.prediction.low, found.prediction.high]
        low = max(SCALE[0], min(_SHOWN[0], *(math.floor(each) for each in marks), _SHOWN[0]))
        high = min(SCALE[1], max(_SHOWN[1], *(math.ceil(each) for each in marks), _SHOWN[1]))
        self.x = Scale(low, high, _LEFT, WIDTH - _LEFT)
        self.count = len(found.windows) + (found.prediction is not None) + (found.measured is not None)
        self.foot = _TOP + self.count * _ROW + 4
        self.height = self.foot + 26

    def shapes(self) -> Iterator[Markup]:
        yield from self._axis()
        yield from self._target_area()
        tops = [_TOP + row * _ROW for row in range(self.count)]
        for y, window in zip(tops, self.found.windows):
            yield from self._bar(y, window)
        yield from self._target()
        for y, window in zip(tops, self.found.windows):
            yield from self._words(y, window)
        rest = iter(tops[len(self.found.windows) :])
        if self.found.prediction is not None:
            yield from self._prediction(next(rest), self.found.prediction)
        if self.found.measured is not None:
            yield from self._measured(next(rest), self.found.measured)

    def _axis(self) -> Iterator[Markup]:
        for pH in range(int(self.x.low), int(self.x.high) + 1):
            x = self.x(pH)
            yield line(x, _TOP - 6, x, self.foot, "grid")
            yield words(x, self.foot + 16, str(pH), "small", "middle")
        yield line(self.x.start, self.foot, self.x.end, self.foot, "axis")

    def _target_area(self) -> Iterator[Markup]:
        if self.found.target is not None:
            low, high = (self.x(each) for each in self.found.target)
            yield box(low - 1.5, _TOP - 10, high - low + 3, self.foot - _TOP + 10, "target-area", "upright")

    def _target(self) -> Iterator[Markup]:
        target = self.found.target
        if target is None:
            return
        low, high = (self.x(each) for each in target)
        for x in dict.fromkeys((low, high)):
            yield line(x, _TOP - 10, x, self.foot, "target-edge")
            yield line(x, _TOP - 10, x, self.foot, "target")
        label = f"target pH {_range(*target)}"
        half = width_of(label) / 2
        middle = min(max((low + high) / 2, _LEFT + half), WIDTH - _LEFT - half)
        yield words(middle, _TOP - 16, label, "strong", "middle")

    def _bar(self, y: float, window: Window) -> Iterator[Markup]:
        low, high = (self.x(each) for each in window.ends)
        fill = "level" if window.says == KEEPS else None
        yield box(low, y + 17, high - low, _BAR, "keeps" if fill else "works", fill)
        if window.low is None:
            yield _head(low, y + 17 + _BAR / 2, -1)
        if window.high is None:
            yield _head(high, y + 17 + _BAR / 2, 1)

    def _words(self, y: float, window: Window) -> Iterator[Markup]:
        missed = misses(self.sheet, self.found, window)
        wants = span(window.range)
        room = WIDTH - 2 * _LEFT - width_of(wants) - (18 if missed else 0) - 10
        yield words(_LEFT, y + 12, fitting(window.name, room), "label halo")
        yield words(WIDTH - _LEFT, y + 12, wants, "strong halo" if missed else "label halo", "end")
        if missed:
            yield cross(WIDTH - _LEFT - width_of(wants) - 10, y + 8, 4, "cross")

    def _prediction(self, y: float, prediction: Prediction) -> Iterator[Markup]:
        shown = f"{_tenth(prediction.pH):g} ({_range(_tenth(prediction.low), _tenth(prediction.high))})"
        yield words(_LEFT, y + 12, "as weighed, before adjusting", "label halo")
        yield words(WIDTH - _LEFT, y + 12, shown, "label halo", "end")
        low, high, middle = y + 18, y + 26, y + 22
        ends = self.x(prediction.low), self.x(prediction.high)
        yield line(ends[0], middle, ends[1], middle, "whisker")
        for end in ends:
            yield line(end, low, end, high, "whisker")
        yield diamond(self.x(prediction.pH), middle, 6, "prediction")

    def _measured(self, y: float, measured: float) -> Iterator[Markup]:
        yield words(_LEFT, y + 12, "measured", "label halo")
        yield words(WIDTH - _LEFT, y + 12, number(measured), "label halo", "end")
        yield cross(self.x(measured), y + 22, 5, "cross")


def _head(x: float, y: float, way: int) -> Markup:
    """An arrow head at an open end, pointing out of the picture."""
    return polyline([(x + way, y - 6), (x + way * 7, y), (x + way, y + 6)], "open-end")


def _range(low: float, high: float) -> str:
    return number(low) if high - low < 1e-9 else f"{number(low)} to {number(high)}"


def _between(low: float, high: float) -> str:
    if low <= SCALE[0]:
        return f"pH up to {number(high)}" if high < SCALE[1] else "any pH"
    return f"pH {number(low)} and above" if high >= SCALE[1] else f"pH {_range(low, high)}"


def _tenth(value: float) -> float:
    return round(value, 1)
