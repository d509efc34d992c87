"""Wording that has to stand on the label."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.composition import Component
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold
from formcheck.review.rule import Finding, declare

rule = declare(
    finds="wording that law or guidance wants on the label because of what is in the product",
    harm="untidy",
    why="The buyer is to be told what the maker knows; without the wording the product may not be sold.",
    remedy="Put the wording on the label, in the words that the law gives; what stands here is the gist.",
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Bean row peel
product: {use: leave-on, form: toner, area: [face], markets: [US]}
phases:
  A: {Aqua: q.s., Glycolic Acid: 5, Sodium Hydroxide: 1, Phenoxyethanol: 0.9, Sodium Phytate: 0.1}
finished: {pH: 4.0}
packaging: {container: bottle, material: PET, wall: opaque}
""",
    mended="""
formcheck: 1
name: Bean row toner
product: {use: leave-on, form: toner, area: [face], markets: [US]}
phases:
  A: {Aqua: q.s., Glycerin: 5, Phenoxyethanol: 0.9, Sodium Phytate: 0.1}
finished: {pH: 5.0}
packaging: {container: bottle, material: PET, wall: opaque}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    for market in law.markets(sheet):
        due: dict[str, str] = {}
        sources: list[str] = []
        for text, source, duty, cause in (*_by_substance(sheet, market), *_by_guidance(sheet, market)):
            if text not in due:
                due[text] = f"{text} [{cause}{'' if duty == 'law' else ', guidance'}]"
                sources.append(source)
        for warning in sheet.legal.product_warnings(market, sheet.product):
            if sheet.product.form is not None:
                due.setdefault(warning.text, f"{warning.text} [this kind of product]")
                sources.append(warning.when)
        if due:
            yield rule.finding(
                (sheet.formula.product.places.get("markets", sheet.formula.place), "/product/markets"),
                f"the label in {market} has to carry {len(due)} wording{'s' if len(due) > 1 else ''}: "
                + "; ".join(due.values()),
                source="; ".join(dict.fromkeys(filter(None, sources))),
            )


def _by_substance(sheet: Worksheet, market: str) -> Iterator[tuple[str, str, str, str]]:
    for component in sheet.components:
        for held in law.limits(sheet, market, component):
            if not held.limit.certain or not held.limit.permitted:
                continue
            for warning in held.limit.warnings:
                if warning.above is None or (held.counted or component.percent) > warning.above:
                    yield _text(warning.text, warning.when), held.limit.source, warning.duty, component.name


def _by_guidance(sheet: Worksheet, market: str) -> Iterator[tuple[str, str, str, str]]:
    for subject in sheet.legal.guidance_subjects:
        warnings = sheet.legal.guidance_warnings(market, subject)
        if not warnings:
            continue
        names = {fold(name) for level in sheet.legal.guidance(subject, sheet.product) for name in level.names}
        cause = next((c for c in sheet.components if fold(c.name) in names and _exfoliates(sheet, c)), None)
        if cause is not None:
            for warning in warnings:
                yield _text(warning.text, warning.when), "", warning.duty, cause.name


def _exfoliates(sheet: Worksheet, component: Component) -> bool:
    """Whether there is enough of it, at a pH low enough, for the guidance to be meant. Other acids always are."""
    if not component.material.is_a("alpha-hydroxy acid"):
        return component.percent >= 1
    enough = component.amount >= sheet.limit("share of an alpha-hydroxy acid that asks for its wording")
    return enough and (sheet.pH or 0) <= sheet.limit("pH up to which an alpha-hydroxy acid exfoliates")


def _text(text: str, when: str) -> str:
    return f"«{text}»" + (f" (when {when})" if when else "")
