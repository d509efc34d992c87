"""A thickener that dissolves only hot and never is."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.thermal import Moment
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import celsius, names

rule = declare(
    finds="a thickener that must be heated to dissolve and never is",
    harm="fails",
    why=(
        "It stays in the vessel as swollen grains: the product is thin and gritty, and nothing that comes later, acid, "
        "salt or rest, makes it gel."
    ),
    remedy="Heat it in the water until it is dissolved, and cool afterwards.",
    needs=("procedure",),
    facts=("dissolving temperature",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Rain barrel jelly
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Agar: 0.8}
  B: {Glycerin: 4, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
procedure:
  - sprinkle: Agar
    into: A
  - heat: A
    to: 60 °C
    hold: 15 min
  - cool: A
    to: 40 °C
  - add: B
    into: A
  - rest: A
    for: 12 h
  - fill: A
""",
    mended="""
formcheck: 1
name: Rain barrel jelly
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Agar: 0.8}
  B: {Glycerin: 4, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
procedure:
  - sprinkle: Agar
    into: A
  - heat: A
    to: 95 °C
    hold: 5 min
  - cool: A
    to: 40 °C
  - add: B
    into: A
  - rest: A
    for: 12 h
  - fill: A
""",
)


def _of_heat(sheet: Worksheet) -> list[tuple[Part, Fact]]:
    """Thickeners of water and of oils that dissolve only from a certain temperature on."""
    return list(sheet.with_fact("dissolving temperature", sheet.outer("thickener", "oil thickener")))


def concerns(sheet: Worksheet) -> bool:
    return bool(_of_heat(sheet))


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    doubt = sheet.limit("doubt of a dissolving temperature")
    cold: dict[float, list[tuple[Part, Fact]]] = {}
    unknown: list[str] = []
    for part, needed in _of_heat(sheet):
        path = sheet.thermal.path_of(part.item)
        reached = _highest(path)
        if reached is not None and reached >= needed.value - doubt:
            continue
        if reached is None or any(moment.celsius is None for moment in path):
            unknown.extend([part.item.name] if path else [])
            continue
        cold.setdefault(reached, []).append((part, needed))
    for reached, group in cold.items():
        yield _finding(sheet, reached, group)
    if unknown:
        yield rule.unchecked(f"whether {names(unknown)} gets hot enough: add «to:» to the steps that heat")


def _highest(path: list[Moment]) -> float | None:
    return max((moment.celsius for moment in path if moment.celsius is not None), default=None)


def _finding(sheet: Worksheet, reached: float, group: list[tuple[Part, Fact]]) -> Finding:
    part = group[0][0]
    needed = max(fact.value for _, fact in group)
    sure = any(fact.certainty != "low" for _, fact in group)
    return rule.finding(
        part.item.line,
        f"the procedure takes {names(each.label for each, _ in group)} to {celsius(reached)} at most; "
        + names(f"{each.label} dissolves from {celsius(fact.value)}" for each, fact in group),
        remedy=f"Heat the vessel to {celsius(needed)} or a little above and hold until no grain is left.",
        source=sheet.cite(*(fact for _, fact in group)),
        harm=None if sure else "untidy",
        materials=[each.material.name for each, _ in group],
    )
