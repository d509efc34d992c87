"""Acid-base equilibrium against published buffers, tables and school-book examples, and for its own laws."""

from __future__ import annotations

import time
from math import log10

import pytest

from formcheck.bench.acidbase import (
    PKW,
    Solute,
    buffer_capacity,
    charge_left,
    davies,
    fractions,
    missing_charge,
    predict,
    solve,
    undissociated,
)
from formcheck.bench.errors import OutOfRange

# CRC Handbook of Chemistry and Physics, dissociation constants at 25 °C and zero ionic strength; from memory.
PHTHALIC = (2.950, 5.408)
CITRIC = (3.128, 4.761, 6.396)
PHOSPHORIC = (2.148, 7.198, 12.375)
BORIC = (9.237,)
CARBONIC = (6.352, 10.329)
TARTARIC = (3.036, 4.366)
OXALIC = (1.252, 4.266)
TRIS = (8.072,)
ONE, TWO = ((1, 1.0),), ((1, 2.0),)


# R. P. Buck and others, Measurement of pH (IUPAC Recommendations 2002), Pure Appl. Chem. 74 (2002) 2169,
# table 2: primary standards at 25 °C, mol/kg. Citrate and carbonate were also seen in B. R. Staples and R.
# G. Bates, J. Res. Natl. Bur. Stand. 73A (1969) 37, phthalate in J. Res. Natl. Bur. Stand. 36 (1946) 47;
# the others from memory.
STANDARDS = {
    "dihydrogen citrate": (3.776, [Solute("citrate", 0.05, CITRIC, 0, ONE)]),
    "phthalate": (4.005, [Solute("phthalate", 0.05, PHTHALIC, 0, ONE)]),
    "equal phosphates": (6.865, [Solute("a", 0.025, PHOSPHORIC, 0, ONE), Solute("b", 0.025, PHOSPHORIC, 0, TWO)]),
    "unequal phosphates": (
        7.413,
        [Solute("a", 0.008695, PHOSPHORIC, 0, ONE), Solute("b", 0.03043, PHOSPHORIC, 0, TWO)],
    ),
    "borax": (9.180, [Solute("four boric acids to two sodium", 0.04, BORIC, 0, ((1, 0.5),))]),
    "carbonates": (10.012, [Solute("a", 0.025, CARBONIC, 0, ONE), Solute("b", 0.025, CARBONIC, 0, TWO)]),
    "saturated hydrogen tartrate": (3.557, [Solute("tartrate", 0.0341, TARTARIC, 0, ONE)]),
    "tetroxalate": (1.679, [Solute("two oxalic acids to one potassium", 0.1, OXALIC, 0, ((1, 0.5),))]),
    "tris": (7.699, [Solute("base", 0.01667, TRIS, 1), Solute("salt", 0.05, TRIS, 1, ((-1, 1.0),))]),
}


@pytest.mark.parametrize("name", STANDARDS)
def test_standard_buffers(name: str) -> None:
    expected, solutes = STANDARDS[name]
    state = solve(solutes, 1.0)
    assert state.converged
    assert state.activity_ok
    assert state.pH == pytest.approx(expected, abs=0.03)
    guess = predict(solutes, 1.0)
    assert guess.low < expected < guess.high


# Citric acid 0.1 mol/L with disodium phosphate 0.2 mol/L, ml of the first in 100 ml, pH at 25 °C: table of
# T. C. McIlvaine, J. Biol. Chem. 49 (1921) 183, seen in a stored teaching sheet. Its scale is Soerensen's,
# lower than today's by about 0.04 (R. G. Bates, Determination of pH, 1973; from memory).
MCILVAINE = [(2.6, 89.1), (3.0, 79.45), (3.4, 71.5), (3.8, 64.5), (4.2, 58.6), (4.6, 53.25)]
MCILVAINE += [(5.0, 48.5), (5.4, 44.25), (5.8, 39.55), (6.2, 33.9), (6.6, 27.25), (7.0, 17.65)]


