"""Which germs a preservative system holds, the free acid at the finished pH counted in."""

from __future__ import annotations

from formcheck.bench.preservation import FAIR
from formcheck.bench.worksheet import Worksheet

BACTERIA = "bacteria"


def coverage(sheet: Worksheet) -> dict[str, int]:
    """Best grade for bacteria, yeast and mould (formcheck.bench.preservation.GRADES)."""
    return {**sheet.preservation.coverage(), BACTERIA: _bacteria(sheet)}


def gaps(sheet: Worksheet) -> list[str]:
    """What is not held well."""
    return [kingdom for kingdom, grade in coverage(sheet).items() if grade < FAIR]


def free_acid(sheet: Worksheet) -> float:
    """Free acid at the stated pH, over the least that holds yeasts and moulds."""
    return sum(state.share for state in sheet.preservation.acids)


def _bacteria(sheet: Worksheet) -> int:
    """Grade for bacteria. Acids hold them only with several times the free acid that yeasts and moulds need."""
    preservation = sheet.preservation
    acids = [guard for guard in preservation.preservatives if guard.is_acid]
    without = preservation.coverage(without=acids)[BACTERIA] if acids else FAIR
    if without >= FAIR or not preservation.acids:
        return preservation.coverage()[BACTERIA]
    return FAIR if free_acid(sheet) >= sheet.limit("free acid for bacteria") else max(without, 1)
