"""An anionic thickener together with something cationic, or the reverse."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Fact
from formcheck.formula.names import fold
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names
from formcheck_rules.thickening._water import label, thickeners

rule = declare(
    finds="an anionic thickener with a cationic surfactant, polymer or preservative, or the reverse",
    harm="fails",
    why=(
        "Opposite charges bind each other and drop out together, as strings, lumps or haze. Neither is left to do its "
        "work: the gel is thin, the hair unconditioned, the preservative gone."
    ),
    remedy="Keep one of the two, or thicken with something uncharged such as a cellulose ether.",
    facts=("charge", "quarrels with", "inactivated by"),
    sources=("handbook-excipients-2009", "common-practice"),
    flawed="""
formcheck: 1
name: Potting shed hair rinse
product: {use: rinse-off, form: conditioner, area: [hair]}
phases:
  A: {Aqua: q.s., Xanthan Gum: 0.5, Glycerin: 3, Cetrimonium Chloride: 1.5, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
""",
    mended="""
formcheck: 1
name: Potting shed hair rinse
product: {use: rinse-off, form: conditioner, area: [hair]}
phases:
  A: {Aqua: q.s., Hydroxyethylcellulose: 1, Glycerin: 3, Cetrimonium Chloride: 1.5, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
""",
)

CATIONIC = ("cationic surfactant", "cationic polymer", "cationic preservative", "cationic emulsifier")
EMULSIFIED = ("silicone",)
"""Cationic only on the outside of a droplet."""
FORGIVING = ("hyaluronate", "clay thickener")
"""Kinds that turn hazy or bind the cationic, but are rarely what the body of the product rests on."""


class Clash(NamedTuple):
    """A thickener and what it clashes with. effect: what happens; facts: what says so; harm: None for the rule's own."""

    thickener: Part
    other: Part
    effect: str
    facts: tuple[Fact, ...]
    harm: str | None


def _of_charge(sheet: Worksheet, charge: str, parts: Iterable[Part]) -> list[Part]:
    return [part for part in parts if sheet.value(part.material, "charge") == charge]


@once
def _pairs(sheet: Worksheet) -> list[tuple[Part, Part]]:
    """Anionic thickeners with every cationic, and cationic thickeners with anionics that are no thickeners."""
    return list(_opposed(sheet, thickeners(sheet))) if thickeners(sheet) else []


def _opposed(sheet: Worksheet, known: Iterable[Part]) -> Iterator[tuple[Part, Part]]:
    dose = sheet.limit("cationic that matters")
    charged = (part for part in sheet.parts if "charge" in part.material.facts)
    parts = [part for part in charged if part.amount >= dose and not part.material.is_a(*EMULSIFIED)]
    for thickener in _of_charge(sheet, "anionic", known):
        for other in _of_charge(sheet, "cationic", parts):
            yield thickener, other
    for thickener in _of_charge(sheet, "cationic", known):
        for other in _of_charge(sheet, "anionic", parts):
            if not other.material.is_a("thickener"):
                yield thickener, other


def concerns(sheet: Worksheet) -> bool:
    return bool(_pairs(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    groups: dict[tuple[int, str | None], list[Clash]] = {}
    for thickener, other in _pairs(sheet):
        clash = _clash(sheet, thickener, other)
        if clash is not None:
            groups.setdefault((id(thickener.item), clash.harm), []).append(clash)
    for group in groups.values():
        yield _finding(sheet, group)


def _clash(sheet: Worksheet, thickener: Part, other: Part) -> Clash | None:
    if thickener.item is other.item or _bound_elsewhere(sheet, thickener, other):
        return None
    effect = _said(thickener, other) or _said(other, thickener)
    if effect is None and not (other.material.is_a(*CATIONIC) and _general(thickener)):
        return None
    held = other.material.is_a(*CATIONIC) and _micelles_hold(sheet, other)
    if held and thickener.material.is_a("acrylic emulsion thickener"):
        return None
    mild = held or thickener.material.is_a(*FORGIVING) or (effect is not None and effect.startswith("may"))
    facts = [
        fact
        for part in (thickener, other)
        for name in ("quarrels with", "charge")
        if (fact := sheet.fact(part.material, name)) is not None
    ]
    return Clash(thickener, other, effect or "falls out", tuple(facts), "untidy" if mild else None)


def _said(one: Part, other: Part) -> str | None:
    """What the reference says of the two, if it names the other or one of its classes."""
    for name, effect in one.material.quarrels():
        if name in other.material.classes or fold(name) in {fold(each) for each in other.material.names}:
            return effect
    return None


def _general(thickener: Part) -> bool:
    """Whether it clashes with cationics as a kind: it says so of one kind, or the reference says nothing of it at all."""
    quarrels = [name for name, _ in thickener.material.quarrels()]
    return not thickener.material.is_a("cationic polymer") and (
        not quarrels or any(name in CATIONIC for name in quarrels)
    )


def _bound_elsewhere(sheet: Worksheet, thickener: Part, other: Part) -> bool:
    """A preservative whose own entry names the thickener is the business of the rules about preservation."""
    bound = sheet.value(other.material, "inactivated by") or ()
    known = {fold(name) for name in thickener.material.names}
    return other.material.is_a("preservative") and any(
        name in thickener.material.classes or fold(name) in known for name in bound
    )


def _micelles_hold(sheet: Worksheet, cationic: Part) -> bool:
    """Whether so much anionic surfactant is there that its micelles carry the cationic, as in conditioning shampoos."""
    anionic = float(sheet.percent_of("anionic surfactant"))
    return anionic >= sheet.limit("anionic surfactant that keeps the peace") * cationic.amount


def _finding(sheet: Worksheet, group: list[Clash]) -> Finding:
    thickener = group[0].thickener
    own = sheet.value(thickener.material, "charge")
    opposite = "cationic" if own == "anionic" else "anionic"
    others = names(label(clash.other) for clash in group)
    effects = names(dict.fromkeys(clash.effect for clash in group))
    return rule.finding(
        thickener.item.line,
        f"{label(thickener)} is {own}, {others} {opposite}: {effects}",
        source=sheet.cite(*(fact for clash in group for fact in clash.facts)),
        harm=group[0].harm,
        materials=[thickener.material.name, *(clash.other.material.name for clash in group)],
    )
