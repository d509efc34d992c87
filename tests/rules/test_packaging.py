"""Depth cases for the rules on packs; common practice, no source, unless a work is named beside the case."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]
JAR = "jar-with-weak-preservation"


def cream(preservatives: str, container: str | None = "jar", pH: str = "5.2") -> str:
    pack = f"packaging: {{container: {container}, material: PP, wall: opaque}}\n" if container else ""
    return (
        "formcheck: 1\nname: Test plot\nproduct: {use: leave-on, form: cream, area: [hands]}\nphases:\n"
        "  A: {Aqua: q.s., Glycerin: 5, Sodium Gluconate: 0.2}\n"
        "  B: {Caprylic/Capric Triglyceride: 12, Glyceryl Stearate Citrate: 3, Cetearyl Alcohol: 3}\n"
        f"  C: {{{preservatives}}}\nfinished: {{pH: {pH}}}\n{pack}"
    )


def found(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


STRONG = "Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1, Potassium Sorbate: 0.2"


@pytest.mark.parametrize(
    ("preservatives", "words"),
    [
        (STRONG, ""),
        ("Phenoxyethanol and Ethylhexylglycerin: 1", ""),
        ("Caprylyl Glycol: 0.5, Ethylhexylglycerin: 0.5", "only what helps"),
        # cetrimide holds moulds poorly (Handbook of Pharmaceutical Excipients)
        ("Cetrimonium Chloride: 0.1, Caprylyl Glycol: 0.5", "only what helps"),
        ("Potassium Sorbate: 0.2", "bacteria weakly"),
        ("Phenoxyethanol: 0.42", "of the least that works"),
    ],
)
def test_what_is_borderline_in_a_jar(review: Run, preservatives: str, words: str) -> None:
    findings = found(review(cream(preservatives)), JAR)
    assert bool(findings) == bool(words)
    for finding in findings:
        assert words in finding.message
        assert finding.severity == "minor"
        assert finding.path == "/packaging/container"


@pytest.mark.parametrize(
    ("container", "expected"), [("jar", 1), ("pot", 1), ("tin", 1), ("tube", 0), ("pump bottle", 0), ("airless jar", 0)]
)
def test_which_packs_open_wide(review: Run, container: str, expected: int) -> None:
    assert len(found(review(cream("Caprylyl Glycol: 0.5", container)), JAR)) == expected


def test_an_unstated_pack_is_asked_for(review: Run) -> None:
    result = review(cream("Caprylyl Glycol: 0.5", None))
    assert not found(result, JAR)
    assert any(each.rule == JAR and "container" in each.needs for each in result.unchecked)


@pytest.mark.parametrize("preservatives", ["Glycerin: 1", "Phenoxyethanol: 0.1"])
def test_what_is_unpreserved_or_underdosed_is_another_rule_s_finding(review: Run, preservatives: str) -> None:
    assert not found(review(cream(preservatives)), JAR)


def test_what_keeps_itself_may_stand_in_a_jar(review: Run) -> None:
    """ISO 29621: water activity of 0.75 and less."""
    text = "formcheck: 1\nname: Paste\nphases:\n  A: {Glycerin: 80, Aqua: 19.8, Potassium Sorbate: 0.2}\npackaging: {container: jar}\n"
    assert not found(review(text), JAR)
