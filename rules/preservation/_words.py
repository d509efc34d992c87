"""What several rules of this family say in the same words."""

from collections.abc import Iterable

from formcheck.bench.composition import Item, Part
from formcheck.bench.preservation import Guard
from formcheck.bench.worksheet import Worksheet
from formcheck.review.words import names, number, percent

CHALLENGE = "Only a challenge test of the finished product (ISO 11930) shows whether that is enough"
GERMS = {"bacteria": "bacteria", "yeast": "yeasts", "mould": "moulds"}


def germs(kingdoms: Iterable[str]) -> str:
    """`bacteria and moulds`."""
    return names(GERMS[kingdom] for kingdom in kingdoms)


def amounts(guards: Iterable[Guard]) -> str:
    """`Phenoxyethanol 0.2 % and Benzoic Acid 0.1 %`."""
    return names(f"{guard.label} {percent(guard.percent)}" for guard in guards)


def of(guards: Iterable[Guard]) -> list[str]:
    """The names of the materials, as findings carry them."""
    return [guard.material.name for guard in guards]


def of_parts(parts: Iterable[Part]) -> list[str]:
    """The names of the materials of parts."""
    return [part.material.name for part in parts]


def main_water(sheet: Worksheet) -> Item:
    """The line that brings most of the water."""
    return max(sheet.items, key=lambda item: _water(sheet, item))


def _water(sheet: Worksheet, item: Item) -> float:
    return sum(part.amount for part in sheet.parts_of(item) if part.material.is_a("water"))


def pH_text(pH: float) -> str:
    return f"pH {number(pH, 3)}"
