"""A procedure that never comes to the pack."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="a procedure that never fills",
    harm="worth knowing",
    why="Filling has a temperature and a time of its own; what is not written is not checked and not repeated alike.",
    remedy="Add «fill:» with the vessel as the last step.",
    needs=("procedure",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
procedure:
  - mix: A
    for: 5 min
""",
    mended="""
formcheck: 1
name: Garden toner
phases:
  A: {Aqua: q.s., Glycerin: 4}
procedure:
  - mix: A
    for: 5 min
  - fill: A
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    steps = sheet.formula.procedure
    if not any(step.verb == "fill" for step in steps):
        yield rule.finding(
            (steps[-1].place, steps[-1].path),
            f"the procedure ends after step {steps[-1].number} ({steps[-1].verb}) and never fills",
            source=sheet.reference.cite(rule.sources),
        )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """A last step that fills, where everything has come together in one vessel."""
    from formcheck.review.corrections import Correction, editor_of

    last = {moment.vessel: moment for moment in sheet.thermal.moments if moment.next is None}
    whole = [vessel for vessel, moment in last.items() if len(moment.items) == len(sheet.items)]
    if len(whole) == 1:
        edit = editor_of(sheet).insert_after(sheet.formula.procedure[-1].path, [("fill", whole[0])])
        yield Correction(f"a last step fills {whole[0]}", (edit,))
