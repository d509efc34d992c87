"""The slate beside the door: what may be made this week, and what waits for whom."""

from __future__ import annotations

from collections.abc import Iterable

from formcheck.reports.safe_text import one_line
from formcheck.review.model import HOLD, READY, Review
from formcheck.review.rule import SEVERITIES

HEADINGS = {READY: "May be made", HOLD: "On hold"}


def slate(reviews: Iterable[Review]) -> str:
    """All reviews in, all text out. What a formula file says goes through one_line(), so that it cannot upset a terminal."""
    all_reviews = list(reviews)
    lines = []
    for verdict in dict.fromkeys((READY, HOLD, *(review.verdict for review in all_reviews))):
        here = [review for review in all_reviews if review.verdict == verdict]
        if here:
            lines.append(HEADINGS.get(verdict, verdict.capitalize()))
            lines.extend(f"  {one_line(review.name)}{_findings(review)}" for review in here)
    return "\n".join((*lines, ""))


def _findings(review: Review) -> str:
    counts = [f"{count} {severity}" for severity in SEVERITIES if (count := review.count(severity))]
    return f" ({', '.join(counts)})" if counts else ""
