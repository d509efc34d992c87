"""Faults that formulas of others brought to light: each case is a formula as people write it, with the outside reason."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]


def file(lines: str, product: str, more: str = "") -> str:
    return f"formcheck: 1\nname: Test plot\nproduct: {{{product}}}\nphases:\n  A: {{{lines}}}\n{more}"


def of(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


def severities(result: Review, rule: str) -> list[str]:
    return [finding.severity for finding in of(result, rule)]


# --- wetting out in two liquids at once (common practice, no source)

SERUM = """
procedure:
  - disperse: Xanthan Gum
    in: [Glycerin, Propanediol]
  - add: Aqua
    into: A
  - mix: A
    for: 40 min
  - fill: A
"""


def test_a_powder_may_be_wetted_out_in_two_liquids(review: Run) -> None:
    leave_on = "use: leave-on, form: serum, area: [face]"
    enough = review(file("Aqua: q.s., Glycerin: 1, Propanediol: 1, Xanthan Gum: 0.5", leave_on, SERUM))
    assert not of(enough, "thickener-dumped")
    thin = review(file("Aqua: q.s., Glycerin: 0.1, Propanediol: 0.1, Xanthan Gum: 0.5", leave_on, SERUM))
    assert "0.2 % Glycerin and Propanediol" in of(thin, "thickener-dumped")[0].message


def test_a_liquid_that_the_formula_lacks_is_told(review: Run) -> None:
    result = review(
        file("Aqua: q.s., Glycerin: 2, Xanthan Gum: 0.5", "use: leave-on, form: serum, area: [face]", SERUM)
    )
    assert "Propanediol" in of(result, "step-names-unknown")[0].message


# --- a little citric acid listed for a step that says how far to go (common practice, no source: shampoos are written so,
# and free alkali of their raw materials takes it up)


@pytest.mark.parametrize(("acid", "severity"), [(0.15, "minor"), (0.9, "major")])
def test_acid_at_hand_for_a_step(review: Run, acid: float, severity: str) -> None:
    steps = "procedure:\n  - adjust pH: A\n    to: 6\n    with: Citric Acid\n  - measure pH: A\n"
    lines = f"Aqua: q.s., Sodium Laureth Sulfate: 10, Cocamidopropyl Betaine: 3, Citric Acid: {acid}"
    found = severities(review(file(lines, "use: rinse-off, form: shampoo, area: [hair]", steps)), "ph-overshoot")
    assert found == [severity]
