"""Free acid of preservatives against published tables."""

from __future__ import annotations

import pytest

from formcheck.bench.errors import OutOfRange
from formcheck.bench.freeacid import free_acid, highest_pH

# D. C. Steinberg, The chemistry of preservatives, J. Cosmet. Sci. 56 (2005) 361: pKa and percent of active form at
# pH 3 to 7, whole percents but for two values; seen in a stored copy, where two pKa are blurred (benzoic, sorbic).
STEINBERG = {
    "dehydroacetic": (5.27, (100, 95, 65, 16, 2)),
    "benzoic": (4.19, (94, 61, 13, 1.5, 0)),
    "sorbic": (4.76, (98, 85, 37, 5.5, 0)),
    "salicylic": (2.97, (48, 9, 1, 0, 0)),
    "propionic": (4.87, (99, 88, 43, 7, 1)),
}
# J. Smith and L. Hong-Shum, Food Additives Data Book (2003), benzoic acid, pK 4.19; seen in a stored copy.
DATA_BOOK = (93.5, 59.3, 12.8, 1.44, 0.144)


@pytest.mark.parametrize("acid", STEINBERG)
def test_table_of_cosmetic_preservatives(acid: str) -> None:
    pKa, row = STEINBERG[acid]
    for pH, expected in zip((3, 4, 5, 6, 7), row, strict=True):
        assert _undissociated(pKa, pH) == pytest.approx(expected, abs=0.6)


def test_table_of_the_food_additives_data_book() -> None:
    # The book's row is exact for pK 4.165; its stated 4.19 gives up to 1.4 points more.
    for pH, expected in zip((3, 4, 5, 6, 7), DATA_BOOK, strict=True):
        assert _undissociated(4.19, pH) == pytest.approx(expected, rel=0.08)


def _undissociated(pKa: float, pH: float) -> float:
    return free_acid(0.5, (pKa,), pH, 90.0).undissociated_percent


def test_free_acid_in_the_water_phase_by_hand() -> None:
    # At pH = pKa half of it: 0.2 % in 80 % water phase is 0.25 % w/w there, half of that free.
    found = free_acid(0.2, (4.76,), 4.76, 80.0)
    assert found.free_percent == pytest.approx(0.125)
    assert found.undissociated_percent == pytest.approx(50.0)


def test_salt_in_the_water_leaves_less_undissociated() -> None:
    assert (
        free_acid(0.2, (4.2,), 4.5, 90.0, ionic_strength=0.2).free_percent
        < free_acid(0.2, (4.2,), 4.5, 90.0).free_percent
    )


def test_highest_pH_that_leaves_enough() -> None:
    pH = highest_pH(0.4, (4.2,), 80.0, 0.1)
    assert pH is not None
    assert free_acid(0.4, (4.2,), pH, 80.0).free_percent == pytest.approx(0.1)
    # By hand: 0.1 of 0.5 % is a fifth, so pH = pKa + log10(4).
    assert pH == pytest.approx(4.2 + 0.60206, abs=1e-4)
    assert highest_pH(0.04, (4.2,), 80.0, 0.1) is None


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((0.2, (4.2,), 15.0, 80.0), "pH is 15"),
        ((0.2, (4.2,), 5.0, 0.0), "water phase"),
        ((101.0, (4.2,), 5.0, 80.0), "content is 101"),
        ((0.2, (), 5.0, 80.0), "number of pKa"),
    ],
)
def test_nonsense_is_refused(arguments: tuple[float, tuple[float, ...], float, float], says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        free_acid(*arguments)
