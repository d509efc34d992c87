"""Laws that every water phase obeys, on phases made up at random."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

hypothesis = pytest.importorskip("hypothesis")

from hypothesis import assume, example, given, reject, settings  # noqa: E402
from hypothesis import strategies as st  # noqa: E402

from formcheck.bench.acidbase import PKW, Solute, charge_left, fractions, predict, solve  # noqa: E402
from formcheck.bench.errors import OutOfRange  # noqa: E402

amounts = st.floats(1e-5, 0.5)
pKas = st.lists(st.floats(0.5, 13.5), max_size=4).map(lambda values: tuple(sorted(values)))


@st.composite
def one_solute(draw: st.DrawFn) -> Solute:
    pKa = draw(pKas)
    top = draw(st.integers(0, 2)) if pKa else 0
    cation = draw(st.floats(0.0, 3.0))
    anion = draw(st.floats(0.0, 2.0))
    return Solute("x", draw(amounts), pKa, top, ((1, cation), (-1, anion)))


phases = st.lists(one_solute(), max_size=6)
waters = st.floats(0.3, 2.0)


def solved(solutes: Iterable[Solute], water_kg: float, **how: bool) -> Any:
    """The state, but for so strong an acid or a base that no pH in range belongs to it."""
    solutes = list(solutes)
    try:
        return solve(solutes, water_kg, **how)
    except OutOfRange:
        surplus = sum(solute.mol * count * charge for solute in solutes for charge, count in solute.ions)
        assert abs(surplus) / water_kg > 3.0, "three moles a kilogram still have a pH between -1 and 15"
        reject()


@settings(deadline=None, max_examples=300)
@example([Solute("x", 0.5, (), 0, ((1, 2.25), (-1, 0.0)))] * 4, 0.3125)
@given(phases, waters)
def test_electroneutral_at_the_solution(solutes: list[Solute], water_kg: float) -> None:
    state = solved(solutes, water_kg)
    assert state.converged
    scale = 1e-7 + sum(solute.mol for solute in solutes) / water_kg
    assert abs(charge_left(solutes, water_kg, state)) < 1e-6 * scale


@settings(deadline=None, max_examples=200)
@given(phases, waters, st.floats(1e-6, 0.5))
def test_strong_acid_never_raises_the_pH(solutes: list[Solute], water_kg: float, mol: float) -> None:
    before = solved(solutes, water_kg, ideal=True)
    after = solved([*solutes, Solute("acid", mol, (), 0, ((-1, 1.0),))], water_kg, ideal=True)
    assert after.pH <= before.pH + 1e-6


@settings(deadline=None, max_examples=200)
@given(st.floats(0.001, 0.2), st.floats(2.0, 11.0), st.floats(0.0, 1.0), st.floats(1e-4, 0.2))
def test_strong_acid_never_raises_the_pH_of_a_buffer_with_activities(
    mol: float, pKa: float, neutralised: float, acid: float
) -> None:
    buffer = [Solute("weak acid", mol, (pKa,), 0, ((1, neutralised),))]
    after = solved([*buffer, Solute("acid", acid, (), 0, ((-1, 1.0),))], 1.0)
    assert after.pH <= solved(buffer, 1.0).pH + 1e-6


@settings(deadline=None, max_examples=200)
@given(phases, waters, st.floats(1.01, 100.0))
def test_dilution_moves_towards_neutral(solutes: list[Solute], water_kg: float, times: float) -> None:
    before = solved(solutes, water_kg, ideal=True).pH - PKW / 2
    after = solved(solutes, water_kg * times, ideal=True).pH - PKW / 2
    assert abs(after) <= abs(before) + 1e-6
    assert after * before >= -1e-6


@settings(deadline=None, max_examples=60)
@given(phases, waters)
def test_the_band_holds_the_prediction(solutes: list[Solute], water_kg: float) -> None:
    guess = predict(solutes, water_kg)
    assert guess.low <= guess.pH <= guess.high
    assert guess.buffer_capacity > 0.0


@settings(deadline=None)
@given(pKas, st.floats(0.0, 14.0), st.integers(-1, 2), st.floats(0.0, 0.5))
def test_shares_add_to_one(pKa: tuple[float, ...], pH: float, top: int, ionic_strength: float) -> None:
    assert sum(fractions(pKa, pH, top_charge=top, ionic_strength=ionic_strength)) == pytest.approx(1.0)


@settings(deadline=None, max_examples=100)
@given(phases, waters, st.floats(0.1, 10.0))
def test_only_molality_counts(solutes: list[Solute], water_kg: float, times: float) -> None:
    assume(solutes)
    larger = [solute._replace(mol=solute.mol * times) for solute in solutes]
    assert solved(larger, water_kg * times).pH == pytest.approx(solved(solutes, water_kg).pH, abs=1e-6)
