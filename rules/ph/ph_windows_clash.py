"""No pH that suits all that the formula holds."""

from collections.abc import Iterator

from formcheck.bench.windows import Agreement, Window, alternatives, clash, firm, suited
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import listed, names, number, span
from formcheck_rules.ph._beyond import between, watery

rule = declare(
    finds="materials whose pH windows do not meet, so that no pH suits all of them",
    harm="fails",
    why="Whatever pH is chosen, one of them does not work, and it is often the preservative or the active that is paid for.",
    remedy="Keep those that agree, and replace the others.",
    facts=("pH window",),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Lean-to evening gel
product: {use: leave-on, form: gel, area: [face]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Gluconate: 0.2}
  B: {Bean peptide solution: 3, Marrow enzyme: 1, Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
materials:
  Bean peptide solution: {class: peptide, pH window: 4 to 5}
  Marrow enzyme: {class: exfoliant, pH window: 6 to 8}
""",
    mended="""
formcheck: 1
name: Lean-to evening gel
product: {use: leave-on, form: gel, area: [face]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Gluconate: 0.2}
  B: {Bean peptide solution: 3, Phenoxyethanol: 0.8, Ethylhexylglycerin: 0.1}
materials:
  Bean peptide solution: {class: peptide, pH window: 4 to 5}
""",
)


def concerns(sheet: Worksheet) -> bool:
    return len(sheet.pH_windows) > 1


def check(sheet: Worksheet) -> Iterator[Finding]:
    if not watery(sheet):
        return
    best = clash(sheet)
    if best is None:
        return
    first = next((each for each in best.outside if each.part), None)
    at = first.part.item.line if first and first.part else sheet.pH_anchor
    apart = [each for each in best.agreeing if _against(each, best)]
    yield rule.finding(
        at,
        f"no pH suits all: {_told(best.outside)} against {_told(apart)}",
        remedy=_remedy(sheet, best),
        source=sheet.cite(*(each.fact for each in (*best.outside, *apart) if each.fact)),
        harm=_harm(best),
        materials=[each.material.name for each in (*best.outside, *apart) if each.material],
    )


def _against(window: Window, best: Agreement) -> bool:
    """Whether it shares no pH with something that is left outside."""
    ends = window.ends
    return any(ends[0] > other.ends[1] or ends[1] < other.ends[0] for other in best.outside)


def _told(windows: tuple[Window, ...] | list[Window]) -> str:
    return names(f"{each.name} ({span(each.range)})" for each in windows)


def _remedy(sheet: Worksheet, best: Agreement) -> str:
    pH = suited(sheet, best)
    agreeing = [each.name for each in firm(sheet, best.agreeing) if each.kind != "skin"]
    sentences = [f"{between(best.low, best.high)} suits {_most(agreeing)}".replace("a pH", "A pH", 1)]
    for each in best.outside:
        others = alternatives(sheet, each, pH)
        instead = f": {listed(others, 'or')} would do at pH {number(pH)}" if others else ""
        sentences.append(f"replace {each.name}{instead}, or put it into a product of its own")
    text = "; ".join(sentences)
    return f"{text}."


def _most(agreeing: list[str]) -> str:
    return names(agreeing) if agreeing else "skin"


def _harm(best: Agreement) -> str:
    """Losing one of two preservatives may be borne; losing the only one, an active or the thickener is failure."""
    kept = any(each.kind == "preservative" for each in best.agreeing)
    helpers = ("booster", "surfactant", *(("preservative",) if kept else ()))
    return "untidy" if all(each.kind in helpers for each in best.outside) else "fails"
