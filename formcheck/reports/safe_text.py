"""Text from a formula file, made harmless: control and direction characters are shown, not obeyed."""

from __future__ import annotations

import unicodedata

_KEPT = frozenset("\n\t")
_HIDDEN = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp"))


def visible(text: str) -> str:
    """The text with every control, format and direction character written as <U+XXXX>."""
    if text.isprintable():
        return text
    return "".join(
        character
        if character in _KEPT or unicodedata.category(character) not in _HIDDEN
        else f"<U+{ord(character):04X}>"
        for character in text
    )


def one_line(text: str) -> str:
    """The same on one line, every run of white space a single space."""
    return " ".join(visible(text).split())


def sentence(text: str) -> str:
    """The text with a full stop where it has no end."""
    return text if text.endswith((".", "!", "?")) else text + "."
