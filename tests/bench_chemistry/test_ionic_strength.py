"""Ionic strength, half the sum of molality times charge squared (G. N. Lewis and M. Randall, J. Am. Chem. Soc. 43 (1921)
1112), and what the equilibrium makes of it."""

from __future__ import annotations

from itertools import permutations

import pytest

from formcheck.bench import acidbase
from formcheck.bench.acidbase import Equilibrium, Solute, davies, fractions, missing_charge, predict, solve
from formcheck.bench.errors import OutOfRange

PHOSPHATE = (2.15, 7.20, 12.35)  # CRC Handbook, rounded
CITRATE = (3.13, 4.76, 6.40)  # CRC Handbook


# Any textbook of physical chemistry (Atkins) under ionic strength: of a 1:1 salt of molality c it is c, of a 1:2 salt
# 3 c, of a 2:2 salt 4 c, of a 1:3 salt 6 c.
@pytest.mark.parametrize(
    ("ions", "times"),
    [
        (((1, 1.0), (-1, 1.0)), 1),
        (((2, 1.0), (-1, 2.0)), 3),
        (((1, 2.0), (-2, 1.0)), 3),
        (((2, 1.0), (-2, 1.0)), 4),
        (((3, 1.0), (-1, 3.0)), 6),
    ],
)
def test_salts_of_textbooks(ions: tuple[tuple[int, float], ...], times: int) -> None:
    salt = Solute("salt", 0.02, ions=ions)
    assert solve([salt], 1.0).ionic_strength == pytest.approx(times * 0.02, rel=1e-4)
    assert solve([salt._replace(mol=0.01)], 0.5).ionic_strength == pytest.approx(times * 0.02, rel=1e-4)
    # the same with one of its ions as the charge of the substance itself, as of a quaternary ammonium
    (charge, moles), other = ions
    if moles == 1.0:
        shown_otherwise = Solute("salt", 0.02, top_charge=charge, ions=(other,))
        assert solve([shown_otherwise], 1.0).ionic_strength == pytest.approx(times * 0.02, rel=1e-4)
        assert solve([shown_otherwise], 1.0).pH == pytest.approx(solve([salt], 1.0).pH)


@pytest.mark.parametrize("charge", [1, -1])
def test_strong_acids_and_bases(charge: int) -> None:
    """0.1 mol/kg of either has an ionic strength of 0.1, whether a solute brings it or nobody knows what does."""
    assert solve([Solute("strong", 0.1, ions=((charge, 1.0),))], 1.0).ionic_strength == pytest.approx(0.1, rel=1e-6)
    stray = solve([], 1.0, extra_charge_mol=charge * 0.1)
    assert stray.ionic_strength == pytest.approx(0.1, rel=1e-6)
    assert stray.pH == pytest.approx(solve([Solute("strong", 0.1, ions=((charge, 1.0),))], 1.0).pH)


def counted(solutes: list[Solute], water_kg: float, state: Equilibrium) -> float:
    """By the definition, species by species."""
    gamma = 10.0 ** -davies(state.ionic_strength)
    total = 10.0**-state.pH / gamma + 10.0 ** (state.pH - acidbase.PKW) / gamma
    for solute in solutes:
        shares = fractions(solute.pKa, state.pH, top_charge=solute.top_charge, ionic_strength=state.ionic_strength)
        dissolved = solute.dissolved(shares[0], water_kg)
        total += sum(dissolved * share * (solute.top_charge - j) ** 2 for j, share in enumerate(shares)) / water_kg
        total += sum(solute.mol * moles * charge**2 for charge, moles in solute.ions) / water_kg
    return total / 2


MIXTURES = {
    "phosphate, half of its second step": [Solute("phosphate", 0.05, PHOSPHATE, ions=((1, 1.5),))],
    "citrate with a salt": [Solute("citrate", 0.03, CITRATE, ions=((1, 2.0),)), Solute("salt", 0.1, ions=((1, 1), (-1, 1)))],
    "an amino acid with lye": [Solute("glycine", 0.2, (2.35, 9.78), 1, ((-1, 1.0),)), Solute("lye", 0.3, ions=((1, 1.0),))],
    "a solid acid before others": [
        Solute("benzoic acid", 0.1, (4.20,), soluble=0.028),
        Solute("citrate", 0.02, CITRATE, ions=((1, 1.0),)),
        Solute("ammonium", 0.01, (9.25,), 1, ((-1, 1.0),)),
    ],
    "strong alkali": [Solute("lye", 0.2, ions=((1, 1.0),)), Solute("borate", 0.01, (9.24,))],
}  # fmt: skip


