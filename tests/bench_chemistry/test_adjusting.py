"""The steps that set the pH, counted in moles by hand: 0.1 mol of citric acid (19.212 g in a kilogram) takes 0.3 mol of
lye, 12.00 g of sodium hydroxide (40.00 g/mol), to be neutral three times over; molar masses: IUPAC atomic weights."""

from __future__ import annotations

import pytest

from formcheck.bench.adjusting import Planned, Stage
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

CITRIC = "Aqua: 90, Citric Acid: 1.9212, Glycerin: 8.0788"
LYE = "with: Sodium Hydroxide, strength: 100 %"
MATERIALS = """\
materials:
  Bench lye: {contains: {Sodium Hydroxide: 50, Aqua: 50}}
  Bench buffer: {contains: {Citric Acid: 50, Sodium Citrate: 50}}
  Bench acid: {class: [strong acid], formula: HCl, counter-ions: {Cl-: 1}, form: liquid}
"""


def sheet_of(
    reviewer: Reviewer, *steps: str, phases: str = f"A: {{{CITRIC}}}", size: str = "1000 g", finished: str = ""
) -> Worksheet:
    lines = "".join(f"  - {{{step}}}\n" for step in steps)
    batch = f"batch: {{size: {size}}}\n" if size else ""
    text = f"formcheck: 1\nname: x\n{batch}phases: {{{phases}}}\n{MATERIALS}procedure:\n{lines}{finished}"
    return reviewer.sheet("x.formula.yaml", text.encode())


def needs(planned: Planned) -> float:
    assert planned.plan is not None, planned.missing
    return planned.plan.grams


def held(stage: Stage) -> dict[str, float]:
    return {solute.name: solute.mol for solute in stage.before.solutes}


def test_three_moles_of_lye_for_a_mole_of_citric_acid(reviewer: Reviewer) -> None:
    """The last equivalence lies near pH 9, where a hundredth of the lye moves it by more than the model is sure of."""
    (planned,) = sheet_of(reviewer, f"neutralise: A, {LYE}, to: 9").pH_plans
    assert needs(planned) == pytest.approx(12.0, rel=0.01)
    assert planned.step == 1
    assert planned.plan is not None
    assert planned.plan.drops is None  # a solid is not dosed in drops


def test_a_solution_takes_as_much_more_as_it_is_weaker(reviewer: Reviewer) -> None:
    for reagent, times in (
        ("Sodium Hydroxide, strength: 10 %", 10),
        ("Sodium Hydroxide, strength: 50 %", 2),
        ("Bench lye", 2),
        ("Sodium Hydroxide Solution 10 Percent", 10),
    ):
        (planned,) = sheet_of(reviewer, f"neutralise: A, with: {reagent}, to: 9").pH_plans
        assert needs(planned) == pytest.approx(12.0 * times, rel=0.015)
        assert planned.plan is not None
        assert planned.plan.drops is not None


def test_the_middle_of_a_range_is_aimed_at(reviewer: Reviewer) -> None:
    (wide,) = sheet_of(reviewer, f"neutralise: A, {LYE}, to: [4, 6]").pH_plans
    (one,) = sheet_of(reviewer, f"neutralise: A, {LYE}, to: 5").pH_plans
    assert needs(wide) == pytest.approx(needs(one))


def test_the_last_step_aims_at_the_finished_pH(reviewer: Reviewer) -> None:
    steps = ("adjust pH: A, with: Sodium Hydroxide", "adjust pH: A, with: Sodium Hydroxide")
    first, last = sheet_of(reviewer, *steps, finished="finished: {pH: 5}\n").pH_stages
    assert (first.target, last.target) == (None, (5, 5))


def test_what_one_step_gives_the_next_does_not_ask_for_again(reviewer: Reviewer) -> None:
    """Charge is conserved: to pH 4 and on to 7 takes what the whole way takes, whatever brought it to 4."""
    (whole,) = sheet_of(reviewer, f"neutralise: A, {LYE}, to: 7").pH_plans
    first, second = sheet_of(reviewer, f"neutralise: A, {LYE}, to: 4", f"adjust pH: A, {LYE}, to: 7").pH_plans
    assert needs(first) + needs(second) == pytest.approx(needs(whole), rel=0.01)
    assert second.plan is not None
    assert second.plan.start_pH == pytest.approx(4, abs=1e-3)


