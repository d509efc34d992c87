"""The bases of a formula, wherever they stand: among the phases or only in a step."""

from __future__ import annotations

from formcheck.bench.worksheet import Worksheet
from formcheck.reference.material import Material

BASES = ("base", "soap")
PH_STEPS = ("neutralise", "adjust pH")


def bases(sheet: Worksheet) -> list[Material]:
    """Every base of the formula, once, in the order of mention."""
    found = {part.material.name: part.material for part in sheet.parts if part.material.is_a(*BASES)}
    for step in sheet.formula.procedure:
        if step.verb in PH_STEPS:
            for name in step.with_:
                material = sheet.book.find(name)
                if material is not None and material.is_a(*BASES):
                    found.setdefault(material.name, material)
    return list(found.values())