@pytest.mark.parametrize("solutes", MIXTURES.values(), ids=MIXTURES)
@pytest.mark.parametrize("water_kg", [0.5, 1.0])
def test_by_the_definition(solutes: list[Solute], water_kg: float) -> None:
    state = solve(solutes, water_kg)
    assert state.ionic_strength == pytest.approx(counted(solutes, water_kg, state), rel=1e-6)


@pytest.mark.parametrize("solutes", MIXTURES.values(), ids=MIXTURES)
def test_the_order_of_solutes_is_nothing_to_the_water(solutes: list[Solute]) -> None:
    found = [solve(list(each), 1.0) for each in permutations(solutes)]
    for each in found:
        assert each.pH == pytest.approx(found[0].pH, abs=1e-8)
        assert each.ionic_strength == pytest.approx(found[0].ionic_strength, rel=1e-8)


@pytest.mark.parametrize("solutes", MIXTURES.values(), ids=MIXTURES)
@pytest.mark.parametrize("extra", [0.0, -0.05, 2.0])
def test_two_ways_of_settling_agree(solutes: list[Solute], extra: float) -> None:
    """Repetition and the halving of an interval, which stands in where repetition does not settle, find one state."""
    usual = solve(solutes, 1.0, extra_charge_mol=extra)
    halved = acidbase._solve_by_halving(acidbase._Phase(solutes, 1.0, extra))
    assert usual.converged
    assert halved.converged
    assert halved.pH == pytest.approx(usual.pH, abs=1e-6)
    assert halved.ionic_strength == pytest.approx(usual.ionic_strength, rel=1e-6)
    assert halved.activity_ok == usual.activity_ok


def test_school_book_examples_take_part_in_no_activity() -> None:
    """pH of 0.1 mol/kg acetic acid, pKa 4.76: 2.88 in any textbook; water alone pKw / 2."""
    state = solve([Solute("acetic acid", 0.1, (4.76,))], 1.0, ideal=True)
    assert state.pH == pytest.approx(2.88, abs=0.005)
    assert state.converged
    assert solve([], 1.0, ideal=True).pH == pytest.approx(acidbase.PKW / 2)


@pytest.mark.parametrize("pH", [0.0, 3.0, 7.0, 11.0, 14.0])
@pytest.mark.parametrize("solutes", MIXTURES.values(), ids=MIXTURES)
def test_what_is_missing_for_a_pH_makes_it(solutes: list[Solute], pH: float) -> None:
    """There and back: the charge that a pH asks for gives that pH."""
    charge = missing_charge(solutes, 0.5, pH)
    assert solve(solutes, 0.5, extra_charge_mol=charge).pH == pytest.approx(pH, abs=1e-6)


def test_beyond_the_scale_of_pH_nothing_is_asked() -> None:
    for pH in (-0.5, 14.5):
        with pytest.raises(OutOfRange):
            missing_charge([], 1.0, pH)


@pytest.mark.parametrize(("charge", "side"), [(1, "above"), (-1, "below")])
def test_a_pH_off_every_scale_says_on_which_side(charge: int, side: str) -> None:
    with pytest.raises(OutOfRange, match=side):
        solve([Solute("strong", 300.0, ions=((charge, 1.0),))], 1.0)


@pytest.mark.parametrize("pKa", [(4.0, 3.0), (21.0,), (-12.0,), tuple(range(1, 10))])
def test_constants_that_make_no_sense(pKa: tuple[float, ...]) -> None:
    with pytest.raises(OutOfRange):
        solve([Solute("x", 0.1, pKa)], 1.0)


def test_a_salty_brine_widens_the_band_and_no_further_than_a_unit() -> None:
    """Beyond 0.5 mol/kg the model has 0.3 of a unit per mol/kg more to answer for, and at most one (ours; no source)."""
    buffer = Solute("phosphate", 0.05, PHOSPHATE, ions=((1, 1.5),))

    def spread(salt: float) -> float:
        found = predict([buffer, Solute("salt", salt, ions=((1, 1.0), (-1, 1.0)))], 1.0)
        assert found.high - found.pH == pytest.approx(found.pH - found.low, rel=0.1)
        return found.high - found.pH

    at_limit, one_more, two_more, far = (spread(0.4 + salt) for salt in (0.0, 1.0, 2.0, 12.0))
    assert at_limit < 0.15
    assert one_more == pytest.approx(0.3, abs=0.1)
    assert two_more == pytest.approx(0.6, abs=0.1)
    assert far == pytest.approx(1.0, abs=0.1)
