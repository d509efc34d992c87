"""Plant waters, juices, infusions or honey where water could be."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, share

rule = declare(
    finds="hydrosols, juices, milk, raw infusions or honey in place of water",
    harm="worth knowing",
    why=(
        "Plant waters bring germs and food for them: distilled ones often hold Pseudomonas, juices and infusions ferment. "
        "A preservative that suffices in clean water may not suffice here."
    ),
    remedy=(
        "Buy it with a count of germs, use it fresh and cold, and preserve towards the upper end of the usual dose. Only a "
        "challenge test of the finished product (ISO 11930) shows whether that is enough."
    ),
    sources=("labadie-hydrosols-2016", "labadie-hydrosols-thesis-2015"),
    flawed="""
formcheck: 1
name: Rose-bed toner
phases:
  A: {Aqua: q.s., Rosa Damascena Flower Water: 40, Glycerin: 3, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1}
finished: {pH: 5.2}
""",
    mended="""
formcheck: 1
name: Rose-bed toner
phases:
  A: {Aqua: q.s., Rosa Damascena Flower Water: 2, Glycerin: 3, Disodium EDTA: 0.1}
  B: {Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1}
finished: {pH: 5.2}
""",
)


_RICH = ("plant water", "natural food")


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds(*_RICH) and bool(_rich(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    items = _rich(sheet)
    whole = sum(item.amount for item in items)
    if whole < sheet.limit("plant water that matters") or sheet.preservation.low_risk.low_risk:
        return
    yield rule.finding(
        items[0].line,
        f"{names(f'{item.name} {share(item.amount)}' for item in items)}: more germs and more food than water brings",
        source=sheet.reference.cite(rule.sources),
        materials=[item.material.name for item in items],
    )


def _rich(sheet: Worksheet) -> list[Item]:
    """Lines that are such waters or foods."""
    return [item for item in sheet.items if item.percent is not None and item.material.is_a(*_RICH)]
