"""Every function of the bench takes what its description says, both ends included, and refuses what lies a hair beyond.

The ranges are our own promise (docstrings), no fact of chemistry.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf, nextafter

import pytest

from formcheck.bench import freeacid, hlb, partition, titration, volume, wateractivity, weighing
from formcheck.bench.errors import OutOfRange, within
from formcheck.bench.titration import Reagent
from formcheck.bench.volume import Density, Part
from formcheck.bench.wateractivity import Humectant, Salt

JUST_ABOVE_NOTHING = nextafter(0.0, inf)
LYE = Reagent("lye", (), 0, ((1, 1.0),), 40.0, 10.0)
WATER = Density(1.0, 1.0, 1.0, ())
RANGES: dict[str, tuple[Callable[[float], object], float | None, float | None]] = {
    "content of an acid": (lambda x: freeacid.free_acid(x, [4.2], 5.0, 80.0), 0.0, 100.0),
    "pH of an acid": (lambda x: freeacid.free_acid(0.5, [4.2], x, 80.0), 0.0, 14.0),
    "water phase": (lambda x: freeacid.free_acid(0.5, [4.2], 5.0, x), JUST_ABOVE_NOTHING, 100.0),
    "ionic strength": (lambda x: freeacid.free_acid(0.5, [4.2], 5.0, 80.0, ionic_strength=x), 0.0, 0.5),
    "least free acid": (lambda x: freeacid.highest_pH(0.5, [4.2], 80.0, x), JUST_ABOVE_NOTHING, 100.0),
    "log P": (lambda x: partition.coefficient(x), -30.0, 40.0),
    "shift of log P": (lambda x: partition.coefficient(1.0, shift=x), -6.0, 2.0),
    "concentration": (lambda x: partition.distribute(x, 1.0, 0.2), 0.0, 100.0),
    "partition coefficient": (lambda x: partition.distribute(1.0, x, 0.2), 0.0, 1e12),
    "oil to water": (lambda x: partition.distribute(1.0, 1.0, x), 0.0, 100.0),
    "undissociated": (lambda x: partition.distribute(1.0, 1.0, 0.2, undissociated=x), 1e-9, 1.0),
    "total to free": (lambda x: partition.distribute(1.0, 1.0, 0.2, total_to_free=x), 1.0, 1000.0),
    "HLB": (lambda x: hlb.weighted([hlb.Part("x", 5.0, x)]), 0.0, 40.0),
    "amount with an HLB": (lambda x: hlb.weighted([hlb.Part("x", x, 5.0), hlb.Part("y", 1.0, 5.0)]), 0.0, 100.0),
    "pair of emulsifiers": (lambda x: hlb.pair(8.0, 4.0, 15.0, x), 0.0, 100.0),
    "lower of a pair": (lambda x: hlb.pair(8.0, x, 15.0, 5.0), 0.0, None),
    "upper of a pair": (lambda x: hlb.pair(8.0, 4.0, x, 5.0), None, 40.0),
    "points of a curve": (lambda x: titration.curve([], 1.0, LYE, 1.0, points=int(x)), 2, 1001),
    "amount of a curve": (lambda x: titration.curve([], 1.0, LYE, x, points=2), 0.0, None),
    "target of a plan": (lambda x: titration.overshoot([], 1.0, LYE, 1.0, x), 0.0, 14.0),
    "amount that overshoots": (lambda x: titration.overshoot([], 1.0, LYE, x, 8.0), 0.0, None),
    "strength": (lambda x: LYE._replace(strength_percent=x).solute(1.0), JUST_ABOVE_NOTHING, 100.0),
    "molar mass": (lambda x: LYE._replace(molar_mass=x).solute(1.0), JUST_ABOVE_NOTHING, None),
    "amount to weigh": (lambda x: weighing.error(x, 0.01), 1e-12, 1e9),
    "step of a balance": (lambda x: weighing.error(1.0, x), 1e-6, 1e5),
    "readings": (lambda x: weighing.error(1.0, 0.01, readings=int(x)), 1, 2),
    "relative error": (lambda x: weighing.least_amount(0.01, x), 1e-12, 100.0),
    "percent of a part": (lambda x: volume.mixture_density([Part("x", x, 1.0), Part("y", 1.0, 1.0)]), 0.0, 100.0),
    "density of a part": (lambda x: volume.mixture_density([Part("x", 1.0, x)]), 0.5, 5.0),
    "containers": (lambda x: volume.to_fill(int(x), 1.0, WATER), 1, 10**9),
    "volume of a container": (lambda x: volume.to_fill(1, x, WATER), JUST_ABOVE_NOTHING, 1e6),
    "loss": (lambda x: volume.to_fill(1, 1.0, WATER, loss_percent=x), 0.0, nextafter(100.0, 0.0)),
    "water": (lambda x: wateractivity.water_activity(x), JUST_ABOVE_NOTHING, 1e9),
    "mol of a humectant": (lambda x: wateractivity.norrish(1e9, [Humectant("x", x, 0.0)]), 0.0, 1e9),
    "Norrish constant": (lambda x: wateractivity.norrish(1.0, [Humectant("x", 0.1, x)]), 0.0, 20.0),
    "mole fraction": (lambda x: wateractivity.norrish(1.0 - x, [Humectant("x", x, 0.0)]), None, 0.5),
    "molality, single charges": (lambda x: wateractivity.osmotic_coefficient(Salt("x", 1.0), x), 0.0, 2.0),
    "molality, other charges": (
        lambda x: wateractivity.osmotic_coefficient(Salt("x", 1.0, cation_charge=2, anion_charge=-2), x), 0.0, 1.0,
    ),
    "molality, with parameters": (
        lambda x: wateractivity.osmotic_coefficient(Salt("x", 1.0, pitzer=wateractivity.Pitzer(0.08, 0.27, 0.001)), x),
        0.0,
        6.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("function", "low", "high"), RANGES.values(), ids=RANGES)
def test_both_ends_and_no_further(function: Callable[[float], object], low: float | None, high: float | None) -> None:
    for end, towards in ((low, -inf), (high, inf)):
        if end is None:
            continue
        function(end)
        beyond = end + (1 if towards > 0 else -1) if isinstance(end, int) else _beyond(end, towards)
        with pytest.raises(OutOfRange):
            function(beyond)


def _beyond(end: float, towards: float) -> float:
    return nextafter(end, towards) if abs(end) >= 1e-6 else (1.0 if towards > 0 else -1e-9)


def test_more_than_nothing_is_said_so() -> None:
    with pytest.raises(OutOfRange, match=r"more than 0 to 1 kg"):
        within("water", 0.0, JUST_ABOVE_NOTHING, 1.0, "kg")
    with pytest.raises(OutOfRange, match=r"is 2; allowed is 0 to 1"):
        within("water", 2.0, 0.0, 1.0)
    with pytest.raises(OutOfRange, match=r"allowed is -1 to 1"):
        within("water", 2.0, -1.0, 1.0)
