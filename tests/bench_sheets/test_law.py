"""Amounts as the law counts them: Regulation (EC) No 1223/2009, its annexes, and molar masses worked by hand."""

from __future__ import annotations

from datetime import date

import pytest

from formcheck.bench import law
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer


def sheet_of(lines: str, today: date = date(2026, 11, 25), product: str = "use: leave-on, form: cream") -> Worksheet:
    text = f"formcheck: 1\nname: x\nproduct: {{{product}}}\nphases: {{A: {{Petrolatum: q.s., {lines}}}}}\n"
    return Reviewer(today=today).sheet("x.formula.yaml", text.encode())


# Annex V counts salts and esters as the acid, annex III arbutin as itself; molar masses by hand from atomic weights:
# benzoic acid 122.12 of 144.10, sorbic acid 112.13 of 150.22, salicylic acid 138.12 of 160.10, 4-hydroxybenzoic acid
# 138.12 of 152.15, mercury 200.59 of 404.81.
@pytest.mark.parametrize(
    ("name", "product", "share"),
    [
        ("Benzoic Acid", "", 1),
        ("Sodium Benzoate", "", 122.12 / 144.10),
        ("Potassium Sorbate", "", 112.13 / 150.22),
        ("Sodium Salicylate", "", 138.12 / 160.10),
        ("Methylparaben", "", 138.12 / 152.15),
        ("Phenoxyethanol", "", 1),
    ],
)
def test_counted_as_the_acid(name: str, product: str, share: float) -> None:
    sheet = sheet_of(f"{name}: 2")
    held = [each for each in law.limits(sheet, "EU", sheet.components[1], "preservative") if each.counted is not None]
    assert held
    for each in held:
        assert float(each.counted or 0) == pytest.approx(2 * share, rel=1e-4)


@pytest.mark.parametrize(("percent", "over"), [(0.58, False), (0.60, True)])
def test_a_salt_is_over_only_as_its_acid(percent: float, over: bool) -> None:
    """0.5 % of benzoic acid are 0.590 % of its sodium salt."""
    sheet = sheet_of(f"Sodium Benzoate: {percent}")
    assert any(each.over for each in law.limits(sheet, "EU", sheet.components[1], "preservative")) == over


# Annex II, entry 360: safrole, but for traces of natural oils up to 100 mg/kg; entry 358: furocoumarins, 1 mg/kg in sun
# products; entry 1380: from 23 August 2019 no product with it is placed on the market.
@pytest.mark.parametrize(
    ("name", "percent", "today", "banned"),
    [
        ("Safrole", "0.02", date(2026, 1, 1), True),
        ("Safrole", "0.01", date(2026, 1, 1), False),
        ("Safrole", "0.001", date(2026, 1, 1), False),
        ("Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde", "0.001", date(2019, 8, 22), False),
        ("Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde", "0.001", date(2019, 8, 23), True),
        ("Spironolactone", "0.0001", date(2026, 1, 1), True),
    ],
)
def test_traces_and_first_days(name: str, percent: str, today: date, banned: bool) -> None:
    sheet = sheet_of(f"{name}: {percent}", today)
    assert bool(list(law.bans(sheet, "EU", sheet.components[1]))) == banned
