"""More alcohol than a thickener bears."""

from collections.abc import Iterator

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, number
from formcheck_rules.thickening._bases import bases
from formcheck_rules.thickening._water import label, thickeners

rule = declare(
    finds="more ethanol or isopropanol than a thickener bears",
    harm="fails",
    why="Alcohol takes the water that a thickener needs: the gel thins, clouds, or the thickener drops out as strings.",
    remedy="Take less alcohol, or a thickener made for it, such as hydroxypropylcellulose.",
    facts=("alcohol tolerance",),
    sources=("carbomer-in-alcohol-2022", "handbook-excipients-2009", "common-practice"),
    flawed="""
formcheck: 1
name: Greenhouse hand rub
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Alcohol: 45, Algin: 2, Glycerin: 2}
""",
    mended="""
formcheck: 1
name: Greenhouse hand rub
product: {use: leave-on, form: gel, area: [hands]}
phases:
  A: {Aqua: q.s., Alcohol: 45, Hydroxypropylcellulose: 2, Glycerin: 2}
""",
)


def _alcohols(sheet: Worksheet) -> list[Part]:
    return list(sheet.inside("volatile alcohol"))


def concerns(sheet: Worksheet) -> bool:
    return bool(_alcohols(sheet)) and bool(thickeners(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    alcohol = sum(part.amount for part in _alcohols(sheet))
    over: list[tuple[Part, Fact]] = []
    for part in thickeners(sheet):
        tolerance = sheet.fact(part.material, "alcohol tolerance")
        if tolerance is not None and alcohol > tolerance.value:
            over.append((part, tolerance))
        elif sheet.value(part.material, "needs neutralising") and part.material.is_a("acrylic acid polymer"):
            yield from _with_mineral_base(sheet, part, alcohol)
    if over:
        far = sheet.limit("alcohol far past the tolerance")
        sure = any(fact.certainty != "low" or alcohol > far * fact.value for _, fact in over)
        bears = names(f"{label(part)} bears up to about {number(fact.value)} %" for part, fact in over)
        yield rule.finding(
            over[0][0].item.line,
            f"{number(alcohol, 3)} % of alcohol; {bears}",
            source=sheet.cite(*(fact for _, fact in over)),
            harm=None if sure else "untidy",
            materials=[part.material.name for part, _ in over],
        )


def _with_mineral_base(sheet: Worksheet, part: Part, alcohol: float) -> Iterator[Finding]:
    """A carbomer bears much alcohol only as the salt of an organic base, which the alcohol dissolves."""
    thins, falls = "alcohol with a mineral base, thins", "alcohol with a mineral base, falls out"
    used = bases(sheet)
    if alcohol <= sheet.limit(thins) or not used or not all(base.is_a("strong base") for base in used):
        return
    grave = alcohol > sheet.limit(falls)
    limit = sheet.limit(falls if grave else thins)
    yield rule.finding(
        part.item.line,
        f"{number(alcohol, 3)} % of alcohol; {label(part)} neutralised with {names(base.name for base in used)} "
        f"{'drops out' if grave else 'thins and clouds'} above about {number(limit)} %",
        remedy="Neutralise with an organic base that alcohol dissolves, such as triethanolamine or aminomethyl propanol.",
        source=sheet.cite_limit(falls if grave else thins),
        harm=None if grave else "untidy",
        materials=[part.material.name, *(base.name for base in used)],
    )
