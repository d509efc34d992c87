"""Grams beside a percent that do not agree with it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import grams, number, percent

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="grams on a line that disagree with its percent and the batch size",
    harm="cannot be made",
    why="Two numbers for one weighing: whichever is used, the other was what had been checked.",
    remedy="Correct the grams, the percent or the batch size, whichever is old.",
    needs=("batch size",),
    options=(Option("tolerance", 1, "%", "how far the grams may be from the computed weight, relative to it"),),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
batch: {size: 200 g, balance: 0.01 g}
phases:
  A:
    Aqua: q.s.
    Glycerin: {percent: 4, grams: 4}
""",
    mended="""
formcheck: 1
name: Garden hand gel
batch: {size: 200 g, balance: 0.01 g}
phases:
  A:
    Aqua: q.s.
    Glycerin: {percent: 4, grams: 8}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return any(line.grams is not None for line in sheet.formula.lines)


def check(sheet: Worksheet) -> Iterator[Finding]:
    size = sheet.formula.batch.size_g or Decimal(0)
    step = sheet.formula.batch.balance_g or Decimal(0)
    for item in sheet.items:
        written, meant = item.line.grams, item.grams
        if written is None or meant is None:
            continue
        allowed = max(abs(meant) * Decimal(str(rule.option("tolerance", sheet))) / 100, step)
        if abs(written - meant) > allowed:
            yield rule.finding(
                item.line,
                f"{item.name} has {grams(written)} beside {percent(item.percent or 0)}; "
                f"{percent(item.percent or 0)} of {grams(size)} is {grams(meant)}",
                remedy=f"{rule.remedy} {grams(written)} would be {number(written / size * 100)} %.",
                source=sheet.reference.cite(rule.sources),
                materials=[item.name],
            )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """On request: the percent is right, and the grams follow it."""
    from formcheck.review.corrections import Correction, editor_of, written

    edits = editor_of(sheet)
    for item in sheet.items:
        if item.line.path == finding.path and item.grams is not None and item.line.grams is not None:
            step = sheet.formula.batch.balance_g or Decimal("0.01")
            new = (item.grams / step).to_integral_value() * step
            path = f"{item.line.path}/grams"
            unit = "" if getattr(edits.spot(path).node, "kind", "") == "number" else " g"
            edit = edits.value(path, written(new) + unit)
            yield Correction(f"{item.name}: {grams(item.line.grams)} becomes {grams(new)}", (edit,), asked="grams")
