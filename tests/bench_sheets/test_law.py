"""Amounts as the law counts them: Regulation (EC) No 1223/2009, its annexes, and molar masses worked by hand."""

from __future__ import annotations

from datetime import date

import pytest

from formcheck.bench import law, wording
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


def wordings(lines: str, product: str, pH: float = 3.5, market: str = "EU") -> str:
    text = (
        f"formcheck: 1\nname: x\nproduct: {{{product}, markets: [{market}]}}\nphases: {{A: {{Aqua: q.s., {lines}}}}}\n"
    )
    sheet = Reviewer(today=date(2026, 11, 25)).sheet("x.formula.yaml", (text + f"finished: {{pH: {pH}}}\n").encode())
    return " | ".join(each.text for each in wording.due(sheet, market))


# FDA, Guidance for Industry: Labeling for Cosmetics Containing Alpha Hydroxy Acids (2005): a sunburn alert for what is left on
# to exfoliate; a mask stays on as well; salts and little of the acid do not exfoliate.
@pytest.mark.parametrize(
    ("lines", "product", "pH", "alert"),
    [
        ("Glycolic Acid: 10", "use: leave-on, form: cream", 3.5, True),
        ("Glycolic Acid: 10", "use: rinse-off, form: mask", 3.5, True),
        ("Glycolic Acid: 10", "use: rinse-off, form: cleanser", 3.5, False),
        ("Glycolic Acid: 10", "use: leave-on, form: bath", 3.5, False),
        ("Glycolic Acid: 10", "use: leave-on, form: cream", 6.0, False),
        ("Glycolic Acid: 1", "use: leave-on, form: cream", 3.5, False),
        ("Sodium Lactate: 10", "use: leave-on, form: cream", 3.5, False),
    ],
)
def test_the_sunburn_alert(lines: str, product: str, pH: float, alert: bool) -> None:
    assert ("burn more easily in the sun" in wordings(lines, product, pH)) == alert


@pytest.mark.parametrize(("percent", "due"), [(3, True), (1.5, False)])
def test_ammonia_is_named_from_2_percent(percent: float, due: bool) -> None:
    """Annex III, entry 4: «contains ammonia» above 2 %."""
    assert ("contains ammonia" in wordings(f"Ammonia: {percent}", "use: rinse-off, form: hair dye", 10)) == due


@pytest.mark.parametrize(("percent", "due"), [(3, False), (9, True)])
def test_ammonia_in_water_is_counted_as_ammonia(percent: float, due: bool) -> None:
    """Annex III, entry 4: over 2 % as NH3; ammonium hydroxide as it is bought, 25 % NH3, holds 0.75 and 2.25 %."""
    said = wordings(f"Ammonium Hydroxide: {percent}", "use: rinse-off, form: hair dye", 10)
    assert ("contains ammonia" in said) == due


def test_a_wording_that_nothing_else_hides() -> None:
    """One substance's missing limit hides no other's wording (thioglycolic acid in a depilatory: annex III, entry 2a)."""
    for lines in ("Glycerin: 5, Thioglycolic Acid: 3", "Thioglycolic Acid: 3, Glycerin: 5, Kojic Acid: 3"):
        assert "thioglycolate" in wordings(lines, "use: rinse-off, form: depilatory, area: [legs]", 12)
