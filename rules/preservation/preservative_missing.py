"""Water, and nothing that keeps germs out of it."""

from collections.abc import Iterator

from formcheck.bench.preservation import FAIR
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, number, share
from formcheck_rules.preservation._words import CHALLENGE, amounts, germs, main_water, of

rule = declare(
    finds="water without a preservative, where nothing else makes the product poor soil for germs",
    harm="unpreserved",
    why=(
        "Water with a little food in it grows bacteria, yeasts and moulds within days to weeks, mostly without a change "
        "that can be seen or smelt. They can infect skin and eyes."
    ),
    remedy="Add a preservative system that covers bacteria, yeasts and moulds at the finished pH.",
    facts=("spectrum", "dose", "Norrish K", "preserves from"),
    sources=("iso-29621-2017",),
    flawed="""
formcheck: 1
name: Allotment foot lotion
phases:
  A: {Aqua: q.s., Glycerin: 5, Panthenol: 1, Hydroxyethylcellulose: 0.8}
finished: {pH: 5.5}
""",
    mended="""
formcheck: 1
name: Allotment foot lotion
phases:
  A: {Aqua: q.s., Glycerin: 5, Panthenol: 1, Hydroxyethylcellulose: 0.8, Disodium EDTA: 0.1}
  B: {Phenoxyethanol and Ethylhexylglycerin: 1}
finished: {pH: 5.5}
""",
)

_PLAINLY_NOT = (
    "extract", "oil", "butter", "wax", "juice", "water", "powder", "clay", "fragrance", "perfume", "parfum", "colour",
    "color", "dye", "mica", "pigment",
)  # fmt: skip


def concerns(sheet: Worksheet) -> bool:
    return sheet.preservation.holds_water


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    preservation = sheet.preservation
    if preservation.preservatives or preservation.low_risk.low_risk or preservation.kept_by_soap:
        return
    if preservation.astringent_share >= 1:
        return
    unknown = _may_preserve(sheet)
    if unknown:
        yield rule.unchecked(
            f"whether {names(unknown)} preserves: describe it under «materials:» with «class: preservative», "
            "«dose:» and «spectrum:»"
        )
    elif _may_be_extreme(sheet):
        low, high = number(sheet.limit("low risk, acid pH")), number(sheet.limit("low risk, alkaline pH"))
        yield rule.unchecked(
            f"the finished pH: add «finished: {{pH: ...}}»; up to {low} or from {high} it needs no preservative"
        )
    else:
        yield _finding(sheet)


def _finding(sheet: Worksheet) -> Finding:
    preservation = sheet.preservation
    if preservation.solvent_share >= 1:
        return _by_solvents(sheet)
    if preservation.boosters:
        return _by_boosters(sheet)
    if _water_locked_in(sheet):
        return _water_in_oil(sheet)
    return rule.finding(
        main_water(sheet).line,
        f"{share(sheet.water_percent)} of water and no preservative{_traces(sheet)}{_state(sheet)}",
        harm=_harm(sheet),
        remedy=f"{rule.remedy}{_other_ways(sheet)}",
        source=_source(sheet),
        materials=[main_water(sheet).material.name],
    )


def _harm(sheet: Worksheet) -> str | None:
    """Less where little grows: alcohol, glycol or astringent salts all but enough, or water for yeasts and moulds only."""
    preservation, limit = sheet.preservation, sheet.limit
    activity = preservation.activity
    dry = activity is not None and activity.high <= limit("water activity of yeast and mould only")
    if preservation.solvent_share >= limit("solvents all but enough") or (dry and sheet.product.form == "toothpaste"):
        return "untidy"
    if preservation.astringent_share >= limit("solvents nearly enough"):
        return "untidy"
    return "fails" if dry or preservation.solvent_share >= limit("solvents nearly enough") else None


def _by_solvents(sheet: Worksheet) -> Finding:
    keepers = sheet.preservation.keepers
    whole = sheet.preservation.water_phase_percent
    parts = names(f"{part.label} {share(100 * amount / whole)}" for part, amount, _ in keepers)
    return rule.finding(
        keepers[0][0].item.line,
        f"no preservative; the water phase holds {parts}, which keeps it by itself",
        harm="worth knowing",
        why="Enough of an alcohol or glycol leaves germs no water; less of it, or water added later, and they grow.",
        remedy=f"Keep that share when you change the formula. {CHALLENGE}.",
        source=sheet.cite(*(fact for part, _, _ in keepers if (fact := sheet.fact(part.material, "preserves from")))),
        materials=[part.material.name for part, _, _ in keepers],
    )


