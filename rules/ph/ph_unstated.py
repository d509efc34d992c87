"""A water-based product that depends on its pH, with no pH stated."""

from collections.abc import Iterator

from formcheck.bench.windows import SKIN, WORKS, Window
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names
from formcheck_rules.ph._acids import exfoliating
from formcheck_rules.ph._beyond import HIGH, LOW, told, wants_base, watery

rule = declare(
    finds="a water-based product that holds something which depends on pH, without a finished pH",
    harm="untidy",
    why="Without a stated pH nobody can check that what depends on it works, and no two batches need be alike.",
    remedy="State the pH as «finished: {pH: 5.5 ± 0.3}», adjust to it and measure it.",
    facts=("pH window",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Water-butt hand gel
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Gluconate: 0.2}
  B: {Plot preserver: 1}
materials:
  Plot preserver: {class: preservative, pH window: up to 5.5}
""",
    mended="""
formcheck: 1
name: Water-butt hand gel
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Gluconate: 0.2}
  B: {Plot preserver: 1}
materials:
  Plot preserver: {class: preservative, pH window: up to 5.5}
finished: {pH: 5 ± 0.2}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return bool(watery(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    if sheet.pH is not None:
        return
    low, high = sheet.limit(LOW), sheet.limit(HIGH)
    dependent = [each for each in sheet.pH_windows if _depends(each, low, high) and not _idle(sheet, each)]
    named = {each.material.name for each in dependent if each.material}
    acids = [each for each in exfoliating(sheet) if each.name not in named]
    if not dependent and not acids:
        return
    first = dependent[0].part.item.line if dependent and dependent[0].part else acids[0].line
    said = told(dependent)
    if acids:
        peel = f"{names(each.name for each in acids)} (harsh or idle by its pH)"
        said = f"{said}; {peel}" if said else peel
    yield rule.finding(
        first,
        f"no finished pH is stated, and it matters for {said}",
        source=sheet.cite(*(each.fact for each in dependent if each.fact)),
        materials=[*(each.material.name for each in dependent if each.material), *(each.name for each in acids)],
    )


def _depends(window: Window, low: float, high: float) -> bool:
    """Soap and minerals set their own pH; surfactants and what merely keeps better at one pH do not need it stated."""
    if window.kind in (SKIN, "surfactant") or window.says != WORKS or not window.counts or window.part is None:
        return False
    if window.part.material.is_a("soap", "powder", "fatty acid", "surfactant thickener") or window.certainty == "low":
        return False
    return window.depends(low, high)


def _idle(sheet: Worksheet, window: Window) -> bool:
    """A preservative in what keeps by itself, or an acid polymer that wants a base first: no pH would matter to it."""
    spare = window.kind in ("preservative", "booster") and sheet.preservation.keeps_itself
    return spare or wants_base(sheet, window)
