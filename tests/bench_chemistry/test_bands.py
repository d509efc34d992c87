"""The band of a predicted pH against closed forms: how far a doubt moves the pH follows from the buffer capacity.

A half-neutralised acid moves by what its pKa is off, an acid alone by half of it (pH = (pKa - log c) / 2), and by d / beta
for a stray charge d, with beta the buffer capacity (D. D. Van Slyke, J. Biol. Chem. 52 (1922) 525; ln 10 c / 4 at the pKa).
"""

from __future__ import annotations

from math import log, sqrt

import pytest

from formcheck.bench import acidbase
from formcheck.bench.acidbase import Solute, buffer_capacity, missing_charge, predict

HALF = [Solute("acetate", 0.1, (4.76,), ions=((1, 0.5),))]
ALONE = [Solute("acetic acid", 0.1, (4.76,))]


def further(solutes: list[Solute], side: int, **doubts: float) -> float:
    """How much of the band on one side comes of a doubt, as the parts add by their squares."""
    without = {"pKa_doubt": 0.0}
    wide, narrow = predict(solutes, 1.0, **{**without, **doubts}), predict(solutes, 1.0, **without)
    ends = [(found.high - found.pH if side > 0 else found.pH - found.low) for found in (wide, narrow)]
    return sqrt(ends[0] ** 2 - ends[1] ** 2)


@pytest.mark.parametrize("side", [-1, 1])
def test_the_doubt_of_a_constant(side: int) -> None:
    assert further(HALF, side, pKa_doubt=0.3) == pytest.approx(0.3, rel=0.02)
    assert further(ALONE, side, pKa_doubt=0.3) == pytest.approx(0.15, rel=0.05)


def test_a_stray_charge_moves_a_buffer_by_its_capacity() -> None:
    """0.002 mol in 0.1 mol/kg half neutralised: 0.002 / (ln 10 0.1 / 4) = 0.0347, beside the ten or so millionths of the water."""
    wide, narrow = (predict(HALF, 1.0, pKa_doubt=0.0, charge_doubt_mol=doubt) for doubt in (0.01, 0.0))
    beta = log(10) * 0.1 / 4
    assert buffer_capacity(HALF, 1.0, 4.76) == pytest.approx(beta, rel=0.01)
    assert wide.high - wide.pH == pytest.approx(0.01 / beta, rel=0.1)
    assert wide.pH - wide.low == pytest.approx(0.01 / beta, rel=0.1)
    assert narrow.high - narrow.pH < 0.05


def test_one_side_of_the_band_is_not_the_other() -> None:
    """Water with a trace of strong acid: as much alkali again makes it neutral, as much acid moves it by 0.3."""
    trace = [Solute("acid", 1e-4, ions=((-1, 1.0),))]
    found = predict(trace, 1.0, charge_doubt_mol=0.9e-4)
    assert found.pH == pytest.approx(4.0, abs=0.02)
    assert found.pH - found.low == pytest.approx(0.3, abs=0.05)
    assert found.high - found.pH > 0.9


def test_the_water_counts_for_its_amount() -> None:
    """A band is the same for a beaker and for a vat of the same."""
    small = [solute._replace(mol=solute.mol / 100) for solute in HALF]
    one, other = predict(HALF, 1.0), predict(small, 0.01)
    assert (one.low, one.high) == (pytest.approx(other.low, abs=1e-6), pytest.approx(other.high, abs=1e-6))


def test_a_salt_weighed_as_one_leaves_less_in_doubt_than_acid_and_lye() -> None:
    """Its ions come in one weighing: an error of it moves both, and the pH hardly (common practice, no source)."""
    as_salt = [Solute("sodium acetate", 0.1, (4.76,), ions=((1, 1.0),)), Solute("acid", 0.1, (4.76,))]
    apart = [Solute("acetic acid", 0.2, (4.76,)), Solute("lye", 0.1, ions=((1, 1.0),))]
    one, other = (predict(each, 1.0, pKa_doubt=0.0) for each in (as_salt, apart))
    assert one.pH == pytest.approx(other.pH)
    assert one.high - one.low < other.high - other.low


def test_a_base_has_a_band_like_an_acid() -> None:
    """An amine and its salt, pKa 9.25: the same capacity, the same doubt, mirrored (symmetry)."""
    ammonia = [Solute("ammonium", 0.1, (9.25,), 1, ((-1, 0.5),))]
    for side in (-1, 1):
        assert further(ammonia, side, pKa_doubt=0.3) == pytest.approx(0.3, rel=0.02)
    assert predict(ammonia, 1.0).high - predict(ammonia, 1.0).low == pytest.approx(
        predict(HALF, 1.0).high - predict(HALF, 1.0).low, rel=0.2
    )


def test_a_doubt_that_leaves_the_scale_is_no_end_of_the_band() -> None:
    """More stray acid than any pH can hold: the band stays within the scale."""
    found = predict([], 1.0, charge_doubt_mol=1e3)
    assert acidbase.PH_LOW <= found.low <= found.pH <= found.high <= acidbase.PH_HIGH


def test_capacity_of_water_and_of_strong_acid() -> None:
    """Van Slyke: water and strong acids have ln 10 times the hydrogen and hydroxide that is there."""
    for pH, strong in ((2.0, 0.01), (12.0, 0.01), (7.0, 1e-7)):
        expected = log(10) * (strong + 1e-14 / strong)
        assert buffer_capacity([], 1.0, pH) == pytest.approx(expected, rel=0.02)
        assert buffer_capacity([], 2.0, pH) == pytest.approx(expected, rel=0.02)


def test_what_is_missing_is_what_was_taken_away() -> None:
    """Charge balance: without its lye a buffer misses just the lye."""
    solutes = [Solute("acid", 0.1, (4.76,)), Solute("lye", 0.05, ions=((1, 1.0),))]
    pH = acidbase.solve(solutes, 1.0).pH
    assert missing_charge(solutes[:1], 1.0, pH) == pytest.approx(0.05, rel=1e-3)
