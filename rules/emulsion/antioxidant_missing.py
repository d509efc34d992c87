"""Oils that turn rancid, without an antioxidant."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.emulsion import amount
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import share
from formcheck_rules.emulsion._words import amounts, of

rule = declare(
    finds="polyunsaturated oils without an antioxidant",
    harm="untidy",
    why="Oxygen turns oils rich in linoleic and linolenic acid rancid within weeks to months: they smell and irritate.",
    remedy="Add an antioxidant that dissolves in oil, such as mixed tocopherols, or ask the supplier whether one is in.",
    facts=("air sensitivity", "dissolves in"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting-shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Linum Usitatissimum Seed Oil: 30, Olea Europaea Fruit Oil: q.s.}
""",
    mended="""
formcheck: 1
name: Potting-shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Linum Usitatissimum Seed Oil: 30, Olea Europaea Fruit Oil: q.s., Tocopherol: 0.2}
""",
)

_SOAPS = ("soap", "bar")


def _oils(sheet: Worksheet) -> tuple[Part, ...]:
    return sheet.inside("polyunsaturated oil")


def concerns(sheet: Worksheet) -> bool:
    return bool(_oils(sheet)) and sheet.product.form not in _SOAPS


def check(sheet: Worksheet) -> Iterator[Finding]:
    if sheet.emulsion.saponified or _protected(sheet):
        return
    oils = _oils(sheet)
    fast = [part for part in oils if sheet.value(part.material, "air sensitivity") == "high"]
    enough = sheet.limit("polyunsaturated oil that needs an antioxidant")
    if amount(oils) < enough and amount(fast) < sheet.limit("fast-drying oil that needs an antioxidant"):
        return
    total = amount(oils)
    least, most = (total * sheet.limit(f"antioxidant in oil, {end}") / 100 for end in ("least", "most"))
    yield rule.finding(
        max(oils, key=lambda part: part.amount).item.line,
        f"{amounts(oils)} and no antioxidant that dissolves in oil",
        remedy=f"Add mixed tocopherols, {share(least)} to {share(most)} here, or ask the supplier whether the oil is "
        "stabilised.",
        source=sheet.cite_limit("polyunsaturated oil that needs an antioxidant", "antioxidant in oil, least"),
        materials=of(oils),
    )


def _protected(sheet: Worksheet) -> bool:
    """Whether any antioxidant gets into the oil, by what is known of where it dissolves."""
    for part in sheet.parts:
        if "antioxidant" in part.material.classes or "antioxidant" in part.item.material.classes:
            media = sheet.value(part.material, "dissolves in")
            if media is None or not {"oil", "ethanol"}.isdisjoint(media):
                return True
    return False
