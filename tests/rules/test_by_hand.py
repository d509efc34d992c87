"""What rules say of made-up materials whose figures are given in the file, so that every number can be worked by hand.

The figures are the formula's own; what a rule makes of them is arithmetic and the language of the formula file. Where a limit
of the reference decides, its name stands beside (common practice, no source, unless the reference says otherwise).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]


def formula(lines: str, more: str = "", product: str = "use: leave-on, form: cream") -> str:
    return f"formcheck: 1\nname: Test plot\nproduct: {{{product}}}\nbatch: {{size: 1 kg}}\nphases:\n  A: {{{lines}}}\n{more}"


def found(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


def heated(*steps: str, materials: str = "") -> str:
    return (
        "procedure:\n"
        + "".join(f"  - {{{step}}}\n" for step in steps)
        + (f"materials:\n{materials}" if materials else "")
    )


# --- overheated: 85 °C and an hour are the reference's limits; 10 °C above what melts last is allowed

WAXES = (
    "  High wax: {class: [oil, wax], melting point: 95 °C}\n  Range wax: {class: [oil, wax], melting point: [80 °C, 95 °C]}\n"
    "  Low end wax: {class: [oil, wax], melting point: [95 °C, null]}\n  Stone: {class: powder, melting point: 95 °C}\n"
    "  Slow gum: {class: thickener, hot hydration temperature: 80 °C, hot hydration time: 3 h}\n"
    "  Stubborn: {class: preservative, dissolving temperature: 95 °C}\n"
)


@pytest.mark.parametrize(
    ("line", "celsius", "told"),
    [
        ("Glycerin: 5", 85, None),
        ("Glycerin: 5", 86, "85 °C"),
        ("High wax: 5", 100, None),
        ("High wax: 5", 106, "105 °C"),
        ("Range wax: 5", 105, None),
        ("Low end wax: 5", 105, None),
        ("Stone: 5", 100, "85 °C"),  # a powder need not melt
        ("Stubborn: 0.2", 105, None),
    ],
)
def test_hotter_than_anything_needs(review: Run, line: str, celsius: int, told: str | None) -> None:
    text = formula(f"Aqua: q.s., {line}", heated(f"heat: A, to: {celsius} °C", "fill: A", materials=WAXES))
    messages = [finding.message + finding.remedy for finding in found(review(text), "overheated")]
    assert len(messages) == (told is not None)
    assert all(str(told) in message for message in messages)


@pytest.mark.parametrize(
    ("line", "step", "told"),
    [
        ("Glycerin: 5", "hold: A, at: 75 °C, for: 2 h", True),
        ("Glycerin: 5", "hold: A, at: 75 °C, for: 60 min", False),
        ("Glycerin: 5", "hold: A, at: 60 °C, for: 2 h", True),
        ("Glycerin: 5", "hold: A, at: 59 °C, for: 2 h", False),
        ("Glycerin: 5", "heat: A, to: 75 °C, hold: 2 h", True),
        ("Slow gum: 1", "hold: A, at: 80 °C, for: 3 h", False),
        ("Slow gum: 1", "hold: A, at: 80 °C, for: 4 h", True),
    ],
)
def test_held_hot_for_longer_than_anything_needs(review: Run, line: str, step: str, told: bool) -> None:
    result = review(formula(f"Aqua: q.s., {line}", heated(step, "fill: A", materials=WAXES)))
    assert ["held at" in finding.message for finding in found(result, "overheated")] == [True] * told


# --- antioxidant-missing: from 5 % of an oil that goes rancid, or 1 % of one that dries; 0.05 to 0.5 % of the oil protect it


@pytest.mark.parametrize(
    ("lines", "product", "told"),
    [
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10", "form: oil", True),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Tocopherol: 0.2", "form: oil", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Ascorbyl Palmitate: 0.2", "form: oil", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Sodium Metabisulfite: 0.2", "form: oil", True),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 2", "form: oil", True),  # it dries
        ("Squalane: q.s., Rosa Canina Fruit Oil: 0.5", "form: oil", False),
        ("Squalane: q.s., Helianthus Annuus Seed Oil: 4", "form: oil", False),
        ("Squalane: q.s., Helianthus Annuus Seed Oil: 6", "form: oil", True),
        ("Squalane: 100", "form: oil", False),
        ("Helianthus Annuus Seed Oil: 75, Sodium Hydroxide: 10, Aqua: 15", "form: cleanser", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Own guard: 0.2", "form: oil", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Mixed guard: 0.2", "form: oil", False),
    ],
)
def test_oils_that_go_rancid(review: Run, lines: str, product: str, told: bool) -> None:
    house = "materials:\n  Own guard: {class: antioxidant}\n  Mixed guard: {class: antioxidant, contains: {Tocopherol: 50, Squalane: 50}}\n"
    findings = found(review(formula(lines, house, f"use: leave-on, {product}")), "antioxidant-missing")
    assert len(findings) == told
    if told and "Rosa Canina Fruit Oil: 10" in lines:
        assert "0.005 %" in findings[0].remedy
        assert "0.05 %" in findings[0].remedy


# --- emulsifier-underdosed: what the emulsifier itself says, else 5 % of the oil

EMULSIFIERS = (
    "materials:\n  Strong one: {class: emulsifier, emulsifies: [10, 30]}\n  Weak one: {class: emulsifier, emulsifies: [40, 60]}\n"
    "  Open one: {class: emulsifier}\n  Upper one: {class: emulsifier, emulsifies: [null, 30]}\n"
)


@pytest.mark.parametrize(
    ("lines", "least"),
    [
        ("Squalane: 20, Strong one: 0.5", "2 %"),
        ("Squalane: 20, Strong one: 2", None),
        ("Squalane: 20, Weak one: 2", "8 %"),
        ("Squalane: 20, Weak one: 8", None),
        # of two the better one counts, for both together
        ("Squalane: 20, Weak one: 1, Strong one: 1", None),
        ("Squalane: 20, Weak one: 0.2, Strong one: 0.2", "2 %"),
        ("Squalane: 20, Open one: 0.3", "1 %"),
        ("Squalane: 20, Upper one: 0.3", "1 %"),
        ("Squalane: 20, Open one: 1.1", None),
        # fats that stiffen are no oil to be emulsified
        ("Squalane: 10, Cetyl Alcohol: 10, Strong one: 1", None),
    ],
)
def test_emulsifier_for_so_much_oil(review: Run, lines: str, least: str | None) -> None:
    findings = found(review(formula(f"Aqua: q.s., {lines}", EMULSIFIERS)), "emulsifier-underdosed")
    assert len(findings) == (least is not None)
    if least:
        assert f"at least {least}" in findings[0].remedy


@pytest.mark.parametrize("more", ["Stearic Acid: 3, Triethanolamine: 1", "Lanolin: 5", "Nobody knows this: 5"])
def test_what_else_may_hold_the_oil_is_given_the_benefit(review: Run, more: str) -> None:
    assert not found(
        review(formula(f"Aqua: q.s., Squalane: 20, Strong one: 0.5, {more}", EMULSIFIERS)), "emulsifier-underdosed"
    )
