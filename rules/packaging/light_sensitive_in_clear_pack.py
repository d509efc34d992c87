"""Something that light destroys in a pack that lets light in."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, percent

rule = declare(
    finds="something that light destroys in a pack that lets light in",
    harm="fails",
    why="Light breaks it down within weeks of standing on a shelf: the product browns, and the active is gone.",
    remedy="Take an opaque, amber or cobalt pack.",
    needs=("packaging",),
    facts=("light sensitivity",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden night oil
product: {use: leave-on, form: oil, area: [face]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Retinol: 0.1, Tocopherol: 0.5}
packaging: {container: dropper bottle, material: glass, wall: clear}
""",
    mended="""
formcheck: 1
name: Garden night oil
product: {use: leave-on, form: oil, area: [face]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Retinol: 0.1, Tocopherol: 0.5}
packaging: {container: dropper bottle, material: glass, wall: amber}
""",
)


def sensitive(sheet: Worksheet, grade: str) -> list[tuple[Part, Fact]]:
    """What light harms to this grade, in an amount that matters."""
    least = sheet.limit("share that matters in light or air")
    found = sheet.with_fact("light sensitivity")
    return [(part, fact) for part, fact in found if fact.value == grade and part.amount >= least]


@once
def _affected(sheet: Worksheet) -> list[tuple[Part, Fact]]:
    """What light destroys; where there is nothing of that kind, actives that it slowly degrades."""
    return sensitive(sheet, "high") or [each for each in sensitive(sheet, "some") if each[0].material.is_a("active")]


def concerns(sheet: Worksheet) -> bool:
    return bool(_affected(sheet))


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    found = _affected(sheet)
    destroyed = all(fact.value == "high" for _, fact in found)
    pack = sheet.formula.packaging
    if pack is None or sheet.lets_light_in is False:
        return
    if sheet.lets_light_in is None:
        yield rule.unchecked("whether the pack lets light in: add «packaging: {wall: ...}»")
        return
    place = pack.places.get("wall", pack.place)
    carton = " in a carton" if pack.carton else ""
    yield rule.finding(
        (place, "/packaging/wall"),
        f"{pack.wall} pack{carton}, and light {'destroys' if destroyed else 'slowly degrades'} {names(f'{p.label} ({percent(p.percent)})' for p, _ in found)}",
        remedy=(
            "The carton protects it in the shop, not on the bathroom shelf: say so on the label, or take an opaque pack."
            if pack.carton
            else rule.remedy
        ),
        source=sheet.cite(*(fact for _, fact in found)),
        harm=None if destroyed and not pack.carton else "worth knowing",
        materials=[part.material.name for part, _ in found],
    )
