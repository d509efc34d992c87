"""What several rules of this family say and ask."""

from __future__ import annotations

from collections.abc import Iterable

from formcheck.bench.composition import Item, Part
from formcheck.bench.worksheet import Worksheet
from formcheck.review.words import names, number

DRY_OR_WASHED = ("powder", "bar", "soap", "bath", "toothpaste", "make-up", "patch", "wipe", "hair dye", "stick")
"""Forms in which oil and water do not lie open beside each other."""


def amounts(parts: Iterable[Part], most: int = 4) -> str:
    """`A (5 %) and B (3 %)`, one substance once."""
    summed: dict[str, float] = {}
    for part in parts:
        summed[part.label] = summed.get(part.label, 0.0) + part.amount
    return names((f"{label} ({number(amount)} %)" for label, amount in summed.items()), most)


def of(parts: Iterable[Part]) -> list[str]:
    """Reference names, for a finding's materials."""
    return list(dict.fromkeys(part.material.name for part in parts))


def what_it_is(items: Iterable[Item]) -> str:
    """What to add for materials that may be the emulsifier."""
    return f"whether {names(item.name for item in items)} emulsifies: add «class:» under «materials:»"


def in_dry_form(sheet: Worksheet) -> bool:
    return sheet.product.form in DRY_OR_WASHED
