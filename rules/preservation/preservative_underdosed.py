"""Less preservative than works."""

from collections.abc import Iterator

from formcheck.bench.preservation import Guard
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, number, percent
from formcheck_rules.preservation._words import CHALLENGE, amounts, of

rule = declare(
    finds="less preservative than works in common practice, all that the formula holds counted together",
    harm="fails",
    why=(
        "Too little does not preserve a little: the germs that survive grow on, and learn to live with it. The low end of "
        "a usual dose already counts on clean water and clean tools."
    ),
    remedy="Raise it into the usual range, below the legal limit, or add a second preservative.",
    facts=("dose",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Bean-row face lotion
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.6, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.2}
finished: {pH: 5.5}
""",
    mended="""
formcheck: 1
name: Bean-row face lotion
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.6, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5.5}
""",
)


def concerns(sheet: Worksheet) -> bool:
    preservation = sheet.preservation
    return preservation.holds_water and bool(preservation.preservatives)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    preservation = sheet.preservation
    if preservation.keeps_itself:
        return
    unknown = [guard for guard in preservation.preservatives if not guard.least]
    if unknown:
        yield rule.unchecked(
            f"the dose from which {names(of(unknown))} works: add «dose: [..., ...]» under «materials:»"
        )
    elif preservation.strength() < 1:
        yield _finding(sheet, preservation.preservatives)
    elif len(preservation.guards) == 1:
        yield from _alone(sheet, preservation.guards[0])


def _alone(sheet: Worksheet, guard: Guard) -> Iterator[Finding]:
    """Enough beside a partner, and nothing is beside it."""
    least = sheet.value(guard.material, "dose alone")
    if least is None or guard.percent >= least or len(guard.parts) > 1:
        return
    fact = sheet.fact(guard.material, "dose alone")
    yield rule.finding(
        guard.parts[0].item.line,
        f"{amounts([guard])} and no other preservative; alone it takes {percent(least)}",
        harm="untidy",
        remedy=f"Raise it, within the legal limit, or give it a partner for what it holds least. {CHALLENGE}.",
        source=sheet.cite(fact) if fact else "",
        materials=of([guard]),
    )


def _finding(sheet: Worksheet, guards: tuple[Guard, ...]) -> Finding:
    least = names(f"{percent(guard.least or 0)} of {guard.material.name}" for guard in guards)
    strength = sheet.preservation.strength()
    together = f"; counted together that is {number(100 * strength, 2)} % of what works" if len(guards) > 1 else ""
    return rule.finding(
        guards[0].parts[0].item.line,
        f"{amounts(guards)}; the least that works by itself is {least}{together}",
        remedy=f"{_raise(guards, strength)} {CHALLENGE}.",
        source=sheet.cite(*(fact for guard in guards if (fact := sheet.fact(guard.material, "dose")))),
        materials=of(guards),
    )


def _raise(guards: tuple[Guard, ...], strength: float) -> str:
    guard = guards[0]
    item = guard.parts[0].item
    if len(guards) > 1 or len(guard.parts) > 1 or not strength:
        return rule.remedy
    return f"At least {percent(item.amount / strength, 2)} of {item.name} reaches it. {rule.remedy}"
