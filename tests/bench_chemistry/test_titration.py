"""Titrations against school-book examples, and plans for an adjustment at the bench."""

from __future__ import annotations

import itertools
import math

import pytest

from formcheck.bench.acidbase import Solute, solve
from formcheck.bench.errors import NotGiven, OutOfRange, Unreachable
from formcheck.bench.titration import Plan, Reagent, charge_per_mol, curve, overshoot, plan

CITRIC = (3.128, 4.761, 6.396)
SODIUM = ((1, 1.0),)
CITRIC_20 = Reagent("Citric Acid", CITRIC, 0, (), 192.12, 20.0)
SODA_10 = Reagent("Sodium Hydroxide", (), 0, SODIUM, 40.00, 10.0)

# 200 g of a gel with 0.3 % sodium benzoate beside a little panthenol and gum.
GEL = [Solute("Sodium Benzoate", 0.6 / 144.10, (4.20,), 0, SODIUM)]
GEL_WATER_KG = 0.19


# T. L. Brown and others, Chemistry: The Central Science: 35.0 ml acetic acid with sodium hydroxide, both
# 0.150 mol/L, Ka 1.8e-5. Question and first answer seen in a stored copy; the other answers from memory of
# the same exercise.
@pytest.mark.parametrize(
    ("base_ml", "expected"), [(0.0, 2.78), (17.5, 4.74), (34.5, 6.58), (35.0, 8.81), (50.0, 12.42)]
)
def test_acetic_acid_of_the_central_science(base_ml: float, expected: float) -> None:
    assert _acetic(35.0, 0.150, base_ml, 0.150, -math.log10(1.8e-5)) == pytest.approx(expected, abs=0.015)


# D. Harvey, Analytical Chemistry 2.1, table for 50.0 ml of 0.100 mol/L acetic acid with 0.200 mol/L sodium
# hydroxide, Ka 1.75e-5; from memory.
@pytest.mark.parametrize(
    ("base_ml", "expected"), [(0.0, 2.88), (5.0, 4.16), (10.0, 4.58), (20.0, 5.36), (25.0, 8.79), (30.0, 12.10)]
)
def test_acetic_acid_of_harvey(base_ml: float, expected: float) -> None:
    assert _acetic(50.0, 0.100, base_ml, 0.200, -math.log10(1.75e-5)) == pytest.approx(expected, abs=0.015)


def _acetic(acid_ml: float, acid_mol_l: float, base_ml: float, base_mol_l: float, pKa: float) -> float:
    mixture = [
        Solute("acetic acid", acid_ml * acid_mol_l / 1000, (pKa,)),
        Solute("base", base_ml * base_mol_l / 1000, (), 0, SODIUM),
    ]
    return solve(mixture, (acid_ml + base_ml) / 1000, ideal=True).pH


def test_the_curve_of_a_strong_acid_jumps_at_equivalence() -> None:
    # Counting moles: 0.01 mol of acid needs 0.4 g of sodium hydroxide, that is 4 g of the 10 % solution.
    acid = [Solute("acid", 0.01, (), 0, ((-1, 1.0),))]
    points = curve(acid, 0.1, SODA_10, 8.0, points=81)
    jumps = [(b.pH - a.pH, (a.grams + b.grams) / 2) for a, b in itertools.pairwise(points)]
    assert max(jumps)[1] == pytest.approx(4.0, abs=0.06)
    assert [p.pH for p in points] == sorted(p.pH for p in points)
    assert points[0].grams == 0.0
    assert points[-1].grams == 8.0


def test_gel_from_6_to_4_5_takes_a_gram_or_so_of_citric_acid_solution() -> None:
    # Common practice, no source: a lightly buffered 200 g gel takes a few tenths of a gram to a gram or two
    # of a 20 % solution, 0.05 to 0.3 % of dry acid.
    made = _gel_plan(4.5, measured_pH=6.0)
    assert 0.3 < made.grams < 2.0
    assert 0.05 < made.percent_of_batch * 0.2 < 0.3
    assert made.drops == round(made.grams / 0.05)
    assert made.low_g < made.grams < made.high_g
    assert made.start == "measured"
    assert made.start_pH == 6.0


