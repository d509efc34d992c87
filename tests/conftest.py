"""Fixtures that many tests share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from formcheck.review.model import Review
from formcheck.review.run import Reviewer


@pytest.fixture(scope="session")
def reviewer() -> Reviewer:
    return Reviewer(today=date(2026, 11, 25))


@pytest.fixture
def review(reviewer: Reviewer) -> Callable[[str], Review]:
    """Reviews a formula given as text."""

    def run(text: str, name: str = "test.formula.yaml") -> Review:
        return reviewer.review(name, text.encode())

    return run
