"""A material that these users, this area or this way of using it rule out."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, declare
from formcheck.review.words import listed, names, percent

rule = declare(
    finds="a material limited by age, area, spray or pregnancy guidance in a product for just those",
    harm="unsafe",
    why="What most skin bears can harm a small child, the lungs, the eye or an unborn child.",
    remedy="Take it out of this product, or make the product for other users or another use, and say so on the label.",
    facts=("not for",),
    sources=("eu-1223-2009", "common-practice"),
    flawed="""
formcheck: 1
name: Seedling nappy balm
product: {use: leave-on, form: balm, area: [nappy area], users: [children under 3], markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10, Salicylic Acid: 0.3}
packaging: {container: tube, material: LDPE, wall: opaque}
""",
    mended="""
formcheck: 1
name: Seedling nappy balm
product: {use: leave-on, form: balm, area: [nappy area], users: [children under 3], markets: [EU]}
phases:
  A: {Petrolatum: q.s., Cera Alba: 10}
packaging: {container: tube, material: LDPE, wall: opaque}
""",
)

SPRAYED = ("spray", "mist", "aerosol")
BREATHED = "in what is sprayed or may be breathed in"
PROPELLED = ("aerosol", "can", "propellant")
PUMPS = "; the entry speaks of aerosol dispensers, and whether a pump spray is one is read both ways"
PUMP_REMEDY = "Ask whoever assesses the product, or take a preservative without that condition. In a can with propellant it is not allowed."
TODDLERS = "children under 3"


def concerns(sheet: Worksheet) -> bool:
    return bool(_words(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    told: set[str] = set()
    for finding in _by_law(sheet):
        told.update(finding.materials)
        yield finding
    yield from _by_guidance(sheet, told)


def _words(sheet: Worksheet) -> set[str]:
    """The users, areas and uses of this product, in the words that guidance uses."""
    product = sheet.product
    words = {word for word in (*product.users, *product.area) if word != "adults"}
    if product.form in SPRAYED:
        words.add("spray")
    if TODDLERS in words:
        words.add("children")
    return words


def _by_law(sheet: Worksheet) -> Iterator[Finding]:
    words = _words(sheet)
    if not words & {TODDLERS, "spray"}:
        return
    for market in law.markets(sheet):
        for component in sheet.components:
            for held in law.limits(sheet, market, component):
                limit = held.limit
                reasons = []
                if limit.not_under_3 and TODDLERS in words:
                    reasons.append("for children under 3")
                if (limit.not_in_sprays or limit.not_inhaled) and "spray" in words:
                    reasons.append(BREATHED)
                pumped = reasons == [BREATHED] and not limit.not_inhaled and not _propelled(sheet)
                if reasons and limit.certain:
                    yield rule.finding(
                        component.line,
                        f"{component.label} {percent(component.percent)} is not allowed {listed(reasons)} in {market}{PUMPS if pumped else ''}",
                        remedy=PUMP_REMEDY if pumped else rule.remedy,
                        source=limit.source,
                        harm=_harm_of_a_pump(sheet) if pumped else None,
                        materials=[component.name],
                    )


def _harm_of_a_pump(sheet: Worksheet) -> str:
    """More where nothing says that it is one."""
    pack = sheet.formula.packaging
    return "untidy" if sheet.product.form == "mist" or (pack is not None and pack.container) else "fails"


def _propelled(sheet: Worksheet) -> bool:
    """Whether a propellant drives it out, as far as the file says."""
    pack = sheet.formula.packaging
    container = (pack.container or "") if pack else ""
    return sheet.product.form == "aerosol" or any(word in container for word in PROPELLED)


def _by_guidance(sheet: Worksheet, told: set[str]) -> Iterator[Finding]:
    words = _words(sheet)
    groups: dict[tuple[str, ...], list[tuple[Part, Fact]]] = {}
    for part, fact in sheet.with_fact("not for"):
        hit = tuple(word for word in fact.value if word in words)
        if hit and part.material.name not in told:
            groups.setdefault(hit, []).append((part, fact))
    for hit, found in groups.items():
        sure = any(fact.certainty != "low" for _, fact in found)
        yield rule.finding(
            found[0][0].item.line,
            f"{names(f'{p.label} ({percent(p.percent)})' for p, _ in found)}: guidance advises against it for {listed(hit)}, "
            "and this product is for that",
            source=sheet.cite(*(fact for _, fact in found)),
            harm="unsafe" if sure else "fails",
            materials=[part.material.name for part, _ in found],
        )