def test_the_plan_ends_at_the_target() -> None:
    made = _gel_plan(4.5)
    end = overshoot(GEL, GEL_WATER_KG, CITRIC_20, made.grams, 4.5)
    assert end.pH == pytest.approx(4.5, abs=1e-5)
    assert end.past_target == pytest.approx(0.0, abs=1e-5)
    assert end.low < 4.5 < end.high


def test_the_plan_adds_most_then_halves() -> None:
    made = _gel_plan(4.5, measured_pH=6.0)
    first, second, third = made.steps
    assert 0.25 * made.grams <= first.grams <= 0.7 * made.grams + 1e-12
    assert second.grams == pytest.approx(third.grams)
    assert sum(step.grams for step in made.steps) == pytest.approx(made.grams)
    assert first.expected_pH > second.expected_pH > third.expected_pH == pytest.approx(4.5, abs=1e-5)


def test_an_uncertain_start_makes_the_first_portion_smaller() -> None:
    # Hardly buffered and aiming at the middle of the band: how much it takes, if anything, is anybody's
    # guess.
    nearly_water = [Solute("Sodium Benzoate", 2e-5, (4.20,), 0, SODIUM)]
    vague = plan(nearly_water, 0.2, CITRIC_20, 6.0, batch_g=200.0)
    assert vague.low_g == 0.0
    assert vague.steps[0].grams == pytest.approx(0.25 * vague.grams)
    assert "2 % w/w" in vague.advice[0]


def test_raising_with_a_base() -> None:
    lotion = [Solute("Lactic Acid", 0.02, (3.86,))]
    made = plan(lotion, 0.17, SODA_10, 5.0, batch_g=200.0)
    # By counting moles: at pH 5 about 93 to 95 % of the acid is neutralised, that is 7.4 to 7.6 g of 10 %
    # solution.
    assert 7.3 < made.grams < 7.7
    assert made.start == "predicted"
    assert "measure" in " ".join(made.assumed)


def test_the_range_covers_the_doubt_of_the_meter_and_unlisted_buffers() -> None:
    made = _gel_plan(5.9, measured_pH=6.0)
    near, far = _gel_plan(5.9, measured_pH=5.95), _gel_plan(5.9, measured_pH=6.05)
    assert made.low_g == pytest.approx(0.9 * near.grams)
    assert made.high_g == pytest.approx(1.1 * far.grams)


def test_a_solution_brings_its_water() -> None:
    # 10 g of a 20 % solution: 8 g of water and 2 / 192.12 mol.
    assert CITRIC_20.water_kg(10.0) == pytest.approx(0.008)
    assert CITRIC_20.solute(10.0).mol == pytest.approx(2 / 192.12)


def test_a_target_already_met_needs_nothing() -> None:
    made = _gel_plan(6.0, measured_pH=6.01)
    assert made.grams == made.low_g == made.high_g == 0.0
    assert made.steps == ()


def test_a_powder_has_no_drops() -> None:
    powder = CITRIC_20._replace(strength_percent=100.0)
    made = plan(GEL, GEL_WATER_KG, powder, 4.5, batch_g=200.0, drop_ml=None)
    assert made.drops is None
    assert made.steps[0].drops is None
    assert made.grams == pytest.approx(_gel_plan(4.5).grams * 0.2, rel=0.01)


def test_what_is_left_out_is_passed_on() -> None:
    assert _gel_plan(4.5, left_out=["plant extract"]).left_out == ("plant extract",)


