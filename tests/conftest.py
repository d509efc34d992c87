"""Fixtures that many tests share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from any_formula import LONGER
from hypothesis import settings

from formcheck.review.model import Review
from formcheck.review.run import Reviewer

settings.register_profile("longer", max_examples=100 * LONGER, deadline=None)
if LONGER > 1:  # tests that say how many examples they take keep to that
    settings.load_profile("longer")


@pytest.fixture(scope="session")
def reviewer() -> Reviewer:
    return Reviewer(today=date(2026, 11, 25))


@pytest.fixture
def review(reviewer: Reviewer) -> Callable[[str], Review]:
    """Reviews a formula given as text."""

    def run(text: str, name: str = "test.formula.yaml") -> Review:
        return reviewer.review(name, text.encode())

    return run
