"""A preservative that hardly dissolves in water, stirred into cold water as it is."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator

from formcheck.bench.composition import Item, Part
from formcheck.bench.thermal import Moment
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, listed, names, percent
from formcheck_rules.preservation._words import of_parts

rule = declare(
    finds="a preservative that hardly dissolves in water put into it cold, without a solvent or solubiliser",
    harm="untidy",
    why="What floats about as grains or drops does not preserve, and nobody sees it in a cream or a gel.",
    remedy="Dissolve it first in a glycol, an alcohol or hot water, or use a soluble form.",
    needs=("procedure",),
    facts=("dissolves in", "solubility"),
    sources=("handbook-excipients-2009",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Hydroxyethylcellulose: 1, Disodium EDTA: 0.1}
  B: {Methylparaben: 0.2}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - hydrate: A
    for: 6 h
  - add: B
    into: A
  - mix: A
    for: 10 min
  - rest: A
    for: 12 h
  - fill: A
finished: {pH: 6}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Hydroxyethylcellulose: 1, Disodium EDTA: 0.1}
  B: {Propylene Glycol: 4, Methylparaben: 0.2}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - hydrate: A
    for: 6 h
  - mix: B
    for: 15 min
  - add: B
    into: A
  - mix: A
    for: 10 min
  - rest: A
    for: 12 h
  - fill: A
finished: {pH: 6}
""",
)

_GRAINS = ("powder", "crystals", "granules", "flakes", "solid")
_SOLVENTS = {
    "glycols": ("polyol",),
    "ethanol": ("volatile alcohol",),
    "oil": ("oil",),
    "alkali": ("base", "buffer"),
}


def concerns(sheet: Worksheet) -> bool:
    return bool(_stubborn(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    found: dict[tuple[int, bool], list[tuple[Part, Fact]]] = {}
    for part, fact in _stubborn(sheet):
        too_much = _too_much(sheet, part, fact)
        if _meets_water(sheet, part.item) and (too_much or _left_undissolved(sheet, part, fact)):
            step = _wetting(sheet, part.item).step
            found.setdefault((step.number if step else 0, too_much), []).append((part, fact))
    for (number, too_much), group in found.items():
        yield _finding(sheet, number, group, too_much)


def _stubborn(sheet: Worksheet) -> list[tuple[Part, Fact]]:
    """Solid preservatives that do not dissolve readily in cold water, as lines of their own."""
    parts = [part for part in sheet.outer("preservative") if part.blend is None]
    return [
        (part, fact)
        for part, fact in sheet.with_fact("dissolves in", parts)
        if "water" not in fact.value and part.material.value("form") in _GRAINS
    ]


def _meets_water(sheet: Worksheet, item: Item) -> bool:
    path = sheet.thermal.path_of(item)
    return bool(path) and _wet(sheet, path[-1])  # what is in a vessel stays in it


def _wetting(sheet: Worksheet, item: Item) -> Moment:
    """The first state in which it is with water."""
    path = sheet.thermal.path_of(item)
    return path[bisect_left(path, True, key=lambda moment: _wet(sheet, moment))]


def _wet(sheet: Worksheet, moment: Moment) -> bool:
    return any(part.material.is_a("water") for item in moment.items for part in sheet.parts_of(item))


def _left_undissolved(sheet: Worksheet, part: Part, fact: Fact) -> bool:
    """Whether it is never with what dissolves it: a solvent, or water that is hot enough."""
    hot = sheet.limit("hot enough to dissolve")
    path = sheet.thermal.path_of(part.item)
    for moment in path:
        if moment.celsius is None or ("hot water" in fact.value and moment.celsius >= hot):
            return False
    return not _solvent_there(sheet, part, fact, path[-1].items)  # what is in a vessel stays in it


def _solvent_there(sheet: Worksheet, part: Part, fact: Fact, items: Iterable[Item]) -> bool:
    classes = ["solubiliser", "surfactant", "solvent"]
    for medium, kinds in _SOLVENTS.items():
        if medium in fact.value:
            classes.extend(kinds)
    inside = [each for item in items for each in sheet.parts_of(item) if each.material is not part.material]
    if part.material.is_a("acid", "phenolic preservative") and any(each.material.is_a("base") for each in inside):
        return True
    least = sheet.limit("solvent that matters")
    return sum(each.amount for each in inside if each.material.is_a(*classes)) >= least


def _too_much(sheet: Worksheet, part: Part, fact: Fact) -> bool:
    """More than all the water holds when cold, and nothing else in the product takes it. Acids dissolve by pH."""
    most = _solubility(sheet, part)
    if most is None or part.material.is_a("acid") or sheet.holds("oil", "emulsifier"):
        return False
    return 100 * part.amount > most * sheet.water_percent and not _solvent_there(sheet, part, fact, sheet.items)


def _solubility(sheet: Worksheet, part: Part) -> float | None:
    """% w/w that cold water holds."""
    value = sheet.value(part.material, "solubility", in_="water")
    return None if value is None else value.high


def _finding(sheet: Worksheet, number: int, group: list[tuple[Part, Fact]], too_much: bool) -> Finding:
    part, fact = group[0]
    step = sheet.formula.procedure[number - 1] if number else None
    return rule.finding(
        step or part.item.line,
        _crystals(sheet, group) if too_much else _grains(sheet, group),
        remedy=f"It dissolves in {listed(fact.value, 'or')}. {rule.remedy}",
        source=sheet.cite(*(each for _, each in group)),
        materials=of_parts(each for each, _ in group),
        step=number or None,
    )


def _grains(sheet: Worksheet, group: list[tuple[Part, Fact]]) -> str:
    moment = _wetting(sheet, group[0][0].item)
    where = f"at step {moment.step.number} ({moment.step.verb})" if moment.step else "from the start"
    met = celsius(moment.celsius or 0)
    return f"{names(part.label for part, _ in group)}: into water of {met} {where}, and nothing there dissolves it"


def _crystals(sheet: Worksheet, group: list[tuple[Part, Fact]]) -> str:
    held = names(
        f"{part.label} {percent(part.percent)} where cold water holds {percent(_solubility(sheet, part) or 0)}"
        for part, _ in group
    )
    return f"{held}; without a solvent the rest crystallises out"