def test_the_written_amount_overshoots() -> None:
    end = overshoot(GEL, GEL_WATER_KG, CITRIC_20, 6.0, 4.5, measured_pH=6.0)
    assert end.past_target == pytest.approx(4.5 - end.pH)
    assert end.past_target > 0.5
    raised = overshoot(GEL, GEL_WATER_KG, SODA_10, 1.0, 7.0, measured_pH=6.0)
    assert raised.past_target == pytest.approx(raised.pH - 7.0)
    assert raised.past_target > 1.0
    short = overshoot(GEL, GEL_WATER_KG, CITRIC_20, 0.01, 4.5, measured_pH=6.0)
    assert short.past_target < 0.0


def test_a_salt_of_a_weak_acid_works_both_ways() -> None:
    citrate = Reagent("Monosodium Citrate", CITRIC, 0, SODIUM, 214.11, 100.0)
    assert charge_per_mol(citrate, 2.5) > 0.0 > charge_per_mol(citrate, 6.0)


@pytest.mark.parametrize(
    ("change", "error", "says"),
    [
        ({"batch_g": None}, NotGiven, "batch size is not given; give the size"),
        ({"reagent": CITRIC_20._replace(strength_percent=None)}, NotGiven, "strength of the Citric Acid solution"),
        ({"reagent": CITRIC_20._replace(strength_percent=120.0)}, OutOfRange, "120 %"),
        ({"target_pH": 14.5}, OutOfRange, "target pH is 14.5"),
        ({"target_pH": 7.0}, OutOfRange, "a base is needed"),
        ({"reagent": SODA_10}, OutOfRange, "an acid is needed"),
        ({"target_pH": 0.8}, Unreachable, "as much Citric Acid solution as batch"),
        ({"drop_ml": 0.0}, OutOfRange, "drop is 0"),
    ],
)
def test_bad_questions_get_a_clear_answer(change: dict[str, object], error: type[Exception], says: str) -> None:
    asked: dict[str, object] = {"reagent": CITRIC_20, "target_pH": 4.5, "batch_g": 200.0, "measured_pH": 6.0}
    asked |= change
    with pytest.raises(error, match=says):
        plan(GEL, GEL_WATER_KG, **asked)  # type: ignore[arg-type]


def _gel_plan(target_pH: float, measured_pH: float | None = None, left_out: list[str] | None = None) -> Plan:
    return plan(
        GEL, GEL_WATER_KG, CITRIC_20, target_pH, batch_g=200.0, measured_pH=measured_pH, left_out=left_out or []
    )


def test_the_reach_of_a_reagent_is_told_with_its_direction() -> None:
    with pytest.raises(Unreachable, match=r"down to 1\.\d\d"):
        plan(GEL, GEL_WATER_KG, CITRIC_20, 0.8, batch_g=200.0, measured_pH=6.0)
    with pytest.raises(Unreachable, match=r"up to 1[34]\.\d\d"):
        plan(GEL, GEL_WATER_KG, SODA_10, 14.0, batch_g=200.0, measured_pH=6.0)


def test_charge_is_counted_for_every_ion() -> None:
    """Calcium hydroxide brings two, sodium carbonate two less what its acid takes back at pH 14 (its ions are all there)."""
    lime = Reagent("lime", (), 0, ((2, 1.0),), 74.09, 100.0)
    soda = Reagent("soda", (), 0, ((1, 2.0),), 62.0, 100.0)
    assert charge_per_mol(lime, 7.0) == charge_per_mol(soda, 7.0) == 2.0
    carbonate = soda._replace(pKa=(6.35, 10.33))
    assert charge_per_mol(carbonate, 14.0) == pytest.approx(0.0, abs=1e-3)
    assert charge_per_mol(carbonate, 3.0) == pytest.approx(2.0, abs=1e-3)


