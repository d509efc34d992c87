"""A strength written behind or before a material's name, as on sheets and bottles: `Lactic Acid 80%`."""

from __future__ import annotations

import re

from ..formula.model import Fact
from ..patterns import pattern
from ..records import NamedTuple
from .material import Material

_PERCENT = r"(?P<percent>\d{1,2}(?:[.,]\d+)?)\s*(?:%|per ?cent)"
_IN_WATER = r"(?:\s*(?:solution|soln\.?|sol\.?|aq\.?|aqueous|active(?: matter)?|in water|w/w|m/m|by weight|paste))*"
_BEHIND = pattern(rf"^(?P<name>[^(\[]*?\S|.*?\S)[\s,]*(?:[(\[][^()\[\]\d%]*)?{_PERCENT}{_IN_WATER}\s*[)\]]?\s*$", re.I)
_BEFORE = pattern(rf"^{_PERCENT}\s+(?P<name>.*?\S){_IN_WATER}$", re.I)
_SOLUTION = pattern(r"\s+(?:aqueous )?(?:solution|soln\.?|sol\.?|aq\.?)$", re.I)
_SOLD_IN_WATER = (
    "surfactant", "acid", "base", "electrolyte", "volatile alcohol", "humectant", "cationic polymer", "hyaluronate",
    "chelator", "amino acid", "thickener",
)  # fmt: skip
_MOST_PERCENTS = 3
_OILY = ("oil", "essential oil", "fragrance", "fatty acid")


class Strength(NamedTuple):
    """name: the material without its strength; percent: % w/w."""

    name: str
    percent: float

    @property
    def text(self) -> str:
        """The percent as written in a name, without its sign."""
        return f"{self.percent:g}"


def strength_in(name: str) -> Strength | None:
    """The strength in a name, with what is left of it; None where there is none, or more is said than that."""
    if "%" not in name and "cent" not in name:
        return None
    if name.count("%") > _MOST_PERCENTS:
        return None
    found = _BEHIND.match(name) or _BEFORE.match(name)
    if found is None:
        return None
    percent = float(found["percent"].replace(",", "."))
    return Strength(found["name"].rstrip(" ,"), percent) if percent else None


def without_solution(name: str) -> str:
    """`Benzalkonium chloride solution` without the word for a solution."""
    return _SOLUTION.sub("", name)


def spellings(base: Material, strength: Strength) -> tuple[str, ...]:
    """Names under which the reference may have a solution of this strength."""
    percent = strength.text
    return tuple(
        f"{name} {form}"
        for name in dict.fromkeys((strength.name, base.name))
        for form in (
            f"{percent} %",
            f"solution {percent} percent",
            f"{percent} percent",
            f"{percent} percent by volume",
        )
    )


def in_water(base: Material) -> bool:
    """Whether a weaker grade of a material is, as a rule, a solution in water."""
    if base.contains or base.is_a(*_OILY):
        return False
    return base.is_a(*_SOLD_IN_WATER) or "water" in (base.value("dissolves in") or ())


def solution(name: str, base: Material, percent: float) -> Material:
    """A solution in water that the reference does not have: so much of the material, the rest water."""
    contains = Fact("contains", ((base.name, percent), ("Aqua", 100.0 - percent)), certainty="low")
    return Material(name, {"contains": (contains,), "form": (Fact("form", "liquid", certainty="low"),)}, frozenset())
