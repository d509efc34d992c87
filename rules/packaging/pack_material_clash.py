"""Product and pack that harm each other."""

import re
from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact, Packaging
from formcheck.reading.document import Place
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, number, percent

rule = declare(
    finds="a product that attacks its pack, or a pack that spoils the product",
    harm="fails",
    why="The pack crazes, softens, leaks or corrodes, and what comes off it is in the product.",
    remedy="Take a pack that bears it, and test the product in it warm for some weeks.",
    needs=("pack material",),
    facts=("attacks",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting shed bath oil
product: {use: rinse-off, form: oil}
phases:
  A: {Isopropyl Myristate: 60, Helianthus Annuus Seed Oil: q.s.}
packaging: {container: bottle, material: PS, wall: opaque}
""",
    mended="""
formcheck: 1
name: Potting shed bath oil
product: {use: rinse-off, form: oil}
phases:
  A: {Isopropyl Myristate: 60, Helianthus Annuus Seed Oil: q.s.}
packaging: {container: bottle, material: HDPE, wall: opaque}
""",
)

OTHER_WORDS = {
    "aluminum": "aluminium", "alu": "aluminium", "tinplate": "tin", "polystyrene": "ps", "acrylic": "pmma",
    "polyacrylate": "pmma", "rpet": "pet", "polypropylene": "pp", "polyethylene": "pe",
}  # fmt: skip
METALS = {"aluminium": "aluminium", "tin": "tinplate"}
SHIELDED = frozenset(("lacquered", "lined", "coated", "varnished", "lacquer", "liner"))


def check(sheet: Worksheet) -> Iterator[Finding]:
    pack = sheet.formula.packaging
    if pack is None or pack.material is None:
        return
    words = frozenset(OTHER_WORDS.get(word, word) for word in re.findall(r"[a-z]+", pack.material.lower()))
    if words & SHIELDED:  # what lies against the product is the lacquer, of which nothing is known
        words -= METALS.keys()
    yield from _attacked(sheet, pack, pack.material, words)
    yield from _metals(sheet, pack, pack.material, words)


def _attacked(sheet: Worksheet, pack: Packaging, material: str, words: frozenset[str]) -> Iterator[Finding]:
    attacking: list[tuple[Part, Fact]] = [
        (part, fact)
        for part, fact in sheet.with_fact("attacks")
        if any(set(word.lower().split()) <= words for word in fact.value)
    ]
    whole = sum(part.amount for part, _ in attacking)
    if whole >= sheet.limit("share that attacks a pack"):
        yield rule.finding(
            _place(pack),
            f"{names(f'{p.label} ({percent(p.percent)})' for p, _ in attacking)} in {material}, which they attack "
            f"({number(whole)} % in all; from {number(sheet.limit('share that attacks a pack'))} % on it counts)",
            source=sheet.cite(*(fact for _, fact in attacking)),
            materials=[part.material.name for part, _ in attacking],
        )


def _metals(sheet: Worksheet, pack: Packaging, material: str, words: frozenset[str]) -> Iterator[Finding]:
    metal = next((metal for word, metal in METALS.items() if word in words), None)
    if metal is None or sheet.pH is None or sheet.water_percent <= sheet.oil_percent:
        return
    name = f"pH of bare {metal}"
    low, high = sheet.reference.limit(name).value
    if not low <= sheet.pH <= high:
        yield rule.finding(
            _place(pack),
            f"pH {number(sheet.pH)} in {material}; bare {metal} bears pH {number(low)} to {number(high)}",
            remedy="Take glass or plastic, or a pack whose inside is lacquered and proven for this pH.",
            source=sheet.cite_limit(name),
        )


def _place(pack: Packaging) -> tuple[Place, str]:
    return pack.places.get("material", pack.place), "/packaging/material"
