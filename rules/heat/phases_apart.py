"""Oil and water that meet at different temperatures."""

from collections.abc import Iterator

from formcheck.bench.composition import Item, Part
from formcheck.bench.thermal import Merging
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names, number
from formcheck_rules.heat._melting import low, solids

rule = declare(
    finds="oil and water phases that meet far apart in temperature, or below the melting point of what is in them",
    harm="untidy",
    why=(
        "Where hot oil with wax meets cooler water the wax sets before it is finely divided: the cream turns grainy, "
        "coarse or lumpy."
    ),
    remedy="Bring both phases to the same temperature, some degrees above the highest melting point, before they meet.",
    needs=("procedure",),
    facts=("melting point",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Allotment foot cream
product: {use: leave-on, form: cream}
phases:
  A: {Aqua: q.s., Glycerin: 5, Phenoxyethanol: 0.9, Sodium Phytate: 0.1}
  B: {Cetearyl Alcohol: 5, Cetearyl Olivate: 3, Sorbitan Olivate: 2, Helianthus Annuus Seed Oil: 12}
procedure:
  - heat: B
    to: 75 °C
  - add: B
    into: A
  - homogenise: A
    for: 3 min
  - fill: A
""",
    mended="""
formcheck: 1
name: Allotment foot cream
product: {use: leave-on, form: cream}
phases:
  A: {Aqua: q.s., Glycerin: 5, Sodium Phytate: 0.1}
  B: {Cetearyl Alcohol: 5, Cetearyl Olivate: 3, Sorbitan Olivate: 2, Helianthus Annuus Seed Oil: 12}
  C: {Phenoxyethanol: 0.9}
procedure:
  - heat: A
    to: 75 °C
  - heat: B
    to: 75 °C
  - add: B
    into: A
  - homogenise: A
    for: 3 min
  - cool: A
    to: 38 °C
  - add: C
    into: A
  - fill: A
""",
)


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("water") and sheet.holds("oil") and len(sheet.formula.phases) > 1


def check(sheet: Worksheet) -> Iterator[Finding]:
    for merging in sheet.thermal.mergings:
        if not _may_set(sheet, merging):
            continue
        sides = (merging.poured_items, merging.into_items)
        oil = next((items for items in sides if _share(sheet, items, "oil") > 0.5), None)
        if oil is not None and any(_share(sheet, items, "water") > 0.5 for items in sides):
            yield from _judge(sheet, merging, oil)


def _may_set(sheet: Worksheet, merging: Merging) -> bool:
    """Whether anything in the formula is solid at the temperature that the two come to."""
    warm = merging.moment.celsius
    if warm is None or merging.poured_celsius is None or merging.into_celsius is None:
        return False
    return any(warm < low(melting) for _, melting in solids(sheet))


def _judge(sheet: Worksheet, merging: Merging, oil: tuple[Item, ...]) -> Iterator[Finding]:
    warm = merging.moment.celsius
    setting = [(p, m) for p, m in solids(sheet, oil) if warm is not None and warm < low(m) - _dissolved(sheet, p, oil)]
    apart = abs((merging.poured_celsius or 0) - (merging.into_celsius or 0))
    most = sheet.limit("oil and water phases apart")
    if not setting or (apart <= most and not _both_warm(sheet, merging)):
        return
    step = merging.step
    yield rule.finding(
        step,
        f"{merging.poured} at {celsius(merging.poured_celsius or 0)} meets {merging.into} at {celsius(merging.into_celsius or 0)} "
        f"at step {step.number}, {number(apart, 2)} K apart; together {celsius(merging.moment.celsius or 0)}, and "
        + names(f"{p.label} sets below {celsius(low(m))}" for p, m in setting),
        remedy=f"Bring both to about {celsius(max(low(m) for _, m in setting) + 5)}, at most {number(most)} K apart, before they meet.",
        source=sheet.cite(sheet.reference.limit("oil and water phases apart"), *(m for _, m in setting)),
        materials=[p.material.name for p, _ in setting],
        step=step.number,
    )


def _dissolved(sheet: Worksheet, part: Part, oil: tuple[Item, ...]) -> float:
    """Degrees by which a little wax sets later for being dissolved in much other oil."""
    whole = sum(p.amount for item in oil for p in sheet.parts_of(item) if p.material.is_a("oil"))
    little = 100 * part.amount <= sheet.limit("little wax in much oil") * whole
    return sheet.limit("hot oil dissolves waxes below their melting point by") if little else 0.0


def _both_warm(sheet: Worksheet, merging: Merging) -> bool:
    """Whether both sides were heated, so that only the mixture is too cool."""
    return min(merging.poured_celsius or 0, merging.into_celsius or 0) > sheet.formula.room_celsius + 5


def _share(sheet: Worksheet, items: tuple[Item, ...], kind: str) -> float:
    whole = sum(item.amount for item in items)
    parts = [part for item in items for part in sheet.parts_of(item) if kind in part.material.classes]
    return sum(part.amount for part in parts) / whole if whole else 0.0
