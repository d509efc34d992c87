"""How much is made: loss, containers, scaling. Density of water at 20 °C: 0.9982 g/ml, CRC Handbook and Perry's."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.bench import batch_size
from formcheck.bench.batch_size import Asked, Units
from formcheck.bench.errors import NotGiven, OutOfRange
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

REVIEWER = Reviewer()


def sheet(lines: str, rest: str = "") -> Worksheet:
    text = f"formcheck: 1\nname: t\nphases:\n  A: {{{lines}}}\n{rest}"
    return REVIEWER.sheet("t.formula.yaml", text.encode())


def test_twelve_bottles_of_water() -> None:
    found = batch_size.amount(sheet("Aqua: 100"), Asked(units=Units(12, ml=Decimal(50))))
    assert float(found.batch_g) == pytest.approx(12 * 50 * 0.9982, rel=5e-4)
    assert found.unit_g == pytest.approx(49.91, abs=0.05)


def test_alcohol_and_water_lie_within_the_band() -> None:
    """Ethanol 46 % by weight in water at 20 °C: 0.922 g/ml (tables of density, CRC Handbook); mixing contracts."""
    found = batch_size.density(sheet("Aqua: 54, Alcohol: 46"))
    assert found.low <= 0.922 <= found.high


def test_loss_is_of_what_is_weighed() -> None:
    found = batch_size.amount(sheet("Aqua: 100"), Asked(size_g=Decimal(750), loss_percent=Decimal(3)))
    assert Fraction(found.batch_g) * 97 / 100 == pytest.approx(750)
    assert float(found.batch_g) == pytest.approx(773.1959, abs=1e-4)


def test_a_measured_density_leaves_no_band() -> None:
    found = batch_size.amount(sheet("Aqua: 100"), Asked(units=Units(10, ml=Decimal(100)), density_g_ml=1.05))
    assert float(found.batch_g) == pytest.approx(1050)
    assert found.low_g == found.high_g == pytest.approx(1050)


def test_containers_by_mass_need_no_density() -> None:
    found = batch_size.amount(sheet("Aqua: 100"), Asked(units=Units(4, g=Decimal(30)), loss_percent=Decimal(20)))
    assert found.batch_g == 150
    assert found.density is None


def test_grams_that_the_file_names_are_scaled_with_the_batch() -> None:
    text = (
        "batch: {size: 200 g}\nprocedure:\n  - {neutralise: A, with: Sodium Hydroxide, strength: 20 %, amount: 1.2 g}\n"
    )
    formula = sheet("Aqua: q.s., Glycerin: {percent: 4, grams: 8}", text).formula
    scaled = batch_size.scaled(formula, Decimal(500), Decimal("0.01"))
    assert scaled.phases[0].lines[1].grams == 20
    assert scaled.procedure[0].amount_g == 3
    assert (scaled.batch.size_g, scaled.batch.balance_g) == (500, Decimal("0.01"))


@settings(max_examples=50, deadline=None)
@given(st.decimals("0.1", "50000", places=2), st.decimals("0.1", "50000", places=2))
def test_scaling_there_and_back_changes_nothing(one: Decimal, other: Decimal) -> None:
    formula = sheet("Aqua: q.s., Glycerin: {percent: 4, grams: 8}", f"batch: {{size: {one} g}}\n").formula
    there = batch_size.scaled(formula, other, None)
    back = batch_size.scaled(there, one, None).phases[0].lines[1].grams
    assert float(back or 0) == pytest.approx(8, rel=1e-12)


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(NotGiven, match="batch size"):
        batch_size.amount(sheet("Aqua: 100"), Asked())
    for wrong in (Decimal(0), Decimal(-5)):
        with pytest.raises(OutOfRange, match="more than 0 g"):
            batch_size.amount(sheet("Aqua: 100"), Asked(size_g=wrong))
    with pytest.raises(OutOfRange, match="100 t"):
        batch_size.amount(sheet("Aqua: 100"), Asked(size_g=Decimal(10) ** 12))
    with pytest.raises(OutOfRange, match="balance"):
        batch_size.scaled(sheet("Aqua: 100").formula, Decimal(5), Decimal(5))


def test_density_is_of_shares_whatever_they_add_to() -> None:
    """Intensive: a drop is as dense as a drum. Glycerol 1.261 g/ml at 20 °C (CRC Handbook)."""
    thin, whole = (
        batch_size.density(sheet("Aqua: 0.6, Glycerin: 0.4")),
        batch_size.density(sheet("Aqua: 60, Glycerin: 40")),
    )
    assert thin.g_ml == pytest.approx(whole.g_ml)
    assert batch_size.density(sheet("Glycerin: 100")).g_ml == pytest.approx(1.261, abs=0.003)


def test_a_line_without_an_amount_weighs_nothing() -> None:
    found = sheet("Aqua: q.s., Glycerin: q.s., Panthenol: 2")
    assert [item.amount for item in found.items] == [0, 0, 2]
    assert [item.grams for item in found.items] == [None, None, None]


def test_blends_in_blends_are_taken_apart() -> None:
    """Half of a half, six times over: 100 / 64 (by hand)."""
    lines = "".join(f"  Blend {n}: {{contains: {{Blend {n + 1}: 50, Aqua: 50}}}}\n" for n in range(1, 6))
    found = sheet("Blend 1: 100", f"materials:\n{lines}  Blend 6: {{contains: {{Panthenol: 50, Aqua: 50}}}}\n")
    assert {c.name: float(c.percent) for c in found.components} == {"Aqua": 98.4375, "Panthenol": 1.5625}