def test_a_known_band_stands_in_for_the_prediction_and_not_for_the_meter() -> None:
    """The amount for either end of the band, and a tenth for what nobody listed (ours, no source)."""
    acid = [Solute("Lactic Acid", 0.02, (3.86,))]
    ends = [plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, measured_pH=pH).grams for pH in (2.6, 2.2)]
    banded = plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, band=(2.2, 2.6))
    assert banded.low_g == pytest.approx(0.9 * min(banded.grams, *ends), rel=1e-6)
    assert banded.high_g == pytest.approx(1.1 * max(banded.grams, *ends), rel=1e-6)
    measured = plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, measured_pH=2.4)
    assert plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, measured_pH=2.4, band=(0.0, 7.0)).low_g == measured.low_g


def test_a_band_past_the_target_may_need_nothing() -> None:
    acid = [Solute("Lactic Acid", 0.02, (3.86,))]
    found = plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, band=(2.2, 5.5))
    assert found.low_g == 0.0
    assert found.high_g > found.grams
    beyond = plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, band=(-0.9, 14.5))
    assert beyond.low_g == 0.0
    assert beyond.high_g >= plan(acid, 0.17, SODA_10, 5.0, batch_g=200.0, measured_pH=0.0).grams


@pytest.mark.parametrize(
    ("measured", "drop_ml", "strength", "said"),
    [
        (None, 0.05, 20.0, ["predicted", "20 % w/w", "one drop is 0.05 ml"]),
        (6.0, None, 100.0, ["measured pH"]),
    ],
)
def test_what_a_plan_rests_on_is_said(
    measured: float | None, drop_ml: float | None, strength: float, said: list[str]
) -> None:
    reagent = CITRIC_20._replace(strength_percent=strength)
    found = plan(GEL, GEL_WATER_KG, reagent, 4.5, batch_g=200.0, measured_pH=measured, drop_ml=drop_ml)
    assert len(found.assumed) == 1 + len(said)
    for words in said:
        assert sum(words in sentence for sentence in found.assumed) == 1


@pytest.mark.parametrize(
    ("batch_g", "drop_ml", "advice"),
    [
        # GEL takes some 26 drops of a 20 % solution for 200 g (counted above), a tenth of that for 20 g
        (200.0, 0.05, ""),
        (20.0, 0.05, "fewer than 10 drops: a solution of 2 %"),
        (2000.0, None, ""),
        (20.0, None, "dissolve it in water first"),
    ],
)
def test_little_is_dosed_weaker(batch_g: float, drop_ml: float | None, advice: str) -> None:
    reagent = CITRIC_20 if drop_ml else CITRIC_20._replace(strength_percent=100.0)
    solutes = [solute._replace(mol=solute.mol * batch_g / 200) for solute in GEL]
    found = plan(solutes, GEL_WATER_KG * batch_g / 200, reagent, 4.5, batch_g=batch_g, measured_pH=6.0, drop_ml=drop_ml)
    assert (advice in " ".join(found.advice)) if advice else found.advice == ()
    assert plan(GEL, GEL_WATER_KG, reagent, 6.0, batch_g=200.0, measured_pH=6.0, drop_ml=drop_ml).advice == ()


@pytest.mark.parametrize("change", [{"target_pH": -0.1}, {"target_pH": 14.1}, {"batch_g": 1e-4}, {"drop_ml": 5.1}])
def test_what_no_bench_has(change: dict[str, float]) -> None:
    asked = {"target_pH": 4.5, "batch_g": 200.0, "drop_ml": 5.0, **change}
    with pytest.raises(OutOfRange):
        plan(GEL, GEL_WATER_KG, CITRIC_20, measured_pH=6.0, **asked)  # type: ignore[arg-type]
    assert plan(GEL, GEL_WATER_KG, CITRIC_20, 4.5, batch_g=200.0, measured_pH=6.0, drop_ml=5.0).drops == 0


def test_a_curve_has_41_points_and_both_ends() -> None:
    points = curve(GEL, GEL_WATER_KG, CITRIC_20, 4.0)
    assert len(points) == 41
    assert (points[0].grams, points[20].grams, points[-1].grams) == (0.0, 2.0, 4.0)