def test_there_and_back_again(reviewer: Reviewer) -> None:
    """A strong acid down from 7 takes, mole for mole, the lye that goes up again (36.46 g/mol against 40.00), but for the
    ionic strength, which is lower on the way down."""
    acid = "with: Bench acid, strength: 100 %"
    steps = (f"neutralise: A, {LYE}, to: 7", f"adjust pH: A, {acid}, to: 4", f"adjust pH: A, {LYE}, to: 7")
    _, down, up = sheet_of(reviewer, *steps).pH_plans
    assert needs(down) / 36.46 == pytest.approx(needs(up) / 40.00, rel=0.02)


def test_below_what_the_acid_itself_gives(reviewer: Reviewer) -> None:
    """Taken to pH 1.5 with a strong acid and back to 4: what is brought back is more than from the bare citric acid."""
    steps = ("adjust pH: A, with: Bench acid, strength: 100 %, to: 1.5", f"adjust pH: A, {LYE}, to: 4")
    down, up = sheet_of(reviewer, *steps).pH_plans
    (bare,) = sheet_of(reviewer, f"adjust pH: A, {LYE}, to: 4").pH_plans
    assert needs(up) / 40.00 == pytest.approx(needs(down) / 36.46 + needs(bare) / 40.00, rel=0.01)


def test_a_step_knows_only_what_is_in_the_vessel_by_then(reviewer: Reviewer) -> None:
    phases = "A: {Aqua: 90, Citric Acid: 1.9212}, B: {Lactic Acid: 5, Glycerin: 3.0788}"
    steps = (
        "neutralise: A, with: Sodium Hydroxide, to: 4",
        "add: B, into: A",
        "adjust pH: A, with: Sodium Hydroxide, to: 5",
    )
    early, late = sheet_of(reviewer, *steps, phases=phases).pH_stages
    assert set(held(early)) == {"Citric Acid"}
    assert set(held(late)) == {"Citric Acid", "Lactic Acid"}
    assert held(late)["Citric Acid"] == pytest.approx(0.1, rel=1e-3)
    # the vessel that nothing was put in yet, and one that is empty, stand for the whole batch
    gone = sheet_of(reviewer, "add: A, into: B", *steps, phases=phases).pH_stages[0]
    assert set(held(gone)) == {"Citric Acid", "Lactic Acid"}


def test_lines_that_are_there_for_the_pH_wait_for_their_step(reviewer: Reviewer) -> None:
    phases = f"A: {{{CITRIC.replace('8.0788', '6.8788')}, Sodium Hydroxide: 1.2}}"
    (stage,) = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide", phases=phases).pH_stages
    assert set(held(stage)) == {"Citric Acid"}
    ((reagent, grams),) = stage.written
    assert (reagent.strength_percent, grams) == (100, pytest.approx(12.0))
    assert stage.after_written.pH() == pytest.approx(9, abs=1)
    assert stage.after_written.water_kg == pytest.approx(stage.before.water_kg)


def test_without_a_size_lines_count_for_a_kilogram(reviewer: Reviewer) -> None:
    phases = f"A: {{{CITRIC.replace('8.0788', '6.8788')}, Sodium Hydroxide: 1.2}}"
    (stage,) = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide", phases=phases, size="").pH_stages
    assert [grams for _, grams in stage.written] == [pytest.approx(12.0)]


def test_an_amount_as_written(reviewer: Reviewer) -> None:
    (pure,) = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide, amount: 12 g").pH_stages
    (weak,) = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide, strength: 10 %, amount: 120 g").pH_stages
    for stage in (pure, weak):
        ((reagent, grams),) = stage.written
        assert reagent.solute(grams).mol == pytest.approx(0.3, rel=1e-3)
    assert weak.after_written.water_kg - weak.before.water_kg == pytest.approx(0.108)
    (unsized,) = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide, amount: 12 g", size="").pH_stages
    assert not unsized.written
    assert "batch" in unsized.unsaid


