"""What the bench answers when it cannot compute: what was found, what is allowed, what to give."""

from __future__ import annotations

import sys

from ..formula.figures import number


class OutOfRange(ValueError):
    """A value outside the range in which a formula of the bench holds.

    what: the quantity in words; found: the value as text with its unit; allowed: the range as text.
    """

    def __init__(self, what: str, found: str, allowed: str) -> None:
        super().__init__(f"{what} is {found}; allowed is {allowed}")
        self.what = what
        self.found = found
        self.allowed = allowed


class NotGiven(ValueError):
    """Something the computation cannot do without was not given.

    what: the missing quantity in words; give: what to write, with an example.
    """

    def __init__(self, what: str, give: str) -> None:
        super().__init__(f"{what} is not given; give {give}")
        self.what = what
        self.give = give


class Unreachable(OutOfRange):
    """A target that the chosen means cannot reach, however much of it is used."""


def within(what: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return value, or raise OutOfRange unless low <= value <= high (a NaN never passes)."""
    if low <= value <= high:
        return value
    tail = f" {unit}" if unit else ""
    least = "more than 0" if 0 < low < sys.float_info.min else number(low)
    raise OutOfRange(what, f"{number(value)}{tail}", f"{least} to {number(high)}{tail}")
