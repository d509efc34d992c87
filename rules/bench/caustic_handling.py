"""Strong acids, alkalis and other corrosive raw materials."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Step
from formcheck.reference.material import Material
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names
from formcheck_rules.bench._hazards import DECIDES, STRONG, amount, caustic, hazardous, in_steps, listed_with_amounts

rule = declare(
    finds="acids and alkalis that are corrosive as bought",
    harm="worth knowing",
    why="They burn eyes and skin within moments, and some heat up violently when water is poured on them.",
    remedy=(
        "Goggles, gloves and covered arms; water to rinse within reach; always the acid or alkali into the water, slowly, "
        f"never the water onto it; keep acids and alkalis apart. {DECIDES}"
    ),
    facts=("hazards",),
    sources=("clp-1272-2008", "common-practice"),
    flawed="""
formcheck: 1
name: Compost heap soap
product: {use: rinse-off, form: soap}
phases:
  A: {Olea Europaea Fruit Oil: q.s.}
  B: {Aqua: 25, Sodium Hydroxide: 9}
""",
    mended="""
formcheck: 1
name: Compost heap balm
product: {use: leave-on, form: balm}
phases:
  A: {Olea Europaea Fruit Oil: q.s., Cera Alba: 20}
""",
)


@once
def _corrosive(sheet: Worksheet) -> list[Item]:
    """Corrosive acids and alkalis: strong ones in any real amount, weak ones where more than the pH is moved with them."""
    return [item for item in hazardous(sheet, "corrosive") if caustic(sheet, item) and _enough(sheet, item)]


def _enough(sheet: Worksheet, item: Item) -> bool:
    strong = caustic(sheet, item, STRONG)
    least = sheet.limit("caution, corrosive" if strong else "caution, weakly corrosive")
    return bool(amount(sheet, item, "corrosive") >= least)


@once
def _added(sheet: Worksheet) -> list[Material]:
    """Strong acids and alkalis that only a step names."""
    return [material for material in in_steps(sheet, "corrosive") if material.is_a(*STRONG)]


def concerns(sheet: Worksheet) -> bool:
    return bool(_corrosive(sheet) or _added(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    items, added = _corrosive(sheet), _added(sheet)
    said = [listed_with_amounts(items)] if items else []
    if added:
        said.append(f"{names(material.name for material in added)} (as much as the pH needs)")
    if said:
        yield rule.finding(
            items[0].line if items else _step_with(sheet, added),
            f"corrosive as bought: {', '.join(said)}",
            source=sheet.cite_limit("caution, corrosive"),
            materials=[*(item.material.name for item in items), *(material.name for material in added)],
        )


def _step_with(sheet: Worksheet, added: list[Material]) -> Step:
    return next(step for step in sheet.formula.procedure if any(sheet.book.find(name) in added for name in step.with_))
