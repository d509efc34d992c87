"""More of something than the water dissolves."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench.emulsion import amount
from formcheck.bench.worksheet import Worksheet
from formcheck.records import NamedTuple
from formcheck.reference.material import Material
from formcheck.review.rule import Finding, Option, Unchecked, declare
from formcheck.review.words import names, number, share
from formcheck_rules.emulsion._solubility import (
    Candidate,
    candidates,
    co_solvents,
    dissolves,
    pH_that_dissolves,
    water_phase_percent,
    with_co_solvents,
)
from formcheck_rules.emulsion._words import DRY_OR_WASHED, of

rule = declare(
    finds="more of a substance than the water dissolves at the finished pH and room temperature",
    harm="fails",
    why=(
        "What does not dissolve, or dissolves only while the batch is warm, crystallises on standing: the product turns "
        "gritty or cloudy, and the dose in each drop is left to chance."
    ),
    remedy="Take less, or bring it into solution by pH or by a solvent.",
    facts=("solubility", "dissolves in", "pKa"),
    options=(
        Option("doubt", 40, "%", "above the published solubility before anything is said"),
        Option("clear excess", 60, "%", "above the published solubility from which it will surely come out"),
        Option("least water", 20, "%", "of the formula; with less, solubility in water says little"),
        Option(
            "dispersed on purpose",
            5,
            "times",
            "the solubility, from which a fine powder in a thick product is meant so",
        ),
        Option("surely dispersed", 20, "times", "the solubility, from which nothing is said of such a powder"),
    ),
    sources=("common-practice", "li-yalkowsky-1998"),
    flawed="""
formcheck: 1
name: Potting-shed hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.8, Allantoin: 1.5, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
    mended="""
formcheck: 1
name: Potting-shed hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.8, Allantoin: 0.3, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
)

_NOT_SOLUTIONS = (*DRY_OR_WASHED, "scrub", "mask", "paste")
_ORGANIC = ("ethanol", "glycols", "oil")
_LIQUID = ("liquid", "viscous liquid")
_LOWEST_PH, _HIGHEST_PH = "skin, lowest pH", "skin, high pH"
"""Between these a product may be brought to dissolve something."""


def concerns(sheet: Worksheet) -> bool:
    enough = sheet.water_percent >= rule.option("least water", sheet)
    known = any("solubility" in component.material.facts for component in sheet.components)
    return enough and known and sheet.emulsion.readable and sheet.product.form not in _NOT_SOLUTIONS


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for found in _excesses(sheet):
        if sheet.pH is None and _pH_decides(sheet, found):
            yield rule.unchecked(
                f"how much {found.material.name} dissolves depends on the finished pH: add «finished: {{pH: ...}}»"
            )
            continue
        harm = _harm(sheet, found)
        if harm is not None:
            yield _finding(sheet, found, harm)


class Excess(NamedTuple):
    """A substance with its concentration and what dissolves, both % w/w of the water phase, and that phase's share."""

    candidate: Candidate
    concentration: float
    limit: float
    phase: float

    @property
    def material(self) -> Material:
        material: Material = self.candidate.material
        return material

    @property
    def percent(self) -> float:
        """How much more there is than dissolves, in per cent of the latter."""
        return 100 * (self.concentration / self.limit - 1) if self.limit else float("inf")

    @property
    def rough(self) -> bool:
        return bool(self.candidate.fact.certainty == "low")


def _excesses(sheet: Worksheet) -> Iterator[Excess]:
    """Substances beyond the doubt of their solubility that nothing but the water could dissolve."""
    phase = water_phase_percent(sheet)
    for each in candidates(sheet):
        limit = dissolves(each.material, each.fact, sheet.pH)
        found = Excess(each, 100 * each.percent / phase, limit, phase)
        doubt = rule.option("doubt", sheet) * (2 if found.rough else 1)
        if (
            found.percent > doubt
            and each.percent > limit
            and not _taken_up(sheet, each)
            and not _safe_salt(sheet, each)
        ):
            yield found


def _is_salt(material: Material) -> bool:
    return "counter-ions" in material.facts


def _safe_salt(sheet: Worksheet, candidate: Candidate) -> bool:
    """Whether all of an acid is there as its salts and no acid is there to set it free, the pH not being stated."""
    all_salt = not _is_salt(candidate.material) and all(_is_salt(part.material) for part in candidate.parts)
    return all_salt and sheet.pH is None and not sheet.holds("acid")


def _pH_decides(sheet: Worksheet, found: Excess) -> bool:
    """Whether a base or buffer may have dissolved it, or an acid set it free."""
    if _is_salt(found.material) or not found.material.value("pKa"):
        return False
    salts = any(_is_salt(part.material) for part in found.candidate.parts)
    moved = salts or sheet.emulsion.alkali or sheet.holds("buffer")
    return moved and _dissolving(sheet, found, sheet.limit(_LOWEST_PH)) is not None


