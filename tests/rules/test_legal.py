"""Depth cases for the legal rules, held against the texts of the law and the guidance named beside each."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]


def formula(lines: str, product: str = "use: leave-on, form: cream, area: [face]", more: str = "") -> str:
    return f"formcheck: 1\nname: Test plot\nproduct: {{{product}}}\nphases:\n  A: {{{lines}}}\n{more}"


def found(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


# --- uv-filter-present


# Zinc oxide and titanium dioxide are powders and pigments first (Zinc and Castor Oil Ointment and Titanium Dioxide Paste of
# the British Pharmacopoeia); organic filters are there to protect something.
@pytest.mark.parametrize(
    ("lines", "product", "more", "severity"),
    [
        ("Petrolatum: q.s., Zinc Oxide: 25", "form: ointment", "", []),
        ("Petrolatum: q.s., Titanium Dioxide: 20", "form: paste", "", []),
        ("Petrolatum: q.s., Zinc Oxide: 15", "form: sunscreen", "", ["major"]),
        ("Petrolatum: q.s., Zinc Oxide: 15", "form: cream", "claims: [protects from the sun]\n", ["major"]),
        ("Petrolatum: q.s., Octocrylene: 5, Zinc Oxide: 5", "form: cream", "", ["major"]),
        ("Petrolatum: q.s., Ethylhexyl Methoxycinnamate: 0.2", "form: cream", "", ["note"]),
    ],
)
def test_what_counts_as_a_filter(review: Run, lines: str, product: str, more: str, severity: list[str]) -> None:
    result = review(formula(lines, product, more))
    assert [each.severity for each in found(result, "uv-filter-present")] == severity


def test_of_several_only_what_is_meant_as_a_filter_is_named(review: Run) -> None:
    (finding,) = found(review(formula("Petrolatum: q.s., Zinc Oxide: 5, Octocrylene: 5")), "uv-filter-present")
    assert finding.materials == ("Octocrylene",)


# --- warning-label-missing

CREAM = "Petrolatum: q.s., Aqua: 20, Propylparaben: 0.1, Methylparaben: 0.2"


# Regulation (EC) No 1223/2009, annex V, entry 12a: the wording is for leave-on products for children under three.
@pytest.mark.parametrize(
    ("product", "due"),
    [
        ("use: leave-on, form: cream, users: [children under 3]", True),
        ("use: leave-on, form: cream, users: [adults, children under 3]", True),
        ("use: leave-on, form: cream", True),
        ("use: leave-on, form: cream, users: [adults]", False),
        ("use: rinse-off, form: cleanser, users: [children under 3]", False),
        ("form: shampoo", False),
    ],
)
def test_the_nappy_area(review: Run, product: str, due: bool) -> None:
    told = " ".join(each.message for each in found(review(formula(CREAM, product)), "warning-label-missing"))
    assert ("nappy area" in told) == due


# The sunburn alert of the FDA (2005) is about alpha-hydroxy acids that exfoliate.
@pytest.mark.parametrize(
    ("lines", "product", "pH", "due"),
    [
        ("Glycolic Acid: 6", "use: leave-on, form: serum", "3.8", True),
        ("Glycolic Acid: 1.5, Lactic Acid: 1.5", "use: leave-on, form: serum", "3.8", True),
        ("Glycolic Acid: 6", "use: rinse-off, form: peel", "3.8", True),
        ("Glycolic Acid: 6", "use: rinse-off, form: mask", "3.8", True),
        ("Glycolic Acid: 6", "use: rinse-off, form: shampoo", "3.8", False),
        ("Glycolic Acid: 6", "use: leave-on, form: serum", "5.5", False),
        ("Glycolic Acid: 6", "use: leave-on, form: serum", "", False),
        ("Glycolic Acid: 1", "use: leave-on, form: serum", "3.8", False),
        # salts moisten, citric acid in a bath neutralises soda
        ("Sodium Lactate: 5", "use: leave-on, form: cream", "4.4", False),
        ("Citric Acid: 30", "use: rinse-off, form: bath", "3.8", False),
    ],
)
def test_the_sunburn_alert(review: Run, lines: str, product: str, pH: str, due: bool) -> None:
    more = f"finished: {{pH: {pH}}}\n" if pH else ""
    told = found(review(formula(f"Aqua: q.s., {lines}", product, more)), "warning-label-missing")
    assert any("alpha-hydroxy acid" in each.message for each in told) == due
