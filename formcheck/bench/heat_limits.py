"""How much heat every material bears, held against the states of the vessels it is in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..records import NamedTuple
from .composition import Part
from .thermal import SETTLED_K, Moment

if TYPE_CHECKING:
    from .worksheet import Worksheet

BEARS, HABIT, STAYS_IN = "bears", "is added below", "stays in below"
FRAGRANT = ("essential oil", "fragrance")
ALCOHOL = "volatile alcohol"


class HeatLimit(NamedTuple):
    """A temperature that a material must not, or by habit does not, meet.

    kind: BEARS (it breaks down above), STAYS_IN (it goes off above) or HABIT (practice adds it below). path: every state of
    its vessel from its entry on; over: those above the limit.
    """

    part: Part
    celsius: float
    kind: str
    path: tuple[Moment, ...]
    over: tuple[Moment, ...]

    @property
    def hottest(self) -> float | None:
        """The highest temperature it meets, °C; None where the procedure says none."""
        return max((moment.celsius for moment in self.path if moment.celsius is not None), default=None)

    @property
    def broken(self) -> bool:
        """Whether it meets more than it bears; being above a mere habit breaks nothing."""
        return self.kind != HABIT and bool(self.over)


def heat_limits(sheet: Worksheet) -> tuple[HeatLimit, ...]:
    """Every limit of the formula, the lowest first; of two lines of one material each has its own."""
    return tuple(sorted(_limits(sheet), key=lambda limit: (limit.celsius, limit.part.label)))


def _limits(sheet: Worksheet) -> Iterator[HeatLimit]:
    for part, fact in sheet.with_fact("maximum temperature"):
        if not part.material.is_a(*FRAGRANT, ALCOHOL):
            yield _limit(sheet, part, float(fact.value), BEARS)
    for part, fact in sheet.with_fact("cool-down temperature"):
        if not _settled(part):
            yield _limit(sheet, part, float(fact.value), HABIT)
    yield from _volatile(sheet, sheet.outer(*FRAGRANT), "fragrance in a hot vessel")
    alcohol = sheet.outer(ALCOHOL)
    if sum(part.amount for part in alcohol) >= sheet.limit("alcohol that matters when heated"):
        yield from _volatile(sheet, alcohol, "alcohol in a hot vessel")


def _volatile(sheet: Worksheet, parts: tuple[Part, ...], limit: str) -> Iterator[HeatLimit]:
    for part in parts:
        own = sheet.value(part.material, "maximum temperature")
        yield _limit(sheet, part, max(sheet.limit(limit), float(own or 0)), STAYS_IN)


def _limit(sheet: Worksheet, part: Part, celsius: float, kind: str) -> HeatLimit:
    path = tuple(sheet.thermal.path_of(part.item))
    over = tuple(each for each in path if each.celsius is not None and each.celsius > celsius + SETTLED_K)
    return HeatLimit(part, celsius, kind, path, over)


def _settled(part: Part) -> bool:
    """Whether the house says itself how much heat its blend bears, which goes before what is known of the contents."""
    return part.blend is not None and part.blend.house and part.blend.value("maximum temperature") is not None
