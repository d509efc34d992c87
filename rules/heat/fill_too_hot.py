"""Filled hotter than the pack or the product bears."""

from collections.abc import Iterator

from formcheck.bench.soap import soap_made
from formcheck.bench.thermal import Filling
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius

rule = declare(
    finds="a product filled above what the pack or the product bears",
    harm="fails",
    why="A pack that is filled too hot bends, shrinks or leaks; under the cap of a hot watery product water condenses.",
    remedy="Let it cool before it is filled, or take a pack that bears the heat.",
    needs=("procedure",),
    facts=("form", "counter-ions"),
    sources=("common-practice", "polymer-handbook"),
    flawed="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
procedure:
  - heat: A
    to: 78 °C
  - fill: A
packaging: {container: jar, material: PET, wall: opaque}
""",
    mended="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
procedure:
  - heat: A
    to: 78 °C
  - cool: A
    to: 60 °C
  - fill: A
packaging: {container: jar, material: PET, wall: opaque}
""",
)

POURED_HOT = ("bar", "soap", "stick", "lip balm", "lipstick", "solid perfume", "balm")
SOLID = ("powder", "flakes", "granules", "solid")
SODIUM = "Na+"


def check(sheet: Worksheet) -> Iterator[Finding]:
    for filling in sheet.thermal.fillings:
        if filling.celsius is not None:
            yield from _pack(sheet, filling, filling.celsius)
            yield from _product(sheet, filling, filling.celsius)


def _pack(sheet: Worksheet, filling: Filling, hot: float) -> Iterator[Finding]:
    pack = sheet.formula.packaging
    name = f"hot fill, {pack.material.upper()}" if pack and pack.material else ""
    if not name or name not in sheet.reference.limits or pack is None:
        return
    limit = sheet.limit(name)
    if hot > limit + 1:
        yield rule.finding(
            filling.step,
            f"filled at {celsius(hot)} into {pack.material}, which is filled at up to {celsius(limit)}",
            remedy=f"Fill below {celsius(limit)}, or take a pack that bears the heat.",
            source=sheet.cite_limit(name),
            step=filling.step.number,
        )


def _product(sheet: Worksheet, filling: Filling, hot: float) -> Iterator[Finding]:
    name = "hot fill of a product with water"
    watery = sum(part.amount for item in filling.items for part in sheet.parts_of(item) if part.material.is_a("water"))
    limit = sheet.limit(name)
    if watery > sheet.oil_percent and hot > limit + 1 and not _sets(sheet):
        yield rule.finding(
            filling.step,
            f"filled at {celsius(hot)} with {watery:.0f} % water in it; filled above {celsius(limit)} water condenses under the cap",
            remedy=f"Let it cool below {celsius(limit)} before it is filled, covered so that nothing falls in.",
            source=sheet.cite_limit(name),
            harm="untidy",
            step=filling.step.number,
        )


def _sets(sheet: Worksheet) -> bool:
    """Whether it has to be poured hot because it sets as it cools: bars and sticks, by name or by what sets them."""
    if sheet.product.form in POURED_HOT or sheet.holds("heat-set gum"):
        return True
    waxes = float(sheet.percent_of("wax"))
    return waxes >= sheet.limit("wax that sets a product") or _hard_soap(sheet) >= sheet.limit(
        "soap that sets a product"
    )


def _hard_soap(sheet: Worksheet) -> float:
    """% w/w of soap that is solid as bought, or made with soda rather than potash."""
    bought = sum(p.amount for p in sheet.outer("soap") if sheet.value(p.material, "form") in SOLID)
    soda = any(
        SODIUM in dict(p.material.value("counter-ions") or ()) for p in sheet.parts if p.material.is_a("strong base")
    )
    return bought + (soap_made(sheet) if soda else 0.0)
