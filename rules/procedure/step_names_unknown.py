"""A step that speaks of something the formula does not have."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import nearest
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="a step that names a phase or material which the formula does not have",
    harm="cannot be made",
    why="Whoever follows the sheet stops here; and what the step should have done is not done.",
    remedy="Correct the name, or add the material to a phase.",
    needs=("procedure",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
  B: {Panthenol: 1}
procedure:
  - add: C
    into: A
  - add: B
    into: A
  - fill: A
""",
    mended="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
  B: {Panthenol: 1}
procedure:
  - add: B
    into: A
  - fill: A
""",
)


_HINTS = 10
"""So many unknown names are compared with all of the formula; that takes a while for each."""


def check(sheet: Worksheet) -> Iterator[Finding]:
    phases = [phase.letter for phase in sheet.formula.phases]
    known = [*phases, *(item.name for item in sheet.items)]
    for number, (step, name, key) in enumerate(sheet.thermal.unknown):
        near = nearest(name, known) if number < _HINTS else []
        hint = f"Did you mean {near[0]}? " if near else f"The phases are {names(phases)}. "
        yield rule.finding(
            (step.places.get(key, step.place), step.path),
            f"step {step.number} ({step.verb}) names «{name}», which is neither a phase nor a material of the formula",
            remedy=hint + rule.remedy,
            source=sheet.reference.cite(rule.sources),
            materials=[name],
        )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """A misspelt material, where only one of the formula's own is near."""
    from formcheck.reading.document import Scalar
    from formcheck.review.corrections import Correction, editor_of

    edits = editor_of(sheet)
    known = dict.fromkeys(item.name for item in sheet.items)
    for path, spot in edits.spots.items():
        if isinstance(spot.node, Scalar) and path.startswith(finding.path + "/") and _same(spot.node.text, finding):
            near = nearest(spot.node.text, known, 2)
            if len(near) == 1:
                yield Correction(f"«{spot.node.text}» becomes «{near[0]}»", (edits.value(path, near[0]),))


def _same(text: str, finding: Finding) -> bool:
    return " ".join(text.split()) in finding.materials
