"""Raw materials that irritate, sensitise or harm while they are handled undiluted."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.worksheet import Worksheet, once
from formcheck.review.rule import Finding, declare
from formcheck_rules.bench._hazards import DECIDES, amount, caustic, has, hazardous, listed_with_amounts

rule = declare(
    finds="raw materials that irritate, sensitise or harm undiluted, in amounts that matter",
    harm="worth knowing",
    why=(
        "What is mild in the finished product is not so in the bottle it is bought in; and an allergy to a raw material, "
        "once made, stays."
    ),
    remedy=f"Gloves and goggles while weighing, no food at the bench, spills wiped up at once. {DECIDES}",
    facts=("hazards",),
    sources=("clp-1272-2008", "common-practice"),
    flawed="""
formcheck: 1
name: Potting shed muscle rub
product: {use: leave-on, form: balm, area: [body]}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Cera Alba: 20}
  B: {Camphor: 4, Eucalyptus Globulus Leaf Oil: 2}
""",
    mended="""
formcheck: 1
name: Potting shed rub
product: {use: leave-on, form: balm, area: [body]}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Cera Alba: 20}
  B: {Camphor: 0.1}
""",
)

KINDS = {"corrosive": "corrosive", "toxic": "harmful", "sensitiser": "sensitising", "irritant": "irritating"}
"""Gravest first: a material is named once, under the first that fits."""
SPIRITS = ("volatile alcohol",)
"""Their caution is the fire; on skin they merely dry."""
SCENTED = ("essential oil", "fragrance", "fragrance allergen")
SENSITISING = (*SCENTED, "preservative")
"""Kinds by which workers really become allergic; gums, wool fat and plant extracts are named in no caution."""


def _raw(sheet: Worksheet, kind: str) -> Iterator[Item]:
    """Lines with one kind of hazard, from its own threshold on."""
    for item in hazardous(sheet, kind):
        if _concerned(sheet, item, kind) and amount(sheet, item, kind) >= sheet.limit(_threshold(item, kind)):
            yield item


def _concerned(sheet: Worksheet, item: Item, kind: str) -> bool:
    """Whether it is for this rule to speak: acids, alkalis and spirits have cautions of their own."""
    if item.material.is_a(*SPIRITS) or (has(sheet, item, "corrosive") and caustic(sheet, item)):
        return False
    return kind != "sensitiser" or item.material.is_a(*SENSITISING)


def _threshold(item: Item, kind: str) -> str:
    if kind == "irritant" and item.material.is_a(*SCENTED):
        return "caution, sensitiser"
    return "caution, weakly corrosive" if kind == "corrosive" else f"caution, {kind}"


def concerns(sheet: Worksheet) -> bool:
    return bool(_grouped(sheet))


@once
def _grouped(sheet: Worksheet) -> dict[str, list[Item]]:
    """The lines by the gravest kind of hazard that they have."""
    groups: dict[str, list[Item]] = {}
    named: set[int] = set()
    for kind in KINDS:
        items = [item for item in _raw(sheet, kind) if id(item) not in named]
        named.update(map(id, items))
        if items:
            groups[kind] = items
    return groups


def check(sheet: Worksheet) -> Iterator[Finding]:
    groups = _grouped(sheet)
    if groups:
        items = [item for group in groups.values() for item in group]
        limits = {_threshold(item, kind) for kind, group in groups.items() for item in group}
        yield rule.finding(
            min(items, key=lambda item: item.line.place).line,
            "undiluted, " + "; ".join(f"{KINDS[kind]}: {listed_with_amounts(group)}" for kind, group in groups.items()),
            source=sheet.cite_limit(*sorted(limits)),
            materials=dict.fromkeys(item.material.name for item in items),
        )
