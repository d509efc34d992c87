"""Names as they stand on sheets and labels: with a grade, a remark in brackets, or a blend's parts in any order."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping

from ..formula.names import fold
from ..patterns import pattern

_REMARK = pattern(r"\s*[(\[](?!and\))(?:[^()\[\]\d%]|(?<=[A-Za-z])\d{1,3}(?![\d.:])|(?<=\bCI )\d{5})*[)\]]")
_INDEX = pattern(r"[(\[]\s*(CI \d{5})\b")
_GRADE = pattern(
    r"^(?:organic|bio|kosher|pure|natural|raw|(?:un)?refined|(?:extra )?virgin|(?:cold|expeller)[ -]pressed|fine|coarse"
    r"|deodori[sz]ed|non[ -]?nano|(?:food|cosmetic|pharmaceutical) grade)\s+"
    r"|[\s,]+(?:\d+ ?(?:cst?|cps|mpa[ .]?s)\.?|usp|bp|nf|fcc|jp|ep|usp/nf|(?:bp/ep|ph\.? ?eur)\.?|flakes|pellets"
    r"|pastilles|granules|crystals|organic|(?:un)?refined)$",
    re.I,
)
_COLOUR = pattern(
    r"\bno\.?\s*(?=\d)|(?:\s(?:alumin(?:i)?um|barium|calcium|zirconium))?\slakes?$|(?<=\bCI \d{5}):\d$", re.I
)
"""What colours are told apart by beside their number; the law takes a lake for its dye."""
_JOINTS = pattern(r"\s*(?:,(?=\s)|;|&|\+|\(and\)|\s/\s|\band\b)\s*", re.I)


def without_remarks(name: str) -> str:
    """`Helianthus Annuus (Sunflower) Seed Oil` without what stands in brackets.

    A bracket with a number in it stays, unless it is part of a word (vitamin B3): it may be a strength, and then it is
    another material.
    """
    return _REMARK.sub("", name).strip()


def colour_index(name: str) -> str:
    """The colour index number in brackets behind a name (`Iron Oxides (CI 77491)`), "" where there is none."""
    found = _INDEX.search(name)
    return found[1] if found else ""


def parts_of(name: str) -> list[str]:
    """The parts of a name that lists several; a list of one where it does not."""
    return [part for part in _JOINTS.split(without_remarks(name)) if part]


def plainer(name: str) -> Iterator[str]:
    """Ever plainer ways to write a name: without the comma, the number sign or lake of a colour, and words of grade."""
    last, plain = "", _COLOUR.sub("", without_remarks(name).replace(", ", " "))
    while plain != last:
        yield plain
        last, plain = plain, _GRADE.sub("", plain, count=1).strip()


def blend_key(name: str, heading_of: Callable[[str], str | None]) -> str | None:
    """One key for all ways to list a blend's parts; None where name is no list of known materials."""
    parts = [part for part in _JOINTS.split(name) if part]
    return _key(parts, heading_of) if len(parts) > 1 else None


def blends(materials: Mapping[str, Iterable[str]], heading_of: Callable[[str], str | None]) -> dict[str, str]:
    """Key -> heading of every blend; materials maps a heading to what it contains.

    A heading that lists its parts counts first; a blend with a name of its own is found by its parts where no other
    has the same and none of them is water, which makes it a solution of some strength.
    """
    named = {key: heading for heading in materials if (key := blend_key(heading, heading_of))}
    shared: dict[str, list[str]] = {}
    for heading, contains in materials.items():
        parts = list(contains)
        key = _key(parts, heading_of) if len(parts) > 1 and "aqua" not in map(fold, parts) else None
        if key:
            shared.setdefault(key, []).append(heading)
    return {**{key: found[0] for key, found in shared.items() if len(found) == 1}, **named}


def _key(parts: Iterable[str], heading_of: Callable[[str], str | None]) -> str | None:
    headings = [heading_of(fold(part)) for part in parts]
    return "|".join(sorted(fold(heading) for heading in headings if heading)) if all(headings) else None