@pytest.mark.parametrize(("old_scale", "acid_ml"), MCILVAINE)
def test_citrate_phosphate_table_lies_in_the_band(old_scale: float, acid_ml: float) -> None:
    expected = old_scale + 0.04
    solutes = [
        Solute("citric acid", acid_ml * 1e-4, CITRIC),
        Solute("disodium phosphate", (100 - acid_ml) * 2e-4, PHOSPHORIC, 0, TWO),
    ]
    guess = predict(solutes, 0.1)
    assert guess.low <= expected <= guess.high
    assert guess.high - guess.low < 0.4


# D. C. Harris, Quantitative Chemical Analysis, chapter on polyprotic equilibria, leucine 0.0500 mol/L; from
# memory.
@pytest.mark.parametrize(
    ("ions", "expected"), [(((-1, 1.0),), 1.88), ((), 6.06), (((1, 1.0),), 11.21)], ids=["H2L+", "HL", "L-"]
)
def test_leucine_of_the_textbook(ions: tuple[tuple[int, float], ...], expected: float) -> None:
    state = solve([Solute("leucine", 0.05, (2.328, 9.744), 1, ions)], 1.0, ideal=True)
    assert state.pH == pytest.approx(expected, abs=0.01)


def test_dilute_strong_acid_and_base_by_hand() -> None:
    # Complete dissociation: pH 2 and 12 without activity coefficients; the sum with water's own pH is pKw.
    acid = solve([Solute("acid", 0.01, (), 0, ((-1, 1.0),))], 1.0, ideal=True)
    base = solve([Solute("base", 0.01, (), 0, ONE)], 1.0, ideal=True)
    assert acid.pH == pytest.approx(2.0, abs=1e-4)
    assert base.pH == pytest.approx(PKW - 2.0, abs=1e-4)


def test_activity_of_hydrochloric_acid() -> None:
    # R. G. Bates, Determination of pH: 0.1 mol/kg hydrochloric acid, pH 1.094; from memory.
    assert solve([Solute("acid", 0.1, (), 0, ((-1, 1.0),))], 1.0).pH == pytest.approx(1.094, abs=0.03)


def test_davies_coefficients() -> None:
    # J. Kielland, J. Am. Chem. Soc. 59 (1937) 1675: single charge, ion size 4 to 4.5, I = 0.1: 0.77 to
    # 0.78; I = 0.01: 0.901 to 0.902; the table as printed in Harris, Quantitative Chemical Analysis; from
    # memory.
    assert 10 ** -davies(0.1) == pytest.approx(0.775, abs=0.01)
    assert 10 ** -davies(0.01) == pytest.approx(0.901, abs=0.003)
    assert davies(2.0) == davies(0.5)


def test_buffer_capacity_at_the_pKa_is_van_slykes_maximum() -> None:
    # D. D. Van Slyke (1922): 2.303 C / 4 = 0.576 C at pH = pKa, 0.1 mol/L, where water itself adds next to
    # nothing.
    assert buffer_capacity([Solute("acid", 0.1, (7.0,))], 1.0, 7.0) == pytest.approx(0.0576, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "published"), [("dihydrogen citrate", 0.034), ("phthalate", 0.016), ("equal phosphates", 0.029)]
)
def test_buffer_values_of_the_standards(name: str, published: float) -> None:
    # Buffer values of the standard solutions, Lange's Handbook of Chemistry, table 8.15; seen in a stored
    # copy.
    _, solutes = STANDARDS[name]
    state = solve(solutes, 1.0)
    found = buffer_capacity(solutes, 1.0, state.pH, state.ionic_strength)
    assert found == pytest.approx(published, rel=0.1)


def test_fractions_at_the_pKa() -> None:
    assert fractions((4.2,), 4.2) == pytest.approx((0.5, 0.5))
    assert undissociated((4.2,), 3.2) == pytest.approx(10 / 11)
    assert sum(fractions(CITRIC, 5.0, ionic_strength=0.1)) == pytest.approx(1.0)
    assert fractions((), 7.0) == (1.0,)


