"""Which windows the finished pH lies outside of, and what to aim at instead."""

from collections.abc import Collection, Iterable

from formcheck.bench.windows import KEEPS, Window, agree, clash, firm
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.units import Range
from formcheck.review.words import listed, names, number, span
from formcheck_rules.thickening._bases import neutralised

GRACE = "grace at the edge of a pH window"
LEAST_WATER = "least water for a pH"
_OPEN = 12
"""A window that goes up to here has no upper end."""
LOW, HIGH = "ordinary finished pH, low", "ordinary finished pH, high"


def watery(sheet: Worksheet) -> bool:
    """Whether there is enough water for a pH to mean something."""
    return sheet.water_percent >= sheet.limit(LEAST_WATER)


def of_kinds(sheet: Worksheet, kinds: Collection[str]) -> list[Window]:
    """The windows of some kinds of material that there is enough of."""
    return [w for w in sheet.pH_windows if w.kind in kinds and w.counts and not wants_base(sheet, w)]


def wants_base(sheet: Worksheet, window: Window) -> bool:
    """Whether it is that of an acid polymer that no base comes to: another rule says what is wrong with it."""
    material = window.material
    return material is not None and bool(material.value("needs neutralising")) and not neutralised(sheet)


def beyond(sheet: Worksheet, kinds: Collection[str]) -> list[Window]:
    """Those that the finished pH misses by more than meters and batches do."""
    pH, grace = sheet.pH, sheet.limit(GRACE)
    return [] if pH is None else [each for each in of_kinds(sheet, kinds) if each.apart(pH) > grace + 1e-9]


def told(windows: Iterable[Window]) -> str:
    """`A (works at 4 to 5) and B (keeps at up to 7)`."""
    return names(f"{each.name} ({'keeps' if each.says == KEEPS else 'works'} {_at(each.range)})" for each in windows)


def _at(value: Range) -> str:
    return f"at {span(value)}" if value.low is not None and value.high is not None else span(value)


def aim(sheet: Worksheet, missed: list[Window]) -> str:
    """A sentence on which pH would suit."""
    if clash(sheet):
        return "No pH suits all that the formula holds; the finding about clashing windows says what to replace."
    best = agree([*firm(sheet, sheet.pH_windows), *missed])
    assert best is not None  # there are windows: those missed
    outside = [each.name for each in best.outside]
    suits = f"; {listed(outside)} does not suit what else is in it" if outside else ", which suits all that the formula holds"
    return f"Aim at {between(best.low, best.high)}{suits}. {how_much(_within(best.low, best.high))}"


def how_much(pH: float) -> str:
    """A sentence on how to find out what it takes to bring the formula to a pH."""
    return f"«formcheck ph FILE --to {number(pH)}» works out how much acid or base that takes."


def _within(low: float, high: float) -> float:
    """The middle of a window; the one end of one that is open."""
    return high if low <= 0 else low if high >= _OPEN else (low + high) / 2


def between(low: float, high: float) -> str:
    """`pH 4 to 5`, `a pH up to 5`, `pH 4`."""
    if high - low < 1e-9:
        return f"pH {number(low)}"
    if low <= 0:
        return f"a pH up to {number(high)}"
    return f"pH {number(low)} to {number(high)}" if high < _OPEN else f"a pH from {number(low)}"
