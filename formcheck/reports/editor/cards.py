"""What is shown where the pointer rests: a short page, as Markdown or as plain text."""

from __future__ import annotations

from collections.abc import Callable

from ...records import NamedTuple
from ..markdown_text import inline
from ..safe_text import one_line

_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


class Row(NamedTuple):
    """One line of a card. sources: the works behind it, in words."""

    label: str
    text: str
    sources: tuple[str, ...] = ()


class Card(NamedTuple):
    """title, then what it is, then sentences, then rows with their sources numbered, then a last word."""

    title: str
    subtitle: str = ""
    sentences: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    foot: str = ""


def markdown(card: Card) -> str:
    """The card as Markdown; nothing of a formula's text becomes markup."""
    return _rendered(card, inline, lambda text: f"**{inline(text)}**", "\n\n")


def plain(card: Card) -> str:
    """The card as text."""
    return _rendered(card, one_line, one_line, "\n")


def _rendered(card: Card, text: Callable[[str], str], strong: Callable[[str], str], gap: str) -> str:
    works: dict[str, int] = {}
    head = strong(card.title) + (f" – {text(card.subtitle)}" if card.subtitle else "")
    blocks = [head, *(text(sentence) for sentence in card.sentences)]
    rows = []
    for row in card.rows:
        marks = " ".join(str(works.setdefault(work, len(works) + 1)).translate(_RAISED) for work in row.sources)
        rows.append(f"- {text(row.label)}: {text(row.text)} {marks}".rstrip())
    blocks.extend(["\n".join(rows)] if rows else [])
    blocks.extend(f"{str(number).translate(_RAISED)} {text(work)}" for work, number in works.items())
    blocks.extend([text(card.foot)] if card.foot else [])
    return gap.join(blocks)
