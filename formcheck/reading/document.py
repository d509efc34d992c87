"""A document: plain data in which every key and every value knows where it stands.

YAML, TOML and JSON all become the same three kinds of node. A scalar keeps the text as it was written; what the text
means (a number, a temperature, `q.s.`) is decided once, later, by the code that knows which was expected.
"""

from __future__ import annotations

from typing import TypeAlias

from ..patterns import pattern
from ..records import NamedTuple


class Place(NamedTuple):
    """A position in a file; line and column count from 1, columns in characters."""

    line: int
    column: int


class Scalar(NamedTuple):
    """A single value.

    text: as written, without quotes; kind: "text", "number", "true/false" or "null" as the file's own format types it;
    quoted: the writer put it in quotes.
    """

    text: str
    kind: str
    place: Place
    quoted: bool = False


class Entry(NamedTuple):
    """One `key: value` of a mapping."""

    key: Scalar
    value: Node


class Mapping(NamedTuple):
    """Keys and values in the order written; keys are unique."""

    entries: tuple[Entry, ...]
    place: Place

    def get(self, key: str) -> Node | None:
        """The value of a key; None where there is none."""
        for entry in self.entries:
            if entry.key.text == key:
                return entry.value
        return None


class Sequence(NamedTuple):
    """A list in the order written."""

    items: tuple[Node, ...]
    place: Place


Node: TypeAlias = "Scalar | Mapping | Sequence"


class Document(NamedTuple):
    """A file that could be read. path is as the user named it; root is its top-level mapping; text is the source."""

    path: str
    root: Mapping
    text: str


class Problem(NamedTuple):
    """Something that kept a file from being read or understood, at its place."""

    place: Place
    message: str


class Unreadable(Exception):
    """Raised by readers; carries every problem found, in the order of the file."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = tuple(sorted(Problem(place, _shortened(message)) for place, message in problems))
        super().__init__("; ".join(p.message for p in self.problems))


_LONG = 1000
_MUCH_QUOTED = pattern("«([^»]{60})[^»]{20,}»")


def _shortened(message: str) -> str:
    """A message that quotes no more of the file than says what is meant."""
    if len(message) <= _LONG:
        return message
    short = _MUCH_QUOTED.sub(r"«\1...»", message)
    return short if len(short) <= 2 * _LONG else f"{short[:_LONG]} ..."


START = Place(1, 1)


def plain(node: Node) -> object:
    """The data without places: dict, list, and scalars as their text. For tests and for showing, not for computing."""
    if isinstance(node, Mapping):
        return {entry.key.text: plain(entry.value) for entry in node.entries}
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return node.text


def describe(node: Node) -> str:
    """What a node is, in words for a message."""
    if isinstance(node, Mapping):
        return "a mapping"
    if isinstance(node, Sequence):
        return "a list"
    if node.kind == "null":
        return "nothing"
    text = node.text if len(node.text) <= 40 else node.text[:37] + "..."
    return f"«{text}»"
