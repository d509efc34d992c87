"""More of a restricted substance than the law allows in this kind of product."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench import law
from formcheck.bench.law import Held
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, percent
from formcheck_rules.legal._lowering import lowered

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="more of a restricted substance than a market allows in this kind of product, blends expanded and sums included",
    harm="unlawful",
    why="The limit was set where harm begins for some users; above it the product may not be sold.",
    remedy="Bring it below the limit, or take it out.",
    facts=("releases",),
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Garden night oil
product: {use: leave-on, form: oil, area: [face], markets: [EU]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Retinyl Palmitate: 1.2, Tocopherol: 0.5}
packaging: {container: dropper bottle, material: glass, wall: amber}
""",
    mended="""
formcheck: 1
name: Garden night oil
product: {use: leave-on, form: oil, area: [face], markets: [EU]}
phases:
  A: {Simmondsia Chinensis Seed Oil: q.s., Retinyl Palmitate: 0.3, Tocopherol: 0.5}
packaging: {container: dropper bottle, material: glass, wall: amber}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for market in law.markets(sheet):
        held = [each for each in law.limits_of_all(sheet, market) if each.limit.purpose != "preservative"]
        over = [each for each in held if each.over]
        yield from (_finding(sheet, each) for each in over if _settled(each) and not _banned(sheet, each))
        yield from _open(sheet, over)
        yield from _uncounted(held)
        yield from _sums(sheet, held, {id(each.component) for each in over})
    for market in sheet.product.markets:
        if market not in sheet.legal.markets:
            yield rule.unchecked(
                f"the law of {market}: there are no tables for it; known are {names(sheet.legal.markets)}"
            )


def _settled(held: Held) -> bool:
    """Whether it is over the limit whatever the file leaves unsaid."""
    return held.limit.permitted or held.limit.certain


def _banned(sheet: Worksheet, held: Held) -> bool:
    """Whether it is prohibited altogether but for uses that this product is not, which another rule says."""
    return not held.limit.permitted and any(ban.certain for ban in law.bans(sheet, held.limit.market, held.component))


def _finding(sheet: Worksheet, held: Held) -> Finding:
    component, limit = held.component, held.limit
    if not limit.permitted:
        message = f"{component.label}, {percent(component.percent)}, is not allowed in this product in {limit.market}; allowed {limit.scope}"
        remedy = "Take it out, or make the product one of those it is allowed in."
    else:
        own = limit.expressed_as == component.label and held.counted == component.percent
        as_form = f" (as {limit.expressed_as} {percent(held.counted or 0)})" if limit.expressed_as and not own else ""
        form = f" as {limit.expressed_as}" if limit.expressed_as else ""
        message = f"{component.label} {percent(component.percent)}{as_form}; {limit.market} allows {percent(limit.max_percent or 0)}{form} in {limit.scope}"
        most = component.percent * (limit.max_percent or 0) / held.counted if held.counted else limit.max_percent or 0
        remedy = f"At most {percent(float(most), 3)} of {component.name} keeps to it. {rule.remedy}"
    return rule.finding(component.line, message, remedy=remedy, source=limit.source, materials=[component.name])


def _open(sheet: Worksheet, over: list[Held]) -> Iterator[Unchecked]:
    for held in over:
        if not _settled(held):
            yield rule.unchecked(
                f"whether {held.component.name} is allowed in this product ({held.limit.source}): add «product: {{use: ..., form: ..., area: [...]}}»"
            )


def _uncounted(held: list[Held]) -> Iterator[Unchecked]:
    """What may be over, and nobody can say how much of it the law counts."""
    for each in held:
        limit, material = each.limit, each.component.material
        most = limit.max_percent
        if each.counted is None and most is not None and each.component.percent > most:
            yield rule.unchecked(
                f"how much {limit.expressed_as} there is in {each.component.name} ({limit.market} allows {percent(most)} of it): "
                f"add «formula:» or «releases:» for {material.name} under «materials:»"
            )


def _sums(sheet: Worksheet, held: list[Held], told: set[int]) -> Iterator[Finding]:
    for sum_ in law.together(held):
        members = {id(each.component) for each in sum_.held}
        if sum_.counted <= sum_.most or len(members) < 2 or members <= told:
            continue
        limit = sum_.held[0].limit
        form = f" as {limit.expressed_as}" if limit.expressed_as else ""
        shown = names(f"{each.component.label} {percent(each.component.percent)}" for each in sum_.held)
        yield rule.finding(
            sum_.held[-1].component.line,
            f"{shown} add to {percent(sum_.counted)}{form}; {limit.market} allows {percent(sum_.most)} in all",
            source=limit.source,
            materials=[each.component.name for each in sum_.held],
        )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """On request, the line at the most that the law allows."""
    held = [
        each
        for market in law.markets(sheet)
        for each in law.limits_of_all(sheet, market)
        if each.limit.purpose != "preservative" and _settled(each)
    ]
    yield from lowered(sheet, held, finding)
