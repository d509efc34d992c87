"""A preservative beside what binds or destroys it."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.preservation import Guard
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, percent, share
from formcheck_rules.preservation._words import CHALLENGE, of

rule = declare(
    finds="a preservative beside what binds or destroys it, such as a paraben with much ethoxylated nonionic or a cationic with an anionic",
    harm="fails",
    why=(
        "Only what is free in the water meets the germs. Micelles of ethoxylated emulsifiers take parabens and phenols up, "
        "anionics take cationics out, thiols and sulfites destroy others."
    ),
    remedy="Use a preservative that is not taken up, or less of what takes it.",
    facts=("inactivated by", "log P"),
    sources=("kazmi-mitchell-1978", "bean-1972"),
    flawed="""
formcheck: 1
name: Garden hand wash
phases:
  A: {Aqua: q.s., Polysorbate 20: 8, Glycerin: 3, Methylparaben: 0.2, Disodium EDTA: 0.1}
finished: {pH: 6}
""",
    mended="""
formcheck: 1
name: Garden hand wash
phases:
  A: {Aqua: q.s., Polysorbate 20: 8, Glycerin: 3, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1}
finished: {pH: 6}
""",
)

_NONIONIC = "ethoxylated nonionic"


class Bound(NamedTuple):
    """A preservative with what takes it."""

    guard: Guard
    takers: tuple[Part, ...]


def concerns(sheet: Worksheet) -> bool:
    preservation = sheet.preservation
    return preservation.holds_water and any(_enemies(guard) for guard in preservation.preservatives)


def check(sheet: Worksheet) -> Iterator[Finding]:
    if sheet.preservation.keeps_itself:
        return
    micelles = _in_micelles(sheet)
    if micelles:
        yield from _bound_in_micelles(sheet, micelles)
    lost = list(_lost(sheet))
    if lost:
        yield _finding_lost(sheet, lost)


def _enemies(guard: Guard) -> tuple[str, ...]:
    return tuple(guard.material.value("inactivated by") or ())


def _in_micelles(sheet: Worksheet) -> list[Guard]:
    """What micelles take so much of that little is left, where there are enough of them to matter."""
    preservation = sheet.preservation
    if preservation.micelles_percent < sheet.limit("nonionic that matters"):
        return []
    enough = sheet.limit("share left free that is enough")
    return [
        guard
        for guard in preservation.preservatives
        if _NONIONIC in _enemies(guard) and 100 / preservation.total_to_free(guard) < enough
    ]


def _bound_in_micelles(sheet: Worksheet, bound: list[Guard]) -> Iterator[Finding]:
    """Only where what is not bound does not suffice by itself."""
    preservation = sheet.preservation
    if preservation.strength(without=bound) >= 1:
        return
    takers = [part for part in sheet.inside(_NONIONIC) if not part.material.is_a("polyol", "humectant")]
    free = names(f"{guard.label} about {share(100 / preservation.total_to_free(guard))}" for guard in bound)
    yield rule.finding(
        bound[0].parts[0].item.line,
        f"{names(part.label for part in takers)}, {share(preservation.micelles_percent)} of the water phase, "
        f"takes the preservative up; free in the water: {free}",
        remedy=f"{rule.remedy} {CHALLENGE}.",
        source=sheet.cite_limit("micelle binding at log P 0", "micelle binding by log P"),
        materials=[*of(bound), *(part.material.name for part in takers)],
    )


def _lost(sheet: Worksheet) -> Iterator[Bound]:
    least = sheet.limit("inactivator that matters")
    against: dict[frozenset[str], list[Part]] = {}  # many preservatives have the same few enemies
    for guard in sheet.preservation.preservatives:
        enemies = frozenset(fold(name) for name in _enemies(guard) if name != _NONIONIC)
        if enemies not in against:
            against[enemies] = [part for part in sheet.parts if _is_one_of(enemies, part)]
        takers = tuple(
            part
            for part in against[enemies]
            if part.amount >= min(least, guard.percent) and part.material is not guard.material
        )
        if takers:
            yield Bound(guard, takers)


def _is_one_of(enemies: frozenset[str], part: Part) -> bool:
    return fold(part.material.name) in enemies or not enemies.isdisjoint(part.material.classes)


def _finding_lost(sheet: Worksheet, lost: list[Bound]) -> Finding:
    guards = [bound.guard for bound in lost]
    takers = list({id(part): part for bound in lost for part in bound.takers}.values())
    suffices = sheet.preservation.strength(without=guards) >= 1
    facts = [fact for guard in guards if (fact := sheet.fact(guard.material, "inactivated by"))]
    one = len(guards) == 1
    return rule.finding(
        guards[0].parts[0].item.line,
        f"{names(f'{guard.label} {percent(guard.percent)}' for guard in guards)} {'is' if one else 'are'} inactivated by "
        f"{names(f'{part.label} {percent(part.percent)}' for part in takers)}",
        harm="untidy" if suffices else None,
        source=sheet.cite(*facts),
        materials=[*of(guards), *(part.material.name for part in takers)],
    )
