"""Depth cases for the rules on heat; the outside source stands beside each."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review

Run = Callable[[str], Review]


def filled(lines: str, celsius: int, form: str = "", use: str = "leave-on") -> str:
    form_ = f", form: {form}" if form else ""
    return (
        f"formcheck: 1\nname: Test plot\nproduct: {{use: {use}{form_}}}\nphases:\n  A: {{{lines}}}\n"
        f"procedure:\n  - heat: A\n    to: 75 °C\n  - fill: A\n    at: {celsius} °C\n"
    )


# common practice, no source: what sets as it cools is poured hot; water steams and condenses under the cap of the rest
@pytest.mark.parametrize(
    ("lines", "celsius", "form", "severity"),
    [
        ("Aqua: q.s., Glycerin: 5, Cetearyl Alcohol: 5, Mineral Oil: 10", 65, "cream", ["minor"]),
        ("Aqua: q.s., Glycerin: 5, Cetearyl Alcohol: 5, Mineral Oil: 10", 45, "cream", []),
        ("Sodium Stearate: 7, Propylene Glycol: 60, Aqua: q.s.", 65, "deodorant", []),
        ("Stearic Acid: 7, Sodium Hydroxide: 1, Propylene Glycol: 60, Aqua: q.s.", 65, "deodorant", []),
        ("Potassium Cocoate: 15, Glycerin: 5, Aqua: q.s.", 65, "liquid soap", ["minor"]),
        ("Agar: 1, Glycerin: 20, Aqua: q.s.", 65, "cleanser", []),
        (
            "Cera Alba: 10, Copernicia Cerifera Cera: 6, Stearic Acid: 4, Triethanolamine: 2, Aqua: q.s.",
            65,
            "mascara",
            [],
        ),
        ("Aqua: q.s., Glycerin: 5", 65, "stick", []),
    ],
)
def test_poured_hot(review: Run, lines: str, celsius: int, form: str, severity: list[str]) -> None:
    result = review(filled(lines, celsius, form))
    assert not result.errors, result.errors
    assert [f.severity for f in result.findings if f.rule == "fill-too-hot"] == severity


def scented(lines: str, celsius: int, form: str) -> str:
    return (
        f"formcheck: 1\nname: Test plot\nproduct: {{use: leave-on, form: {form}}}\nphases:\n  A: {{{lines}}}\n  B: {{Parfum: 1}}\n"
        f"procedure:\n  - heat: A\n    to: {celsius} °C\n  - add: B\n    into: A\n  - fill: A\n"
    )


# common practice, no source: sticks are scented just before they are poured; a cream can wait until it has cooled
@pytest.mark.parametrize(
    ("lines", "celsius", "form", "severity"),
    [
        ("Sodium Stearate: 7, Propylene Glycol: 60, Glycerin: 32", 67, "deodorant", ["minor"]),
        ("Sodium Stearate: 7, Propylene Glycol: 60, Glycerin: 32", 85, "deodorant", ["major"]),
        ("Cera Alba: 20, Ricinus Communis Seed Oil: 79", 70, "lip balm", ["minor"]),
        ("Cera Alba: 20, Ricinus Communis Seed Oil: 79", 70, "balm", ["major"]),
        ("Aqua: 80, Mineral Oil: 14, Cetearyl Alcohol: 5", 70, "cream", ["major"]),
    ],
)
def test_perfume_in_what_sets_hot(review: Run, lines: str, celsius: int, form: str, severity: list[str]) -> None:
    result = review(scented(lines, celsius, form))
    assert [f.severity for f in result.findings if f.rule == "volatile-too-hot"] == severity


# A little hard wax stays dissolved in much oil below its own melting point (common practice, no source).
@pytest.mark.parametrize(("wax", "severity"), [(1, []), (8, ["minor"])])
def test_a_little_wax_sets_later(review: Run, wax: int, severity: list[str]) -> None:
    text = (
        "formcheck: 1\nname: Test plot\nproduct: {form: cream}\nphases:\n"
        f"  A: {{Mineral Oil: 25, Polyglyceryl-3 Diisostearate: 4, Hydrogenated Castor Oil: {wax}}}\n"
        "  B: {Aqua: q.s., Magnesium Sulfate: 0.7}\n"
        "procedure:\n  - heat: A\n    to: 88 °C\n  - heat: B\n    to: 78 °C\n  - add: B\n    into: A\n  - fill: A\n    at: 30 °C\n"
    )
    result = review(text)
    assert [f.severity for f in result.findings if f.rule == "phases-apart"] == severity


def test_a_cooler_temperature_than_the_limit_is_called_a_habit(review: Run) -> None:
    """Two temperatures in one finding, and each says what it is. Habit of phenoxyethanol: common practice, no source."""
    text = (
        "formcheck: 1\nname: Test plot\nphases:\n  A: {Aqua: q.s., Glycerin: 4}\n  B: {Phenoxyethanol: 0.9}\n"
        "procedure:\n  - {heat: A, to: 75 °C, hold: 20 min}\n  - {add: B, into: A}\n  - {fill: A}\n"
    )
    (finding,) = (each for each in review(text).findings if each.rule == "preservative-too-hot")
    assert "the limit is 60 °C" in finding.message
    assert finding.remedy.startswith("Add it below 45 °C, the habit of the trade")
