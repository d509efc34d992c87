"""A system of preservatives that leaves bacteria, yeasts or moulds uncovered."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names
from formcheck_rules.preservation._coverage import BACTERIA, coverage, free_acid, gaps
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
    if _failed_acids(sheet):
        return
    open_to = gaps(sheet)
    if open_to:
        yield _finding(sheet, coverage(sheet), open_to)


def _failed_acids(sheet: Worksheet) -> bool:
    """Whether there are only acids, and the pH puts them out of work: another rule says so."""
    preservation = sheet.preservation
    if not preservation.acids or not all(guard.is_acid for guard in preservation.preservatives):
        return False
    return all(state.share < 1 for state in preservation.acids) and free_acid(sheet) < sheet.limit("acids together")


def _finding(sheet: Worksheet, grades: dict[str, int], open_to: list[str]) -> Finding:
    guards = sheet.preservation.guards
    none = [kingdom for kingdom in open_to if not grades[kingdom]]
    weak = [kingdom for kingdom in open_to if grades[kingdom]]
    said = [f"{germs(none)} not at all" if none else "", f"{germs(weak)} only weakly" if weak else ""]
    return rule.finding(
        sheet.preservation.preservatives[0].parts[0].item.line,
        f"{names(guard.label for guard in guards)} together hold {' and '.join(text for text in said if text)}"
        if len(guards) > 1
        else f"{guards[0].label} alone holds {' and '.join(text for text in said if text)}",
        harm=_harm(sheet, none, weak),
        remedy=f"Add what is strong against {germs(open_to)}. {CHALLENGE}.",
        source=sheet.cite(*(fact for guard in guards if (fact := sheet.fact(guard.material, "spectrum")))),
        materials=of(guards),
    )


def _harm(sheet: Worksheet, none: list[str], weak: list[str]) -> str | None:
    """A flank that is only weak against yeasts or against moulds is less than one that is open."""
    fungi = [kingdom for kingdom in GERMS if kingdom != BACTERIA]
    if none or set(fungi) <= set(weak):
        return None
    return None if BACTERIA in weak and not _nearly_enough_acid(sheet) else "untidy"


def _nearly_enough_acid(sheet: Worksheet) -> bool:
    """Whether acids hold bacteria nearly well enough, or may, where no pH is stated."""
    if sheet.pH is None:
        return any(guard.is_acid for guard in sheet.preservation.preservatives)
    return bool(free_acid(sheet) >= sheet.limit("free acid nearly for bacteria"))
