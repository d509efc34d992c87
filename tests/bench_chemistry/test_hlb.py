"""HLB sums against Griffin and worked examples of others."""

from __future__ import annotations

import pytest

from formcheck.bench.errors import OutOfRange, Unreachable
from formcheck.bench.hlb import Part, balance, pair, weighted

# A paper on a seed oil cream, OCL 29 (2022), article ocl210096, tables 4 and 5, seen in a stored copy: % of
# stearic acid, isopropyl myristate and glyceryl stearate in five creams beside 1.5 % beeswax and 5 % seed
# oil, required HLB, and the shares of polysorbate 80 (15) and sorbitan stearate (4.7) in 3 % emulsifier.
CREAMS = [
    (12.5, 7.5, 7.5, 10.33, 1.64, 1.36),
    (10.5, 7.5, 7.5, 10.04, 1.56, 1.44),
    (8.5, 7.5, 7.5, 9.71, 1.46, 1.54),
    (6.5, 7.5, 7.5, 9.33, 1.35, 1.65),
    (10.5, 10.0, 10.0, 9.72, 1.46, 1.54),
]


@pytest.mark.parametrize(("stearic", "myristate", "stearate", "required", "high", "low"), CREAMS)
def test_creams_of_the_paper(
    stearic: float, myristate: float, stearate: float, required: float, high: float, low: float
) -> None:
    oils = [
        Part("Cera Alba", 1.5, 12.0),
        Part("Isopropyl Myristate", myristate, 11.5),
        Part("Glyceryl Stearate", stearate, 3.8),
        Part("Stearic Acid", stearic, 15.0),
        Part("Seed Oil", 5.0, 6.2),
    ]
    assert weighted(oils) == pytest.approx(required, abs=0.015)
    found = pair(weighted(oils), 4.7, 15.0, 3.0)
    assert found.high_percent == pytest.approx(high, abs=0.006)
    assert found.low_percent == pytest.approx(low, abs=0.006)


def test_emulsion_of_aultons_pharmaceutics() -> None:
    # Aulton's Pharmaceutics, chapter on emulsions: liquid paraffin 35 %, wool fat 1 %, cetyl alcohol 1 %; 5
    # % of sorbitan oleate (4.3) and polysorbate 80 (15): required 12.1, 72.9 % of the latter; from memory.
    oils = [
        Part("Paraffinum Liquidum", 35.0, 12.0),
        Part("Lanolin", 1.0, 10.0),
        Part("Cetyl Alcohol", 1.0, 15.0),
    ]
    required = weighted(oils)
    assert required == pytest.approx(12.1, abs=0.1)
    assert pair(12.1, 4.3, 15.0, 5.0).high_share == pytest.approx(0.729, abs=0.001)


def test_blend_of_griffin() -> None:
    # W. C. Griffin (1949) and the booklets made from it: 70 % polysorbate 80 (15) with 30 % sorbitan oleate
    # (4.3) gives 11.8; from memory.
    blend = [Part("Polysorbate 80", 70.0, 15.0), Part("Sorbitan Oleate", 30.0, 4.3)]
    assert weighted(blend) == pytest.approx(11.8, abs=0.05)


def test_balance_says_how_far_apart_and_what_it_does_not_know() -> None:
    found = balance(
        [Part("Oil", 20.0, 7.0), Part("New Oil", 5.0, None)],
        [Part("Emulsifier", 3.0, 9.0), Part("Other", 1.0, 5.0)],
    )
    assert found.required == pytest.approx(7.0)
    assert found.offered == pytest.approx(8.0)
    assert found.apart == pytest.approx(1.0)
    assert found.left_out == ("New Oil",)


def test_a_pair_that_cannot_meet_it() -> None:
    with pytest.raises(Unreachable, match=r"required HLB is 16.0; allowed is 4.3 to 15"):
        pair(16.0, 4.3, 15.0, 5.0)
    with pytest.raises(OutOfRange, match="below that of the other"):
        pair(10.0, 15.0, 4.3, 5.0)


def test_nothing_with_a_value() -> None:
    with pytest.raises(OutOfRange, match="more than 0 %"):
        weighted([Part("New Oil", 5.0, None)])


def test_the_pair_gives_back_what_was_asked() -> None:
    pytest.importorskip("hypothesis")
    from hypothesis import assume, given
    from hypothesis import strategies as st

    @given(st.floats(0.5, 9.0), st.floats(10.0, 20.0), st.floats(0, 1), st.floats(0.1, 20))
    def round_trip(low: float, high: float, where: float, total: float) -> None:
        required = low + where * (high - low)
        assume(low <= required <= high)
        found = pair(required, low, high, total)
        parts = [Part("low", found.low_percent, low), Part("high", found.high_percent, high)]
        assert weighted(parts) == pytest.approx(required)
        assert found.low_percent + found.high_percent == pytest.approx(total)

    round_trip()


def test_the_scale_reaches_to_forty() -> None:
    """Sodium lauryl sulfate has 40 (Handbook of Pharmaceutical Excipients): with as much of 10 it makes 25."""
    assert weighted([Part("Sodium Lauryl Sulfate", 1, 40.0), Part("Other", 1, 10.0)]) == 25.0
