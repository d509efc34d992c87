"""Peeling acids beyond what published guidance thinks acceptable."""

from collections.abc import Iterator

from formcheck.bench import law
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, Unchecked, declare
from formcheck.review.words import names, number, percent
from formcheck_rules.ph._acids import SALICYLIC, Acids, guided, peels

rule = declare(
    finds="alpha-hydroxy acids above, or at a lower pH than, published guidance; salicylic acid above it for the use",
    harm="unsafe",
    why="Too much free acid burns skin and leaves it open to the sun; the lower the pH, the more of the acid is free.",
    remedy="Use less acid, or raise the pH with a base.",
    facts=("releases", "pKa"),
    sources=("cir-aha-1998",),
    flawed="""
formcheck: 1
name: Rhubarb-patch peel
product: {use: leave-on, form: gel, area: [face]}
phases:
  A: {Aqua: q.s., Propanediol: 5, Hydroxyethylcellulose: 1, Glycolic Acid: 14, Sodium Hydroxide: 2.4}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1, Sodium Gluconate: 0.2}
finished: {pH: 3.6 ± 0.1}
""",
    mended="""
formcheck: 1
name: Rhubarb-patch peel
product: {use: leave-on, form: gel, area: [face]}
phases:
  A: {Aqua: q.s., Propanediol: 5, Hydroxyethylcellulose: 1, Glycolic Acid: 8, Sodium Hydroxide: 1.8}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1, Sodium Gluconate: 0.2}
finished: {pH: 3.8 ± 0.1}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return sheet.holds("alpha-hydroxy acid", "beta-hydroxy acid")


def check(sheet: Worksheet) -> Iterator[Finding | Unchecked]:
    acids = peels(sheet)
    if acids is not None:
        yield from _alpha(sheet, acids)
    yield from _salicylic(sheet)


def _alpha(sheet: Worksheet, acids: Acids) -> Iterator[Finding | Unchecked]:
    level = acids.level
    faults = []
    if level.max_percent is not None and acids.percent > level.max_percent:
        faults.append(f"{percent(float(acids.percent))} as acid; guidance stops at {percent(level.max_percent)}")
    least = level.min_pH
    if least is not None and _skin(sheet):
        pH, said = _judged_pH(sheet)
        if pH is None:
            yield rule.unchecked("the pH of the acids: add «finished: {pH: ...}»")
        elif pH < float(least) - 1e-9:
            faults.append(f"{said} {number(pH, 2)}; guidance wants {number(least)} or more")
    if faults:
        yield rule.finding(
            acids.held[0].component.line,
            f"{names(acids.names)}: {' and '.join(faults)} ({level.about})",
            remedy=_remedy(acids),
            source=sheet.reference.cite(level.source_ids),
            materials=acids.names,
        )


def _skin(sheet: Worksheet) -> bool:
    """Rinses for hair alone are not what the guidance is about."""
    area = set(sheet.product.area)
    return not (sheet.product.use == "rinse-off" and area and area <= {"hair"})


def _judged_pH(sheet: Worksheet) -> tuple[float | None, str]:
    """The stated pH; where there is none, the highest the model allows, provided that nothing will raise it."""
    if sheet.pH is not None:
        return sheet.pH, "finished pH"
    if sheet.holds("base") or sheet.pH_stages or sheet.predicted_pH is None:
        return None, ""
    return sheet.predicted_pH.high, "predicted pH at most"


def _remedy(acids: Acids) -> str:
    level = acids.level
    most = f"At most {percent(level.max_percent)} in all" if level.max_percent is not None else "Less acid"
    least = f", at pH {number(level.min_pH)} or higher" if level.min_pH is not None else ""
    advice = f"; {level.with_}" if level.with_ else ""
    return f"{most}{least}{advice}. Stronger peels are for trained hands and local law."


def _salicylic(sheet: Worksheet) -> Iterator[Finding]:
    if not sheet.holds("beta-hydroxy acid"):
        return
    found = guided(sheet, SALICYLIC)
    if found is None or found.level.max_percent is None or found.percent <= found.level.max_percent:
        return
    if any(_unlawful(sheet, each.component.name) for each in found.held):
        return
    yield rule.finding(
        found.held[0].component.line,
        f"{names(found.names)}: {percent(float(found.percent))} as acid; guidance stops at "
        f"{percent(found.level.max_percent)} ({found.level.about})",
        remedy=f"At most {percent(found.level.max_percent)} in this kind of product; more makes it a medicine.",
        source=sheet.reference.cite(found.level.source_ids),
        materials=found.names,
    )


def _unlawful(sheet: Worksheet, name: str) -> bool:
    """Whether the law of a market says it already."""
    component = sheet.component(name)
    if component is None:
        return False
    held = (each for market in law.markets(sheet) for each in law.limits(sheet, market, component))
    return any(each.over and each.limit.purpose != "preservative" for each in held)
