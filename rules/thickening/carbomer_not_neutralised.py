"""An acid polymer that no base turns into a thickener, or that meets the base while it is dry."""

from collections.abc import Iterator

from formcheck.bench.composition import Item, Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, number, percent
from formcheck_rules.thickening._bases import BASES, PH_STEPS, acid_polymers, neutralised
from formcheck_rules.thickening._water import dry, label, meeting

rule = declare(
    finds="an acrylic acid polymer or the like with no base, or neutralised before it is wetted",
    harm="fails",
    why=(
        "As the acid the polymer lies coiled and thickens next to nothing; a base charges the coils and they swell. "
        "Where the base is in the water already, every grain seals itself in gel and stays a lump."
    ),
    remedy="Wet the polymer out in water first, then neutralise it with a base.",
    facts=("needs neutralising", "equivalent mass", "pKa", "pH window", "as supplied pH"),
    sources=("handbook-excipients-2009", "ph-int-carbomer-2003"),
    flawed="""
formcheck: 1
name: Compost heap hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Carbomer: 0.5, Glycerin: 4, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
""",
    mended="""
formcheck: 1
name: Compost heap hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Carbomer: 0.5, Glycerin: 4, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
  B: {Sodium Hydroxide Solution 20 Percent: 1}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return bool(acid_polymers(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    acids = acid_polymers(sheet)
    if neutralised(sheet):
        yield from _too_early(sheet, list(dry(sheet, acids)))
    elif acids:
        yield _no_base(sheet, acids)


def _no_base(sheet: Worksheet, acids: list[Part]) -> Finding:
    unknown = [item.name for item in sheet.items if not item.material.known]
    film = all(part.material.is_a("acrylic emulsion thickener") for part in acids)
    facts = [fact for part in acids if (fact := sheet.fact(part.material, "needs neutralising"))]
    doubt = f", unless {names(unknown)} brings one" if unknown else ""
    return rule.finding(
        acids[0].item.line,
        f"{names(map(label, acids))} thickens only once a base is added, and there is none{doubt}",
        remedy=_need(sheet, acids),
        source=sheet.cite(*facts),
        harm="untidy" if unknown or film else None,
        materials=[part.material.name for part in acids],
    )


def _need(sheet: Worksheet, acids: list[Part]) -> str:
    """About how much sodium hydroxide it takes, from the polymer's acid groups."""
    groups = 0.0
    for part in acids:
        mass = sheet.value(part.material, "equivalent mass")
        groups += part.amount / float(mass) if mass else 0.0
    base = sheet.book.find("Sodium Hydroxide")
    if not groups or base is None or base.molar_mass is None:
        return rule.remedy
    amount = groups * base.molar_mass * sheet.limit("degree of neutralising") / 100
    return (
        f"{rule.remedy} It takes roughly {percent(round(amount, 2), 2)} of {base.name}, or the equivalent of another base: "
        "add it as a dilute solution, bit by bit, and go by the meter."
    )


def _too_early(sheet: Worksheet, acids: list[Part]) -> Iterator[Finding]:
    """Polymers that come dry into water which already holds the base."""
    groups: dict[int, list[Part]] = {}
    found: dict[int, list[str]] = {}
    for part in acids:
        met = meeting(sheet, part.item)
        if met is None or met.step is None or not met.directly or met.step.verb in PH_STEPS:
            continue
        entry = sheet.thermal.entry_of(part.item)
        there = _bases_in(sheet, entry.before if entry else ())
        if there:
            groups.setdefault(met.step.number, []).append(part)
            found[met.step.number] = there
    for number_, parts in groups.items():
        step = sheet.formula.procedure[number_ - 1]
        facts: list[Fact] = [fact for part in parts if (fact := sheet.fact(part.material, "needs neutralising"))]
        yield rule.finding(
            step,
            f"step {step.number} ({step.verb}) puts {names(map(label, parts))} dry into water that already holds "
            f"{names(found[number_])}",
            remedy=f"Keep {names(found[number_])} back until the polymer is wetted out and free of lumps.",
            source=sheet.cite(*facts),
            materials=[*(part.material.name for part in parts), *found[number_]],
            step=step.number,
        )


def _bases_in(sheet: Worksheet, items: tuple[Item, ...]) -> list[str]:
    """Bases in a vessel, in amounts that matter."""
    least = sheet.limit("base that counts beside a dry polymer")
    return [
        f"{part.label} ({number(part.percent)} %)"
        for item in items
        for part in sheet.parts_of(item)
        if part.material.is_a(BASES[0]) and part.amount >= least
    ]
