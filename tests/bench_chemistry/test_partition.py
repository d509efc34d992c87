"""Partition of preservatives against the published tables of Bean."""

from __future__ import annotations

import pytest

from formcheck.bench.errors import OutOfRange
from formcheck.bench.partition import coefficient, distribute

RATIOS = (0.2, 1.0, 2.5, 5.0, 10.0)
# H. S. Bean, S. M. Heman-Ackah and J. Thomas, J. Soc. Cosmet. Chem. 16 (1965) 15, table II, page 18, seen
# in a stored copy: K, overall % w/v, then % w/v in the water at each oil to water ratio.
BEAN_1965 = {
    "phenol, liquid paraffin": (0.067, 0.4, (0.474, 0.750, 1.199, 1.799, 2.636)),
    "one that likes both alike": (1.0, 1.0, (1.0, 1.0, 1.0, 1.0, 1.0)),
    "chlorocresol, arachis oil": (116.7, 4.0, (0.197, 0.068, 0.048, 0.0411, 0.038)),
}
CHLOROCRESOL_IN_OIL = (22.96, 7.93, 5.60, 4.79, 4.40)
# H. S. Bean, J. Soc. Cosmet. Chem. 23 (1972) 703, table VIII, page 716, seen in a stored copy: methyl
# paraben. The first entry of the soya row (0.027 at a ratio of 0.11) does not follow from its own equation
# (0.023) and is left out.
BEAN_1972 = [
    (0.02, 0.1, 0.11, 0.11),
    (0.02, 0.1, 0.25, 0.12),
    (0.02, 0.1, 0.43, 0.14),
    (0.02, 0.1, 0.66, 0.16),
    (0.02, 0.1, 1.00, 0.20),
    (80.0, 0.2, 0.25, 0.012),
    (80.0, 0.2, 0.43, 0.008),
    (80.0, 0.2, 0.66, 0.006),
    (80.0, 0.2, 1.00, 0.005),
]


@pytest.mark.parametrize("name", BEAN_1965)
def test_table_of_1965(name: str) -> None:
    K, overall, in_water = BEAN_1965[name]
    for ratio, expected in zip(RATIOS, in_water, strict=True):
        assert distribute(overall, K, ratio).free_concentration == pytest.approx(expected, rel=0.015)


def test_oil_column_of_1965() -> None:
    K, overall, _ = BEAN_1965["chlorocresol, arachis oil"]
    for ratio, expected in zip(RATIOS, CHLOROCRESOL_IN_OIL, strict=True):
        found = distribute(overall, K, ratio)
        assert overall * found.in_oil * (ratio + 1) / ratio == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize(("K", "overall", "ratio", "expected"), BEAN_1972)
def test_table_of_1972(K: float, overall: float, ratio: float, expected: float) -> None:
    half_a_digit = 0.0051 if expected > 0.05 else 0.00051
    assert distribute(overall, K, ratio).free_concentration == pytest.approx(expected, abs=half_a_digit)


def test_benzoic_acid_of_martins_physical_pharmacy() -> None:
    # A. Martin, Physical Pharmacy, after Garrett and Woods: 1 % benzoic acid on the water, equal volumes of
    # oil, K 5.33, pH 5, Ka 6.3e-5: C / (K q + 1 + Ka / H) = 0.79 mg/ml; from memory.
    share = 1 / (1 + 6.3e-5 / 1e-5)
    found = distribute(0.5, 5.33, 1.0, undissociated=share)
    assert found.free_concentration == pytest.approx(0.079, abs=0.0005)


def test_binding_takes_from_the_free_form() -> None:
    # Bean 1972, equation V, C (phi + 1) / (K phi + R), by hand for C 0.2, phi 0.25, K 7.5, R 3.
    found = distribute(0.2, 7.5, 0.25, total_to_free=3.0)
    assert found.free_concentration == pytest.approx(0.2 * 1.25 / (7.5 * 0.25 + 3.0))
    assert found.bound == pytest.approx(2 * found.free)


def test_vegetable_oil_is_not_octanol() -> None:
    # Bean 1972, table VII: propyl paraben, soya oil to water 80; its log P of 3.04 is from memory.
    assert coefficient(3.04, shift=-1.1) == pytest.approx(80.0, rel=0.15)
    assert coefficient(2.0) == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"K": -1.0}, "partition coefficient is -1"),
        ({"undissociated": 0.0}, "undissociated share"),
        ({"total_to_free": 0.5}, "total to free"),
        ({"ratio": float("nan")}, "oil to water ratio"),
    ],
)
def test_nonsense_is_refused(arguments: dict[str, float], says: str) -> None:
    asked = {"concentration": 0.2, "K": 10.0, "ratio": 0.3} | arguments
    with pytest.raises(OutOfRange, match=says):
        distribute(**asked)


def test_shares_add_to_one_whatever_is_asked() -> None:
    pytest.importorskip("hypothesis")
    from hypothesis import given
    from hypothesis import strategies as st

    @given(st.floats(0, 1e6), st.floats(0, 20), st.floats(1e-9, 1), st.floats(1, 500))
    def adds_up(K: float, ratio: float, undissociated: float, total_to_free: float) -> None:
        found = distribute(0.5, K, ratio, undissociated=undissociated, total_to_free=total_to_free)
        shares = found[:4]
        assert sum(shares) == pytest.approx(1.0)
        assert found.in_oil + found.in_water == pytest.approx(1.0)
        assert min(shares) >= 0.0

    adds_up()
