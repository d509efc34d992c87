"""What is to add, asked for in words: which kind, with what caution, from where; the figures are those of test_adjusting."""

from __future__ import annotations

import pytest

from formcheck.bench.ph_overview import Asked, Overview, overview
from formcheck.review.run import Reviewer

SOUR = "Aqua: 90, Citric Acid: 1.9212, Glycerin: 8.0788"  # 0.1 mol in a kilogram, pH 2.1


def asked(reviewer: Reviewer, more: str = "", lines: str = SOUR, **question: object) -> Overview:
    text = f"formcheck: 1\nname: x\nbatch: {{size: 1000 g}}\nphases: {{A: {{{lines}}}}}\n{more}"
    return overview(reviewer.sheet("x.formula.yaml", text.encode()), Asked(**question))  # type: ignore[arg-type]


def grams(found: Overview) -> float:
    assert found.planned.plan is not None, found.planned.missing
    return found.planned.plan.grams


@pytest.mark.parametrize(
    ("pH", "words"),
    [
        ("[5, 6]", "a base is needed"),
        ("[1, 1.5]", "an acid is needed"),
        ("[2, 2.2]", "lies inside the target"),
        ("[1, 2.2]", "lies inside the target"),
        ("[2, 9]", "lies inside the target"),
    ],
)
def test_which_kind_is_needed(reviewer: Reviewer, pH: str, words: str) -> None:
    assert words in asked(reviewer, f"finished: {{pH: {pH}}}\n").planned.missing


def test_from_a_measured_pH(reviewer: Reviewer) -> None:
    assert "a base is needed" in asked(reviewer, "finished: {pH: [5, 6]}\n", measured=4.0).planned.missing
    assert "an acid is needed" in asked(reviewer, "finished: {pH: [5, 6]}\n", measured=7.0).planned.missing
    assert "nothing to add" in asked(reviewer, "finished: {pH: [5, 6]}\n", measured=5.5).planned.missing
    assert "no pH to reach" in asked(reviewer).planned.missing


STEP = "procedure:\n  - {adjust pH: A, with: Sodium Hydroxide, strength: 10 %, to: 5}\n"


def test_the_strength_asked_for_goes_before_the_one_written(reviewer: Reviewer) -> None:
    """A solution of twice the strength takes half as much, but for the water it brings."""
    written, doubled = asked(reviewer, STEP), asked(reviewer, STEP, strength=20.0)
    assert grams(written) == pytest.approx(2 * grams(doubled), rel=0.01)
    by_name = asked(reviewer, STEP, reagent="Sodium Hydroxide")
    assert grams(by_name) == pytest.approx(grams(written), rel=1e-6)
    further = asked(reviewer, STEP, to=6.0)
    assert grams(further) > 1.2 * grams(written)
    assert further.planned.step == 1


def test_a_line_of_the_phases_is_weighed_as_it_is(reviewer: Reviewer) -> None:
    """12 g of lye neutralise 0.1 mol of citric acid; what the phases list of it is counted as what is to be added."""
    lines = "Aqua: 90, Citric Acid: 1.9212, Glycerin: 7, Sodium Hydroxide: 1.0788"
    found = asked(reviewer, "finished: {pH: 9}\n", lines, reagent="Sodium Hydroxide")
    assert grams(found) == pytest.approx(12.0, rel=0.015)
    unknown = asked(reviewer, "finished: {pH: 9}\n", reagent="Sodium Hydroxide")
    assert "strength" in unknown.planned.missing


@pytest.mark.parametrize(
    ("reagent", "lines", "pH", "burns"),
    [
        ("Sodium Hydroxide", SOUR, 5, True),
        ("Sodium Bicarbonate", SOUR, 4, False),
        ("House base", SOUR, 4, True),
    ],
)
def test_what_burns_is_told_from_what_stings(
    reviewer: Reviewer, reagent: str, lines: str, pH: float, burns: bool
) -> None:
    """Alkali metal hydroxides and what a file calls corrosive burn (safety data sheets; common practice)."""
    house = "materials:\n  House base: {class: base, formula: C4H11NO3, pKa: [8.07], charge when protonated: 1, hazards: [corrosive]}\n"
    found = asked(reviewer, f"finished: {{pH: {pH}}}\n{house}", lines, reagent=reagent, strength=50.0)
    assert found.planned.plan is not None, found.planned.missing
    assert any("burns eyes and skin" in caution for caution in found.cautions) == burns
    assert any("stings eyes" in caution for caution in found.cautions) == (not burns)
    assert not asked(reviewer, "finished: {pH: 2.1}\n").cautions


def test_of_two_steps_that_adjust_the_last_one_is_asked_about(reviewer: Reviewer) -> None:
    steps = (
        "procedure:\n  - {adjust pH: A, with: Sodium Hydroxide, strength: 20 %, to: 4}\n"
        "  - {adjust pH: A, with: Lactic Acid, strength: 20 %, to: 3.5}\n"
    )
    assert asked(reviewer, steps, to=3.6).planned.step == 2
