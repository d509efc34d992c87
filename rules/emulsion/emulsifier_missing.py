"""Oil and water with nothing that holds them together."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench.emulsion import amount
from formcheck.bench.worksheet import Worksheet
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import share
from formcheck_rules.emulsion._words import amounts, in_dry_form, of, what_it_is

rule = declare(
    finds="oil and water with nothing that holds them together",
    harm="fails",
    why=(
        "Without an emulsifier the drops run together and the product parts into an oily and a watery layer, at once or on "
        "the shelf. What stands in the wrong layer does not work, and that may be the preservative."
    ),
    remedy="Add an emulsifier that suits the oils.",
    facts=("emulsion type", "dose"),
    sources=("common-practice", "handbook-excipients-2009"),
    flawed="""
formcheck: 1
name: Allotment foot cream
product: {use: leave-on, form: cream}
phases:
  A: {Aqua: q.s., Glycerin: 5, Disodium EDTA: 0.1}
  B: {Prunus Amygdalus Dulcis Oil: 15, Cetearyl Alcohol: 4}
  C: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
    mended="""
formcheck: 1
name: Allotment foot cream
product: {use: leave-on, form: cream}
phases:
  A: {Aqua: q.s., Glycerin: 5, Disodium EDTA: 0.1}
  B: {Prunus Amygdalus Dulcis Oil: 15, Cetearyl Alcohol: 4, Glyceryl Stearate Citrate: 3}
  C: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
)


STIFF = ("acrylic acid polymer", "acrylic emulsion thickener", "clay thickener", "polymeric emulsifier")
"""Thickeners that set to something stiff at rest."""


class Verdict(NamedTuple):
    """How bad it is: harm, and what there is instead of an emulsifier."""

    harm: str
    instead: str
    why: str | None = None


def concerns(sheet: Worksheet) -> bool:
    """Enough of something oily beside enough of something watery."""
    emulsion = sheet.emulsion
    if not emulsion.readable or emulsion.oil_percent < sheet.limit("oil that makes an emulsion"):
        return False
    return _watery(sheet) and not in_dry_form(sheet)


def _watery(sheet: Worksheet) -> bool:
    enough = sheet.water_percent >= sheet.limit("water that needs an emulsifier")
    return enough or sheet.emulsion.polyol_percent >= sheet.limit("polyol that needs an emulsifier")


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    emulsion = sheet.emulsion
    if emulsion.held or emulsion.shaken or _kept_apart_otherwise(sheet):
        return
    if emulsion.unknown:
        yield rule.unchecked(what_it_is(emulsion.unknown))
        return
    verdict = _verdict(sheet)
    if verdict is not None:
        yield _finding(sheet, verdict)


def _kept_apart_otherwise(sheet: Worksheet) -> bool:
    """Powder that soaks the oil up, alcohol that dissolves it, or glycol that fatty alcohol sets to a paste."""
    emulsion = sheet.emulsion
    soaked = emulsion.solid_percent >= emulsion.oil_percent
    return soaked or _set_glycol(sheet) or emulsion.alcohol_share >= sheet.limit("alcohol that dissolves oils")


def _set_glycol(sheet: Worksheet) -> bool:
    """The old base of stearyl alcohol crystals in propylene glycol, without water."""
    if sheet.water_percent >= sheet.limit("water that needs an emulsifier"):
        return False
    stiff = amount(part for part in sheet.emulsion.oils if part.material.is_a("fatty alcohol"))
    return stiff >= sheet.limit("fatty alcohol that sets a glycol") / 100 * sheet.emulsion.oil_percent


def _verdict(sheet: Worksheet) -> Verdict | None:
    emulsion = sheet.emulsion
    if sheet.product.form in ("oil", "perfume"):
        return Verdict("worth knowing", ", so that it stands in layers: say on the label that it is to be shaken")
    if emulsion.helpers:
        named = amounts(emulsion.helpers)
        return Verdict("untidy", f" but {named}, which of the plain kind only helps a stronger emulsifier")
    if emulsion.thickeners:
        held = emulsion.oil_percent <= _held_by_gel(sheet)
        named = amounts(emulsion.thickeners)
        return Verdict("untidy" if held else "fails", f" but {named}, which only slows the drops down")
    if sheet.water_percent < sheet.limit("water that needs an emulsifier"):
        return Verdict("untidy", "")
    if emulsion.waxes_that_hold_water and sheet.water_percent <= emulsion.oil_percent:
        named = amounts(emulsion.waxes_that_hold_water)
        return Verdict("untidy", f" but {named}, which holds water for a while, as in the old cooling ointments")
    if emulsion.stiffeners:
        named = amounts(emulsion.stiffeners)
        return _wherever_preserved(sheet, f" but {named}, which helps an emulsifier and is none")
    return _wherever_preserved(sheet, "")


def _held_by_gel(sheet: Worksheet) -> float:
    """% w/w of oil that a gel keeps from rising for a while; gums flow, and hold less than polymers that do not."""
    polymers = any(part.material.is_a(*STIFF) for part in sheet.emulsion.thickeners)
    return sheet.limit("oil that a gel holds poorly" if polymers else "oil that a gum holds poorly")


def _wherever_preserved(sheet: Worksheet, instead: str) -> Verdict:
    """Worse where all preservative is written into the oil: the layer of water never sees it."""
    preservatives = sheet.outer("preservative")
    if preservatives and all(sheet.emulsion.in_dry_oil(part) for part in preservatives):
        why = "All preservative goes in with the oil. Where the water parts from it the water spoils unseen."
        return Verdict("unpreserved", f"{instead}; the preservative is all in the oil", why)
    return Verdict("fails", instead)


def _finding(sheet: Worksheet, verdict: Verdict) -> Finding:
    emulsion = sheet.emulsion
    oil, water = emulsion.oil_percent, sheet.water_percent
    polar = f"{share(water)} water" if water else f"{share(emulsion.polyol_percent)} glycerin or glycol"
    least = oil * sheet.limit("usual emulsifier, least") / 100
    most = oil * sheet.limit("usual emulsifier, most") / 100
    kind = "water-in-oil" if water < amount(emulsion.oils) / 2 else "oil-in-water"
    return rule.finding(
        emulsion.oily[0].item.line,
        f"{share(oil)} oil ({amounts(emulsion.oily)}) and {polar} with nothing that emulsifies{verdict.instead}",
        why=verdict.why,
        remedy=f"Add an emulsifier of the {kind} kind that suits the oils, about {share(least)} to {share(most)} here.",
        source=sheet.cite_limit("oil that makes an emulsion", "usual emulsifier, least"),
        harm=verdict.harm,
        materials=of(emulsion.oily),
    )
