"""An amine beside what can nitrosate it."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names

rule = declare(
    finds="a secondary or tertiary amine together with a preservative or salt that can nitrosate it",
    harm="unsafe",
    why=(
        "Nitro preservatives give off nitrite as they age, and amines turn it into nitrosamines, most of which cause cancer. "
        "Secondary amines react fastest, tertiary ones more slowly."
    ),
    remedy="Use a preservative without a nitro group, or neutralise with sodium hydroxide or another base that is no amine.",
    sources=("eu-1223-2009", "bronopol-formaldehyde-2008"),
    flawed="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Carbomer: 0.5, Triethanolamine: 0.5, Disodium EDTA: 0.1}
  B: {Bronopol: 0.05, Methylparaben: 0.15}
finished: {pH: 6}
""",
    mended="""
formcheck: 1
name: Garden hand gel
phases:
  A: {Aqua: q.s., Glycerin: 4, Carbomer: 0.5, Sodium Hydroxide: 0.2, Disodium EDTA: 0.1}
  B: {Bronopol: 0.05, Methylparaben: 0.15}
finished: {pH: 6}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("nitrosating agent")


def check(sheet: Worksheet) -> Iterator[Finding]:
    agents = sheet.inside("nitrosating agent")
    amines = [*_amines(sheet, "secondary amine"), *_amines(sheet, "tertiary amine"), *_added(sheet)]
    if not agents or not amines:
        return
    kinds = names(dict.fromkeys(kind for _, kind in amines))
    yield rule.finding(
        agents[0].item.line,
        f"{names(part.label for part in agents)} with {names(label for label, _ in amines)} ({kinds}) can form nitrosamines",
        source=sheet.reference.cite(rule.sources),
        materials=[*(part.material.name for part in agents), *(label for label, _ in amines)],
    )


def _amines(sheet: Worksheet, kind: str) -> list[tuple[str, str]]:
    return [(p.material.name, kind) for p in sheet.inside(kind) if not p.material.is_a("nitrosating agent")]


def _added(sheet: Worksheet) -> Iterator[tuple[str, str]]:
    """Amines that a step adds to taste."""
    for step in sheet.formula.procedure:
        for name in step.with_:
            material = sheet.book.find(name)
            for kind in ("secondary amine", "tertiary amine"):
                if material is not None and material.is_a(kind) and sheet.component(material.name) is None:
                    yield material.name, kind
