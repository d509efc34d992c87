"""Surfactants and polymers of opposite charge."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from formcheck.bench.composition import Part
from formcheck.bench.emulsion import amount
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold
from formcheck.records import NamedTuple
from formcheck.reference.material import Material
from formcheck.review.rule import Finding, declare
from formcheck_rules.emulsion._words import amounts, of

rule = declare(
    finds="a cationic surfactant, emulsifier or polymer beside an anionic one that it drops out with",
    harm="fails",
    why=(
        "Opposite charges pair up into a greasy complex that water does not dissolve: it drops out, neither of the two works "
        "any more, and an emulsion that rests on one of them breaks."
    ),
    remedy="Keep to one charge: replace one of the two by a nonionic or amphoteric one, or by a cationic polymer made for it.",
    facts=("charge", "quarrels with", "inactivated by"),
    sources=("olenick-complexes-2009", "shampoo-conditioner-science"),
    flawed="""
formcheck: 1
name: Allotment hair wash
product: {use: rinse-off, form: shampoo, area: [hair]}
phases:
  A: {Aqua: q.s., Sodium Laureth Sulfate: 8, Cocamidopropyl Betaine: 3, Behentrimonium Methosulfate: 2}
  B: {Sodium Benzoate: 0.5, Citric Acid: 0.3, Disodium EDTA: 0.1}
finished: {pH: 4.8}
""",
    mended="""
formcheck: 1
name: Allotment hair wash
product: {use: rinse-off, form: shampoo, area: [hair]}
phases:
  A: {Aqua: q.s., Sodium Laureth Sulfate: 8, Cocamidopropyl Betaine: 3, Polyquaternium-10: 0.2}
  B: {Sodium Benzoate: 0.5, Citric Acid: 0.3, Disodium EDTA: 0.1}
finished: {pH: 4.8}
""",
)

_PLUS = ("cationic surfactant", "cationic emulsifier")
_MINUS = ("anionic surfactant", "anionic emulsifier", "anionic polymer")
_OTHERS = ("thickener", "preservative", "dye", "powder", "peptide")
"""Of these, other rules speak."""


class Clash(NamedTuple):
    """A pair of opposite charge; effect: what is said of it, "" where only the classes say that they clash."""

    plus: Part
    minus: Part
    effect: str


def _of(sheet: Worksheet, charge: str, classes: tuple[str, ...]) -> list[Part]:
    meant = {id(part) for part in sheet.inside(*classes)}
    meant.update(id(part) for part, fact in sheet.with_fact("charge", sheet.parts) if fact.value == charge)
    return [part for part in sheet.parts if id(part) in meant and not part.material.is_a(*_OTHERS)] if meant else []


def _plus(sheet: Worksheet) -> list[Part]:
    return _of(sheet, "cationic", (*_PLUS, "cationic polymer"))


def concerns(sheet: Worksheet) -> bool:
    return bool(_plus(sheet)) and bool(_of(sheet, "anionic", _MINUS))


def check(sheet: Worksheet) -> Iterator[Finding]:
    negative = _of(sheet, "anionic", _MINUS)
    pairs = [
        clash
        for plus in _plus(sheet)
        for minus in negative
        if minus.item is not plus.item and (clash := _clash(plus, minus)) is not None
    ]
    plus = list({id(clash.plus): clash.plus for clash in pairs}.values())
    minus = list({id(clash.minus): clash.minus for clash in pairs}.values())
    least, most = sorted((amount(plus), amount(minus)))
    if least < sheet.limit("surfactant charge that matters"):
        return
    doubtful = all("may " in clash.effect for clash in pairs)
    creamy = all(p.material.is_a("emulsifier") and not p.material.is_a("surfactant", "soap") for p in (*plus, *minus))
    kept = most >= least * sheet.limit("excess of one emulsifier" if creamy else "excess that dissolves a complex")
    yield _finding(sheet, pairs, plus, minus, "untidy" if doubtful or kept else None)


def _clash(plus: Part, minus: Part) -> Clash | None:
    for one, other in ((plus.material, minus.material), (minus.material, plus.material)):
        named = (*one.quarrels(), *((target, "") for target in one.value("inactivated by") or ()))
        hit = next(filter(partial(_hits, other), named), None) if named else None
        if hit is not None:
            return Clash(plus, minus, hit[1])
    if plus.material.is_a(*_PLUS) and minus.material.is_a(*_MINUS):
        return Clash(plus, minus, "")
    return None


def _hits(material: Material, named: tuple[str, str]) -> bool:
    return material.is_a(named[0]) or fold(material.name) == fold(named[0])


def _finding(sheet: Worksheet, pairs: list[Clash], plus: list[Part], minus: list[Part], harm: str | None) -> Finding:
    effect = next((clash.effect for clash in pairs if clash.effect), "the two drop out together")
    excess = "; a large excess of one charge may keep it dissolved" if harm else ""
    facts = [
        fact
        for part in (*plus, *minus)
        for name in ("quarrels with", "inactivated by")
        if (fact := sheet.fact(part.material, name)) is not None
    ]
    return rule.finding(
        plus[0].item.line,
        f"{amounts(plus)} is cationic and {amounts(minus)} anionic: {effect}{excess}",
        source=sheet.cite(*facts) or sheet.reference.cite(rule.sources),
        harm=harm,
        materials=[*of(plus), *of(minus)],
    )
