"""A product left on skin at a pH that skin does not bear."""

from collections.abc import Iterator

from formcheck.bench.windows import WORKS
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import number
from formcheck_rules.ph._acids import peels
from formcheck_rules.ph._beyond import of_kinds, watery

rule = declare(
    finds="a leave-on product beyond the pH that skin bears",
    harm="unsafe",
    why="Skin lies near pH 5. What stays on it far from there stings, dries it out and, further off, burns it.",
    remedy="Bring the pH nearer to that of skin, or make it a product that is rinsed off.",
    needs=("pH", "use"),
    facts=("pH window",),
    sources=("lukic-skin-ph-2021", "common-practice"),
    flawed="""
formcheck: 1
name: Compost-bin foot lotion
product: {use: leave-on, form: lotion, area: [feet]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.8, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 9.6}
""",
    mended="""
formcheck: 1
name: Compost-bin foot lotion
product: {use: leave-on, form: lotion, area: [feet]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.8, Sodium Gluconate: 0.2}
  B: {Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
finished: {pH: 5.5 ± 0.5}
""",
)

NOT_SKIN = {"nails"}
STICKS = ("stick", "deodorant")


def concerns(sheet: Worksheet) -> bool:
    area = set(sheet.product.area)
    return bool(watery(sheet)) and sheet.product.use != "rinse-off" and not (area and area <= NOT_SKIN)


def check(sheet: Worksheet) -> Iterator[Finding]:
    pH = sheet.pH or 0.0
    low, lowest = "skin, low pH", "skin, lowest pH"
    high, highest = "skin, high pH", "skin, highest pH"
    if pH < sheet.limit(lowest):
        yield _finding(sheet, f"below the {number(sheet.limit(lowest))} that skin bears at most", "unsafe", lowest)
    elif pH > sheet.limit(highest):
        yield _finding(sheet, f"above the {number(sheet.limit(highest))} that skin bears at most", "unsafe", highest)
    elif pH < sheet.limit(low) and not _told_by_acids(sheet, pH):
        yield _finding(sheet, f"below the {number(sheet.limit(low))} that most skin bears well", "fails", low)
    elif pH > sheet.limit(high):
        yield _finding(sheet, f"above the {number(sheet.limit(high))} that most skin bears well", "fails", high)


def _finding(sheet: Worksheet, beyond: str, harm: str, limit: str) -> Finding:
    low, high = sheet.limit("skin, low pH"), sheet.limit("skin, high pH")
    return rule.finding(
        sheet.pH_anchor,
        f"left on the skin at pH {number(sheet.pH or 0)}, {beyond}",
        remedy=f"Adjust it to pH {number(low)} to {number(high)}, or make it a product that is rinsed off.",
        source=sheet.cite_limit(limit),
        harm=_softened(sheet, harm),
    )


def _told_by_acids(sheet: Worksheet, pH: float) -> bool:
    """The rule about peeling acids says the same of this pH, and more."""
    acids = peels(sheet)
    return acids is not None and acids.level.min_pH is not None and pH < float(acids.level.min_pH)


def _softened(sheet: Worksheet, harm: str) -> str:
    """Creams held by soap lie near pH 8, sticks above 9, antiperspirant salts and acid actives near 3, and skin bears them."""
    if (sheet.pH or 0.0) < sheet.limit("skin, low pH"):
        meant = sheet.holds("antiperspirant") or (harm == "fails" and _asked_for(sheet))
        return "untidy" if meant else harm
    soap = sheet.holds("soap") or (sheet.holds("fatty acid") and sheet.holds("base"))
    stick = sheet.product.form in STICKS and (sheet.pH or 0.0) <= sheet.limit("soap stick, highest pH")
    return "untidy" if soap and (harm == "fails" or stick) else harm


def _asked_for(sheet: Worksheet) -> bool:
    """Whether an active works only in acid, so that the product was meant to be as acid as this."""
    actives = of_kinds(sheet, ("active",))
    most = sheet.limit("acid actives work up to")
    return any(each.says == WORKS and each.ends[1] <= most and not each.apart(sheet.pH or 0.0) for each in actives)
