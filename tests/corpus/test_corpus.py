"""The corpus: published formulas that an expert accepts, and flawed ones, each with what the review must and must not say.

Outside yardsticks: the published formulas themselves (each file names its work); the flaws are common practice, no source.
"""

from __future__ import annotations

import pytest
from corpus_table import KINDS, differences, expectations, formulas, judge, outcomes, table, text_of

from formcheck.review.run import Reviewer

EXPECTED = expectations()
CASES = [(kind, name) for kind in KINDS for name in EXPECTED[kind]]


@pytest.mark.parametrize(("kind", "name"), CASES, ids=[f"{kind}/{name}" for kind, name in CASES])
def test_formula(reviewer: Reviewer, kind: str, name: str) -> None:
    path = formulas(kind)[name]
    told = list(differences(judge(reviewer, kind, name, path, EXPECTED[kind][name])))
    assert not told, "\n".join(told)


def test_table(reviewer: Reviewer, capsys: pytest.CaptureFixture[str]) -> None:
    """Prints recall and false alarms per rule: pytest -s shows it."""
    results = list(outcomes(reviewer))
    with capsys.disabled():
        print("\n" + table(reviewer, results))
    assert len(results) == len(CASES)


@pytest.mark.parametrize("kind", KINDS)
def test_every_file_has_an_expectation(kind: str) -> None:
    assert set(formulas(kind)) == set(EXPECTED[kind])


def test_size() -> None:
    assert len(formulas("published")) >= 28
    assert len(CASES) >= 60


def test_every_rule_has_a_flawed_formula(reviewer: Reviewer) -> None:
    covered = {wanted.rule for kind in KINDS for expected in EXPECTED[kind].values() for wanted in expected.must}
    assert {rule.id for rule in reviewer.rules} <= covered


@pytest.mark.parametrize("name", EXPECTED["published"])
def test_published_names_its_work(name: str) -> None:
    """The comment at the head says where the formula is from and how that was confirmed."""
    text = text_of(formulas("published")[name])
    head = [line for line in text.splitlines() if line.startswith("#")]
    told = " ".join(line.lstrip("# ") for line in head)
    assert text.startswith("#")
    assert "from memory" in told.lower() or "seen" in told.lower(), told
