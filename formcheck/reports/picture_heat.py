"""A picture of the procedure: how warm every vessel gets, with what every material in it bears."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator

from ..bench.heat_limits import HABIT, HeatLimit, heat_limits
from ..bench.thermal import Moment
from ..bench.worksheet import Worksheet
from ..records import NamedTuple
from ..review.words import celsius, names, time
from .drawing import (
    LETTER,
    WIDTH,
    Scale,
    box,
    cross,
    diamond,
    dot,
    fitting,
    line,
    picture,
    polyline,
    spread,
    warning,
    words,
)
from .markup import Markup, rounded, tag
from .picture import Picture, Table
from .safe_text import visible
from .steps import sentence

_LEFT, _RIGHT, _TOP, _PLOT = 34.0, 118.0, 18.0, 190.0
_COLUMN = 24.0
_LABEL_LINE = 12.5
_SIDE = 3.0
"""Units by which lines of different vessels stand apart where they run together."""
_TITLE = "How warm every vessel gets"
_OFTEN_ENOUGH_K = 1.5
_MOST_STEPS = 150
"""Of more steps than this words and the table tell better."""


class _Spot(NamedTuple):
    moment: Moment
    x: float
    y: float


def heat(sheet: Worksheet, id: str) -> Picture | None:
    """The picture; None without a procedure that leads anywhere. In words alone where nothing is heated."""
    moments = sheet.thermal.moments
    known = [moment.celsius for moment in moments if moment.celsius is not None]
    if not sheet.formula.procedure or not known:
        return None
    limits = heat_limits(sheet)
    summary = _summary(sheet, limits, max(known))
    tables = tuple(_tables(sheet, limits))
    level = max(known) - min(known) < _OFTEN_ENOUGH_K and not any(limit.broken for limit in limits)
    if level or len(sheet.formula.procedure) > _MOST_STEPS:
        return Picture(id, _TITLE, None, summary, tables)
    chart = _Chart(sheet, limits)
    drawn = picture(id, chart.width, chart.height, _TITLE, summary, *chart.shapes())
    return Picture(id, _TITLE, drawn, summary, tables, _key(limits), chart.width)


def _summary(sheet: Worksheet, limits: tuple[HeatLimit, ...], hottest: float) -> str:
    room = sheet.formula.room_celsius
    heated = hottest - room > _OFTEN_ENOUGH_K
    first = (
        f"The hottest that any vessel gets is {celsius(hottest)}; the room has {celsius(room)}."
        if heated
        else f"Nothing is heated: all vessels stay at about {celsius(hottest)}."
    )
    broken = [limit for limit in limits if limit.broken]
    if not limits:
        return f"{first} No heat limit is known of anything in it."
    if broken:
        told = names(
            f"{limit.part.label} meets {celsius(limit.hottest or 0)} and {limit.kind} {celsius(limit.celsius)}"
            for limit in broken
        )
        return f"{first} Over its limit: {told}."
    lowest = limits[0]
    return f"{first} Nothing gets hotter than it bears; the lowest limit is {celsius(lowest.celsius)} ({lowest.part.label})."


def _key(limits: tuple[HeatLimit, ...]) -> str:
    key = ["Each column is one step; the letters are vessels, and an arrow pours one into another."]
    if any(limit.kind != HABIT for limit in limits):
        key.append("A hatched ceiling is a limit, from the first step that touches the material.")
    if any(limit.kind == HABIT for limit in limits):
        key.append("A dashed one is where practice adds it.")
    if any(limit.broken for limit in limits):
        key.append("Crossed hatching and a triangle mark where a limit is broken.")
    return " ".join(key)


def _tables(sheet: Worksheet, limits: tuple[HeatLimit, ...]) -> Iterator[Table]:
    rows = []
    for moment in sheet.thermal.moments:
        step = moment.step
        what = sentence(step) if step else "at the start"
        warm = "left open" if moment.celsius is None else celsius(moment.celsius)
        stays = time(moment.seconds) if moment.seconds else ""
        rows.append((str(step.number) if step else "-", what, moment.vessel, warm, stays))
    yield Table("The steps", ("step", "what happens", "vessel", "then at", "for"), tuple(rows))
    if limits:
        yield Table(
            "The limits",
            ("material", "limit", "hottest it meets", ""),
            tuple((limit.part.label, _limit(limit), _met(limit), _judged(limit)) for limit in limits),
        )


def _limit(limit: HeatLimit) -> str:
    return f"{limit.kind} {celsius(limit.celsius)}"


def _met(limit: HeatLimit) -> str:
    return "not known" if limit.hottest is None else celsius(limit.hottest)


def _judged(limit: HeatLimit) -> str:
    if limit.broken:
        first = limit.over[0].step
        return f"over it at step {first.number}" if first else "over it from the start"
    if limit.hottest is None:
        return ""
    return "above the habit" if limit.over else "within"


class _Chart:
    """The drawing. Steps are columns, the states within a step share its column."""

    def __init__(self, sheet: Worksheet, limits: tuple[HeatLimit, ...]) -> None:
        self.sheet = sheet
        self.limits = limits
        self.steps = sheet.formula.procedure
        columns = len(self.steps) + 1
        self.width = max(WIDTH, _LEFT + _RIGHT + columns * _COLUMN)
        self.right = self.width - _RIGHT
        self.column = (self.right - _LEFT) / columns
        known = [moment.celsius for moment in sheet.thermal.moments if moment.celsius is not None]
        wanted = [*known, *(limit.celsius for limit in limits)]
        top = 10 * math.ceil((max(wanted) + 4) / 10)
        bottom = 10 * math.floor((min(*wanted, sheet.formula.room_celsius) - 4) / 10)
        self.y = Scale(bottom, top, _TOP + _PLOT, _TOP)
        self.vessels = list(dict.fromkeys(moment.vessel for moment in sheet.thermal.moments))
        self.spots = {id(spot.moment): spot for spot in self._spots()}
        longest = max(len(label) for label in self._labels())
        self.height = _TOP + _PLOT + 24 + 4.3 * longest

    def _spots(self) -> Iterator[_Spot]:
        grouped: dict[int, list[Moment]] = {}
        for moment in self.sheet.thermal.moments:
            grouped.setdefault(moment.step.number if moment.step else 0, []).append(moment)
        for number, moments in grouped.items():
            places = _shares(moments)
            for moment, share in zip(moments, places):
                side = _SIDE * self.vessels.index(moment.vessel)
                x = _LEFT + (number + share) * self.column
                yield _Spot(moment, x, self.y(moment.celsius or 0) + side)

    def shapes(self) -> Iterator[Markup]:
        yield from self._axes()
        yield from self._ceilings()
        yield from self._breaches()
        yield from self._pourings()
        for number, vessel in enumerate(self.vessels):
            yield from self._vessel(number, vessel)
        yield from self._marks()
        yield from self._limit_labels()

    def _labels(self) -> list[str]:
        return ["start", *(f"{step.number} {step.verb}" for step in self.steps)]

    def _axes(self) -> Iterator[Markup]:
        tick = int(self.y.low)
        while tick <= self.y.high:
            yield line(_LEFT, self.y(tick), self.right, self.y(tick), "grid")
            if tick % 20 == 0:
                yield words(_LEFT - 5, self.y(tick) + 4, str(tick), "small", "end")
            tick += 10
        yield words(2, 11, "°C", "small")
        foot = _TOP + _PLOT
        yield line(_LEFT, foot, self.right, foot, "axis")
        for number, label in enumerate(self._labels()):
            x = _LEFT + (number + 0.5) * self.column
            yield line(x, foot, x, foot + 4, "axis")
            written = words(x, foot + 14, label, "small", "end")
            yield tag("g", written, transform=f"rotate(-42 {rounded(x)} {rounded(foot + 14)})")

    def _ceilings(self) -> Iterator[Markup]:
        drawn = set()
        for limit in self.limits:
            start = self._start(limit)
            y = self.y(limit.celsius)
            ceiling = (limit.kind == HABIT, round(start), round(y))
            if ceiling in drawn:
                continue
            drawn.add(ceiling)
            if limit.kind != HABIT:
                yield box(start, y - 6, self.right - start, 6, "ceiling", "rising")
            yield line(start, y, self.right, y, "habit" if limit.kind == HABIT else "limit")

    def _start(self, limit: HeatLimit) -> float:
        """Where a limit begins to matter: at the first step that does something with the material's vessel."""
        first = next((moment for moment in limit.path if moment.step is not None), None)
        return _LEFT if first is None else self.spots[id(first)].x - self.column / 2

    def _breaches(self) -> Iterator[Markup]:
        for moment, limit in self._broken():
            spot = self.spots[id(moment)]
            half = min(self.column * 0.4, 14)
            y = self.y(limit.celsius)
            yield box(spot.x - half, spot.y, 2 * half, y - spot.y, "breach-area", "breach")

    def _broken(self) -> Iterator[tuple[Moment, HeatLimit]]:
        """Every state over a limit, with the lowest limit broken in it."""
        lowest: dict[int, tuple[Moment, HeatLimit]] = {}
        for limit in self.limits:
            if limit.broken:
                for moment in limit.over:
                    lowest.setdefault(id(moment), (moment, limit))
        yield from lowest.values()

    def _vessel(self, number: int, vessel: str) -> Iterator[Markup]:
        own = [moment for moment in self.sheet.thermal.moments if moment.vessel == vessel]
        run: list[tuple[float, float]] = []
        for moment in own:
            spot = self.spots[id(moment)]
            if moment.celsius is None:
                yield polyline(run, f"vessel v{number % 4}")
                yield words(spot.x, _TOP + _PLOT - 6, "?", "strong", "middle")
                run = []
            else:
                run.append((spot.x, spot.y))
        if len(run) > 1:
            yield polyline(run, f"vessel v{number % 4}")
        for moment in own:
            if moment.celsius is not None:
                spot = self.spots[id(moment)]
                yield _marker(number, spot.x, spot.y)
        yield from self._name(vessel, own)

    def _name(self, vessel: str, own: list[Moment]) -> Iterator[Markup]:
        """The letter of a vessel in a ring: on the way to where it is first worked on, else where it is poured."""
        first, last = self.spots[id(own[0])], self.spots[id(own[-1])]
        x, y = last.x, last.y
        if len(own) > 1:
            second = self.spots[id(own[1])]
            x, y = (first.x + second.x) / 2, (first.y + second.y) / 2
        elif last.moment.next is not None:
            x = self.spots[id(last.moment.next)].x
        yield dot(x, y, 7.5, "ring")
        yield words(x, y + 3.8, vessel[:2], "ring-letter", "middle")

    def _pourings(self) -> Iterator[Markup]:
        for merging in self.sheet.thermal.mergings:
            before = next((m for m in self.sheet.thermal.moments if m.next is merging.moment and m.vessel == merging.poured), None)  # fmt: skip
            if before is None or before.celsius is None or merging.moment.celsius is None:
                continue
            start, end = self.spots[id(before)], self.spots[id(merging.moment)]
            yield polyline([(start.x, start.y), (end.x, start.y), (end.x, end.y)], "pour")
            if abs(end.y - start.y) > 12:
                way = 6 if end.y < start.y else -6
                tip = end.y + way
                yield polyline([(end.x - 4, tip + way), (end.x, tip), (end.x + 4, tip + way)], "pour-head")

    def _marks(self) -> Iterator[Markup]:
        """Temperatures where they change, and what is over a limit by how much."""
        broken = {id(moment) for moment, _ in self._broken()}
        last: dict[str, float] = {vessel: self.sheet.formula.room_celsius for vessel in self.vessels}
        for spot in self.spots.values():
            moment, over = spot.moment, id(spot.moment) in broken
            if over:
                yield warning(spot.x, spot.y - 1, 7)
            if moment.celsius is None or abs(moment.celsius - last[moment.vessel]) < _OFTEN_ENOUGH_K:
                continue
            last[moment.vessel] = moment.celsius
            style = "strong halo" if over else "label halo"
            yield words(spot.x, spot.y - 11, f"{moment.celsius:.0f}°", style, "middle")

    def _limit_labels(self) -> Iterator[Markup]:
        grouped: dict[float, list[HeatLimit]] = {}
        for limit in self.limits:
            grouped.setdefault(limit.celsius, []).append(limit)
        if not grouped:
            return
        most = max(1, int((_PLOT + 30) / len(grouped) / _LABEL_LINE))
        blocks = [_label(degrees, limits, most) for degrees, limits in grouped.items()]
        tallest = max(len(block) for block in blocks) * _LABEL_LINE + 3
        foot = self.height - tallest
        places = spread([self.y(degrees) - 2 for degrees in grouped], tallest, _TOP, foot)
        for place, degrees, block, limits in zip(places, grouped, blocks, grouped.values()):
            yield line(self.right, self.y(degrees), self.right + 10, place, "leader")
            broken = any(limit.broken for limit in limits)
            for row, text in enumerate(block):
                style = ("strong" if broken else "label") if row == 0 else "small"
                yield words(self.right + 13, place + 5 + row * _LABEL_LINE, text, style)