def _dissolving(sheet: Worksheet, found: Excess, lowest: float) -> float | None:
    pH: float | None = pH_that_dissolves(found.candidate, found.concentration, lowest, sheet.limit(_HIGHEST_PH))
    return pH


def _organic(material: Material) -> bool:
    """Whether solvents and micelles dissolve it, as far as is known."""
    media = material.value("dissolves in")
    return media is None or bool(set(_ORGANIC) & set(media))


def _taken_up(sheet: Worksheet, candidate: Candidate) -> bool:
    """Whether oil or micelles take it, or it goes in with the oil."""
    emulsion = sheet.emulsion
    media = candidate.material.value("dissolves in") or ()
    roomy = 3 * candidate.percent
    liquid = candidate.material.value("form") in _LIQUID
    if "oil" in media and (emulsion.oil_percent >= roomy or (liquid and emulsion.held)):
        return True
    if _organic(candidate.material) and amount((*emulsion.detergents, *emulsion.emulsifiers)) >= roomy:
        return True
    return all(emulsion.in_dry_oil(part) for part in candidate.parts)


def _harm(sheet: Worksheet, found: Excess) -> str | None:
    """How bad it is; None where other solvents probably dissolve it."""
    helps = co_solvents(sheet, found.material, found.phase)
    if 100 * sum(each.share for each in helps) >= sheet.limit("co-solvent that matters"):
        mixed = with_co_solvents(found.limit, helps)
        far = 2 * (1 + rule.option("doubt", sheet) / 100)
        return "worth knowing" if mixed is not None and found.concentration > far * mixed else None
    times = _times_dispersed(sheet, found)
    if times is not None:
        return None if times >= rule.option("surely dispersed", sheet) else "worth knowing"
    return "untidy" if found.rough or found.percent < rule.option("clear excess", sheet) else "fails"


def _times_dispersed(sheet: Worksheet, found: Excess) -> float | None:
    """How many times its solubility there is of what is likely meant as a fine powder or partly in oil; else None."""
    emulsion = sheet.emulsion
    times = found.concentration / found.limit if found.limit else float("inf")
    powder = found.material.value("form") == "powder"
    thick = emulsion.oil_percent >= sheet.limit("oil that makes an emulsion")
    if powder and (emulsion.thickeners or thick) and times >= rule.option("dispersed on purpose", sheet):
        return times
    suspension = emulsion.solid_percent >= sheet.limit("powder that makes a suspension")
    return 0.0 if suspension or (thick and _organic(found.material)) else None


def _finding(sheet: Worksheet, found: Excess, harm: str) -> Finding:
    candidate, material = found.candidate, found.material
    counted = (
        "" if {p.material.name for p in candidate.parts} == {material.name} else f", counted as {material.name.lower()}"
    )
    pH = f" at pH {number(sheet.pH, 3)}" if sheet.pH is not None and material.value("pKa") else ""
    solid = sheet.value(material, "form") not in _LIQUID
    rest = "the rest crystallises" if solid else "the rest stays out as drops"
    if solid and harm == "worth knowing":
        rest = "the rest stays solid unless something else dissolves it"
    return rule.finding(
        candidate.parts[0].item.line,
        f"{names(part.label for part in candidate.parts)} is {share(found.concentration)} of the water phase{counted}; "
        f"about {share(found.limit)} dissolves near 20 °C{pH}, {rest}",
        remedy=_remedy(sheet, found, harm),
        source=sheet.cite(candidate.fact),
        harm=harm,
        materials=of(candidate.parts),
    )


def _remedy(sheet: Worksheet, found: Excess, harm: str) -> str:
    whole = amount(found.candidate.parts)
    ways = [f"take no more than {share(found.limit / found.concentration * whole)}"]
    pH = _pH_for_it(sheet, found)
    if pH is not None:
        ways.append(f"bring the pH to {number(pH, 2)} or more, if what it is there for bears that")
    solvents = [word for word in found.material.value("dissolves in") or () if word in _ORGANIC]
    if solvents:
        ways.append(f"dissolve it in {names(solvents)} first")
    if harm == "worth knowing":
        ways.append("where it is meant as a powder, grind it fine and keep it from settling")
    text = "; or ".join(ways)
    return f"{text[0].upper()}{text[1:]}."


def _pH_for_it(sheet: Worksheet, found: Excess) -> float | None:
    """The lowest pH, not above neutral, at which all of it dissolves."""
    if _is_salt(found.material) or not found.material.value("pKa"):
        return None
    pH = _dissolving(sheet, found, sheet.pH if sheet.pH is not None else sheet.limit(_LOWEST_PH))
    return pH if pH is not None and pH <= 7 else None
