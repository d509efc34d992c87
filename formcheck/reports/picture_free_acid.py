"""A picture of acid preservatives: how much of each is there as the free acid, which alone preserves, at every pH."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..bench.acid_curves import AcidCurve, acid_curves
from ..bench.worksheet import Worksheet
from ..review.words import listed, names, number
from .drawing import WIDTH, Scale, diamond, dot, fitting, line, picture, polyline, spread, warning, words
from .markup import Markup
from .picture import Picture, Table

_SHOWN = (2.0, 9.0)
_LEFT, _RIGHT, _PLOT = 52.0, 10.0, 200.0
_NAME = 15.0
_MOST_WORDED = 3
"""Of more crossings than this the table tells."""
_DECADES = 4
_TITLE = "What pH leaves of acid preservatives"
_TABLE_PH = (3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 8.0)


def free_acid(sheet: Worksheet, id: str) -> Picture | None:
    """The picture; None where the formula holds no acid preservative."""
    pH = sheet.pH
    low = _SHOWN[0] if pH is None else min(_SHOWN[0], math.floor(pH))
    high = _SHOWN[1] if pH is None else max(_SHOWN[1], math.ceil(pH))
    found = tuple(curve for curve in acid_curves(sheet, low, high) if curve.points[0][1] > 0)
    if not found:
        return None
    summary = _summary(sheet, found)
    chart = _Chart(sheet, found)
    drawn = picture(id, WIDTH, chart.height, _TITLE, summary, *chart.shapes())
    key = "Free acid in per cent of the water phase; every line up is ten times as much."
    if any(curve.least for curve in found):
        key += " The dashed level is the least that works; a diamond is where a curve falls below it."
    return Picture(id, _TITLE, drawn, summary, (_table(sheet, found),), key)


def _summary(sheet: Worksheet, found: tuple[AcidCurve, ...]) -> str:
    said = [_said(sheet, curve) for curve in found]
    known = " ".join(each for each in said if each)
    return known or f"Of {listed(curve.name for curve in found)} more is free the more acid the product is."


def _said(sheet: Worksheet, curve: AcidCurve) -> str:
    parts = []
    if curve.now is not None and sheet.pH is not None:
        parts.append(f"{number(curve.now, 2)} % of the water phase is free acid at pH {number(sheet.pH)}")
    if curve.least:
        parts.append(f"{number(curve.least, 2)} % is the least that works")
    if curve.up_to is not None:
        parts.append(f"that much is free up to pH {number(curve.up_to, 2)}")
    return f"{curve.name}: {', '.join(parts)}." if parts else ""


def _table(sheet: Worksheet, found: tuple[AcidCurve, ...]) -> Table:
    pHs = sorted({*_TABLE_PH, *(() if sheet.pH is None else (sheet.pH,))})
    rows = []
    for pH in pHs:
        states = {state.guard.label: state.acid.free_percent for state in sheet.preservation.acids_at(pH)}
        mark = " (stated)" if pH == sheet.pH else ""
        rows.append((f"{number(pH)}{mark}", *(f"{number(states[curve.name], 2)} %" for curve in found)))
    rows.append(
        ("least that works", *(f"{number(curve.least, 2)} %" if curve.least else "not known" for curve in found))
    )
    ends = ("-" if curve.up_to is None else f"pH {number(curve.up_to, 2)}" for curve in found)
    rows.append(("that much up to", *ends))
    return Table("Free acid, % of the water phase", ("pH", *(curve.name for curve in found)), tuple(rows))


class _Chart:
    def __init__(self, sheet: Worksheet, found: tuple[AcidCurve, ...]) -> None:
        self.sheet = sheet
        self.found = found
        self.top = _NAME * len(found) + 26
        self.foot = self.top + _PLOT
        first, last = found[0].points[0][0], found[0].points[-1][0]
        self.x = Scale(first, last, _LEFT, WIDTH - _RIGHT)
        most = max(curve.points[0][1] for curve in found)
        top = math.ceil(math.log10(most) + 0.15)
        least = min((curve.least for curve in found if curve.least), default=most)
        now = min((curve.now for curve in found if curve.now), default=most)
        wanted = math.floor(math.log10(min(least, now)) - 0.1)
        bottom = min(top - _DECADES, max(wanted, top - 7))
        self.y = Scale(10.0**bottom, 10.0**top, self.foot, self.top, log=True)
        self.decades = range(bottom, top + 1)
        self.height = self.foot + 34

    def shapes(self) -> Iterator[Markup]:
        yield from self._axes()
        yield from self._leasts()
        for number_, curve in enumerate(self.found):
            points = [(self.x(pH), self.y(free)) for pH, free in curve.points if free >= self.y.low]
            yield polyline(points, f"vessel v{number_ % 4}")
        yield from self._now()
        yield from self._ends()
        yield from self._names()

    def _axes(self) -> Iterator[Markup]:
        foot = self.foot
        yield words(2, self.top - 7, "% free", "small")
        for decade in self.decades:
            y = self.y(10.0**decade)
            yield line(_LEFT, y, WIDTH - _RIGHT, y, "grid")
            yield words(_LEFT - 5, y + 4, number(10.0**decade), "small", "end")
        for pH in range(math.ceil(self.x.low), math.floor(self.x.high) + 1):
            yield line(self.x(pH), foot, self.x(pH), foot + 4, "axis")
            yield words(self.x(pH), foot + 17, str(pH), "small", "middle")
        yield line(_LEFT, foot, WIDTH - _RIGHT, foot, "axis")
        yield words(WIDTH - _RIGHT, foot + 30, "pH", "small", "end")

    def _leasts(self) -> Iterator[Markup]:
        """The levels that work; what they are is written below them at the left, where no curve comes."""
        grouped: dict[float, list[str]] = {}
        for curve in self.found:
            if curve.least:
                grouped.setdefault(curve.least, []).append(curve.name)
        for least in grouped:
            yield line(_LEFT, self.y(least), WIDTH - _RIGHT, self.y(least), "habit")
        lowest, _ = self._words_of_leasts()
        for row, (least, owners) in enumerate(sorted(grouped.items(), reverse=True)):
            whose = "" if len(self.found) == len(owners) else f" ({names(owners, 2)})"
            label = fitting(f"{number(least, 2)} % works{whose}", WIDTH - _LEFT - _RIGHT - 8, 11)
            yield words(_LEFT + 5, lowest + 13 + 13 * row, label, "small halo")

    def _now(self) -> Iterator[Markup]:
        if self.sheet.pH is None:
            return
        x = self.x(self.sheet.pH)
        yield line(x, self.top, x, self.foot, "target")
        yield words(
            min(max(x, _LEFT + 24), WIDTH - _RIGHT - 24),
            self.top - 6,
            f"pH {number(self.sheet.pH)}",
            "strong",
            "middle",
        )
        known = [curve for curve in self.found if curve.now is not None]
        first, last = self._words_of_leasts()
        below = [self.y(curve.now or 0) + 15 for curve in known]
        wanted = [y - 24 if first < y < last else y for y in below]
        places = spread(wanted, 14, self.top + 10, self.foot - 6)
        left = x > _LEFT + 62
        for curve, place in zip(known, places):
            y = self.y(curve.now or 0)
            yield warning(x, y, 7) if curve.short else dot(x, y, 4, "marker")
            label = f"{number(curve.now or 0, 2)} %"
            yield words(x - 9 if left else x + 9, place, label, "strong halo", "end" if left else "start")

    def _words_of_leasts(self) -> tuple[float, float]:
        """From where to where the words below the levels go."""
        levels = {curve.least for curve in self.found if curve.least}
        lowest = max((self.y(least) for least in levels), default=-100.0)
        return lowest, lowest + 13 * len(levels) + 14

    def _ends(self) -> Iterator[Markup]:
        """Where curves fall below what works; marks near each other have their words one above the other."""
        marks = [
            (self.x(curve.up_to), self.y(curve.least), curve.up_to)
            for curve in self.found
            if curve.up_to is not None and curve.least and self.x.low < curve.up_to < self.x.high
        ]
        above, last = 0, WIDTH + 100
        for x, y, up_to in sorted(marks, reverse=True):
            above = above + 1 if last - x < 52 else 0
            last = x
            yield diamond(x, y, 4.5, "prediction")
            if len(marks) <= _MOST_WORDED:
                yield words(x + 7, y - 7 - 13 * above, f"pH {number(up_to, 2)}", "label halo")

    def _names(self) -> Iterator[Markup]:
        """Which line is which, above the curves."""
        for number_, curve in enumerate(self.found):
            y = 12 + _NAME * number_
            yield line(_LEFT, y - 4, _LEFT + 28, y - 4, f"vessel v{number_ % 4}")
            label = f"{curve.name}, {number(curve.percent, 3)} %"
            yield words(_LEFT + 34, y, fitting(label, WIDTH - _LEFT - _RIGHT - 36))
