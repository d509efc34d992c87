"""Fragrance allergens that the list of ingredients has to name."""

from collections.abc import Iterator
from decimal import Decimal

from formcheck.bench import law
from formcheck.bench.composition import EXACT, Component
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold
from formcheck.reference.legal import Allergen
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, share

rule = declare(
    finds="fragrance allergens over the declaration threshold, from essential oils too",
    harm="worth knowing",
    why="People who are allergic to one of them find it only if the list of ingredients names it.",
    remedy="Name them at the end of the list of ingredients; take the true contents from the supplier's allergen sheet.",
    facts=("allergens",),
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm, markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
  B: {Lavandula Angustifolia Oil: 0.5}
packaging: {container: tin, material: aluminium, wall: opaque}
""",
    mended="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm, markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
packaging: {container: tin, material: aluminium, wall: opaque}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    contents = _contents(sheet)
    for market in law.markets(sheet):
        over = _over(sheet, market, contents)
        if over:
            place = sheet.formula.product.places.get("markets", sheet.formula.place)
            listed = names((f"{name} about {share(float(amount))}" for name, amount in over), most=len(over))
            first = next(iter(contents.values()))[1]
            use = sheet.product.use or "leave-on (assumed)"
            yield rule.finding(
                first.line if contents else (place, "/product/markets"),
                f"to be named in {market} ({use}): {listed}",
                source=_source(sheet, market, over[0][0]),
                materials=[name for name, _ in over],
            )
    for part in sheet.outer("fragrance"):
        if not part.material.facts.get("allergens") and not part.material.is_a("fragrance allergen", "essential oil"):
            yield rule.unchecked(
                f"the allergens of {part.label}: add «allergens:» under «materials:» from its allergen sheet"
            )


def _contents(sheet: Worksheet) -> dict[str, tuple[Decimal, Component]]:
    """Folded name of what may be an allergen -> (% w/w of the product, the first component that brings it)."""
    found: dict[str, tuple[Decimal, Component]] = {}
    for component in sheet.components:
        shares = dict(sheet.value(component.material, "allergens") or ())
        own = fold(component.name)
        for name, percent in ((component.name, 100.0), *shares.items()):
            if fold(name) == own and percent != 100.0:
                continue
            amount = EXACT.divide(EXACT.multiply(component.percent, Decimal(repr(percent))), Decimal(100))
            before = found.get(fold(name), (Decimal(0), component))
            found[fold(name)] = (before[0] + amount, before[1])
    return found


def _over(sheet: Worksheet, market: str, contents: dict[str, tuple[Decimal, Component]]) -> list[tuple[str, Decimal]]:
    known = sheet.legal.allergens(market)
    sums: dict[str, Decimal] = {}
    entries: dict[str, Allergen] = {}
    for name, (amount, _) in contents.items():
        allergen = known.get(name)
        if allergen is not None and allergen.applies_from <= sheet.today.isoformat():
            entries[allergen.declare_as] = allergen
            sums[allergen.declare_as] = sums.get(allergen.declare_as, Decimal(0)) + amount
    over = [(name, amount) for name, amount in sums.items() if amount > _threshold(sheet, entries[name])]
    return sorted(over, key=lambda pair: -pair[1])


def _threshold(sheet: Worksheet, allergen: Allergen) -> Decimal:
    return allergen.rinse_off_percent if sheet.product.use == "rinse-off" else allergen.leave_on_percent


def _source(sheet: Worksheet, market: str, name: str) -> str:
    allergen = sheet.legal.allergens(market).get(fold(name))
    return allergen.source if allergen else ""
