"""The corpus: formulas that an expert accepts, published and sound ones, and flawed ones, with what the review has to say.

Outside yardsticks: the published formulas themselves (each file names its work); the sound ones and the flaws are common
practice, no source. Of the sound ones every finding is stored, so that a change shows which appear and which vanish.
"""

from __future__ import annotations

import pytest
from corpus_table import GRAVE, KINDS, differences, expectations, formulas, judge, outcomes, table, text_of

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
    assert len(formulas("sound")) >= 40
    assert len(CASES) >= 100


@pytest.mark.parametrize("name", EXPECTED["sound"])
def test_sound_formulas_have_all_that_a_review_asks_for(reviewer: Reviewer, name: str) -> None:
    """A procedure that ends in a pack, a use, a form, a batch: nothing is quiet only because it was not checked."""
    formula = reviewer.sheet(formulas("sound")[name], text_of(formulas("sound")[name]).encode()).formula
    assert formula.procedure[-1].verb == "fill"
    assert formula.product.use
    assert formula.product.form
    assert formula.packaging is not None
    assert formula.batch.size_g is not None


@pytest.mark.parametrize("name", EXPECTED["sound"])
def test_sound_formulas_are_let_through(name: str) -> None:
    assert not [each for each in EXPECTED["sound"][name].finds or () if each[1] in GRAVE]


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
