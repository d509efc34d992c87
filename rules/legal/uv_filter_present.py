"""Protection from the sun is promised, in words or by what is in it."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, percent

rule = declare(
    finds="UV filters, or a claim of protection from the sun",
    harm="fails",
    why=(
        "How well a product protects cannot be computed from its formula: it depends on film, particle size and the rest "
        "of it. People who trust an untested sunscreen get burned."
    ),
    remedy=(
        "Leave the claim and the filters out, or have protection measured by an accredited laboratory (ISO 24444, "
        "ISO 24443) and registered where the market asks for it. formcheck never estimates a protection factor."
    ),
    sources=("eu-1223-2009",),
    flawed="""
formcheck: 1
name: Bean row day cream
product: {use: leave-on, form: balm, area: [face], markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10, Zinc Oxide: 12}
claims: [protects from the sun]
packaging: {container: tube, material: LDPE, wall: opaque}
""",
    mended="""
formcheck: 1
name: Bean row day cream
product: {use: leave-on, form: balm, area: [face], markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
claims: [cares for dry skin]
packaging: {container: tube, material: LDPE, wall: opaque}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    filters = sheet.outer("UV filter")
    shown = names(f"{part.label} ({percent(part.percent)})" for part in filters)
    claim = next(
        (
            (c, found)
            for c in sheet.formula.claims
            for m in law.markets(sheet)
            for found in sheet.legal.find_claims(m, c.text)
            if found.claim.sun
        ),
        None,
    )
    if claim is not None:
        text, found = claim
        yield rule.finding(
            text,
            f"the label promises protection from the sun («{found.words}»)"
            + (
                f" and the formula holds {shown}" if shown else " and the formula holds no UV filter that is known here"
            ),
            source=sheet.reference.cite([found.claim.source]),
            materials=[part.material.name for part in filters],
        )
        return
    sunscreen = sheet.product.form == "sunscreen"
    # pigments that are also filters stand in many products that promise nothing
    meant = [part for part in filters if sunscreen or not part.material.is_a("pigment")]
    if not meant:
        return
    told = names(f"{part.label} ({percent(part.percent)})" for part in meant)
    least = sheet.limit("UV filter that is more than protection of the product")
    dosed = sum(part.amount for part in meant) >= least
    yield rule.finding(
        meant[0].item.line,
        f"a sunscreen with {told}" if sunscreen else f"{told}: UV filters, with no claim of protection",
        source=sheet.reference.cite(rule.sources),
        harm=None if sunscreen or dosed else "worth knowing",
        materials=[part.material.name for part in meant],
    )
