"""The keys and single values of a file, each with the keys that lead to it and where it stands.

Those of YAML come from sketch.py, which reads half-written text too; those of TOML and JSON from the document.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TypeAlias

from ...reading.document import Document, Mapping, Node, Scalar
from ...records import NamedTuple
from .positions import Positions

Path: TypeAlias = tuple["str | int", ...]

_QUOTED = re.compile(r"'''.*?'''|\"\"\"(?:[^\\]|\\.)*?\"\"\"|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'", re.DOTALL)


class Piece(NamedTuple):
    """A key or a single value.

    path: keys and numbers in lists that lead to it, a key's own and a value's own included; role: "key" or "value"; text:
    without quotes; start, end: from where up to where it reaches in the text, quotes included.
    """

    path: Path
    role: str
    text: str
    start: int
    end: int


def of_document(document: Document, positions: Positions) -> tuple[Piece, ...]:
    """The pieces of a document that could be read."""
    return tuple(_below(document.root, (), document.text, positions))


def _below(node: Node, path: Path, text: str, positions: Positions) -> Iterator[Piece]:
    if isinstance(node, Scalar):
        yield _piece(node, "value", path, text, positions)
    elif isinstance(node, Mapping):
        for entry in node.entries:
            yield _piece(entry.key, "key", (*path, entry.key.text), text, positions)
            yield from _below(entry.value, (*path, entry.key.text), text, positions)
    else:
        for number, item in enumerate(node.items):
            yield from _below(item, (*path, number), text, positions)


def _piece(scalar: Scalar, role: str, path: Path, text: str, positions: Positions) -> Piece:
    start = positions.of_place(scalar.place)
    quoted = _QUOTED.match(positions.text, start) if scalar.quoted else None
    return Piece(path, role, scalar.text, start, quoted.end() if quoted else start + len(scalar.text))
