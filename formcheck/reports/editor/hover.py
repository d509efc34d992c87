"""The card for what the pointer rests on: a material, a phase, a step, a rule, or any other key of the file."""

from __future__ import annotations

import os
from collections.abc import Iterator

from ...bench import law
from ...bench.composition import Item, total
from ...bench.worksheet import Worksheet
from ...formula.model import Fact, Step
from ...formula.names import fold, listed
from ...formula.vocabulary import VERBS
from ...records import NamedTuple
from ...reference.material import Material
from ...reference.store import MaterialBook, Reference
from ...review.model import Review
from ...review.rule import SEVERITIES, Rule
from ...review.words import celsius, grams, names, percent
from .. import facts
from ..safe_text import sentence
from .cards import Card, Row
from .opened import MATERIALS, Opened, is_line, verb_of
from .pieces import Path, Piece

_IDENTITY = frozenset(("also", "INCI", "INCI US", "CAS", "EC", "formula", "class", "form", "about"))
_ONLY_FOR_COMPUTING = frozenset(
    ("pKa", "charge when protonated", "counter-ions", "equivalent mass", "specific heat", "density", "log P", "Norrish K",
     "releases", "release share", "molar mass", "boiling point")
)  # fmt: skip
_FIRST = (
    "contains", "pH window", "stable pH", "minimum free acid", "maximum temperature", "cool-down temperature", "withstands",
    "maximum time hot", "dose", "maximum dose",
)  # fmt: skip
"""Windows and limits; what else is known comes after them and after the law."""
_MOST_OTHER_NAMES = 5
_CAUTION = "Suppliers' data sheets and local rules come first."
_VERBS = {
    "add": "Puts a material or a whole phase in.",
    "sprinkle": "Strews a powder slowly onto what is stirred.",
    "disperse": "Wets a powder out in something that does not swell it, before it meets the water.",
    "heat": "Brings a vessel to a temperature; with «hold» it stays there.",
    "cool": "Brings a vessel down to a temperature.",
    "hold": "Keeps a vessel at a temperature.",
    "hydrate": "Leaves a thickener the time it takes to swell.",
    "mix": "Stirs what is in a vessel.",
    "homogenise": "Shears what is in a vessel.",
    "neutralise": "Brings an acid polymer or fatty acid to a pH with a base.",
    "adjust pH": "Brings the batch to a pH with an acid or a base.",
    "measure pH": "Reads the meter.",
    "rest": "Leaves the batch alone.",
    "filter": "Takes out what has not dissolved.",
    "fill": "Puts the batch into its packs.",
}


class Shown(NamedTuple):
    """A card, and the key or value that it is about."""

    card: Card
    piece: Piece


def hover(opened: Opened, offset: int) -> Shown | None:
    """The card for a character of the text, if there is anything to say."""
    piece = opened.piece_at(offset)
    if piece is None:
        return None
    card = _card(opened, piece)
    return None if card is None else Shown(card, piece)


def _card(opened: Opened, piece: Piece) -> Card | None:
    path = piece.path
    if names_material(opened, piece):
        return material_card(opened, piece.text)
    if piece.role == "key":
        return _key(opened, piece)
    if path[:1] == ("procedure",) and len(path) > 2 and (phase := opened.phase(piece.text)):
        return _phase(opened, phase)
    if path[:1] == ("deviations",) and path[-1] == "rule":
        rule = opened.desk.rules(opened.path).get(piece.text)
        return rule_card(rule, opened.desk.reference, opened.seen.review) if rule else None
    if path == ("name",) and opened.what != MATERIALS:
        return _summary(opened)
    return _about(opened, path) if isinstance(path[-1], str) else None


def names_material(opened: Opened, piece: Piece) -> bool:
    """Whether a piece is the name of a material: on a line, in a step, in a description, in a deviation."""
    path = piece.path
    if piece.role == "key":
        contained = len(path) == 4 and path[0] == "materials" and path[2] == "contains"
        return is_line(path) or contained or (len(path) == 2 and path[0] == "materials")
    if path[:1] == ("procedure",) and len(path) > 2:
        return (path[2] in ("in", "with") or bool(verb_of(str(path[2])))) and opened.phase(piece.text) is None
    return path[-1:] == ("INCI",) or (path[:1] == ("deviations",) and path[-1] == "of")


