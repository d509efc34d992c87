"""Filled hotter than the pack or the product bears."""

from collections.abc import Iterator

from formcheck.bench.thermal import Filling
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius
from formcheck_rules.heat._setting import sets

_GRACE = "grace at a filling temperature"

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
    if hot > limit + sheet.limit(_GRACE):
        yield rule.finding(
            filling.step,
            f"filled at {celsius(hot)} into {pack.material}, which is filled at up to {celsius(limit)}",
            remedy=f"Fill below {celsius(limit)}, or take a pack that bears the heat.",
            source=sheet.cite_limit(name),
            step=filling.step.number,
        )


def _product(sheet: Worksheet, filling: Filling, hot: float) -> Iterator[Finding]:
    name = "hot fill of a product with water"
    limit = sheet.limit(name)
    if hot <= limit + sheet.limit(_GRACE):
        return
    watery = sum(part.amount for item in filling.items for part in sheet.parts_of(item) if part.material.is_a("water"))
    if watery > sheet.oil_percent and not sets(sheet):
        yield rule.finding(
            filling.step,
            f"filled at {celsius(hot)} with {watery:.0f} % water in it; filled above {celsius(limit)} water condenses under the cap",
            remedy=f"Let it cool below {celsius(limit)} before it is filled, covered so that nothing falls in.",
            source=sheet.cite_limit(name),
            harm="untidy",
            step=filling.step.number,
        )
