"""A word about the product that no rule knows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from formcheck.bench.worksheet import Worksheet
from formcheck.formula import vocabulary
from formcheck.formula.names import nearest
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names

if TYPE_CHECKING:
    from formcheck.review.corrections import Correction

rule = declare(
    finds="a form of product or an area of use that no rule knows",
    harm="worth knowing",
    why="What depends on it (limits by kind of product, rests, label wording) was not checked.",
    remedy="Use the nearest word of the vocabulary; what is special about the product can stand in a note.",
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: serrum, area: [hands]}
phases:
  A: {Helianthus Annuus Seed Oil: 99.5, Tocopherol: 0.5}
""",
    mended="""
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: serum, area: [hands]}
phases:
  A: {Helianthus Annuus Seed Oil: 99.5, Tocopherol: 0.5}
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    product = sheet.product
    form = [] if product.form in (None, *vocabulary.FORMS) else [product.form]
    for key, words, known in (  # the file keeps both lists open on purpose
        ("form", form, vocabulary.FORMS),
        ("area", [word for word in product.area if word not in vocabulary.AREAS], vocabulary.AREAS),
    ):
        for word in words:
            near = nearest(word, known, 3)
            hint = f"Near words are {names(near)}. " if near else f"Known are {', '.join(known)}. "
            yield rule.finding(
                (product.places.get(key, product.place), f"/product/{key}"),
                f"«{word}» is not a {key} that any rule knows",
                remedy=hint + rule.remedy,
                source=sheet.reference.cite(rule.sources),
            )


def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
    """A misspelt word, where only one of the vocabulary is near."""
    from formcheck.reading.document import Scalar
    from formcheck.review.corrections import Correction, editor_of

    edits = editor_of(sheet)
    known = vocabulary.FORMS if finding.path == "/product/form" else vocabulary.AREAS
    for path, spot in edits.spots.items():
        if not isinstance(spot.node, Scalar) or not (path + "/").startswith(finding.path + "/"):
            continue
        near = nearest(spot.node.text.lower(), known, 2)
        if spot.node.text.lower() not in known and len(near) == 1:
            yield Correction(f"«{spot.node.text}» becomes «{near[0]}»", (edits.value(path, near[0]),))
