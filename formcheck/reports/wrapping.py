"""Filling lines without tearing a number from its unit."""

from __future__ import annotations

import re
from functools import lru_cache

_TIE = "\0"
_OTHER_SPACE = re.compile(r"[^\S ]")
_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:%|°C|°F|K|µm|mg|g|kg|oz|lb|ml|l|s|min|h|days)(?![\w/]))")
_SIGN_AND_NUMBER = re.compile(r"(?<=\bpH) (?=\d)")


def wrap(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of at most so many columns where words allow it; a number stays with its unit, and pH with its number.

    first, rest: what the first line and the later ones start with. A text that is empty makes no line.
    """
    if len(first) + len(text) <= width and text.isprintable() and text == text.strip():
        return [first + text] if text else []
    return list(_wrapped(text, width, first, rest))


@lru_cache(2048)
def _wrapped(text: str, width: int, first: str, rest: str) -> tuple[str, ...]:
    """Reasons and sources come back from formula to formula."""
    tied = _SIGN_AND_NUMBER.sub(_TIE, _NUMBER_AND_UNIT.sub(_TIE, text.replace(_TIE, " ")))
    lines = _filled(tied, width, first, rest) if _single_spaces(tied) else _by_the_book(tied, width, first, rest)
    return tuple(line.replace(_TIE, " ") for line in lines)


def _single_spaces(text: str) -> bool:
    """Whether single spaces part the words, and nothing else does, as is mostly so."""
    return "  " not in text and text == text.strip() and not _OTHER_SPACE.search(text)


def _filled(text: str, width: int, first: str, rest: str) -> list[str]:
    """What textwrap makes of words that single spaces part, in a tenth of the time."""
    lines = []
    lead, start = first, 0
    while len(lead) + len(text) - start > width:
        end = start + width - len(lead)
        cut = text.rfind(" ", start + 1, max(end, start) + 1)
        if cut < 0:  # a word longer than the line stands on one of its own
            cut = text.find(" ", max(end, start))
            if cut < 0:
                break
        lines.append(lead + text[start:cut])
        lead, start = rest, cut + 1
    lines.append(lead + text[start:])
    return lines


def _by_the_book(text: str, width: int, first: str, rest: str) -> list[str]:
    import textwrap

    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False, break_long_words=False
    )
