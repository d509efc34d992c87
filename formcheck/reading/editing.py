"""Small replacements in the text of a document: everything that is not replaced stays as it is, byte for byte.

An Editor turns «this value becomes that» into edits of the source text, spelled as the file's format spells them. What
cannot be edited safely (a value that an alias shares, steps with a comment between them) raises CannotEdit; nothing is
ever loaded and written out again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Protocol

from ..records import NamedTuple
from .document import Document, Node, Place, Scalar
from .document import Mapping as MappingNode
from .document import Sequence as SequenceNode
from .text import line_starts

_LINE = re.compile(r"[^\r\n]*")


class Edit(NamedTuple):
    """text takes the place of what stands from start up to end, in characters of the source; an insertion has end = start."""

    start: int
    end: int
    text: str


class CannotEdit(Exception):
    """The text cannot be edited safely here; the message says why."""


class Spot(NamedTuple):
    """Where one value of the document stands in the source.

    key: from and up to, of its key, None in a list; value: of the value itself, of a block from its first to its last
    character; bracketed: a collection written with brackets; inside: stands within brackets; closed: why it must not be
    edited, or nothing.
    """

    node: Node
    key: tuple[int, int] | None
    value: tuple[int, int]
    bracketed: bool = False
    inside: bool = False
    closed: str = ""


class Finder:
    """Goes through a document's source and notes in `found` where each value ends, by its JSON Pointer."""

    def __init__(self, document: Document) -> None:
        self.text = document.text
        self.root = document.root
        self.found: dict[str, Spot] = {}
        self._starts = line_starts(document.text)

    def at(self, place: Place) -> int:
        """The index in the text of a line and column."""
        return self._starts[place.line - 1] + place.column - 1

    def token(self, pattern: re.Pattern[str], start: int) -> int:
        """Where the token that begins at start ends. Raises CannotEdit."""
        match = pattern.match(self.text, start)
        if match is None:
            raise CannotEdit("the place of a value was not found")
        return match.end()


class Language(Protocol):
    """What an Editor has to know of a file format."""

    def spots(self, document: Document) -> dict[str, Spot]:
        """Every value by its JSON Pointer."""
        ...

    def spelled(self, text: str, spot: Spot, raw: str) -> str:
        """A text as a value in the place of raw. Raises CannotEdit."""
        ...

    def spelled_key(self, text: str, spot: Spot, raw: str) -> str:
        """A text as a key in the place of raw. Raises CannotEdit."""
        ...

    def item(self, entries: Sequence[tuple[str, str]], lead: str | None, newline: str) -> str:
        """A mapping as an item of a list; lead: what stands before an item of its own lines, None within brackets."""
        ...

    def lead(self, text: str, spot: Spot) -> str:
        """What stands before an item that has its own lines. Raises CannotEdit."""
        ...

    def gap(self, between: str | None, newline: str) -> str:
        """What to put between two items of their own lines; between: what stands before the first of them."""
        ...


def applied(text: str, edits: Iterable[Edit]) -> str:
    """The text with all edits made. Raises CannotEdit where two of them overlap."""
    parts = []
    at = 0
    for edit in sorted(edits):
        if edit.start < at:
            raise CannotEdit("two changes speak of the same place")
        parts.append(text[at : edit.start])
        parts.append(edit.text)
        at = edit.end
    parts.append(text[at:])
    return "".join(parts)


