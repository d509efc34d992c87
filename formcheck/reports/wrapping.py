"""Filling lines without tearing a number from its unit."""

from __future__ import annotations

import re
import textwrap

_TIE = "\0"
_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:%|°C|°F|K|µm|mg|g|kg|oz|lb|ml|l|s|min|h|days)(?![\w/]))")
_SIGN_AND_NUMBER = re.compile(r"(?<=\bpH) (?=\d)")


def wrap(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of at most so many columns where words allow it; a number stays with its unit, and pH with its number.

    first, rest: what the first line and the later ones start with. A text that is empty makes no line.
    """
    tied = _SIGN_AND_NUMBER.sub(_TIE, _NUMBER_AND_UNIT.sub(_TIE, text.replace(_TIE, " ")))
    lines = textwrap.wrap(
        tied, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False, break_long_words=False
    )
    return [line.replace(_TIE, " ") for line in lines]
