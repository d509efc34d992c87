"""A word about the product that no rule knows."""

from collections.abc import Iterator

from formcheck.bench.worksheet import Worksheet
from formcheck.formula import vocabulary
from formcheck.formula.names import nearest
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names

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
