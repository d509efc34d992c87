"""A name that neither the reference nor the formula explains."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import listed, percent

rule = declare(
    finds="a material that is neither in the reference nor among the formula's own materials",
    harm="worth knowing",
    why="Nothing is known of its doses, limits, pH and heat, so nothing about it was checked.",
    remedy="Check the spelling, or describe it under «materials:» from its supplier's sheet.",
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glicerine: 4, Xanthan Gum: 0.6}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
""",
)


_HINTS = 100
"""So many unknown names are compared with all that are known; that takes a while for each."""


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    for item in sheet.items:
        if not item.material.house and sheet.reference.strength_passed_over(item.name):
            yield rule.unchecked(
                f"what «{item.name}» holds beside {item.material.name}, as which all of it was counted: "
                "add «contains:» under «materials:»"
            )
    unknown = [component for component in sheet.components if not component.material.known]
    for number, component in enumerate(unknown):
        part = component.parts[0]
        near = sheet.reference.nearest(component.name) if number < _HINTS else []
        inside = f" (in {part.blend.name})" if part.blend else ""
        are = "name is" if len(near) == 1 else "names are"
        hint = f"The nearest known {are} {listed(near, 'or')}. " if near else ""
        yield rule.finding(
            part.item.line,
            f"nothing is known of {component.name}{inside}; its {percent(float(component.percent))} went unchecked",
            remedy=_mixture(sheet, component.name) or hint + rule.remedy,
            materials=[component.name],
        )


def _mixture(sheet: Worksheet, name: str) -> str:
    """What to do about an unknown mixture whose name lists its parts."""
    parts = [material.name for material in sheet.reference.parts_named(name)]
    if len(parts) < 2:
        return ""
    return f"It reads like a mixture of {listed(parts)}: say how much of each under «materials:», with «contains:», from its sheet."
