"""Which materials meet more heat than they bear: what several rules of this and other families ask."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from formcheck.bench.composition import Part
from formcheck.bench.thermal import SETTLED_K, Moment
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact, Step
from formcheck.records import NamedTuple
from formcheck.review.words import names


class Overheated(NamedTuple):
    """A material, its heat limit, the hottest state it is in, and the first state over the limit."""

    part: Part
    limit: Fact
    hottest: Moment
    first: Moment

    @property
    def step(self) -> Step | None:
        return self.first.step


def overheated(sheet: Worksheet, parts: Iterable[Part], property: str = "maximum temperature") -> Iterator[Overheated]:
    """Those of the parts that are ever hotter than their limit, by the simulated procedure."""
    for part, limit in sheet.with_fact(property, parts):
        hottest = sheet.thermal.hottest(part.item)
        if hottest is None or hottest.celsius is None or hottest.celsius <= limit.value + SETTLED_K:
            continue
        path = sheet.thermal.path_of(part.item)
        first = next(m for m in path if m.celsius is not None and m.celsius > limit.value + SETTLED_K)
        yield Overheated(part, limit, hottest, first)


def by_step(found: Iterable[Overheated]) -> list[list[Overheated]]:
    """One cause is one finding: grouped by the step that first takes them over their limit."""
    groups: dict[int, list[Overheated]] = {}
    for each in found:
        groups.setdefault(each.step.number if each.step else 0, []).append(each)
    return list(groups.values())


def left_open(sheet: Worksheet, parts: Iterable[Part], property: str = "maximum temperature") -> Iterator[str]:
    """What to add where a step leaves open how hot it gets for something with a limit: one sentence a step."""
    open_steps = sheet.thermal.open_steps
    if not open_steps:
        return
    waiting: dict[int, list[str]] = {}
    for part, _ in sheet.with_fact(property, parts):
        unknown = next((m for m in sheet.thermal.path_of(part.item) if m.celsius is None), None)
        if unknown is not None:
            reached = unknown.step.number if unknown.step else 0
            cause = max((step.number for step in open_steps if step.number <= reached), default=open_steps[0].number)
            waiting.setdefault(cause, []).append(part.material.name)
    for step in open_steps:
        if step.number in waiting:
            what = "«for: ...»" if step.verb == "rest" else "«to: ... °C»"
            yield f"how hot it is for {names(waiting[step.number])}: step {step.number} ({step.verb}) leaves it open, add {what}"
