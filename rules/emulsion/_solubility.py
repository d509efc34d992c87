"""How much of a substance water dissolves: by its pH, and with other solvents in it.

An acid, base or ampholyte dissolves until its uncharged form is saturated: S = S0 / f, with f the share of that form, so
S0 (1 + 10^(pH - pKa)) for a plain acid (any textbook of pharmaceutics under pH and solubility). With solvents that mix
with water the logarithm of the solubility is about the mean by weight of those in each (A. Li and S. H. Yalkowsky, Ind.
Eng. Chem. Res. 37 (1998) 4470).
"""

from __future__ import annotations

from collections.abc import Iterator
from math import log10

from formcheck.bench.acidbase import fractions
from formcheck.bench.composition import Part
from formcheck.bench.emulsion import amount, most_dissolved, solubility
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.records import NamedTuple
from formcheck.reference.material import Material

_NOT_DISSOLVED = (
    "oil", "powder", "pigment", "clay", "abrasive", "UV filter", "thickener", "protein", "surfactant", "emulsifier",
    "fragrance", "essential oil", "dye", "ceramide", "strong base", "preservative booster", "film former",
)  # fmt: skip
"""What is dispersed, swollen or dissolved in something else, or is judged by rules of its own."""
_NOT_WATERY = ("oil", "powder", "pigment", "clay", "emulsifier", "co-emulsifier", "fragrance", "essential oil")
_SALT = ("counter-ions", "releases")


class Candidate(NamedTuple):
    """A substance that ought to be dissolved.

    material: whose solubility limits it (the acid of a salt); percent: % w/w of the formula, as that; parts: what brings
    it; fact: its solubility.
    """

    material: Material
    percent: float
    parts: tuple[Part, ...]
    fact: Fact


def water_phase_percent(sheet: Worksheet) -> float:
    """% w/w of water and all that may be dissolved in it."""
    return amount(part for part in sheet.parts if not part.material.is_a(*_NOT_WATERY))


def candidates(sheet: Worksheet) -> Iterator[Candidate]:
    """Substances with a known solubility, each acid together with its salts."""
    acids = _acids(sheet)
    for component in sheet.components:
        material = component.material
        if "solubility" not in material.facts or material.is_a(*_NOT_DISSOLVED) or material.name in acids:
            continue
        fact = solubility(material)
        if fact is None:
            continue
        if not material.is_a("preservative") or material.is_a("active"):
            yield Candidate(material, component.amount, component.parts, fact)
    yield from acids.values()


def _acids(sheet: Worksheet) -> dict[str, Candidate]:
    """Acids that may crystallise out of their salts, by name, with what of the acid itself is there."""
    found: dict[str, Candidate] = {}
    for component in sheet.components:
        if not all(name in component.material.facts for name in _SALT):
            continue
        for name, share in component.material.releases.items():
            acid = sheet.book.find(name)
            fact = solubility(acid) if acid is not None and acid.value("pKa") else None
            if acid is None or fact is None:
                continue
            so_far = found.get(acid.name) or _itself(sheet, acid, fact)
            more = so_far.percent + component.amount * share
            found[acid.name] = so_far._replace(percent=more, parts=(*so_far.parts, *component.parts))
    return found


def _itself(sheet: Worksheet, acid: Material, fact: Fact) -> Candidate:
    own = sheet.component(acid.name)
    return Candidate(acid, own.amount if own else 0.0, own.parts if own else (), fact)


def dissolves(material: Material, fact: Fact, pH: float | None) -> float:
    """% w/w of the water phase that dissolves at a pH; the plain figure where pH does not matter or is not known."""
    plain = most_dissolved(fact)
    pKa = material.value("pKa")
    if pH is None or not pKa or material.value("counter-ions"):
        return plain
    return plain * _uncharged(material, _reference_pH(fact)) / _uncharged(material, pH)


def _uncharged(material: Material, pH: float | None) -> float:
    """Share of the form without charge; 1 where the pH is not known, as in a saturated solution of it alone."""
    top = int(material.value("charge when protonated") or 0)
    pKa = tuple(float(value) for value in material.value("pKa"))
    return 1.0 if pH is None or top > len(pKa) else max(fractions(pKa, pH)[top], 1e-9)


def _reference_pH(fact: Fact) -> float | None:
    text = dict(fact.extra).get("pH")
    return None if text is None else float(text)


def pH_that_dissolves(candidate: Candidate, concentration: float, lowest: float, highest: float) -> float | None:
    """The lowest pH between two at which so much (% w/w of the water phase) dissolves; None where there is none."""
    low, high = lowest, highest
    if dissolves(candidate.material, candidate.fact, high) < concentration:
        return None
    for _ in range(12):
        middle = (low + high) / 2
        enough = dissolves(candidate.material, candidate.fact, middle) >= concentration
        low, high = (low, middle) if enough else (middle, high)
    return high


class Help(NamedTuple):
    """Another solvent in the water phase: its share of that, 0 to 1, and what dissolves in it alone, where known."""

    share: float
    solubility: float | None


def co_solvents(sheet: Worksheet, material: Material, phase: float) -> list[Help]:
    """Solvents beside water that dissolve the material, by what it is said to dissolve in."""
    media = material.value("dissolves in")
    kinds = (("ethanol", "ethanol", ("volatile alcohol",)), ("glycols", "propylene glycol", ("polyol", "solvent")))
    found = []
    for medium, fluid, classes in kinds:
        share = amount(p for p in sheet.inside(*classes) if not p.material.is_a("oil", "fragrance"))
        if medium == "glycols":
            share -= amount(sheet.inside("volatile alcohol"))
        if share > 0 and (media is None or medium in media):
            fact = material.fact("solubility", None, in_=fluid)
            found.append(Help(share / phase, most_dissolved(fact) if fact else None))
    return found


def with_co_solvents(in_water: float, helps: list[Help]) -> float | None:
    """% w/w that dissolves in the mixture, by the log-linear rule; None where a figure is missing."""
    if in_water <= 0 or any(not each.solubility for each in helps):
        return None
    water = 1 - sum(each.share for each in helps)
    exponent = water * log10(in_water) + sum(each.share * log10(each.solubility or 1) for each in helps)
    return float(10**exponent)
