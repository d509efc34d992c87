"""Molar masses from molecular formulas.

Standard atomic weights: IUPAC Commission on Isotopic Abundances and Atomic Weights, 2021 (Prohaska et al., Pure and
Applied Chemistry 94 (2022) 573, doi 10.1515/pac-2019-0603), abridged or conventional values, g/mol.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from ..patterns import pattern

ATOMIC_WEIGHTS = {
    "H": 1.008, "Li": 6.94, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998, "Na": 22.990,
    "Mg": 24.305, "Al": 26.982, "Si": 28.085, "P": 30.974, "S": 32.06, "Cl": 35.45, "K": 39.098, "Ca": 40.078,
    "Ti": 47.867, "Cr": 51.996, "Mn": 54.938, "Fe": 55.845, "Co": 58.933, "Ni": 58.693, "Cu": 63.546, "Zn": 65.38,
    "As": 74.922, "Se": 78.971, "Br": 79.904, "Sr": 87.62, "Zr": 91.224, "Ag": 107.87, "Cd": 112.41, "Sn": 118.71,
    "Sb": 121.76, "I": 126.90, "Ba": 137.33, "Ce": 140.12, "Au": 196.97, "Hg": 200.59, "Pb": 207.2, "Bi": 208.98,
}  # fmt: skip

ELEMENTS = {
    "fluorine": "F", "aluminium": "Al", "zinc": "Zn", "selenium": "Se", "strontium": "Sr", "silver": "Ag", "mercury": "Hg",
    "sulfur": "S", "iodine": "I", "bismuth": "Bi", "tin": "Sn", "titanium": "Ti", "copper": "Cu",
}  # fmt: skip
"""Names of elements, as laws say in what they count: name in lower case -> symbol."""

_PART = pattern(r"([A-Z][a-z]?)(\d*)|([(\[])|([)\]])(\d*)|[·.](\d*)")


def molar_mass(formula: str, weights: Mapping[str, float] = ATOMIC_WEIGHTS) -> float:
    """g/mol of a formula such as `C6H8O7·H2O` or `Ca(OH)2`. Raises ValueError when it cannot be read."""
    return sum(_part(part, weights) for part in re.split(r"[·.]", formula.replace(" ", "")))


def share_of(symbol: str, formula: str) -> float:
    """Part by weight of an element in a formula, 0 to 1. Raises ValueError when the formula cannot be read."""
    twice = {**ATOMIC_WEIGHTS, symbol: 2 * ATOMIC_WEIGHTS[symbol]}
    return molar_mass(formula, twice) / molar_mass(formula) - 1


def _part(text: str, weights: Mapping[str, float]) -> float:
    lead = re.match(r"\d+", text)
    count = int(lead.group()) if lead else 1
    at = lead.end() if lead else 0
    stack = [0.0]
    while at < len(text):
        match = _PART.match(text, at)
        if match is None:
            raise ValueError(f"«{text}» cannot be read as a formula at «{text[at:]}»")
        at = match.end()
        if match.group(1):
            if match.group(1) not in ATOMIC_WEIGHTS:
                raise ValueError(f"«{match.group(1)}» in «{text}» is not an element of the table")
            stack[-1] += weights[match.group(1)] * int(match.group(2) or 1)
        elif match.group(3):
            stack.append(0.0)
        elif len(stack) > 1:
            inner = stack.pop()
            stack[-1] += inner * int(match.group(5) or 1)
        else:
            raise ValueError(f"«{text}» closes a bracket that was not opened")
    if len(stack) != 1 or not stack[0]:
        raise ValueError(f"«{text}» is not a formula")
    return stack[0] * count