class Editor:
    """Makes edits for one document. Paths are JSON Pointers (RFC 6901); every method raises CannotEdit."""

    def __init__(self, document: Document, language: Language) -> None:
        self.document = document
        self.text = document.text
        self.language = language
        self.spots = language.spots(document)

    def spot(self, path: str) -> Spot:
        found = self.spots.get(path)
        if found is None:
            raise CannotEdit("what stands here is shared with another part of the file")
        if found.closed:
            raise CannotEdit(found.closed)
        return found

    def value(self, path: str, text: str) -> Edit:
        """The single value at path becomes text."""
        spot = self.spot(path)
        if not isinstance(spot.node, Scalar):
            raise CannotEdit("more than a single value stands here")
        start, end = spot.value
        if start == end:
            raise CannotEdit("nothing stands here yet; write it by hand")
        return Edit(start, end, self.language.spelled(text, spot, self.text[start:end]))

    def key(self, path: str, name: str) -> Edit:
        """The key of the value at path becomes name."""
        spot = self.spot(path)
        if spot.key is None:
            raise CannotEdit("the name is part of a heading; change it by hand")
        start, end = spot.key
        return Edit(start, end, self.language.spelled_key(name, spot, self.text[start:end]))

    def insert_after(self, path: str, entries: Sequence[tuple[str, str]]) -> Edit:
        """A new item of a list, a mapping, right after the one at path and laid out as that one is."""
        spot = self.spot(path)
        newline = "\r\n" if "\r\n" in self.text else "\n"
        if spot.inside:
            end = spot.value[1]
            between = self._between(path)
            if "#" in self._rest_of_line(end):
                raise CannotEdit("a comment stands beside the step; add the new one by hand")
            return Edit(end, end, between + self.language.item(entries, None, newline))
        end = self._line_end(spot.value[1])
        lead = self.language.lead(self.text, spot)
        gap = self.language.gap(self._gap(path), newline)
        bracketed = lead if not spot.bracketed else None
        text = self.language.item(entries, bracketed, newline)
        return Edit(end, end, gap + (text if bracketed is not None else lead + text))

    def move_behind(self, path: str, target: str) -> tuple[Edit, ...]:
        """The list's item at path goes behind the later item at target; those between move up by one."""
        first, last = _number(path), _number(target)
        spots = [self.spot(f"{path.rpartition('/')[0]}/{number}") for number in range(first, last + 1)]
        spans = [self._whole(spot) for spot in spots]
        for (_, end), (start, _) in pairwise(spans):
            if "#" in self.text[end:start]:
                raise CannotEdit("a comment stands between the steps; move them by hand")
        if len({(spot.inside, spot.inside or self.language.lead(self.text, spot)) for spot in spots}) > 1:
            raise CannotEdit("the steps are laid out in different ways; move them by hand")
        texts = [self.text[start:end] for start, end in spans]
        moved = [*texts[1:], texts[0]]
        return tuple(Edit(start, end, text) for (start, end), text in zip(spans, moved))

    def _whole(self, spot: Spot) -> tuple[int, int]:
        """An item with the comment that ends its last line, if it has its own lines."""
        start, end = spot.value
        return (start, end) if spot.inside else (start, self._line_end(end))

    def _line_end(self, at: int) -> int:
        """The end of the line, before its line break. Raises CannotEdit where more than a comment follows."""
        rest = self._rest_of_line(at)
        if rest.strip() and not rest.lstrip().startswith("#"):
            raise CannotEdit("something else stands in the same line")
        return at + len(rest)

    def _rest_of_line(self, at: int) -> str:
        match = _LINE.match(self.text, at)
        return match.group() if match else ""

    def _gap(self, path: str) -> str | None:
        """What stands between an item of its own lines and the one before; None for the first."""
        parent, _, index = path.rpartition("/")
        before = self.spots.get(f"{parent}/{int(index) - 1}")
        return None if before is None else self.text[self._line_end(before.value[1]) : self.spots[path].value[0]]

    def _between(self, path: str) -> str:
        """What separates items within brackets here."""
        parent, _, index = path.rpartition("/")
        for earlier, later in ((int(index) - 1, int(index)), (int(index), int(index) + 1)):
            one, two = self.spots.get(f"{parent}/{earlier}"), self.spots.get(f"{parent}/{later}")
            if one and two:
                between = self.text[one.value[1] : two.value[0]]
                if re.fullmatch(r"\s*,\s*", between):
                    return between
        return ", "


def below(path: str, name: str | int) -> str:
    """The JSON Pointer of a value inside the one at path."""
    return f"{path}/{str(name).replace('~', '~0').replace('/', '~1')}"


def editor(document: Document, kind: str) -> Editor:
    """An editor for a document of the kind yaml, toml or json. Raises CannotEdit for any other."""
    if kind == "yaml":
        from .edit_yaml import Yaml

        return Editor(document, Yaml())
    if kind == "toml":
        from .edit_toml import Toml

        return Editor(document, Toml())
    if kind == "json":
        from .edit_json import Json

        return Editor(document, Json())
    raise CannotEdit("files of this format are read by a plug-in and cannot be edited here")


def scalars(node: Node, path: str = "") -> Iterable[tuple[str, Scalar]]:
    """Every single value below a node, with its JSON Pointer."""
    if isinstance(node, Scalar):
        yield path, node
    elif isinstance(node, MappingNode):
        for entry in node.entries:
            yield from scalars(entry.value, below(path, entry.key.text))
    elif isinstance(node, SequenceNode):
        for index, item in enumerate(node.items):
            yield from scalars(item, below(path, index))


def plain_control_free(text: str) -> str:
    """The text itself. Raises CannotEdit where it holds what cannot be written as one line of text."""
    if not text.isprintable():
        raise CannotEdit("the new text holds control characters")
    return text


def _number(path: str) -> int:
    last = path.rpartition("/")[2]
    if not last.isdigit():
        raise CannotEdit("this is no item of a list")
    return int(last)
