"""What is weighed: rounding to the balance, what is too small for it, what does not add up."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.bench.weigh_out import WeighOut, off_by, unsettled, weigh_out
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

REVIEWER = Reviewer()


def sheet(lines: str, batch: str = "size: 200 g, balance: 0.01 g", rest: str = "") -> Worksheet:
    text = f"formcheck: 1\nname: t\nbatch: {{{batch}}}\nphases:\n  A: {{{lines}}}\n{rest}"
    return REVIEWER.sheet("t.formula.yaml", text.encode())


def grams(found: WeighOut) -> dict[str, Decimal | None]:
    return {each.item.name: each.grams for _, weighings in found.phases for each in weighings}


def test_grams_by_hand() -> None:
    found = weigh_out(sheet("Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.333"))
    shown = {name: f"{mass:f}" for name, mass in grams(found).items() if mass is not None}
    assert shown == {"Aqua": "191.33", "Glycerin": "8.00", "Xanthan Gum": "0.67"}


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.decimals("0.01", "9", places=2), min_size=1, max_size=8),
    st.sampled_from(["0.001", "0.01", "0.1", "0.5", "2"]),
    st.decimals("50", "5000", places=1),
)
def test_every_weight_is_a_step_of_the_balance_and_near_the_truth(
    shares: list[Decimal], step: str, size: Decimal
) -> None:
    lines = ", ".join(f"M{number}: {share}" for number, share in enumerate(shares))
    found = weigh_out(sheet(f"Aqua: q.s., {lines}", f"size: {size} g, balance: {step} g"))
    for _, weighings in found.phases:
        for each in weighings:
            assert each.grams is not None
            assert each.exact_g is not None
            assert each.grams % Decimal(step) == 0
            assert abs(each.grams - each.exact_g) * 2 <= Decimal(step)
    assert abs(found.sum_g - size) <= Decimal(step) / 2 * (len(shares) + 1)


def test_what_the_balance_cannot_show() -> None:
    """A display of 0.1 g shows nothing for 0.04 g; 1 g is off by up to 10 % on it (two readings, half a step each)."""
    found = weigh_out(sheet("Aqua: q.s., Tocopherol: 0.02, Panthenol: 0.5", "size: 200 g, balance: 0.1 g"))
    by_name = {each.item.name: each for each in found.phases[0][1]}
    assert by_name["Tocopherol"].too_small
    assert by_name["Panthenol"].error_percent == pytest.approx(10)
    stock = by_name["Panthenol"].solution
    assert stock is not None
    assert stock.portion_g * stock.strength_percent / 100 == pytest.approx(1)
    assert by_name["Aqua"].solution is None


def test_what_a_step_adds_and_no_phase_lists() -> None:
    steps = "procedure:\n  - {adjust pH: A, to: 5, with: Citric Acid, strength: 20 %}\n"
    (taste,) = weigh_out(sheet("Aqua: q.s., Sodium Bicarbonate: 0.2", rest=steps)).to_taste
    assert (taste.name, taste.step, taste.amount_g) == ("Citric Acid", 1, None)
    assert taste.planned is not None
    assert taste.planned.plan is not None
    # Henderson and Hasselbalch by hand, without activities: 0.4 g of bicarbonate (84.01 g/mol, pKa 6.35) at pH 5 against
    # citric acid (192.12 g/mol, pKa 3.13, 4.76, 6.40; CRC Handbook); activities take about a tenth off
    sodium = 0.4 / 84.01 / (1 + 10 ** (5 - 6.35))
    forms = [1.0, 10 ** (5 - 3.13), 10 ** (10 - 3.13 - 4.76), 10 ** (15 - 3.13 - 4.76 - 6.40)]
    charge = sum(number * form for number, form in enumerate(forms)) / sum(forms)
    assert taste.planned.plan.grams == pytest.approx(sodium / charge * 192.12 / 0.2, rel=0.12)
    listed = weigh_out(sheet("Aqua: q.s., Sodium Bicarbonate: 0.2, Citric Acid: 0.3", rest=steps))
    assert listed.to_taste == ()


@pytest.mark.parametrize(
    ("lines", "off"),
    [("Aqua: q.s., Glycerin: 5", None), ("Aqua: 95, Glycerin: 5", None), ("Aqua: 95.005, Glycerin: 5", None),
     ("Aqua: 90, Glycerin: 5.5", Decimal("-4.5")), ("Aqua: 97, Glycerin: 5", Decimal(2))],
)  # fmt: skip
def test_how_far_from_a_hundred(lines: str, off: Decimal | None) -> None:
    assert off_by(sheet(lines)) == off
    assert unsettled(sheet(lines)) == ""


def test_what_cannot_be_worked_out_at_all() -> None:
    assert "2 lines are q.s. (Aqua, Glycerin)" in unsettled(sheet("Aqua: q.s., Glycerin: q.s., Urea: 3"))
    over = sheet("Aqua: q.s., Glycerin: 60, Urea: 50")
    assert "110 %" in unsettled(over)
    assert off_by(over) is None
    assert grams(weigh_out(over))["Aqua"] is None