def _key(opened: Opened, piece: Piece) -> Card | None:
    path = piece.path
    if len(path) == 2 and path[0] == "phases":
        return _phase(opened, piece)
    if len(path) == 3 and path[0] == "procedure" and verb_of(piece.text):
        return _step(opened, path)
    if path == ("name",) and opened.what != MATERIALS:
        return _summary(opened)
    return _about(opened, path)


def _about(opened: Opened, path: Path) -> Card | None:
    """What a key means, as the schema says it."""
    about = opened.desk.about(path, opened.verb(path) if path[0] == "procedure" and len(path) > 1 else "")
    return Card(str(path[-1]), "", (about,)) if about else None


# --- a material


def material_card(opened: Opened, name: str) -> Card | None:
    """What is known of a material, and how this formula uses it."""
    sheet, book = opened.sheet, opened.book
    material = book.find(name)
    if material is None:
        near = opened.desk.reference.nearest(name)
        hint = f"Near names are {listed(near, 'or')}." if near else ""
        return Card(name, "not in the reference", tuple(filter(None, (hint, "Describe it under «materials:»."))))
    rows: list[Row] = [] if sheet is None else list(_use(sheet, material))
    known = list(_facts(opened, book, material, name))
    rows.extend(sorted((row for row in known if row.label in _FIRST), key=lambda row: _FIRST.index(row.label)))
    rows.extend(() if sheet is None else _law(sheet, material))
    rows.extend(row for row in known if row.label not in _FIRST)
    return reference_card(material, name, tuple(rows))


def reference_card(material: Material, name: str, rows: tuple[Row, ...]) -> Card:
    """Who a material is, and rows on it."""
    kind = ", ".join(material.value("class") or ())
    others = {fold(other): other for other in material.names if fold(other) != fold(name)}.values()
    also = f"Also {names(others, _MOST_OTHER_NAMES)}." if others else ""
    about = material.value("about") or ""
    return Card(name, kind, tuple(filter(None, (also, about))), rows, _CAUTION)


def _use(sheet: Worksheet, material: Material) -> Iterator[Row]:
    """How much of it is in the formula, and how hot it gets."""
    for item in sheet.items:
        if item.material.name == material.name and item.percent is not None:
            amount = percent(item.percent) + (f", {grams(item.grams)}" if item.grams is not None else "")
            yield Row(f"here, phase {item.phase.letter}", amount + _hottest(sheet, item))


def _hottest(sheet: Worksheet, item: Item) -> str:
    moment = sheet.thermal.hottest(item)
    if moment is None or moment.celsius is None or moment.step is None:
        return ""
    return f"; at its hottest {celsius(moment.celsius)}, step {moment.step.number}"


def _facts(opened: Opened, book: MaterialBook, material: Material, name: str) -> Iterator[Row]:
    """What is known, as it holds for this product where the product is known."""
    product = opened.sheet.product if opened.sheet is not None else None
    own = _described_in(opened, book, name)
    for key, known in material.facts.items():
        if key in _IDENTITY or key in _ONLY_FOR_COMPUTING:
            continue
        holding = material.fact(key, product)
        for fact in (holding,) if holding is not None and not _several(known) else known:
            if fact.used:
                sources = tuple(book.reference.source(id).citation for id in fact.source) or (own,)
                yield Row(key, _fact(fact, book.reference), sources)


def _described_in(opened: Opened, book: MaterialBook, name: str) -> str:
    described = book.described(name)
    if described is None or described.file == opened.path:
        return "the formula's own description of the material"
    try:
        return f"described in {os.path.relpath(described.file, os.path.dirname(os.path.abspath(opened.path)))}"
    except ValueError:  # another drive
        return f"described in {described.file}"


def _several(known: tuple[Fact, ...]) -> bool:
    """Whether facts differ by more than the product, as by the solvent: then all of them are of interest."""
    return any(fact.extra for fact in known)


def _fact(fact: Fact, reference: Reference) -> str:
    text = facts.shown(fact, reference.properties.get(fact.property))
    when = facts.condition(fact)
    sure = f"{fact.certainty} certainty" if fact.certainty != "high" else ""
    remarks = ", ".join(filter(None, (when, sure)))
    return text + (f" ({remarks})" if remarks else "") + (f"; {fact.note}" if fact.note else "")


