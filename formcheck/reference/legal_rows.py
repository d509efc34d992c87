"""Lines of the legal tables as short texts: most are never asked for, so they are taken apart only when found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_BETWEEN = "¦"
_IS = "§"
_LISTS = frozenset(("names", "cas", "product", "not_product", "warnings", "under_3_only", "from"))


def packed(row: Mapping[str, Any]) -> str:
    """One line as a text. Values are texts, lists of texts, or under totals pairs of texts."""
    parts = []
    for key, value in row.items():
        if key == "totals":
            value = ";".join(":".join(pair) for pair in value)
        elif not isinstance(value, str):
            value = ";".join(value)
        parts.append(f"{key}{_IS}{value}")
    return _BETWEEN.join(parts)


def unpacked(text: str) -> dict[str, Any]:
    """The line that packed made a text of."""
    row: dict[str, Any] = {}
    for part in text.split(_BETWEEN):
        key, _, value = part.partition(_IS)
        if key == "totals":
            row[key] = [pair.rsplit(":", 1) for pair in value.split(";")]
        else:
            row[key] = value.split(";") if key in _LISTS else value
    return row


def scope_words(scope: str) -> list[str]:
    """The product words of a ban's scope; `all except a;b` gives a and b."""
    return [word.strip() for word in scope.removeprefix("all except ").split(";") if word.strip()]
