"""Words on the label that make the product a medicine."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names

rule = declare(
    finds="a claim that makes the product a medicine, or more than a cosmetic",
    harm="fails",
    why="What a product is presented to do decides which law it falls under; as a medicine it needs an authorisation.",
    remedy="Say what it does to look and feel of healthy skin: cleans, softens, moisturises, cares for.",
    needs=("claims",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting shed salve
product: {use: leave-on, form: salve, markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
claims: [softens rough hands, heals eczema]
""",
    mended="""
formcheck: 1
name: Potting shed salve
product: {use: leave-on, form: salve, markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
claims: [softens rough hands, cares for dry skin]
""",
)


def concerns(sheet: Worksheet) -> bool:
    return bool(sheet.formula.claims)


def check(sheet: Worksheet) -> Iterator[Finding]:
    for claim in sheet.formula.claims:
        by_kind: dict[str, list[str]] = {}
        first = None
        for market in law.markets(sheet):
            for found in sheet.legal.find_claims(market, claim.text):
                if not found.claim.sun:
                    first = first or found
                    by_kind.setdefault(found.claim.kind, []).append(market)
        if first is not None:
            where = names(dict.fromkeys(market for markets in by_kind.values() for market in markets))
            yield rule.finding(
                claim,
                f"«{first.words}» ({names(by_kind)}) goes beyond a cosmetic in {where}",
                why=f"{first.claim.why[:1].upper()}{first.claim.why[1:]}. {rule.why}",
                source=sheet.reference.cite([first.claim.source]),
            )
