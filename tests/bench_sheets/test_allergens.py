"""Fragrance allergens: sums over oils, perfumes and the substances themselves, against the thresholds of the law.

Thresholds: Annex III of Regulation (EC) No 1223/2009, 0.001 % in what is left on, 0.01 % in what is rinsed off; the names
added by Regulation (EU) 2023/1545 hold for new products from 1 August 2026 and not in Great Britain.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from formcheck.bench import allergens
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

LEAVE_ON, RINSE_OFF = Decimal("0.001"), Decimal("0.01")


def sheet(lines: str, use: str = "leave-on", materials: str = "", today: date = date(2026, 11, 25)) -> Worksheet:
    text = f"formcheck: 1\nname: t\nproduct: {{use: {use}, markets: [EU]}}\nphases:\n  A: {{Aqua: q.s., {lines}}}\n{materials}"
    return Reviewer(today=today).sheet("t.formula.yaml", text.encode())


PERFUME = "materials:\n  House scent: {class: fragrance, allergens: {Linalool: 4, Limonene: 2}}\n"


@pytest.mark.parametrize(
    ("use", "percent", "named"),
    [
        ("leave-on", "0.02", False),  # 4 % of it is 0.0008 %
        ("leave-on", "0.025", False),  # exactly 0.001 %: the law says above
        ("leave-on", "0.026", True),
        ("rinse-off", "0.25", False),  # exactly 0.01 %
        ("rinse-off", "0.26", True),
    ],
)
def test_threshold_is_passed_when_exceeded(use: str, percent: str, named: bool) -> None:
    found = allergens.to_declare(sheet(f"House scent: {percent}", use, PERFUME), "EU")
    assert ("Linalool" in {each.name for each in found}) is named


def test_one_allergen_from_several_materials_is_added_up() -> None:
    found = {
        each.name: each for each in allergens.held(sheet("House scent: 0.5, Linalool: 0.03", materials=PERFUME), "EU")
    }
    assert found["Linalool"].percent == Decimal("0.05")
    assert [component.name for component in found["Linalool"].bearers] == ["House scent", "Linalool"]
    assert found["Limonene"].percent == Decimal("0.01")


def test_an_isomer_counts_once() -> None:
    """Annex III, entry 371, names the pinenes together; one of them in the formula is itself and nothing more."""
    found = allergens.held(sheet("Alpha-Pinene: 0.02, Beta-Pinene: 0.01"), "EU")
    assert [(each.name, each.percent) for each in found] == [("Pinene", Decimal("0.03"))]


def test_new_names_hold_from_their_day_and_not_in_great_britain() -> None:
    oil = "Lavandula Angustifolia Oil: 0.5"
    today = {each.name for each in allergens.to_declare(sheet(oil), "EU")}
    before = {each.name for each in allergens.to_declare(sheet(oil, today=date(2026, 7, 31)), "EU")}
    britain = {each.name for each in allergens.to_declare(sheet(oil), "UK")}
    assert {"Linalool", "Lavandula Oil/Extract"} <= today
    assert "Lavandula Oil/Extract" not in before | britain
    assert "Linalool" in before & britain


def test_the_united_states_have_no_list() -> None:
    assert allergens.held(sheet("House scent: 1", materials=PERFUME), "US") == []


def test_what_nobody_described_is_said() -> None:
    assert [part.label for part in allergens.unknown(sheet("Parfum: 0.3"))] == ["Parfum"]
    assert not list(allergens.unknown(sheet("House scent: 0.3, Limonene: 0.1", materials=PERFUME)))
