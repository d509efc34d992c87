"""The procedure walked through, against hand-worked calorimetry and Newton's law."""

from __future__ import annotations

import math
from typing import Any

import pytest

from formcheck.bench import thermal
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

PHYSICS = thermal.Physics(lambda item: 4.18, 15, 1.0, 500)


def sheet_of(reviewer: Reviewer, body: str) -> Worksheet:
    return reviewer.sheet("x.formula.yaml", ("formcheck: 1\nname: x\n" + body).encode())


def test_mixing_follows_a_textbook_example() -> None:
    """OpenStax College Physics 2e, example 14.2: 0.250 kg of water at 20.0 °C into a 0.500 kg aluminium pan at 150 °C
    (c 4186 and 900 J/(kg K)) settle at 59.1 °C."""
    found = thermal.mixed([(0.250, 4.186, 20.0), (0.500, 0.900, 150.0)])
    assert found == pytest.approx(59.1, abs=0.05)


def test_equal_waters_meet_in_the_middle(reviewer: Reviewer) -> None:
    sheet = sheet_of(
        reviewer,
        "phases: {A: {Aqua: 50}, B: {Aqua: 50}}\nprocedure:\n  - {heat: A, to: 80 °C}\n  - {add: A, into: B}\n",
    )
    (merging,) = sheet.thermal.mergings
    assert merging.moment.celsius == pytest.approx((80 + 22) / 2)
    assert (merging.poured_celsius, merging.into_celsius) == (80, 22)


def test_specific_heat_of_water_agrees_with_coolprop(reviewer: Reviewer) -> None:
    """CoolProp: IAPWS-95 formulation of water, at 20 to 80 °C and atmospheric pressure."""
    CoolProp = pytest.importorskip("CoolProp.CoolProp")
    ours = reviewer.reference.limit("specific heat, water").value
    for celsius in (20, 40, 60, 80):
        outside = CoolProp.PropsSI("C", "T", celsius + 273.15, "P", 101325, "Water") / 1000
        assert ours == pytest.approx(outside, rel=0.01)


def test_newton_cooling_is_the_exponential_law() -> None:
    constant = thermal.time_constant_s(500, 4.18, PHYSICS)
    assert thermal.cooled(70, 22, constant, constant) == pytest.approx(22 + 48 / math.e)
    seconds = thermal.seconds_to_cool(70, 40, 22, constant)
    assert seconds is not None
    assert thermal.cooled(70, 22, seconds, constant) == pytest.approx(40)
    assert thermal.seconds_to_cool(70, 20, 22, constant) is None


def test_time_constant_grows_with_the_cube_root_of_the_batch() -> None:
    small, large = (thermal.time_constant_s(mass, 4.18, PHYSICS) for mass in (200, 1600))
    assert large / small == pytest.approx(2)
    # m c / (h A) by hand: 500 g, d = 8.60 cm, A = 348.6 cm2: 2090 J/K / 0.5229 W/K
    assert thermal.time_constant_s(500, 4.18, PHYSICS) == pytest.approx(3997, rel=0.002)


PROCEDURE = """\
batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
  B: {Panthenol: 1, Phenoxyethanol: 0.9}
procedure:
  - {disperse: Xanthan Gum, in: Glycerin}
  - {add: Aqua, into: A}
  - {heat: A, to: 60 °C, hold: 15 min}
  - {add: B, into: A, at: 40 °C}
  - {rest: A, for: 12 h}
  - {fill: A}
"""


def entries(sheet: Worksheet) -> dict[str, Any]:
    return {entry.item.name: entry for entry in sheet.thermal.entries}


def test_materials_named_by_a_step_go_in_at_that_step(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, PROCEDURE)
    found = entries(sheet)
    assert found["Glycerin"].how == "start"
    assert found["Xanthan Gum"].how == "disperse"
    assert [item.name for item in found["Xanthan Gum"].before] == ["Glycerin"]
    assert (found["Aqua"].how, found["Aqua"].step.number) == ("add", 2)


def test_the_preservative_meets_what_the_vessel_has_cooled_to(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, PROCEDURE)
    item = next(item for item in sheet.items if item.name == "Phenoxyethanol")
    hottest = sheet.thermal.hottest(item)
    assert hottest is not None
    assert hottest.step is not None
    assert hottest.step.number == 4
    # 1.9 % at 22 °C into 98.1 % at 40 °C
    assert hottest.celsius == pytest.approx(39.8, abs=0.2)


