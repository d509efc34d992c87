"""A preservative that goes into the oil of an emulsion and is missing in its water."""

from collections.abc import Iterator

from formcheck.bench.preservation import Guard
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, number, share
from formcheck_rules.preservation._words import CHALLENGE, of

rule = declare(
    finds="an emulsion whose oil draws so much of the preservative in that too little is left in the water",
    harm="fails",
    why=(
        "Germs live in the water. A preservative that likes oil better leaves it, the more so the more oil there is; "
        "vegetable oils and esters draw far more than mineral oil."
    ),
    remedy="Use a preservative that stays in water, or add one, or raise the dose within its limit.",
    facts=("log P", "dose"),
    sources=("bean-1972", "kazmi-mitchell-1978"),
    flawed="""
formcheck: 1
name: Potting-shed hand cream
phases:
  A: {Helianthus Annuus Seed Oil: 30, Glyceryl Stearate Citrate: 4, Cetearyl Alcohol: 3, Tocopherol: 0.2}
  B: {Aqua: q.s., Glycerin: 4, Propylparaben: 0.1, Disodium EDTA: 0.1}
finished: {pH: 5.5}
""",
    mended="""
formcheck: 1
name: Potting-shed hand cream
phases:
  A: {Helianthus Annuus Seed Oil: 30, Glyceryl Stearate Citrate: 4, Cetearyl Alcohol: 3, Tocopherol: 0.2}
  B: {Aqua: q.s., Glycerin: 4, Propylparaben: 0.1, Methylparaben: 0.2, Disodium EDTA: 0.1}
  C: {Phenoxyethanol: 0.7}
finished: {pH: 5.5}
""",
)


def concerns(sheet: Worksheet) -> bool:
    preservation = sheet.preservation
    oily = sheet.oil_percent >= sheet.limit("oil phase that matters")
    return oily and preservation.holds_water and bool(preservation.preservatives)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    preservation = sheet.preservation
    if preservation.keeps_itself or preservation.strength(preservation.working) < 1:
        return
    blank = [guard for guard in preservation.preservatives if _unsaid(guard)]
    if len(blank) == len(preservation.preservatives):
        yield rule.unchecked(f"how much of {names(of(blank))} the oil takes: add «log P: ...» under «materials:»")
    elif preservation.strength(preservation.free) < 1 and _drawn(sheet):
        yield _finding(sheet)


def _unsaid(guard: Guard) -> bool:
    """No log P is known; a quaternary needs none, it does not leave the water."""
    return guard.material.value("log P") is None and not guard.material.is_a("cationic preservative")


def _drawn(sheet: Worksheet) -> list[Guard]:
    """The preservatives of which the oil takes a part; where it takes only a booster's, another rule speaks."""
    preservation = sheet.preservation
    return [guard for guard in preservation.preservatives if preservation.free(guard) < preservation.working(guard)]


def _finding(sheet: Worksheet) -> Finding:
    preservation = sheet.preservation
    drawn = _drawn(sheet)
    left = preservation.strength(preservation.free)
    return rule.finding(
        drawn[0].parts[0].item.line,
        f"{share(sheet.oil_percent)} of oil to {share(preservation.water_phase_percent)} of water phase: free in the water "
        f"stays {names(_stays(sheet, guard) for guard in drawn)}, {number(100 * left, 2)} % of the least that works",
        remedy=f"{rule.remedy} {CHALLENGE}.",
        source=sheet.cite_limit("log K less log P, vegetable oil", "log K less log P, hydrocarbon"),
        harm="untidy" if left >= sheet.limit("all but enough in the water") else None,
        materials=of(drawn),
    )


def _stays(sheet: Worksheet, guard: Guard) -> str:
    part = sheet.preservation.in_water(guard)
    return f"about {share(100 * part)} of {guard.label} (log P {number(guard.material.value('log P'), 3)})"