def test_only_neutralising_by_weight_is_in_the_first_prediction(reviewer: Reviewer) -> None:
    bare = sheet_of(reviewer, "mix: A").predicted_pH
    strong = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide, amount: 12 g").predicted_pH
    weak = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide, strength: 10 %, amount: 120 g").predicted_pH
    later = sheet_of(reviewer, "adjust pH: A, with: Sodium Hydroxide, amount: 12 g").predicted_pH
    open_ = sheet_of(reviewer, "neutralise: A, with: Sodium Hydroxide, to: 7").predicted_pH
    assert bare is not None
    assert strong is not None
    assert weak is not None
    # 0.1 mol/kg of citric acid: pH 2.1 by any textbook's first step, (3.13 + 0.95) / 2
    assert bare.pH == pytest.approx(2.05, abs=0.1)
    assert strong.pH == pytest.approx(9, abs=1)
    assert weak.pH == pytest.approx(strong.pH, abs=0.2)
    assert later == bare
    assert open_ == bare


def test_of_two_reagents_the_one_that_goes_the_right_way(reviewer: Reviewer) -> None:
    both = "adjust pH: A, with: [Lactic Acid, Sodium Hydroxide], strength: 50 %, to: 5"
    (planned,) = sheet_of(reviewer, both).pH_plans
    assert planned.plan is not None
    assert planned.plan.reagent == "Sodium Hydroxide"
    (down,) = sheet_of(reviewer, both, phases="A: {Aqua: 97, Sodium Citrate: 3}").pH_plans
    assert down.plan is not None
    assert down.plan.reagent == "Lactic Acid"


def test_a_mixture_of_two_is_no_reagent(reviewer: Reviewer) -> None:
    (planned,) = sheet_of(reviewer, "adjust pH: A, with: Bench buffer, to: 5").pH_plans
    assert planned.plan is None
    assert "single acid or base" in planned.missing or "Bench buffer" in planned.missing


def test_nothing_is_planned_on_what_an_earlier_step_left_open(reviewer: Reviewer) -> None:
    steps = ("neutralise: A, with: Sodium Hydroxide", "adjust pH: A, with: Sodium Hydroxide, to: 6")
    _, second = sheet_of(reviewer, *steps).pH_plans
    assert second.plan is None
    assert "step 1" in second.missing


def test_a_line_is_used_up_by_the_first_step_that_names_it(reviewer: Reviewer) -> None:
    phases = f"A: {{{CITRIC.replace('8.0788', '6.8788')}, Sodium Hydroxide: 1.2}}"
    steps = ("neutralise: A, with: Sodium Hydroxide", "adjust pH: A, with: Sodium Hydroxide, to: 9")
    first, second = sheet_of(reviewer, *steps, phases=phases).pH_stages
    assert len(first.written) == 1
    assert second.written == ()


def test_an_acid_that_is_there_for_more_stays_in(reviewer: Reviewer) -> None:
    """Far more lactic acid than adjusts a pH is the active of a peel (common practice, no source)."""
    (stage,) = sheet_of(
        reviewer, "adjust pH: A, with: Lactic Acid, to: 3", phases="A: {Aqua: 90, Lactic Acid: 10}"
    ).pH_stages
    assert held(stage)["Lactic Acid"] == pytest.approx(100 / 90.08, rel=1e-3)
    assert stage.written == ()


def test_where_no_reagent_goes_the_right_way_the_first_is_named(reviewer: Reviewer) -> None:
    (planned,) = sheet_of(reviewer, "adjust pH: A, with: [Lactic Acid, Citric Acid], strength: 50 %, to: 8").pH_plans
    assert planned.plan is None
    assert "Lactic Acid" in planned.missing


def test_a_half_used_base_is_still_a_base(reviewer: Reviewer) -> None:
    """Tromethamine, pKa 8.07 (CRC Handbook): at pH 8 half of it takes up a proton, and it raises the pH to there."""
    step = "adjust pH: A, with: [Lactic Acid, Tromethamine], strength: 50 %, to: 8"
    (planned,) = sheet_of(reviewer, step, phases="A: {Aqua: 99, Glycerin: 1}").pH_plans
    assert planned.plan is not None
    assert planned.plan.reagent == "Tromethamine"