def test_a_measured_pH_is_met_by_the_missing_charge() -> None:
    solutes = [Solute("benzoate", 0.03, (4.20,), 0, ONE)]
    charge = missing_charge(solutes, 0.9, 5.1)
    assert charge < 0.0
    assert solve(solutes, 0.9, extra_charge_mol=charge).pH == pytest.approx(5.1, abs=1e-6)


def test_band_of_plain_water_is_wide_and_of_a_buffer_narrow() -> None:
    water, buffered = predict([], 1.0), predict(STANDARDS["equal phosphates"][1], 1.0, left_out=["aloe"])
    # Purified water in air reads 5 to 7 or so (Ph. Eur. and USP no longer fix a pH for that reason; common
    # practice).
    assert water.low < 5.6 < water.high
    assert water.high - water.low > 2.0
    assert buffered.high - buffered.low < 0.3
    assert buffered.left_out == ("aloe",)


def test_doubt_about_charge_widens_the_band() -> None:
    solutes = STANDARDS["phthalate"][1]
    plain, doubtful = predict(solutes, 1.0), predict(solutes, 1.0, charge_doubt_mol=0.005)
    assert doubtful.high - doubtful.low > 2 * (plain.high - plain.low)


def test_weighing_decides_where_acid_and_base_are_nearly_equal() -> None:
    # One percent of 0.1 mol/kg too much of either is 0.001 mol/kg, pH 3 or 11.
    even = predict([Solute("acid", 0.1, (), 0, ((-1, 1.0),)), Solute("base", 0.1, (), 0, ONE)], 1.0)
    assert even.low < 3.2
    assert even.high > 10.8


def test_beyond_davies_is_said_and_still_solved() -> None:
    salty = [*STANDARDS["phthalate"][1], Solute("salt", 2.0, (), 0, ((1, 1.0), (-1, 1.0)))]
    state, guess = solve(salty, 1.0), predict(salty, 1.0)
    assert state.converged
    assert not state.activity_ok
    assert not guess.activity_ok
    assert guess.high - guess.low > 0.8


def test_ten_components_well_within_a_millisecond() -> None:
    families = (CITRIC, (4.20,), (2.35, 9.78))
    solutes = [
        Solute(str(i), 0.01 * (i + 1), families[i % 3], int(i % 3 == 2), ((1, 0.5 * (i % 3)),)) for i in range(10)
    ]
    best = min(_seconds(solutes) for _ in range(20))
    assert best < 1e-3


def _seconds(solutes: list[Solute]) -> float:
    start = time.perf_counter()
    solve(solutes, 1.0)
    return time.perf_counter() - start


@pytest.mark.parametrize(
    ("solutes", "water_kg", "says"),
    [
        ([], 0.0, "water"),
        ([Solute("x", -1.0)], 1.0, "0 mol or more"),
        ([Solute("x", 1.0, (5.0, 3.0))], 1.0, "ascending"),
        ([Solute("x", float("nan"))], 1.0, "amount of x"),
        ([Solute("x", 100.0, (), 0, ONE)], 1.0, "above the range"),
        ([Solute("x", 100.0, (), 0, ((-1, 1.0),))], 1.0, "below the range"),
    ],
)
def test_nonsense_is_refused_with_a_reason(solutes: list[Solute], water_kg: float, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        solve(solutes, water_kg)


def test_charge_of_the_species_adds_to_nothing() -> None:
    for _, solutes in STANDARDS.values():
        assert abs(charge_left(solutes, 1.0, solve(solutes, 1.0))) < 1e-9


def test_half_neutralised_acid_follows_davies_by_hand() -> None:
    # By hand: pH = pKa + log10(gamma of the anion) for equal acid and salt, since pH is an activity.
    solutes = [Solute("acid", 0.05, (4.756,)), Solute("salt", 0.05, (4.756,), 0, ONE)]
    state = solve(solutes, 1.0)
    root = state.ionic_strength**0.5
    gamma = 10 ** (-0.509 * (root / (1 + root) - 0.3 * root**2))
    assert state.pH == pytest.approx(4.756 + log10(gamma), abs=2e-3)
