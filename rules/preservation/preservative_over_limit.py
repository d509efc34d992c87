"""More of a preservative than the law of a market allows."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from formcheck.bench import law
from formcheck.bench.composition import Component
from formcheck.bench.law import Held, Together
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.vocabulary import USES
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, number, percent
from formcheck_rules.legal._lowering import lowered

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="more of a preservative than the law of a market allows, counted as acid or phenol where the law does, blends and sums included",
    harm="unlawful",
    why=(
        "Preservatives are made to harm living cells. The limit is the most that was judged safe, and above it the product "
        "may not be sold."
    ),
    remedy="Bring it below the limit; add a partner where the rest is then too weak.",
    facts=("releases",),
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Garden face lotion
product: {use: leave-on, form: lotion, area: [face], users: [adults], markets: [EU]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.4, Disodium EDTA: 0.1}
  B: {Phenoxyethanol and Ethylhexylglycerin: 1.2}
finished: {pH: 5.5}
""",
    mended="""
formcheck: 1
name: Garden face lotion
product: {use: leave-on, form: lotion, area: [face], users: [adults], markets: [EU]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.4, Disodium EDTA: 0.1}
  B: {Phenoxyethanol and Ethylhexylglycerin: 1.1}
finished: {pH: 5.5}
""",
)

_OTHER_USES = ("exfoliant", "fragrance", "cationic surfactant", "medicinal", "active")


class Over(NamedTuple):
    """What is over a limit of one market."""

    components: tuple[Component, ...]
    message: str
    remedy: str
    source: str


def concerns(sheet: Worksheet) -> bool:
    return bool(_candidates(sheet))


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for market in sheet.product.markets:
        if market not in sheet.legal.markets:
            yield rule.unchecked(
                f"the preservative limits of {market}: there are no tables for it; known are {names(sheet.legal.markets)}"
            )
    found: dict[str, list[tuple[Over, str]]] = {}
    for market in law.markets(sheet):
        held = _held(sheet, market)
        for over in (*_singly(held), *_summed(held)):
            found.setdefault(over.message, []).append((over, market))
        yield from _open(sheet, held)
    for same in found.values():
        yield _finding([over for over, _ in same], [market for _, market in same])


@once
def _candidates(sheet: Worksheet) -> list[Component]:
    """Preservatives, and what no file describes but the law may know by name."""
    return [c for c in sheet.components if c.material.is_a("preservative") or not c.material.known]


def _held(sheet: Worksheet, market: str) -> list[Held]:
    return [
        held
        for component in _candidates(sheet)
        for held in law.limits(sheet, market, component, _purpose(component))
        if held.limit.purpose == "preservative"
    ]


def _purpose(component: Component) -> str:
    """What it is in the formula for: a preservative, unless it mostly serves another end and no preserver brings it."""
    from_preserver = any(part.blend is not None and part.blend.is_a("preservative") for part in component.parts)
    if from_preserver or not component.material.is_a(*_OTHER_USES):
        return "preservative"
    return ""


def _settled(held: Held) -> bool:
    """Whether it is over whatever the file leaves unsaid."""
    return held.over and (held.limit.permitted or held.limit.certain)


def _singly(held: list[Held]) -> Iterator[Over]:
    """Over its own limit; what one line brings and no use is left for is told together."""
    barred: dict[int, list[Held]] = {}
    for each in held:
        if _settled(each) and not each.limit.permitted:
            barred.setdefault(id(each.component.parts[0].item), []).append(each)
        elif _settled(each):
            yield _over(each)
    for group in barred.values():
        first = group[0]
        shown = names(f"{each.component.label} {percent(each.component.percent)}" for each in group)
        yield Over(
            tuple(each.component for each in group),
            f"{shown}: allowed as a preservative {first.limit.scope}",
            "Use a preservative that is allowed in this product.",
            first.limit.source,
        )


def _over(held: Held) -> Over:
    component, limit = held.component, held.limit
    counted, most = held.counted or component.percent, limit.max_percent or Decimal(0)
    form = f" as {limit.expressed_as}" if counted != component.percent else ""
    is_ = f", which is {_figure(counted)}{form}" if form else ""
    return Over(
        (component,),
        f"{component.label} {percent(component.percent)}{is_}; the limit is {percent(most)}{form}{_scope(held)}",
        f"At most {_down(_line_percent(held) * most / counted)} of {component.line.name} keeps to it. {rule.remedy}",
        limit.source,
    )


def _summed(held: list[Held]) -> Iterator[Over]:
    """Over a limit for several together, where none is over its own."""
    told = {id(each.component) for each in held if _settled(each)}
    for sum_ in sorted(law.together(held), key=lambda each: each.most):
        members = [each for each in sum_.held if each.counted is not None]
        if sum_.counted <= sum_.most or len(members) < 2 or not told.isdisjoint(id(m.component) for m in members):
            continue
        told.update(id(each.component) for each in members)
        yield _sum(sum_, members)


def _sum(sum_: Together, members: list[Held]) -> Over:
    limit = members[0].limit
    form = f" as {limit.expressed_as}" if limit.expressed_as else ""
    shown = names(f"{each.component.label} {percent(each.component.percent)}" for each in members)
    return Over(
        tuple(each.component for each in members),
        f"{shown} add to {_figure(sum_.counted)}{form}; together the limit is {percent(sum_.most)}",
        f"Lower them to {number(100 * sum_.most / sum_.counted, 2)} % of what they are. {rule.remedy}",
        limit.source,
    )


def _open(sheet: Worksheet, held: list[Held]) -> Iterator[Unchecked]:
    """Lawful or not as the product is left on or rinsed off, which the file does not say."""
    for each in held:
        if not each.limit.certain and not _settled(each) and _over_in_some_use(sheet, each):
            yield rule.unchecked(
                f"whether {each.component.label} keeps to {each.limit.source}: add «product: {{use: ..., form: ..., area: [...]}}»"
            )


def _over_in_some_use(sheet: Worksheet, held: Held) -> bool:
    material, product = held.component.material, sheet.product
    for use in USES if product.use is None else (product.use,):
        found = sheet.legal.limits(
            held.limit.market, (held.component.name, *material.names), material.cas, product._replace(use=use)
        )
        for limit in found:
            counted = law.counted(held.component, limit)
            if limit.id == held.limit.id and Held(held.component, limit, counted).over:
                return True
    return False


def _line_percent(held: Held) -> Decimal:
    """% of the line as written, so that the remedy speaks of what is weighed."""
    parts = held.component.parts
    return parts[0].item.percent or parts[0].percent if len(parts) == 1 else held.component.percent


def _scope(held: Held) -> str:
    scope = held.limit.scope
    return "" if scope == "all products" else f" ({scope})"


def _figure(value: Decimal) -> str:
    return percent(float(value), 2 if value < 10 else 4)


def _down(value: Decimal) -> str:
    """Two decimals or two digits, rounded down: a limit that is written must hold."""
    places = 2 if value >= Decimal("0.1") else 4
    step = Decimal(1).scaleb(-places)
    return percent((value // step) * step)


def _finding(same: list[Over], markets: list[str]) -> Finding:
    """One finding for what several markets say alike."""
    over = same[0]
    return rule.finding(
        over.components[0].line,
        f"{over.message} in {names(markets)}",
        remedy=over.remedy,
        source="; ".join(dict.fromkeys(each.source for each in same)),
        materials=[component.name for component in over.components],
    )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """On request, the line at the most that the law allows."""
    held = [each for market in law.markets(sheet) for each in _held(sheet, market)]
    yield from lowered(sheet, filter(_settled, held), finding)
