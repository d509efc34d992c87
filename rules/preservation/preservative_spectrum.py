"""A system of preservatives that leaves bacteria, yeasts or moulds uncovered."""

from collections.abc import Iterator

from formcheck.bench.preservation import FAIR
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names
from formcheck_rules.preservation._words import CHALLENGE, GERMS, germs, of

rule = declare(
    finds="a preservative system that as a whole leaves bacteria, yeasts or moulds uncovered",
    harm="fails",
    why=(
        "Every preservative has a gap, and what it does not hold has the product to itself. Acids are weak on bacteria, "
        "most others on moulds, so preservatives are used in pairs."
    ),
    remedy="Add a partner that covers the gap, at a dose and a pH at which it works.",
    facts=("spectrum", "dose", "minimum free acid"),
    sources=("cosmetics-preservation-2018",),
    flawed="""
formcheck: 1
name: Potting-shed hand lotion
phases:
  A: {Aqua: q.s., Glycerin: 5, Xanthan Gum: 0.5, Iodopropynyl Butylcarbamate: 0.01, Disodium EDTA: 0.1}
finished: {pH: 5.5}
product: {use: leave-on, form: lotion, area: [hands], users: [adults]}
""",
    mended="""
formcheck: 1
name: Potting-shed hand lotion
phases:
  A: {Aqua: q.s., Glycerin: 5, Xanthan Gum: 0.5, Iodopropynyl Butylcarbamate: 0.01, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.8}
finished: {pH: 5.5}
product: {use: leave-on, form: lotion, area: [hands], users: [adults]}
""",
)


def concerns(sheet: Worksheet) -> bool:
    preservation = sheet.preservation
    return preservation.holds_water and bool(preservation.preservatives)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    preservation = sheet.preservation
    if preservation.keeps_itself or preservation.strength() < 1:
        return
    if preservation.ungraded:
        yield rule.unchecked(
            f"which germs {names(of(preservation.ungraded))} holds: add «spectrum: {{bacteria: ..., yeast: ..., mould: ...}}» "
            "under «materials:»"
        )
        return
    coverage = preservation.coverage()
    if coverage["bacteria"] < FAIR and _acid_enough_for_bacteria(sheet):
        coverage["bacteria"] = FAIR
    gaps = [kingdom for kingdom, grade in coverage.items() if grade < FAIR]
    if gaps:
        yield _finding(sheet, coverage, gaps)


def _acid_enough_for_bacteria(sheet: Worksheet) -> bool:
    """So much free acid that bacteria are held as well; taken to be so where no pH is stated."""
    acids = sheet.preservation.acids
    if not acids:
        return False
    return sum(state.share for state in acids) >= sheet.limit("free acid for bacteria")


def _finding(sheet: Worksheet, coverage: dict[str, int], gaps: list[str]) -> Finding:
    guards = sheet.preservation.guards
    none = [kingdom for kingdom in gaps if not coverage[kingdom]]
    weak = [kingdom for kingdom in gaps if coverage[kingdom]]
    said = [f"{germs(none)} not at all" if none else "", f"{germs(weak)} only weakly" if weak else ""]
    return rule.finding(
        sheet.preservation.preservatives[0].parts[0].item.line,
        f"{names(guard.label for guard in guards)} together hold {' and '.join(text for text in said if text)}"
        if len(guards) > 1
        else f"{guards[0].label} alone holds {' and '.join(text for text in said if text)}",
        harm=_harm(sheet, none, weak),
        remedy=f"Add what is strong against {germs(gaps)}. {CHALLENGE}.",
        source=sheet.cite(*(fact for guard in guards if (fact := sheet.fact(guard.material, "spectrum")))),
        materials=of(guards),
    )


def _harm(sheet: Worksheet, none: list[str], weak: list[str]) -> str | None:
    """Uncovered germs, or weakly held bacteria at a known pH, are a fault; a weak flank against yeast or mould is less."""
    first = next(iter(GERMS))
    acids = any(guard.is_acid for guard in sheet.preservation.preservatives)
    bacteria = first in weak and not (acids and sheet.pH is None)
    return None if none or bacteria else "untidy"