def _by_boosters(sheet: Worksheet) -> Finding:
    preservation = sheet.preservation
    coverage = preservation.coverage()
    open_to = [kingdom for kingdom, grade in coverage.items() if grade < FAIR]
    system = not open_to and preservation.strength() >= sheet.limit("most that boosters count")
    found = f"no preservative, only what helps one: {amounts(preservation.boosters)}"
    return rule.finding(
        preservation.boosters[0].parts[0].item.line,
        found + (f"; {germs(open_to)} hardly held" if open_to else ""),
        harm="untidy" if system else "fails",
        why="Such helpers rarely hold all germs for the life of a product; whether these do, only a test can tell.",
        remedy=f"Add a preservative, or prove the system. {CHALLENGE}.",
        source=sheet.cite(*(f for g in preservation.boosters if (f := sheet.fact(g.material, "spectrum")))),
        materials=of(preservation.boosters),
    )


def _water_locked_in(sheet: Worksheet) -> bool:
    """Little water in much oil: such a cream holds its water in drops, in which germs starve.

    Not so where plant waters bring germs and food for them.
    """
    water = sheet.preservation.water_phase_percent
    if sheet.holds("plant water", "natural food"):
        return False
    return water <= sheet.limit("water locked in oil") and sheet.oil_percent > sheet.limit("oil around it") * water


def _water_in_oil(sheet: Worksheet) -> Finding:
    return rule.finding(
        main_water(sheet).line,
        f"{share(sheet.water_percent)} of water in {share(sheet.oil_percent)} of oil and no preservative",
        harm="untidy",
        why=(
            "Shut in as drops in oil, water feeds germs only slowly; pharmacies leave such creams without preservative "
            "for some weeks. Fingers and condensed water on top still bring mould."
        ),
        remedy="Keep it for weeks, not months, in a tube rather than a jar; for a longer life add a preservative.",
        source=sheet.cite_limit("water locked in oil"),
        materials=[main_water(sheet).material.name],
    )


def _traces(sheet: Worksheet) -> str:
    traces = sheet.preservation.present
    return f" but traces ({amounts(traces)})" if traces else ""


def _state(sheet: Worksheet) -> str:
    activity = sheet.preservation.activity
    most = sheet.limit("low risk, water activity")
    if activity is None or activity.aw >= sheet.limit("water activity of plain water"):
        return ""
    return f"; its water activity is about {number(activity.aw, 2)}, low risk is at most {number(most)}"


def _other_ways(sheet: Worksheet) -> str:
    alcohol = number(sheet.limit("low risk, alcohol"))
    low, high = number(sheet.limit("low risk, acid pH")), number(sheet.limit("low risk, alkaline pH"))
    return f" It would do without at {alcohol} % of alcohol, or at a pH up to {low} or from {high}."


def _source(sheet: Worksheet) -> str:
    return sheet.cite_limit("low risk, water activity", "low risk, acid pH", "low risk, alcohol")


def _may_preserve(sheet: Worksheet) -> list[str]:
    """Unknown materials at the dose of a preservative or at none, by no word of their name plainly something else."""
    most = sheet.limit("most of an unknown preservative")
    unknown = [part.material for part in sheet.parts if not part.material.known and 0 < part.amount <= most]
    unknown += [item.material for item in sheet.items if item.line.is_remainder and not item.material.known]
    names_ = dict.fromkeys(material.name for material in unknown)
    return [
        name
        for name in names_
        if not any(word in name.lower() for word in _PLAINLY_NOT) or _lists_a_preservative(sheet, name)
    ]


def _lists_a_preservative(sheet: Worksheet, name: str) -> bool:
    return any(part.is_a("preservative") for part in sheet.reference.parts_named(name))


def _may_be_extreme(sheet: Worksheet) -> bool:
    """Whether it may well be so alkaline or acid that it keeps by itself, and no pH is stated."""
    if sheet.pH is not None:
        return False
    if sheet.preservation.soap_percent >= sheet.limit("liquid soap") or _makes_soap(sheet):
        return True
    predicted = sheet.predicted_pH
    return predicted is not None and (
        predicted.pH >= sheet.limit("low risk, alkaline pH") or predicted.pH <= sheet.limit("low risk, acid pH")
    )


def _makes_soap(sheet: Worksheet) -> bool:
    """Lye with oils and no fatty acid that it would only neutralise."""
    return sheet.holds("strong base") and sheet.holds("vegetable oil", "butter") and not sheet.holds("fatty acid")
