"""Nonionic emulsifiers whose HLB is far from what the oils require."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench import hlb
from formcheck.bench.composition import Part
from formcheck.bench.emulsion import amount
from formcheck.bench.errors import Unreachable
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, Option, Unchecked, declare
from formcheck.review.words import names, number, share
from formcheck_rules.emulsion._words import in_dry_form, of

rule = declare(
    finds="nonionic emulsifiers whose HLB, by weight, is far from what the oils require",
    harm="untidy",
    why=(
        "A pair of nonionic emulsifiers holds an oil best at the HLB that the oil requires; further away the emulsion is "
        "coarser and parts sooner. The figures are guides, good to about one unit, and a trial decides."
    ),
    remedy="Change the proportion of the lipophilic to the hydrophilic emulsifier.",
    facts=("HLB", "required HLB"),
    options=(
        Option("apart", 1.5, "HLB units", "difference from which it is worth a word"),
        Option("further apart", 2.5, "HLB units", "added where most of the oils' figures are uncertain"),
        Option("oil with a figure", 80, "%", "of the oil phase that must have a required HLB"),
        Option(
            "stiffeners",
            10,
            "%",
            "of the oil phase: with more fatty alcohol or the like the cream holds by a gel of layers",
        ),
    ),
    sources=("griffin-hlb-1949", "pasquali-hlb-2008"),
    flawed="""
formcheck: 1
name: Garden lotion
product: {use: leave-on, form: lotion}
phases:
  A: {Aqua: q.s., Glycerin: 3, Disodium EDTA: 0.1}
  B: {Paraffinum Liquidum: 25, Polysorbate 80: 4.5, Sorbitan Oleate: 0.5}
  C: {Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
    mended="""
formcheck: 1
name: Garden lotion
product: {use: leave-on, form: lotion}
phases:
  A: {Aqua: q.s., Glycerin: 3, Disodium EDTA: 0.1}
  B: {Paraffinum Liquidum: 25, Polysorbate 80: 2.9, Sorbitan Oleate: 2.1}
  C: {Phenoxyethanol: 0.8, Potassium Sorbate: 0.3}
finished: {pH: 5.2}
""",
)

_NONIONIC = ("nonionic emulsifier", "water-in-oil emulsifier")


class Figure(NamedTuple):
    """A part with the fact that gives its HLB or required HLB, if any."""

    part: Part
    fact: Fact | None

    @property
    def entry(self) -> hlb.Part:
        value = None if self.fact is None else float(self.fact.value)
        return hlb.Part(self.part.label, self.part.amount, value)


def concerns(sheet: Worksheet) -> bool:
    """An oil-in-water emulsion held by nonionic emulsifiers alone, without a gel of layers or polymer."""
    emulsion = sheet.emulsion
    if not emulsion.readable or not emulsion.emulsifiers or in_dry_form(sheet) or not _only_nonionic(sheet):
        return False
    if emulsion.shaken:
        return False
    oil = emulsion.oil_percent
    if oil < sheet.limit("oil that makes an emulsion") or sheet.water_percent < oil / 2:
        return False
    return 100 * amount(emulsion.stiffeners) <= rule.option("stiffeners", sheet) * oil


def _only_nonionic(sheet: Worksheet) -> bool:
    emulsion = sheet.emulsion
    other = emulsion.detergents or emulsion.soap or emulsion.naturals or emulsion.unknown
    if other or sheet.holds("polymeric emulsifier", "acrylic acid polymer"):
        return False
    found = (*emulsion.emulsifiers, *emulsion.helpers)
    return all(p.material.is_a(*_NONIONIC) and sheet.value(p.material, "charge") in (None, "nonionic") for p in found)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    emulsion = sheet.emulsion
    emulsifiers = [Figure(p, sheet.fact(p.material, "HLB")) for p in (*emulsion.emulsifiers, *emulsion.helpers)]
    oils = [Figure(p, sheet.fact(p.material, "required HLB")) for p in emulsion.oily]
    if any(each.fact is not None and each.fact.certainty == "low" for each in emulsifiers):
        return
    missing = names(each.part.item.name for each in emulsifiers if each.fact is None)
    if missing:
        yield rule.unchecked(f"the HLB of {missing}: add «HLB:» under «materials:»")
        return
    if not amount(each.part for each in emulsifiers):
        return
    if hlb.weighted([each.entry for each in emulsifiers]) <= sheet.limit("HLB of water-in-oil emulsifiers, up to"):
        return
    bare = [each.part for each in oils if each.fact is None]
    if 100 * amount(bare) > (100 - rule.option("oil with a figure", sheet)) * emulsion.oil_percent:
        yield rule.unchecked(
            f"the required HLB of {names(p.item.name for p in bare)}: add «required HLB:» under «materials:»"
        )
        return
    yield from _judge(sheet, oils, emulsifiers)


def _judge(sheet: Worksheet, oils: list[Figure], emulsifiers: list[Figure]) -> Iterator[Finding]:
    balance = hlb.balance([each.entry for each in oils], [each.entry for each in emulsifiers])
    known = amount(each.part for each in oils if each.fact)
    vague = amount(each.part for each in oils if each.fact and each.fact.certainty == "low")
    room = rule.option("apart", sheet) + (rule.option("further apart", sheet) if 2 * vague > known else 0)
    if abs(balance.apart) <= room:
        return
    parts = [each.part for each in emulsifiers]
    rough = f", by figures of which most are rough to {number(room)}" if 2 * vague > known else ""
    yield rule.finding(
        parts[0].item.line,
        f"{names(_with_value(each) for each in emulsifiers)}: together HLB {balance.offered:.1f}, while the oils require "
        f"{balance.required:.1f}, {abs(balance.apart):.1f} {'too high' if balance.apart > 0 else 'too low'}{rough}",
        remedy=_remedy(sheet, balance, emulsifiers),
        source=sheet.cite(*(each.fact for each in (*emulsifiers, *oils) if each.fact)),
        materials=of(parts),
    )


def _with_value(figure: Figure) -> str:
    return f"{figure.part.label} ({number(figure.part.percent)} %, HLB {number(figure.entry.hlb or 0, 3)})"


def _remedy(sheet: Worksheet, balance: hlb.Balance, emulsifiers: list[Figure]) -> str:
    """The proportion that would meet it, with what is there or else with a partner of the usual kind."""
    total = min(100.0, amount(each.part for each in emulsifiers))
    low = min((each.entry for each in emulsifiers), key=lambda entry: entry.hlb or 0)
    high = max((each.entry for each in emulsifiers), key=lambda entry: entry.hlb or 0)
    if balance.required < (low.hlb or 0):
        low = hlb.Part("a lipophilic partner", 0, sheet.limit("HLB of a lipophilic partner"))
    elif balance.required > (high.hlb or 0):
        high = hlb.Part("a hydrophilic partner", 0, sheet.limit("HLB of a hydrophilic partner"))
    try:
        pair = hlb.pair(balance.required, low.hlb or 0, high.hlb or 0, total)
    except Unreachable:
        return "Take a more hydrophilic emulsifier beside it."
    return (
        f"Of {number(total, 3)} % in all, {share(pair.low_percent)} {_short(low)} and {share(pair.high_percent)} "
        f"{_short(high)} would meet it."
    )


def _short(entry: hlb.Part) -> str:
    return f"{entry.name} (HLB {number(entry.hlb or 0, 3)})"