def test_what_the_pH_is_set_with_goes_in_at_that_step(reviewer: Reviewer) -> None:
    """A base in a vessel of its own, with its water, or beside the polymer: common practice lists it in all these ways."""
    steps = "procedure:\n  - {mix: A, for: 30 min}\n  - {neutralise: A, with: Sodium Hydroxide}\n  - {fill: A}\n"
    for phases in (
        "phases: {A: {Aqua: 97, Carbomer: 0.5}, B: {Sodium Hydroxide: 0.2, Water: 2.3}}\n",
        "phases: {A: {Aqua: 99.3, Carbomer: 0.5, Sodium Hydroxide: 0.2}}\n",
    ):
        history = sheet_of(reviewer, phases + steps).thermal
        (filling,) = history.fillings
        assert sum(item.amount for item in filling.items) == pytest.approx(100)
        assert not history.never_in
        first = next(moment for moment in history.moments if moment.step is not None)
        assert "Sodium Hydroxide" not in [item.name for item in first.items]


def test_a_vessel_that_another_step_empties_is_left_to_it(reviewer: Reviewer) -> None:
    history = sheet_of(
        reviewer,
        "phases: {A: {Aqua: 98}, B: {Citric Acid: 0.5, Panthenol: 1.5}}\n"
        "procedure:\n  - {adjust pH: A, to: 5, with: Citric Acid}\n  - {add: B, into: A}\n  - {fill: A}\n",
    ).thermal
    (merging,) = history.mergings
    assert merging.step.verb == "add"
    assert not history.emptied


def test_resting_brings_it_to_the_room(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, PROCEDURE)
    (filling,) = sheet.thermal.fillings
    assert filling.celsius == pytest.approx(22)


def test_half_the_water_hot_and_half_cold(reviewer: Reviewer) -> None:
    sheet = sheet_of(
        reviewer,
        """\
phases:
  A: {Aqua: 49, Hydroxyethylcellulose: 1}
  B: {Aqua: 49, Phenoxyethanol: 1}
procedure:
  - {sprinkle: Hydroxyethylcellulose, into: A}
  - {heat: A, to: 70 °C}
  - {add: B, into: A}
""",
    )
    item = next(item for item in sheet.items if item.name == "Phenoxyethanol")
    hottest = sheet.thermal.hottest(item)
    assert hottest is not None
    assert hottest.celsius == pytest.approx(46, abs=0.5)


def test_an_open_temperature_is_unknown_not_guessed(reviewer: Reviewer) -> None:
    sheet = sheet_of(
        reviewer,
        "phases: {A: {Aqua: 99}, B: {Phenoxyethanol: 1}}\nprocedure:\n  - {heat: A}\n  - {add: B, into: A}\n  - {cool: A, to: 30 °C}\n",
    )
    assert [step.number for step in sheet.thermal.open_steps] == [1]
    (merging,) = sheet.thermal.mergings
    assert merging.moment.celsius is None
    assert sheet.thermal.moments[-1].celsius == 30


def test_a_vessel_that_was_emptied_is_noticed_and_followed(reviewer: Reviewer) -> None:
    sheet = sheet_of(
        reviewer,
        "phases: {A: {Aqua: 99}, B: {Panthenol: 1}}\nprocedure:\n  - {add: B, into: A}\n  - {heat: B, to: 50 °C}\n",
    )
    (emptied,) = sheet.thermal.emptied
    assert (emptied.vessel, emptied.earlier.number, emptied.into) == ("B", 1, "A")
    assert sheet.thermal.moments[-1].vessel == "A"


def test_a_vessel_is_never_poured_into_one_that_was_emptied_into_it(reviewer: Reviewer) -> None:
    """A material that waits for its step names the vessel of its phase, which is in C by then: the walk once went round."""
    sheet = sheet_of(
        reviewer,
        "phases: {A: {Aqua: 50, Panthenol: 1}, C: {Citric Acid: 49}}\nprocedure:\n  - {add: A, into: C}\n"
        "  - {adjust pH: Panthenol, to: 5, with: C}\n  - {mix: A}\n  - {add: Panthenol, into: A}\n",
    )
    assert [(merging.poured, merging.into) for merging in sheet.thermal.mergings] == [("A", "C")]
    assert sheet.thermal.moments[-1].vessel == "C"


def test_cost_grows_gently() -> None:
    """A thousand steps over two thousand materials is no reason to wait."""
    import time

    reviewer = Reviewer()
    lines = ", ".join(f"Material {number}: 0.04" for number in range(2000))
    steps = "\n".join("  - {mix: A, for: 1 min}" for _ in range(1000))
    body = f"phases: {{A: {{{lines}}}, B: {{Aqua: q.s.}}}}\nprocedure:\n{steps}\n"
    sheet = sheet_of(reviewer, body)
    started = time.perf_counter()
    assert len(sheet.thermal.moments) > 1000
    assert time.perf_counter() - started < 5
