"""The label of a formula, for reading and as data.

{"format": 1, "file", "name", "labels": [{"market", "law", "tables", "list",
  "ingredients": [{"name", "percent", "part", "materials", "raw materials", "about"}],
  "wordings": [{"text", "when", "duty", "cause", "source"}], "given": [{"what", "where", "answer"}],
  "missing": [{"what", "where"}], "keeps": [{"what", "where"}], "checks": [text], "notes": [text]}]}

part is "by weight", "any order", "allergen" or "colourant"; percent is a number as text, exact, or null.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ..bench.declaration import ALLERGEN, ANY_ORDER, BY_WEIGHT, COLOURANT, Ingredient, Label
from ..bench.worksheet import Worksheet
from ..reference.label_law import Duty
from ..review.words import listed, number
from .safe_text import one_line, sentence
from .wrapping import wrap

FORMAT = 1
CAUTION = (
    "A draft made from the formula. The official text decides; the safety assessment, data sheets and local rules come "
    "first. The list is only as right as the composition sheets behind it."
)
_SHARES = 3
_HEADS = {
    ANY_ORDER: "in any order",
    ALLERGEN: "allergens over their thresholds",
    COLOURANT: "colourants, last, in any order",
}


def text(sheet: Worksheet, labels: Iterable[Label], width: int = 96) -> str:
    """All labels of a formula, for reading."""
    page = _Page(width)
    lines = [_title(sheet), one_line(sheet.formula.path)]
    for label in labels:
        lines.extend(("", *page.label(sheet, label)))
    return "\n".join(lines) + "\n"


def data(sheet: Worksheet, labels: Iterable[Label]) -> str:
    """All labels of a formula as a JSON document, ending in a newline."""
    document = {
        "format": FORMAT,
        "file": sheet.formula.path,
        "name": sheet.formula.name,
        "labels": [_data(sheet, label) for label in labels],
    }
    return json.dumps(document, indent=2) + "\n"


def _title(sheet: Worksheet) -> str:
    code = f" ({sheet.formula.code})" if sheet.formula.code else ""
    return one_line(sheet.formula.name + code)


class _Page:
    def __init__(self, width: int) -> None:
        self.width = width

    def label(self, sheet: Worksheet, label: Label) -> Iterator[str]:
        yield f"--- {label.market} " + "-" * max(3, self.width - 5 - len(label.market))
        yield from self.wrapped(label.text, "", "")
        yield ""
        yield from self.made_of(label)
        yield from self.items("To look into before the list can be relied on", map(sentence, label.checks))
        yield from self.items("Wording to be added, the gist; use the words of the law", _wordings(label))
        yield from self.items(
            "How long it keeps: to be decided from stability and challenge tests", _duties(label.keeps)
        )
        yield from self.items("Still missing on this label", _duties(label.missing))
        yield from self.items("The file gives", (f"{duty.what}: {answer}" for duty, answer in label.given))
        yield from self.items("Good to know", label.law.notes)
        yield ""
        law = sheet.legal.date(label.market)
        yield from self.wrapped(f"The law it was held against. {law}. Labels by {label.law.law}.", "", "")
        yield from self.wrapped(CAUTION, "", "")

    def made_of(self, label: Label) -> Iterator[str]:
        heads = {BY_WEIGHT: f"by weight, from {number(label.law.by_weight_from)} %", **_HEADS}
        room = min(38, max((len(one_line(each.name)) for each in label.ingredients), default=0)) + 2
        for part, head in heads.items():
            members = [each for each in label.ingredients if each.part == part]
            if members:
                yield head
            for each in members:
                share = "to taste" if each.percent is None else f"{number(each.percent, _SHARES)} %"
                first = f"  {share:>9}  {one_line(each.name) + '  ':<{room}}"
                yield from self.wrapped(_origin(each), first, " " * (13 + room))

    def items(self, head: str, items: Iterable[str]) -> Iterator[str]:
        lines = [line for item in items for line in self.wrapped(item, "  - ", "    ")]
        if lines:
            yield ""
            yield head
            yield from lines

    def wrapped(self, words: str, first: str, rest: str) -> list[str]:
        return wrap(one_line(words), self.width, first, rest) or [first.rstrip()]


def _origin(each: Ingredient) -> str:
    """Where an ingredient comes from, where that is not plain from its name."""
    own = {each.name, *(each.materials if len(each.materials) == 1 else ())}
    raw = [name for name in each.raw if name not in own]
    parts = [each.about] if each.about else []
    if raw:
        partly = "partly " if len(raw) < len(each.raw) else ""
        parts.append(f"{partly}from {listed(raw)}")
    return "; ".join(parts)


def _wordings(label: Label) -> Iterator[str]:
    for each in label.wordings:
        source = f", {each.source}" if each.source else ""
        guidance = "" if each.duty == "law" else ", guidance"
        yield f"{each.shown} [{each.cause}{guidance}{source}]"


def _duties(duties: Sequence[Duty]) -> Iterator[str]:
    return (f"{duty.what}" + (f" ({duty.where})" if duty.where else "") for duty in duties)


def _data(sheet: Worksheet, label: Label) -> dict[str, Any]:
    return {
        "market": label.market,
        "law": label.law.law,
        "tables": sheet.legal.date(label.market),
        "list": label.text,
        "ingredients": [
            {
                "name": each.name,
                "percent": None if each.percent is None else f"{each.percent.normalize():f}",
                "part": each.part,
                "materials": list(each.materials),
                "raw materials": list(each.raw),
                "about": each.about,
            }
            for each in label.ingredients
        ],
        "wordings": [each._asdict() for each in label.wordings],
        "given": [{"what": duty.what, "where": duty.where, "answer": answer} for duty, answer in label.given],
        "missing": [{"what": duty.what, "where": duty.where} for duty in label.missing],
        "keeps": [{"what": duty.what, "where": duty.where} for duty in label.keeps],
        "checks": list(label.checks),
        "notes": [*label.law.notes, CAUTION],
    }
