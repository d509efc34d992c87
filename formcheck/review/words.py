"""Numbers as a message shows them: with their unit and no more digits than they are worth."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ..formula.figures import number
from ..formula.names import listed
from ..formula.units import Range

__all__ = ["celsius", "grams", "listed", "names", "number", "percent", "share", "span", "time"]


def percent(value: Decimal | float, digits: int = 4) -> str:
    """`0.75 %`; a decimal as somebody may have written it is shown in full, a computed one rounded."""
    if isinstance(value, Decimal) and len(value.normalize().as_tuple().digits) <= 6:
        return f"{value.normalize():f} %"
    return f"{number(value, digits)} %"


def share(value: float) -> str:
    """A computed percent: two significant digits are enough."""
    return f"{number(value, 2)} %"


def celsius(value: float) -> str:
    """Whole degrees; one decimal where the writer gave one matters to nobody at the bench."""
    return f"{value:.0f} °C"


def grams(value: Decimal | float) -> str:
    return f"{number(value, 6)} g"


def time(seconds: float) -> str:
    """Seconds, minutes, hours or days, whichever reads best."""
    for unit, size in (("days", 86400), ("h", 3600), ("min", 60)):
        if seconds >= 2 * size or (seconds >= size and unit != "days"):
            return f"{number(seconds / size, 2 if seconds / size < 100 else 3)} {unit}"
    return f"{number(seconds, 2)} s"


def span(value: Range, unit: str = "") -> str:
    """`4 to 5`, `up to 5`, `from 4`."""
    tail = f" {unit}" if unit else ""
    if value.low is None and value.high is None:
        return "any"
    if value.low is None:
        return f"up to {number(value.high or 0)}{tail}"
    if value.high is None:
        return f"from {number(value.low)}{tail}"
    return f"{number(value.low)} to {number(value.high)}{tail}"


def names(items: Iterable[str], most: int = 6) -> str:
    """`a, b and c`; a long list is cut with the number left over."""
    unique = list(dict.fromkeys(items))
    if len(unique) > most:
        unique = [*unique[: most - 1], f"{len(unique) - most + 1} more"]
    return listed(unique)
