"""Too little emulsifier for the oil it has to hold."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.emulsion import amount
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import share
from formcheck_rules.emulsion._words import amounts, in_dry_form, of

rule = declare(
    finds="too little emulsifier or solubiliser for the oil it has to hold",
    harm="fails",
    why=(
        "Where there is not enough emulsifier to cover the drops they run together: the emulsion coarsens, creams up and "
        "parts; a solution stays cloudy."
    ),
    remedy="Take more emulsifier, or less oil.",
    facts=("emulsifies",),
    options=(
        Option("far too little", 50, "%", "of the least usual amount, below which it will fail"),
        Option("too little", 80, "%", "of the least usual amount, below which it is worth a word"),
    ),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden lotion
product: {use: leave-on, form: lotion}
phases:
  A: {Aqua: q.s., Glycerin: 4, Disodium EDTA: 0.1}
  B: {Prunus Amygdalus Dulcis Oil: 25, Glyceryl Stearate Citrate: 0.5}
  C: {Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
    mended="""
formcheck: 1
name: Garden lotion
product: {use: leave-on, form: lotion}
phases:
  A: {Aqua: q.s., Glycerin: 4, Disodium EDTA: 0.1}
  B: {Prunus Amygdalus Dulcis Oil: 25, Glyceryl Stearate Citrate: 3}
  C: {Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
)


class Need(NamedTuple):
    """Emulsifiers, the oil they hold, and the least of them in per cent of that oil, by fact or general limit."""

    emulsifiers: tuple[Part, ...]
    oils: tuple[Part, ...]
    least: float
    fact: Fact

    @property
    def ratio(self) -> float:
        """Emulsifier in per cent of the oil."""
        return 100 * amount(self.emulsifiers) / amount(self.oils)


def concerns(sheet: Worksheet) -> bool:
    emulsion = sheet.emulsion
    watery = sheet.water_percent >= sheet.limit("water that needs an emulsifier")
    return emulsion.readable and watery and not in_dry_form(sheet) and bool(emulsion.emulsifiers or emulsion.detergents)


def check(sheet: Worksheet) -> Iterator[Finding]:
    emulsion = sheet.emulsion
    if emulsion.soap or emulsion.naturals or emulsion.absorbers or emulsion.unknown or emulsion.shaken:
        return
    need = _cream(sheet) if emulsion.oil_percent >= sheet.limit("oil that makes an emulsion") else _solution(sheet)
    if need is None or need.ratio >= need.least * rule.option("too little", sheet) / 100:
        return
    far = need.ratio < need.least * rule.option("far too little", sheet) / 100
    helped = bool(emulsion.thickeners) or emulsion.solid_percent >= emulsion.oil_percent
    if far or (need.fact.certainty != "low" and not helped):
        yield _finding(sheet, need, far and not helped)


def _cream(sheet: Worksheet) -> Need | None:
    """An emulsion: fats that stiffen it need little emulsifier of their own."""
    emulsion = sheet.emulsion
    if emulsion.detergents:
        return None
    oils = tuple(part for part in emulsion.oily if not part.material.is_a("co-emulsifier"))
    if not oils:
        return None
    emulsifiers = (*emulsion.emulsifiers, *emulsion.helpers)
    facts = [fact for part in emulsifiers if (fact := part.material.fact("emulsifies")) and fact.value.low is not None]
    fact = min(facts, key=lambda each: float(each.value.low), default=None)
    if fact is None:
        general = sheet.reference.limit("least emulsifier of an oil phase")
        return Need(emulsifiers, oils, float(general.value), general)
    return Need(emulsifiers, oils, float(fact.value.low), fact)


def _solution(sheet: Worksheet) -> Need | None:
    """A little oil dissolved in water: only where every one of the solubilisers says how much it takes."""
    emulsion = sheet.emulsion
    if (
        emulsion.thickeners
        or emulsion.oil_percent <= sheet.limit("oil that water takes up")
        or emulsion.alcohol_share >= sheet.limit("alcohol that helps perfume")
    ):
        return None
    found = (*emulsion.emulsifiers, *emulsion.detergents, *emulsion.helpers)
    facts = [fact for part in found if (fact := sheet.fact(part.material, "emulsifies")) and fact.when]
    if len(facts) < len(found) or any(fact.value.low is None for fact in facts):
        return None
    fact = min(facts, key=lambda each: float(each.value.low))
    return Need(found, emulsion.oily, float(fact.value.low), fact)


def _finding(sheet: Worksheet, need: Need, far: bool) -> Finding:
    oil = amount(need.oils)
    return rule.finding(
        need.emulsifiers[0].item.line,
        f"{amounts(need.emulsifiers)} for {share(oil)} oil is {share(need.ratio)} of it; at least about "
        f"{share(need.least)} is usual",
        remedy=f"Take at least {share(need.least * oil / 100)}, or no more than "
        f"{share(100 * amount(need.emulsifiers) / need.least)} oil.",
        source=sheet.cite(need.fact),
        harm=None if far else "untidy",
        materials=of(need.emulsifiers),
    )
