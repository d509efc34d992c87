"""Salt where a thickener does not bear it, or before it has swollen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from formcheck.bench.composition import Item, Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact, Step
from formcheck.records import NamedTuple
from formcheck.review.rule import Finding, declare
from formcheck.review.words import names, number, share
from formcheck_rules.thickening._water import WORKING, label, meeting, thickeners

rule = declare(
    finds="electrolyte before a thickener is hydrated, or more of it than its kind bears",
    harm="fails",
    why=(
        "Dissolved salts shield the charges that hold a thickener's chains apart and compete for its water: the gel "
        "thins, turns runny or drops out, and a dry gum hardly swells in salt water."
    ),
    remedy="Take less salt or a thickener that bears it, and let the thickener swell before the salt goes in.",
    facts=("salt tolerance", "salt after hydration"),
    sources=("handbook-excipients-2009", "common-practice"),
    flawed="""
formcheck: 1
name: Allotment hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Carbomer: 0.5, Sodium Lactate Solution 60 Percent: 5, Triethanolamine: 0.6, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
finished: {pH: 6}
""",
    mended="""
formcheck: 1
name: Allotment hand gel
product: {use: leave-on, form: gel}
phases:
  A: {Aqua: q.s., Hydroxyethylcellulose: 1.2, Sodium Lactate Solution 60 Percent: 5, Triethanolamine: 0.6, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.3}
finished: {pH: 6}
""",
)

ACRYLIC = ("acrylic acid polymer", "acrylic emulsion thickener")
BESIDES = ("preservative", "chelator")
"""Salts that every second formula holds in small amounts."""
BORNE = ("antiperspirant",)
"""Polymeric metal salts that do not salt out; where they clash by their charge, another rule says so."""


class Salted(NamedTuple):
    """A thickener with the electrolyte that is too much for it. harm: None for the rule's own."""

    part: Part
    tolerance: Fact
    salts: tuple[Part, ...]
    harm: str | None


def _electrolytes(sheet: Worksheet, items: Iterable[Item] | None = None) -> list[Part]:
    """Salts, blends and solutions expanded, of the whole formula or of some lines; of each what the water dissolves."""
    salts = sheet.inside("electrolyte")
    if items is not None:
        lines = {id(item): number for number, item in enumerate(items)}
        salts = tuple(sorted((s for s in salts if id(s.item) in lines), key=lambda salt: lines[id(salt.item)]))
    return [_dissolved(sheet, salt) for salt in salts if not salt.material.is_a(*BORNE)]


def _dissolved(sheet: Worksheet, part: Part) -> Part:
    solubility = sheet.value(part.material, "solubility", in_="water")
    most = solubility.high if solubility is not None else None
    if most is None or most >= 100:
        return part
    return part._replace(percent=min(part.percent, Decimal(sheet.water_percent * most / (100 - most))))


def concerns(sheet: Worksheet) -> bool:
    return bool(thickeners(sheet)) and bool(_electrolytes(sheet))


def check(sheet: Worksheet) -> Iterator[Finding]:
    salted = [found for part in thickeners(sheet) if (found := _too_much(sheet, part))]
    for group in _alike(salted):
        yield _too_much_finding(sheet, group)
    known = {id(found.part.item) for found in salted}
    for part in thickeners(sheet):
        if id(part.item) not in known and sheet.value(part.material, "salt after hydration"):
            yield from _before_swelling(sheet, part)


def _too_much(sheet: Worksheet, part: Part) -> Salted | None:
    """Whether the finished product holds more salt than the thickener bears."""
    tolerance = sheet.fact(part.material, "salt tolerance")
    if tolerance is None:
        return None
    acrylic = part.material.is_a(*ACRYLIC)
    salts = tuple(s for s in _electrolytes(sheet) if not (acrylic and s.material.is_a("base")))
    total = sum(salt.amount for salt in salts)
    plain = sum(salt.amount for salt in salts if not salt.material.is_a(*BESIDES))
    if total > tolerance.value:
        far = total > tolerance.value * sheet.limit("salt far past the tolerance")
        sure = tolerance.certainty != "low" and plain > 0 and (acrylic or far)
        return Salted(part, tolerance, salts, None if sure else "untidy")
    if acrylic and tolerance.certainty != "low" and 2 * plain >= tolerance.value:
        return Salted(part, tolerance, salts, "untidy")
    return None


