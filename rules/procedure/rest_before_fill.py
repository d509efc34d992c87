"""A gel filled with the air still in it."""

from collections.abc import Iterator

from formcheck.bench.thermal import Filling
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Step
from formcheck.review.rule import Finding, declare
from formcheck.review.words import time

rule = declare(
    finds="a gel or foam-prone product filled without the rest that lets air out",
    harm="untidy",
    why=(
        "Stirring beats air into a gel, and a gel lets it go slowly. Bubbles look bad in a clear bottle, take up space in "
        "the pack and bring oxygen to what is sensitive to it."
    ),
    remedy="Let it stand covered until it is clear of bubbles, a few hours up to a day, and fill then.",
    needs=("procedure", "form"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
procedure:
  - disperse: Xanthan Gum
    in: Glycerin
  - add: Aqua
    into: A
  - homogenise: A
    for: 3 min
  - fill: A
""",
    mended="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
procedure:
  - disperse: Xanthan Gum
    in: Glycerin
  - add: Aqua
    into: A
  - homogenise: A
    for: 3 min
  - rest: A
    for: 12 h
  - fill: A
""",
)

THICKENED = ("gel", "serum")
FOAMING = ("shampoo", "cleanser", "shower gel", "body wash", "liquid soap")
SETS = "heat-set gum"
"""A jelly is poured while it is hot and thin; at rest it would set in the kettle."""
STANDING = ("rest", "hydrate", "hold")
BEATING = ("homogenise",), ("mix", "sprinkle", "disperse")
"""What brings air in, worst first: once a gel has stood after the worst of it, a gentle addition does no harm."""


def concerns(sheet: Worksheet) -> bool:
    form = sheet.product.form
    thick = form in (*THICKENED, None) and sheet.holds("thickener")
    return thick or (form in (*FOAMING, None) and sheet.holds("surfactant"))


def check(sheet: Worksheet) -> Iterator[Finding]:
    form = sheet.product.form
    kind = "thickener" if form in THICKENED else "surfactant" if form in FOAMING else None
    least = sheet.limit("rest before filling a gel")
    for filling in sheet.thermal.fillings:
        if kind is None or not any(item.material.is_a(kind) for item in filling.items):
            continue
        if sheet.holds(SETS):
            continue
        beaten = _last_beating(sheet, filling)
        between = _between(sheet, beaten, filling.step)
        rested = sum(step.for_seconds or 0 for step in between if step.verb in STANDING)
        if beaten is not None and rested < least and not any(map(_takes_its_time, between)):
            airy = any(beaten.verb in verbs for verbs in BEATING)
            since = f" after step {beaten.number} ({beaten.verb})" if airy else ""
            yield rule.finding(
                filling.step,
                f"filled {time(rested) + ' of rest' if rested else 'at once' if since else 'without a rest'}{since}; "
                f"{'a gel' if kind == 'thickener' else 'what foams'} is left at least {time(least)}",
                source=sheet.cite_limit("rest before filling a gel"),
                step=filling.step.number,
            )


def _last_beating(sheet: Worksheet, filling: Filling) -> Step | None:
    """The last step before the filling that brings the most air in."""
    earlier = sheet.formula.procedure[: filling.step.number - 1]
    for verbs in BEATING:
        steps = [step for step in earlier if step.verb in verbs]
        if steps:
            return steps[-1]
    return earlier[0] if earlier else None


def _takes_its_time(step: Step) -> bool:
    """A rest of unwritten length."""
    return step.verb in STANDING and not step.for_seconds


def _between(sheet: Worksheet, first: Step | None, last: Step) -> tuple[Step, ...]:
    return sheet.formula.procedure[first.number if first else 0 : last.number - 1]
