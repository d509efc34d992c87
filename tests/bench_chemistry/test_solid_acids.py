"""Acids of which more is there than dissolves: the solid keeps its solution saturated, and so sets the pH."""

from __future__ import annotations

import pytest

from formcheck.bench.acidbase import Solute, charge_left, solve
from formcheck.review.run import Reviewer


# pH of saturated solutions in the Merck Index: benzoic acid 2.8, salicylic acid 2.4. Solubilities 3.4 and 2.2 g/L at 25 °C
# and pKa 4.20 and 2.97 from the CRC Handbook.
@pytest.mark.parametrize(
    ("mass", "grams", "pKa", "pH"), [(122.12, 3.4, (4.20,), 2.8), (138.12, 2.2, (2.97, 13.4), 2.4)]
)
def test_saturated_solutions(mass: float, grams: float, pKa: tuple[float, ...], pH: float) -> None:
    excess = Solute("acid", 50 / mass, pKa, soluble=grams / mass)
    state = solve([excess], 1.0)
    assert state.pH == pytest.approx(pH, abs=0.15)
    assert charge_left([excess], 1.0, state) == pytest.approx(0, abs=1e-9)
    more = solve([excess._replace(mol=200 / mass)], 1.0)
    assert more.pH == pytest.approx(state.pH)


def test_what_dissolves_is_not_held_back() -> None:
    little = Solute("benzoic acid", 0.01, (4.20,), soluble=0.028)
    assert solve([little], 1.0).pH == solve([little._replace(soluble=float("inf"))], 1.0).pH


def test_alkali_takes_the_solid_up() -> None:
    """A salt of nearly all of it dissolves whole, so its pH is that of a buffer worked by hand: pKa + log(9)."""
    acid, lye = Solute("benzoic acid", 0.1, (4.20,), soluble=0.028), Solute("sodium hydroxide", 0.09, ions=((1, 1.0),))
    assert solve([acid, lye], 1.0, ideal=True).pH == pytest.approx(4.20 + 0.954, abs=0.01)


def test_a_published_suspension(reviewer: Reviewer) -> None:
    """The composition of a medicinal gel with 15 % of azelaic acid, whose label gives pH 4.8 (from memory)."""
    lines = (
        "Aqua: q.s., Azelaic Acid: 15, Propylene Glycol: 12, Polysorbate 80: 1.5, Lecithin: 1, Carbomer: 1, "
        "Caprylic/Capric Triglyceride: 1, Sodium Hydroxide: 0.2, Disodium EDTA: 0.1, Benzoic Acid: 0.1"
    )
    text = f"formcheck: 1\nname: Gel\nphases:\n  A: {{{lines}}}\n"
    prediction = reviewer.sheet("test.formula.yaml", text.encode()).predicted_pH
    assert prediction is not None
    assert prediction.pH == pytest.approx(4.8, abs=0.3)
    assert prediction.low < 4  # as much as the glycol dissolves is not known


# Lime water is pH 12.4 at 25 °C whatever lies in it undissolved (CRC Handbook, buffer of saturated calcium hydroxide: 12.454).
@pytest.mark.parametrize("lime", [0.5, 5])
def test_lime_goes_no_higher_than_lime_water(reviewer: Reviewer, lime: float) -> None:
    text = f"formcheck: 1\nname: Paste\nphases:\n  A: {{Aqua: q.s., Calcium Hydroxide: {lime}}}\n"
    prediction = reviewer.sheet("test.formula.yaml", text.encode()).predicted_pH
    assert prediction is not None
    assert prediction.pH == pytest.approx(12.45, abs=0.25)
