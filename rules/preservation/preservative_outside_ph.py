"""A preservative at a pH at which it does not work."""

from __future__ import annotations

from collections.abc import Iterator

from formcheck.bench.preservation import FAIR, AcidState, Guard, Preservation, undissociated
from formcheck.bench.worksheet import Worksheet
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, percent, share, span
from formcheck_rules.ph._beyond import how_much
from formcheck_rules.preservation._words import of, pH_text

rule = declare(
    finds="a finished pH at which a preservative does not work, such as an acid preservative with too little free acid left",
    harm="unpreserved",
    why=(
        "Acid preservatives work only as the undissociated acid, which pH turns into a salt that germs do not mind; "
        "others fall apart or drop out outside their window. What stands in the formula then protects on paper only."
    ),
    remedy="Bring the pH into the window, or use a preservative that works at this pH.",
    needs=("pH",),
    facts=("pKa", "minimum free acid", "releases", "pH window"),
    sources=("eklund-sorbic-1983", "eklund-benzoic-1985"),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Benzoate: 0.5, Disodium EDTA: 0.1}
finished: {pH: 6.0}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Benzoate: 0.5, Potassium Sorbate: 0.2, Disodium EDTA: 0.1}
finished: {pH: 4.8}
""",
)


class Failing(NamedTuple):
    """A preservative that pH takes out of work, in words, and the works the limit comes from. dead: nothing to count on is left."""

    guard: Guard
    words: str
    source: str
    dead: bool = True


def concerns(sheet: Worksheet) -> bool:
    preservation = sheet.preservation
    if not preservation.holds_water:
        return False
    if sheet.pH is not None:
        return bool(preservation.preservatives)
    return any(_sensitive(sheet, guard) for guard in preservation.preservatives)


def _sensitive(sheet: Worksheet, guard: Guard) -> bool:
    """Whether some pH that is usual on skin would stop it."""
    window = sheet.value(guard.material, "pH window")
    if guard.is_acid or window is None:
        return guard.is_acid
    low, high = sheet.limit("usual pH of skin products, from"), sheet.limit("usual pH of skin products, to")
    return (window.low or low) > low or (window.high or high) < high


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    preservation, pH = sheet.preservation, sheet.pH
    if pH is None or preservation.low_risk.low_risk:
        return
    for state in preservation.acids:
        if state.least is None:
            yield rule.unchecked(
                f"how much free acid {state.guard.material.name} needs: add «minimum free acid: ... %» under «materials:»"
            )
    failing = _failing(sheet, preservation, pH)
    if failing:
        yield _finding(sheet, failing, pH)
    elif (top := _top(sheet)) is not None and (late := _failing(sheet, preservation, top)):
        yield _at_the_top(sheet, late, top)


def _failing(sheet: Worksheet, preservation: Preservation, pH: float) -> list[Failing]:
    found = [_acid(sheet, state, pH) for state in _weak_acids(sheet, preservation, pH)]
    for guard in preservation.preservatives:
        if guard.is_acid:
            continue
        if guard.is_phenol:
            found.extend(_phenol(sheet, guard, pH))
        elif not preservation.inside_window(guard, pH):
            found.append(_outside(sheet, guard))
    return found


def _weak_acids(sheet: Worksheet, preservation: Preservation, pH: float) -> list[AcidState]:
    """The acids, where neither one by itself nor all together leave enough free acid because of the pH."""
    states = [state for state in preservation.acids_at(pH) if state.least]
    shares = [state.share for state in states]
    if not states or max(shares) >= 1 or sum(shares) >= sheet.limit("acids together"):
        return []
    return states if any(not _only_too_little(sheet, state, pH) for state in states) else []


def _only_too_little(sheet: Worksheet, state: AcidState, pH: float) -> bool:
    """Whether the dose, not the pH, is what is missing: another rule says so."""
    window = sheet.value(state.guard.material, "pH window")
    return state.guard.share < 1 and (window is None or window.high is None or pH <= window.high)


def _acid(sheet: Worksheet, state: AcidState, pH: float) -> Failing:
    words = (
        f"only {share(state.acid.undissociated_percent)} of {state.guard.label} is free acid, "
        f"{share(state.acid.free_percent)} of the water phase (the least that works is {percent(state.least or 0)})"
    )
    fact = sheet.fact(state.guard.material, "minimum free acid")
    nearly = state.share >= sheet.limit("nearly enough free acid")
    return Failing(state.guard, words, sheet.cite(fact) if fact else "", dead=not nearly)


def _phenol(sheet: Worksheet, guard: Guard, pH: float) -> Iterator[Failing]:
    left = undissociated(guard.material, pH)
    if 100 * left < sheet.limit("half a phenol"):
        fact = sheet.fact(guard.material, "pKa")
        words = f"only {share(100 * left)} of {guard.label} is undissociated and works"
        dead = guard.share * left < 1 or 100 * left < sheet.limit("little of a phenol")
        yield Failing(guard, words, sheet.cite(fact) if fact else "", dead)


def _outside(sheet: Worksheet, guard: Guard) -> Failing:
    window = sheet.fact(guard.material, "pH window")
    text = span(window.value) if window else ""
    return Failing(guard, f"{guard.label} is outside its window, {text}", sheet.cite(window) if window else "")


def _top(sheet: Worksheet) -> float | None:
    """The upper end of the stated pH, where it is not yet measured."""
    stated = sheet.stated_pH
    if stated is None or sheet.formula.finished.measured_pH is not None or stated[1] <= stated[0]:
        return None
    return stated[1]


def _finding(sheet: Worksheet, failing: list[Failing], pH: float) -> Finding:
    return rule.finding(
        sheet.pH_anchor,
        f"at {pH_text(pH)} {names((each.words for each in failing), most=4)}{_rest(sheet, failing)}",
        harm=_harm(sheet, failing),
        remedy=_remedy(sheet),
        source="; ".join(dict.fromkeys(each.source for each in failing if each.source)),
        materials=of(each.guard for each in failing),
    )


def _at_the_top(sheet: Worksheet, late: list[Failing], top: float) -> Finding:
    return rule.finding(
        sheet.pH_anchor,
        f"at the upper end of the stated range, {pH_text(top)}, {names((each.words for each in late), most=4)}",
        harm="untidy",
        remedy=_remedy(sheet),
        source="; ".join(dict.fromkeys(each.source for each in late if each.source)),
        materials=of(each.guard for each in late),
    )


def _rest(sheet: Worksheet, failing: list[Failing]) -> str:
    out = {id(each.guard) for each in failing}
    rest = [guard for guard in sheet.preservation.preservatives if id(guard) not in out]
    return f"; left at work: {names(guard.label for guard in rest)}" if rest else ""


def _harm(sheet: Worksheet, failing: list[Failing]) -> str | None:
    """Unpreserved only where nothing that works is left; less where the rest suffices."""
    preservation = sheet.preservation
    out = [each.guard for each in failing if each.dead]
    left = preservation.strength(preservation.working, without=out)
    if preservation.keeps_itself or not out:
        return "untidy"
    if left < 1 or not any(guard not in out for guard in preservation.preservatives):
        return None
    covered = all(grade >= FAIR for grade in preservation.coverage(without=out).values())
    return "untidy" if covered else "fails"


def _remedy(sheet: Worksheet) -> str:
    preservation = sheet.preservation

    def enough(pH: float) -> bool:
        return not _failing(sheet, preservation, pH)

    highest = preservation.highest_pH(enough)
    if highest is None or sheet.pH is None or highest >= (_top(sheet) or sheet.pH):
        return rule.remedy
    highest = int(10 * highest) / 10
    return f"Up to {pH_text(highest)} all of it works. {rule.remedy} {how_much(highest)}"
