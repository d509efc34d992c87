"""How much of every acid preservative is there as the free acid, at every pH of a scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..records import NamedTuple
from .preservation import AcidState

if TYPE_CHECKING:
    from .worksheet import Worksheet

POINTS = 70


class AcidCurve(NamedTuple):
    """The free acid of one preservative, % w/w of the water phase.

    percent: of the preservative, % w/w of the product. points: (pH, free acid), pH rising. least: what works, where that is
    known; up_to: the highest pH at which that much is free, None where least is unknown or never reached; now: at the
    finished pH, None where none is stated.
    """

    name: str
    percent: float
    points: tuple[tuple[float, float], ...]
    least: float | None
    up_to: float | None
    now: float | None

    @property
    def short(self) -> bool:
        """Whether less is free at the finished pH than works."""
        return self.now is not None and self.least is not None and self.now < self.least


def acid_curves(sheet: Worksheet, low: float, high: float) -> tuple[AcidCurve, ...]:
    """The curves of all acid preservatives of the formula from a low to a high pH; none where there is no water."""
    preservation = sheet.preservation
    scale = [low + (high - low) * step / POINTS for step in range(POINTS + 1)]
    rows = [preservation.acids_at(pH) for pH in scale]
    now = preservation.acids
    return tuple(
        AcidCurve(
            state.guard.label,
            state.guard.percent,
            tuple((pH, row[index].acid.free_percent) for pH, row in zip(scale, rows)),
            state.least,
            _up_to(sheet, index, state),
            now[index].acid.free_percent if now else None,
        )
        for index, state in enumerate(rows[0])
    )


def _up_to(sheet: Worksheet, index: int, state: AcidState) -> float | None:
    least = state.least
    if not least:
        return None
    return sheet.preservation.highest_pH(lambda pH: sheet.preservation.acids_at(pH)[index].acid.free_percent >= least)