def _label(degrees: float, limits: list[HeatLimit], most: int) -> list[str]:
    """A limit and whose it is, in at most so many short lines."""
    owners = list(dict.fromkeys(limit.part.label for limit in limits))
    letters = int((_RIGHT - 14) / (LETTER * 11))
    if most == 1:
        return [fitting(f"{degrees:.0f}° {owners[0]}", _RIGHT - 14, 11)]
    rows = [row for owner in owners for row in textwrap.wrap(visible(owner), letters, break_on_hyphens=False)]
    if len(rows) > most - 1:
        rest = f" +{len(owners) - 1}" if len(owners) > 1 else ""
        rows = [*rows[: most - 2], fitting(rows[most - 2], _RIGHT - 14 - 7 * len(rest), 11) + rest]
    return [f"{degrees:.0f} °C", *rows]


def _shares(moments: list[Moment]) -> list[float]:
    """Where in its column each state of one step stands: vessels at their start all in the middle, others in a row."""
    if moments[0].step is None or len(moments) == 1:
        return [0.5] * len(moments)
    return [0.2 + 0.6 * index / (len(moments) - 1) for index in range(len(moments))]


def _marker(number: int, x: float, y: float) -> Markup:
    shape = number % 4
    if shape == 0:
        return dot(x, y, 2.6, "marker")
    if shape == 1:
        return box(x - 2.6, y - 2.6, 5.2, 5.2, "marker hollow")
    if shape == 2:
        return diamond(x, y, 3.6, "marker")
    return cross(x, y, 3, "marker-line")