def _law(sheet: Worksheet, material: Material) -> Iterator[Row]:
    """What the markets of the formula allow of it in this product."""
    component = sheet.component(material.name)
    if component is None:
        return
    for market in law.markets(sheet):
        for held in law.limits(sheet, market, component):
            limit = held.limit
            scope = f" in {limit.scope}" if limit.scope else ""
            form = f", counted as {limit.expressed_as}" if limit.expressed_as else ""
            if not limit.permitted:
                yield Row(f"law in {market}", f"not allowed in this product, {limit.scope}", (limit.source,))
            elif limit.max_percent is not None:
                yield Row(f"law in {market}", f"at most {percent(limit.max_percent)}{scope}{form}", (limit.source,))


# --- rules, phases, steps, the whole


def rule_card(rule: Rule, reference: Reference, review: Review | None = None) -> Card:
    """What a rule finds, why, and what to do; what a deviation from it accepts in this formula."""
    rows = [Row("why", rule.why), Row("mend", rule.remedy, tuple(reference.source(id).citation for id in rule.sources))]
    if rule.needs:
        rows.append(Row("needs", listed(rule.needs)))
    if review is not None:
        accepted = [each.finding.message for each in review.accepted if each.finding.rule == rule.id]
        rows.extend(Row("accepted here", message) for message in accepted)
    return Card(rule.id, f"{rule.severity}, {rule.family}", (f"Finds {sentence(rule.finds)}",), tuple(rows))


def _phase(opened: Opened, piece: Piece) -> Card:
    lines = [line for line in opened.lines if line.path[1] == piece.path[1]]
    count = f"{len(lines)} {'material' if len(lines) == 1 else 'materials'}"
    sheet = opened.seen.sheet
    rows = []
    if sheet is not None:
        items = [item for item in sheet.items if item.phase.letter == piece.text.strip()]
        known = [item.percent for item in items if item.percent is not None]
        if len(known) == len(items):
            weights = [item.grams for item in items if item.grams is not None]
            weight = f", {grams(total(weights))}" if weights and len(weights) == len(items) else ""
            rows.append(Row("together", percent(total(known)) + weight))
        rows.extend(_fate(sheet, piece.text.strip()))
    return Card(f"phase {piece.text.strip()}", count, (), tuple(rows))


def _fate(sheet: Worksheet, letter: str) -> Iterator[Row]:
    for merging in sheet.thermal.mergings:
        if merging.poured == letter:
            warm = f" at {celsius(merging.poured_celsius)}" if merging.poured_celsius is not None else ""
            into = f" of {celsius(merging.into_celsius)}" if merging.into_celsius is not None else ""
            yield Row(f"step {merging.step.number}", f"goes{warm} into {merging.into}{into}")


def _step(opened: Opened, path: Path) -> Card:
    verb = opened.verb(path)
    takes = VERBS[verb]
    rows = [Row(key, opened.desk.about((*path[:2], key), verb)) for key in takes.keys]
    sheet = opened.seen.sheet
    if sheet is not None:
        step = next((step for step in sheet.formula.procedure if step.number - 1 == path[1]), None)
        rows.extend(_after(sheet, step) if step is not None else ())
    return Card(verb, f"takes {takes.object}", (_VERBS[verb],), tuple(rows))


def _after(sheet: Worksheet, step: Step) -> Iterator[Row]:
    """What the vessels hold and how warm they are once the step is done."""
    last = {moment.vessel: moment for moment in sheet.thermal.moments if moment.step is step}
    for vessel, moment in last.items():
        warm = f"about {celsius(moment.celsius)}" if moment.celsius is not None else "its temperature is left open"
        share = total(item.percent for item in moment.items if item.percent is not None)
        yield Row(f"afterwards, vessel {vessel}", f"{warm}, with {percent(share)} of the formula in it")


def _summary(opened: Opened) -> Card:
    """The verdict on the whole, and what could not be checked."""
    review = opened.seen.review
    counts = [f"{count} {severity}" for severity in SEVERITIES if (count := review.count(severity))]
    rows = [Row("findings", ", ".join(counts) or "none")]
    if review.accepted:
        rows.append(Row("accepted on purpose", str(len(review.accepted))))
    if review.silenced:
        rows.append(Row("left out by the configuration", str(len(review.silenced))))
    asks = dict.fromkeys(item.needs for item in review.unchecked)
    rows.extend(Row("not checked", ask) for ask in asks)
    return Card(review.name, review.verdict, (), tuple(rows))
