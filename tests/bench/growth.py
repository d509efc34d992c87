"""How the cost of a review grows with what a formula holds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import log
from pathlib import Path
from random import Random

from clock import Clock, Measured
from formulas import of_ingredients, of_steps
from table import Row

from formcheck.review.run import Reviewer

INGREDIENTS = (10, 30, 100, 300, 1000, 2000)
STEPS = (10, 30, 100, 300, 1000)
_TOLERANCE = 1.1
"""What two measurements of one thing may differ by."""


def rows(folder: Path, clock: Clock) -> Iterator[Row]:
    """From 10 to 2,000 ingredients, and from 10 to 1,000 steps."""
    reviewer = Reviewer()
    known = [name for name in reviewer.reference.headings if ":" not in name and "#" not in name]
    known += [f"Unknown {number}" for number in range(max(INGREDIENTS) - len(known))]
    Random(1).shuffle(known)  # the reference is in the order of its classes; every count is to have of all of them
    yield _row("ingredients", INGREDIENTS, lambda count: of_ingredients(known[:count]), reviewer, clock)
    yield _row("steps", STEPS, of_steps, reviewer, clock)


def _row(what: str, counts: Sequence[int], text: Callable[[int], str], reviewer: Reviewer, clock: Clock) -> Row:
    files = {count: text(count).encode() for count in counts}
    unread = [count for count, data in files.items() if reviewer.review("x.formula.yaml", data).errors]
    assert not unread, f"not reviewed: {unread} {what}"
    taken = clock.functions(
        {f"{count} {what}": lambda data=data: reviewer.review("x.formula.yaml", data) for count, data in files.items()},
        max(3, clock.rounds // 3),
    )
    medians = dict(zip(counts, taken.values()))
    worst = _beside_n_log_n(medians)
    return Row(
        f"{counts[0]} to {counts[-1]} {what}",
        f"grows as n^{_exponent(medians):.2f}; {worst:.2f} times n log n",
        ", ".join(f"{count}: {value.median * 1e3:.1f} ms" for count, value in medians.items()),
        "no worse than n log n",
        worst > _TOLERANCE,
    )


def _exponent(taken: dict[int, Measured]) -> float:
    """The slope of the straight line through the logarithms, by least squares."""
    xs, ys = [log(count) for count in taken], [log(value.median) for value in taken.values()]
    x, y = sum(xs) / len(xs), sum(ys) / len(ys)
    return sum((a - x) * (b - y) for a, b in zip(xs, ys)) / sum((a - x) ** 2 for a in xs)


def _beside_n_log_n(taken: dict[int, Measured]) -> float:
    """The cost at the largest count, as a multiple of what n log n makes of the cost at a tenth of it."""
    last = max(taken)
    from_ = min(taken, key=lambda count: abs(log(count * 10 / last)))
    grown = taken[last].median / taken[from_].median
    return grown / ((last * log(last)) / (from_ * log(from_)))
