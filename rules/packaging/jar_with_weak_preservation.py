"""Fingers in a jar whose preservative system has nothing to spare."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, share
from formcheck_rules.preservation._coverage import gaps
from formcheck_rules.preservation._words import CHALLENGE, germs, of

rule = declare(
    finds="a pot that fingers reach into, and only a borderline preservative system",
    harm="untidy",
    why=(
        "Every use brings germs from the fingers into a jar, and room air with spores. A system that just suffices in the "
        "factory is used up there in weeks."
    ),
    remedy="Fill it into a tube, a pump bottle or an airless bottle, or strengthen the system.",
    needs=("container",),
    facts=("dose", "spectrum"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting-shed day cream
product: {use: leave-on, form: cream, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 5, Sodium Gluconate: 0.2}
  B: {Caprylic/Capric Triglyceride: 12, Glyceryl Stearate Citrate: 3, Cetearyl Alcohol: 3}
  C: {Caprylyl Glycol: 0.5, Ethylhexylglycerin: 0.5}
finished: {pH: 5.5}
packaging: {container: jar, material: PP, wall: opaque}
""",
    mended="""
formcheck: 1
name: Potting-shed day cream
product: {use: leave-on, form: cream, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 5, Sodium Gluconate: 0.2}
  B: {Caprylic/Capric Triglyceride: 12, Glyceryl Stearate Citrate: 3, Cetearyl Alcohol: 3}
  C: {Phenoxyethanol: 0.9, Caprylyl Glycol: 0.3, Ethylhexylglycerin: 0.1, Potassium Sorbate: 0.2}
finished: {pH: 5.2}
packaging: {container: jar, material: PP, wall: opaque}
""",
)


def concerns(sheet: Worksheet) -> bool:
    """Only where something preserves at all; where nothing does, another rule says more."""
    preservation = sheet.preservation
    return preservation.holds_water and bool(preservation.guards)


def check(sheet: Worksheet) -> Iterator[Finding]:
    pack, preservation = sheet.formula.packaging, sheet.preservation
    if pack is None or not sheet.opens_wide or preservation.keeps_itself:
        return
    weak = _weakness(sheet)
    if weak:
        yield rule.finding(
            (pack.places.get("container", pack.place), "/packaging/container"),
            f"{pack.container}, and {weak}",
            remedy=f"{rule.remedy} {CHALLENGE}.",
            source=sheet.cite_limit("preservation with a margin"),
            materials=of(preservation.guards),
        )


def _weakness(sheet: Worksheet) -> str:
    """What is borderline about the system, "" where nothing is."""
    preservation = sheet.preservation
    if not preservation.preservatives:
        return f"only what helps a preservative is in it: {names(guard.label for guard in preservation.boosters)}"
    if preservation.ungraded or any(not guard.least for guard in preservation.preservatives):
        return ""
    strength = min(preservation.strength(), preservation.strength(preservation.free))
    if strength < 1:  # too little altogether is another rule's finding
        return ""
    open_to = gaps(sheet)
    if open_to:
        hold = "holds" if len(preservation.guards) == 1 else "hold"
        return f"{names(guard.label for guard in preservation.guards)} {hold} {germs(open_to)} weakly"
    if strength < sheet.limit("preservation with a margin"):
        return f"its preservatives come to {share(100 * strength)} of the least that works"
    return ""