def _alike(salted: list[Salted]) -> list[list[Salted]]:
    """One cause is one finding: grouped by severity, as the salts are the same."""
    groups: dict[str | None, list[Salted]] = {}
    for found in salted:
        groups.setdefault(found.harm, []).append(found)
    return list(groups.values())


def _too_much_finding(sheet: Worksheet, group: list[Salted]) -> Finding:
    salts = max((found.salts for found in group), key=len)
    total = sum(salt.amount for salt in salts)
    bears = names(f"{label(each.part)} bears about {number(each.tolerance.value)} %" for each in group)
    thins = any(total <= each.tolerance.value for each in group)
    return rule.finding(
        group[0].part.item.line,
        f"{number(total, 3)} % of electrolyte ({names(salt.label for salt in _largest(salts))}); {bears}"
        + (" and is visibly thinner well before that" if thins else ""),
        remedy=_remedy(sheet, group),
        source=sheet.cite(*(each.tolerance for each in group)),
        harm=group[0].harm,
        materials=[*(each.part.material.name for each in group), *(salt.material.name for salt in salts)],
    )


def _largest(salts: Iterable[Part]) -> list[Part]:
    return sorted(salts, key=lambda salt: -salt.amount)


def _remedy(sheet: Worksheet, group: list[Salted]) -> str:
    least = min(each.tolerance.value for each in group)
    if all(each.part.material.is_a(*ACRYLIC) for each in group):
        return (
            f"Keep all salts together below about {number(least / 2)} %, take a humectant that is no salt, or thicken with an "
            "uncharged cellulose ether or a gum that bears salt."
        )
    return f"Keep all salts together below about {number(least)} %, or take a thickener that bears more."


def _before_swelling(sheet: Worksheet, part: Part) -> Iterator[Finding]:
    """Salt in the water that a dry thickener is put into, or that follows it before anything is done to the vessel."""
    met = meeting(sheet, part.item)
    moment = met.moment if met and met.step else None
    while moment is not None and moment.step is not None and moment.step.verb not in WORKING:
        salts = [salt for salt in _electrolytes(sheet, moment.items) if not salt.material.is_a(*BESIDES, "base")]
        found = _strength(sheet, salts, moment.items)
        if found > _hinders(sheet, part):
            yield _before_finding(sheet, part, moment.step, salts, found)
            return
        moment = moment.next


def _hinders(sheet: Worksheet, part: Part) -> float:
    """Strength of salt water, %, in which a dry thickener swells badly: half of what it bears once swollen, where that is well known."""
    tolerance = sheet.fact(part.material, "salt tolerance")
    if tolerance is None:
        return sheet.limit("salt that hinders swelling")
    return float(tolerance.value) / (1 if tolerance.certainty == "low" else 2)


def _before_finding(sheet: Worksheet, part: Part, step: Step, salts: list[Part], strength: float) -> Finding:
    tolerance = sheet.fact(part.material, "salt tolerance")
    after = sheet.fact(part.material, "salt after hydration")
    grave = tolerance is not None and tolerance.certainty != "low" and strength > tolerance.value
    return rule.finding(
        step,
        f"{label(part)} has not swollen yet and lies in water with {share(strength)} of electrolyte "
        f"({names(salt.label for salt in _largest(salts))}) at step {step.number} ({step.verb})",
        remedy=f"Let {part.item.name} swell in plain water first; add the salts dissolved, at the end.",
        source=sheet.cite(*(fact for fact in (after, tolerance) if fact)),
        harm=None if grave else "untidy",
        materials=[part.material.name, *(salt.material.name for salt in salts)],
        step=step.number,
    )


def _strength(sheet: Worksheet, salts: Iterable[Part], items: Iterable[Item]) -> float:
    """Electrolyte as % of itself and the water of a vessel."""
    salt = sum(part.amount for part in salts)
    water = sum(part.amount for item in items for part in sheet.parts_of(item) if part.material.is_a("water"))
    return 100 * salt / (salt + water) if salt + water else 0.0
