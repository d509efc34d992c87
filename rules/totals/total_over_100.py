"""The fixed lines alone pass 100, so nothing is left for q.s."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, percent

rule = declare(
    finds="fixed lines that exceed 100 % by themselves, so that q.s. would be negative",
    harm="unsafe",
    why=(
        "The q.s. line takes what the others leave. Here they leave less than nothing, so every dose in the finished "
        "product would differ from what was checked."
    ),
    remedy="Lower the lines that are too high until the q.s. line is what you mean it to be.",
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 99.5, Xanthan Gum: 0.6, Phenoxyethanol: 0.9}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 9.5, Xanthan Gum: 0.6, Phenoxyethanol: 0.9}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    fixed = sheet.composition.fixed
    open_lines = [item for item in sheet.items if item.line.is_remainder] if fixed > 100 else []
    if not open_lines:
        return
    largest = sorted((item for item in sheet.items if not item.line.is_remainder), key=lambda i: -i.amount)[:2]
    line = open_lines[0].line
    yield rule.finding(
        (line.percent_place, line.path),
        f"the other lines add to {percent(fixed)}, so {line.name} as q.s. would be {percent(100 - fixed)}",
        remedy=f"{rule.remedy} The largest are {names(f'{i.name} with {percent(i.percent or 0)}' for i in largest)}.",
        source=sheet.reference.cite(rule.sources),
        materials=[line.name],
    )
