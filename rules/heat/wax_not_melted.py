"""A wax that the procedure never melts."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, names
from formcheck_rules.heat._melting import low, solids

rule = declare(
    finds="a phase that never reaches the melting point of a wax, butter or fatty alcohol in it",
    harm="cannot be made",
    why="It stays in the vessel as flakes or comes out as grains; what it should thicken or hold together stays thin.",
    remedy="Heat the phase until the last piece has melted, some degrees above the melting point.",
    needs=("procedure",),
    facts=("melting point",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
procedure:
  - heat: A
    to: 45 °C
  - mix: A
    for: 5 min
  - fill: A
""",
    mended="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
procedure:
  - heat: A
    to: 70 °C
  - mix: A
    for: 5 min
  - fill: A
""",
)


def concerns(sheet: Worksheet) -> bool:
    return next(solids(sheet), None) is not None


def check(sheet: Worksheet) -> Iterator[Finding]:
    by_vessel: dict[str, list[tuple[Part, Fact, float]]] = {}
    for part, melting in solids(sheet):
        path = sheet.thermal.path_of(part.item)
        hottest = sheet.thermal.hottest(part.item)
        if not path or hottest is None or any(moment.celsius is None for moment in path):
            continue
        reached = hottest.celsius or 0
        if reached < low(melting) - _help(sheet, part) and not _whipped(sheet, part, reached):
            by_vessel.setdefault(part.item.phase.letter, []).append((part, melting, reached))
    for letter, found in by_vessel.items():
        part, melting, reached = max(found, key=lambda each: low(each[1]))
        yield rule.finding(
            part.item.line,
            f"phase {letter} reaches {celsius(reached)}; "
            + names(f"{p.label} melts from {celsius(low(m))}" for p, m, _ in found),
            remedy=f"Heat phase {letter} to about {celsius(low(melting) + 5)} and hold until nothing solid is left.",
            source=sheet.cite(*(m for _, m, _ in found)),
            materials=[p.material.name for p, _, _ in found],
        )


def _help(sheet: Worksheet, part: Part) -> float:
    """Degrees by which liquid oil in the same phase lowers what is needed."""
    others = (p for p in sheet.outer("oil") if p.item.phase is part.item.phase and p is not part)
    liquid = sum(
        p.amount
        for p in others
        if (m := sheet.value(p.material, "melting point")) is None or (m.low or 0) < sheet.formula.room_celsius
    )
    return sheet.limit("hot oil dissolves waxes below their melting point by") if liquid > part.amount else 0.0


def _whipped(sheet: Worksheet, part: Part, reached: float) -> bool:
    """A butter that no step warms is whipped or rubbed in as it is."""
    return part.material.is_a("butter") and reached <= sheet.formula.room_celsius + 1
