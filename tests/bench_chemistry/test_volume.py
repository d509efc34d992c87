"""Densities against published mixtures, and batches for so many containers."""

from __future__ import annotations

import pytest

from formcheck.bench.errors import OutOfRange
from formcheck.bench.volume import Density, Part, mixture_density, to_fill

WATER = 0.99823  # g/mL at 20 °C, Perry's Chemical Engineers' Handbook, seen in a stored copy


def _in_water(percent: float, density: float, role: str = "") -> Density:
    return mixture_density(
        [Part("Aqua", 100 - percent, WATER, role="water"), Part("other", percent, density, role=role)]
    )


# Ethanol at 20 °C, Perry: 5 and 10 % w/w seen in a stored copy, 50 % from memory. Sucrose 20 and 30 % w/w
# at 20 °C seen in a stored table of a university laboratory, the crystal's 1.587 from memory. Glycerol 50 %
# w/w at 20 °C from memory.
@pytest.mark.parametrize(
    ("percent", "own", "role", "measured"),
    [
        (5.0, 0.7893, "alcohol", 0.98938),
        (10.0, 0.7893, "alcohol", 0.98187),
        (50.0, 0.7893, "alcohol", 0.9138),
        (20.0, 1.587, "", 1.08094),
        (30.0, 1.587, "", 1.12698),
        (50.0, 1.2611, "", 1.1263),
    ],
)
def test_published_solutions_lie_in_the_band(percent: float, own: float, role: str, measured: float) -> None:
    found = _in_water(percent, own, role)
    assert found.low < measured < found.high
    assert found.high - found.low < 0.08


def test_ideal_volumes_by_hand() -> None:
    # 20 g at 0.92 g/mL and 80 g at 1 g/mL take 101.74 mL.
    assert mixture_density([Part("oil", 20.0, 0.92), Part("water", 80.0, 1.0)]).g_ml == pytest.approx(100 / 101.7391)


def test_typical_densities_are_named_and_widen_the_band() -> None:
    sure = mixture_density([Part("Aqua", 80.0, WATER), Part("Oil", 20.0, 0.92)])
    vague = mixture_density([Part("Aqua", 80.0, WATER), Part("Oil", 20.0, 0.91, 0.06, typical=True)])
    assert vague.typical == ("Oil",)
    assert vague.high - vague.low > sure.high - sure.low


def test_a_pure_liquid_keeps_its_density() -> None:
    assert mixture_density([Part("Aqua", 100.0, WATER)]) == Density(WATER, WATER, WATER, ())


def test_bottles_by_hand() -> None:
    # 24 bottles of 50 mL at 1.02 g/mL hold 1224 g; with 4 % lost 1275 g have to be made.
    found = to_fill(24, 50.0, Density(1.02, 1.00, 1.04, ()), loss_percent=4.0)
    assert found.net_g == pytest.approx(1224.0)
    assert found.batch_g == pytest.approx(1275.0)
    assert found.low_g == pytest.approx(1250.0)
    assert found.high_g == pytest.approx(1300.0)


@pytest.mark.parametrize(
    ("units", "unit_ml", "loss"), [(0, 50.0, 0.0), (1, 0.0, 0.0), (1, 50.0, 100.0), (1, float("nan"), 0.0)]
)
def test_nonsense_is_refused(units: int, unit_ml: float, loss: float) -> None:
    with pytest.raises(OutOfRange):
        to_fill(units, unit_ml, Density(1.0, 1.0, 1.0, ()), loss_percent=loss)


def test_a_mixture_of_nothing() -> None:
    with pytest.raises(OutOfRange, match="more than 0 %"):
        mixture_density([])
    with pytest.raises(OutOfRange, match=r"density of x is 0\.1"):
        mixture_density([Part("x", 1.0, 0.1)])


def test_doubts_join_as_the_guide_has_it() -> None:
    """JCGM 100:2008, 5.1: independent doubts add by their squares. One part: its own; two equal halves: 1/sqrt(2) of it,
    with the doubt of mixing beside."""
    one = mixture_density([Part("x", 100.0, 2.0, 0.2)])
    assert (one.low, one.high) == (pytest.approx(1.8), pytest.approx(2.2))
    two, sure = (mixture_density([Part("x", 50.0, 1.0, doubt), Part("y", 50.0, 1.0, doubt)]) for doubt in (0.1, 0.0))
    assert (two.high - 1) ** 2 - (sure.high - 1) ** 2 == pytest.approx(0.1**2 / 2)
    assert (1 - two.low) ** 2 - (1 - sure.low) ** 2 == pytest.approx(0.1**2 / 2)
