"""Weighing errors, pre-dilutions and scaling."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from formcheck.bench.errors import OutOfRange
from formcheck.bench.weighing import error, least_amount, predilution, scale, to_step, with_loss


def test_standard_uncertainty_of_a_display() -> None:
    # JCGM 100:2008 (GUM), F.2.2.1: a resolution d alone gives a standard uncertainty of 0.29 d; from memory.
    assert error(1.0, 0.01, readings=1).standard_g == pytest.approx(0.0029, abs=5e-5)
    assert error(1.0, 0.01).standard_g == pytest.approx(0.0029 * 2**0.5, abs=5e-5)


def test_half_a_step_a_reading() -> None:
    # Common practice: on a 0.01 g balance 0.1 g is good to 5 % untared, 0.2 g to 5 % tared.
    assert error(0.1, 0.01, readings=1).relative_percent == pytest.approx(5.0)
    assert error(0.2, 0.01).relative_percent == pytest.approx(5.0)
    assert least_amount(0.01, 5.0) == pytest.approx(0.2)


def test_what_can_be_weighed_needs_no_solution() -> None:
    assert predilution(0.5, 0.01, 5.0) is None


def test_a_solution_for_what_is_too_small() -> None:
    # By hand: 0.05 g on a 0.01 g balance, 5 % in all, so 2.5 % for each weighing, at least 0.4 g: 10 % is
    # the strongest handy solution with a portion of that size (0.5 g), and 0.5 g in 5 g is made up well
    # enough.
    found = predilution(0.05, 0.01, 5.0)
    assert found is not None
    assert found.strength_percent == 10.0
    assert found.portion_g == pytest.approx(0.5)
    assert found.carrier_g == pytest.approx(0.45)
    assert found.stock_g == pytest.approx(5.0)
    assert found.active_g == pytest.approx(0.5)
    assert found.relative_percent == pytest.approx(2.0 + 2.0)


def test_a_solution_that_does_not_fit_the_batch() -> None:
    with pytest.raises(OutOfRange, match="solvent of the solution"):
        predilution(0.05, 0.01, 5.0, room_g=0.2)


def test_too_small_for_any_solution() -> None:
    with pytest.raises(OutOfRange, match="on this balance"):
        predilution(1e-6, 0.1, 5.0)


@pytest.mark.parametrize(("amount", "step"), [(0.0, 0.01), (-1.0, 0.01), (1.0, 0.0), (float("nan"), 0.01)])
def test_nonsense_is_refused(amount: float, step: float) -> None:
    with pytest.raises(OutOfRange):
        error(amount, step)
    with pytest.raises(OutOfRange):
        predilution(amount, step, 5.0)


def test_scaling_by_a_third_keeps_the_thirds() -> None:
    found = scale({"Aqua": Decimal(200), "Glycerin": Decimal("10.01")}, Decimal(300), Decimal(100))
    assert found["Aqua"] == Fraction(200, 3)
    assert to_step(found["Aqua"], Decimal("0.01")) == Decimal("66.67")
    assert to_step(found["Glycerin"], Decimal("0.01")) == Decimal("3.34")


def test_loss_by_hand() -> None:
    # 10 bottles of 30 g with 4 % lost: 300 / 0.96 = 312.5 g.
    assert with_loss(Decimal(300), Decimal(4)) == Decimal("312.5")


@pytest.mark.parametrize("loss", [Decimal(100), Decimal(-1)])
def test_impossible_losses(loss: Decimal) -> None:
    with pytest.raises(OutOfRange, match="loss is"):
        with_loss(Decimal(300), loss)


def test_impossible_batches() -> None:
    with pytest.raises(OutOfRange, match="batch size is 0 g"):
        scale({}, Decimal(0), Decimal(100))
    with pytest.raises(OutOfRange, match="step of the balance"):
        to_step(Decimal(1), Decimal(0))


def test_scaling_there_and_back_is_the_identity() -> None:
    pytest.importorskip("hypothesis")
    from hypothesis import given
    from hypothesis import strategies as st

    grams = st.decimals("0.001", "100000", places=3)

    @given(st.dictionaries(st.text(max_size=4), grams, max_size=5), grams, grams, st.decimals(0, 99, places=1))
    def there_and_back(amounts: dict[str, Decimal], one: Decimal, other: Decimal, loss: Decimal) -> None:
        assert scale(scale(amounts, one, other), other, one) == amounts
        assert with_loss(one, loss) * (1 - Fraction(loss) / 100) == one

    there_and_back()


def test_a_solution_keeps_within_the_error_asked_for() -> None:
    pytest.importorskip("hypothesis")
    from hypothesis import given
    from hypothesis import strategies as st

    @given(st.floats(0.001, 0.5), st.sampled_from([0.001, 0.01, 0.1]), st.floats(1.0, 20.0))
    def within_the_error(amount: float, step: float, most: float) -> None:
        try:
            found = predilution(amount, step, most)
        except OutOfRange:
            return
        if found is None:
            assert error(amount, step).relative_percent <= most * (1 + 1e-9)
            return
        assert found.relative_percent <= most * (1 + 1e-9)
        assert found.portion_g * found.strength_percent / 100 == pytest.approx(amount)
        assert found.portion_g <= found.stock_g * (1 + 1e-9)

    within_the_error()


# Strengths that benches keep: common practice, no source. On a 0.01 g balance, 2 % in all, each weighing is at least 1 g, so
# the portion of a solution that holds the amount has to be.
@pytest.mark.parametrize(
    ("amount_g", "strength"),
    [(0.49, 25), (0.3, 25), (0.22, 20), (0.15, 10), (0.06, 5), (0.03, 2), (0.015, 1), (0.007, 0.5), (0.003, 0.2), (0.0015, 0.1)],
)  # fmt: skip
def test_the_strongest_handy_solution_is_taken(amount_g: float, strength: float) -> None:
    found = predilution(amount_g, 0.01, 2.0)
    assert found is not None
    assert found.strength_percent == strength
    assert found.portion_g == pytest.approx(100 * amount_g / strength)
    assert found.portion_g >= 1
    assert found.stock_g >= max(found.portion_g, 100 / strength)
    # the next 1, 2 or 5 times a power of ten: half as much or less would not do
    assert found.stock_g / 2.5 < max(found.portion_g, 100 / strength) * 1.001
    assert float(f"{found.stock_g:.0e}") in {n * 10.0**e for n in (1, 2, 5) for e in range(-3, 6)}


def test_the_least_that_any_solution_takes_is_told() -> None:
    """1 g of the weakest, 0.1 %, holds 0.001 g."""
    with pytest.raises(OutOfRange, match=r"at least 0\.001 g"):
        predilution(0.0005, 0.01, 2.0)
    assert predilution(0.001, 0.01, 2.0) is not None


def test_the_room_in_a_batch_may_be_just_enough() -> None:
    found = predilution(0.05, 0.01, 5.0)
    assert found is not None
    assert predilution(0.05, 0.01, 5.0, room_g=found.carrier_g) == found
