"""Reviews to be shown, and what shows them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path

import pytest
from hostile_reviews import SHORT

from formcheck.reports.report import Context, make
from formcheck.review.model import HOLD, READY, Review
from formcheck.review.run import Reviewer

HOME = Path(__file__).resolve().parents[2]
ACCEPTED = SHORT + (
    "deviations:\n  - {rule: total-not-100, reason: a pilot only, accepted by: R. Quill, until: 2027-03-31}\n"
)


@pytest.fixture(scope="session")
def render(reviewer: Reviewer) -> Callable[..., str]:
    """Renders reviews with a report of ours."""

    def run(name: str, reviews: Iterable[Review], threshold: str = "major") -> str:
        report = make(
            name, Context(reviewer.rules, threshold, reviewer.reference.cite, reviewer.configuration.house), {}
        )
        return "".join((report.begin(), *(report.add(review) for review in reviews), report.end()))

    return run


@pytest.fixture(scope="session")
def real(reviewer: Reviewer) -> list[Review]:
    """Reviews of every kind: the examples, an accepted deviation, a file that is no formula, one that is absent."""
    paths = sorted(str(path.relative_to(HOME)) for path in (HOME / "examples").rglob("*.formula.*"))
    reviews = [reviewer.review(path, (HOME / path).read_bytes()) for path in paths]
    assert {review.verdict for review in reviews} == {HOLD, READY}
    return [
        *reviews,
        Reviewer(today=date(2027, 3, 1)).review("accepted.formula.yaml", ACCEPTED.encode()),
        reviewer.review("broken.formula.yaml", b"formcheck: 1\nname: [\n"),
        reviewer.review("absent.formula.yaml"),
        reviewer.review("-", SHORT.encode()),
    ]
