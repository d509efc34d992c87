"""YAML to a document, from libyaml's events, with the scalars of the YAML 1.2 core schema.

Events rather than composed nodes: the tree is built once, in the shape we keep, without recursion, so deep nesting is a
message and not a crash; and words such as `no` or `12:30` stay text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import yaml

from .document import START, Entry, Mapping, Node, Place, Problem, Scalar, Sequence, Unreadable

DEEPEST = 60
"""Levels of nesting a formula file may have; the format itself needs five."""
MOST_NODES = 100_000
"""Values in a file once its aliases are written out."""

_NULL = frozenset(("", "~", "null", "Null", "NULL"))
_BOOL = frozenset(("true", "True", "TRUE", "false", "False", "FALSE"))
_BEGINS_OTHERS = "0123456789+-.~nNtTfF"
"""What a text begins with that may be a number, null, true or false; all else, but for nothing at all, is text."""
# YAML 1.2.2, section 10.3.2, core schema tag resolution
_NUMBER = re.compile(
    r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+"
    r"|[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?"
    r"|[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)"
)

_record = tuple.__new__
"""A NamedTuple past its own constructor, which costs as much again: a file has hundreds of places and scalars."""

_CParser: Any = getattr(yaml, "cyaml", None) and getattr(yaml.cyaml, "CParser", None)


class _PythonParser(yaml.reader.Reader, yaml.scanner.Scanner, yaml.parser.Parser):
    """PyYAML's own event source, for machines whose PyYAML came without libyaml."""

    def __init__(self, text: str) -> None:
        yaml.reader.Reader.__init__(self, text)
        yaml.scanner.Scanner.__init__(self)
        yaml.parser.Parser.__init__(self)


def read_yaml(text: str) -> Node | None:
    """The top-level node, or None for an empty file. Raises Unreadable."""
    try:
        return _build((_CParser or _PythonParser)(text))
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Place(mark.line + 1, mark.column + 1) if mark else START
        raise Unreadable(Problem(place, "not valid YAML: " + _in_words(error, text, place))) from None
    except yaml.reader.ReaderError as error:
        raise Unreadable(_bad_character(text, error)) from None
    except (ValueError, RecursionError) as error:
        raise Unreadable(Problem(START, f"not valid YAML: {error}")) from None


def events(text: str) -> Iterator[Any]:
    """The parser's events, whose marks say from where up to where everything stands. Raises yaml.YAMLError."""
    parser = (_CParser or _PythonParser)(text)
    while parser.check_event():
        yield parser.get_event()


class _Open:
    """A mapping or list that is being read. keys: the keys a mapping has so far; key: the one that waits for its value."""

    __slots__ = ("anchor", "before", "items", "key", "keys", "place")

    def __init__(self, place: Place, anchor: str | None, keys: dict[str, Place] | None, before: int) -> None:
        self.place = place
        self.anchor = anchor
        self.keys = keys
        self.before = before
        self.items: list[Any] = []
        self.key: Scalar | None = None

    def close(self) -> Node:
        items = tuple(self.items)
        return Sequence(items, self.place) if self.keys is None else Mapping(items, self.place)


def _build(parser: Any) -> Node | None:
    """One pass over the events, without recursion. total counts the values with all aliases written out."""
    scalar_event, mapping_start, sequence_start = yaml.ScalarEvent, yaml.MappingStartEvent, yaml.SequenceStartEvent
    ends = (yaml.MappingEndEvent, yaml.SequenceEndEvent)
    get_event = parser.get_event
    anchors: dict[str, tuple[Node, int] | None] = {}
    stack: list[_Open] = []
    top: _Open | None = None
    root: Node | None = None
    documents = total = 0
    while True:
        event = get_event()
        kind = type(event)
        node: Node
        if kind is scalar_event:
            mark, text, quoted = event.start_mark, event.value, bool(event.style)
            place = _record(Place, (mark.line + 1, mark.column + 1))
            written = _kind(text) if text[:1] in _BEGINS_OTHERS and not quoted else "text"
            node = _record(Scalar, (text, written, place, quoted))
            total += 1
            if event.anchor:
                anchors[event.anchor] = (node, 1)
        elif kind is mapping_start or kind is sequence_start:
            place = _place(event)
            if len(stack) >= DEEPEST:
                raise Unreadable(Problem(place, f"nested more than {DEEPEST} levels deep"))
            if event.anchor:
                anchors[event.anchor] = None
            top = _Open(place, event.anchor, {} if kind is mapping_start else None, total)
            stack.append(top)
            continue
        elif kind in ends:
            closed = stack.pop()
            node = closed.close()
            total += 1
            if closed.anchor:
                anchors[closed.anchor] = (node, total - closed.before)
            top = stack[-1] if stack else None
        elif kind is yaml.AliasEvent:
            node, size = _aliased(event, anchors)
            total += size
        elif kind is yaml.DocumentStartEvent:
            documents += 1
            if documents > 1:
                raise Unreadable(Problem(_place(event), "a second YAML document begins here; one file is one formula"))
            continue
        elif kind is yaml.StreamEndEvent:
            return root
        else:
            continue
        if total > MOST_NODES:
            raise Unreadable(
                Problem(node.place, f"with its aliases written out the file holds more than {MOST_NODES} values")
            )
        if top is None:
            root = node
        elif top.keys is None:
            top.items.append(node)
        elif top.key is None:
            top.key = key_of(node, top.keys)
        else:
            top.items.append(_record(Entry, (top.key, node)))
            top.key = None


def _place(event: Any) -> Place:
    mark = event.start_mark
    return Place(mark.line + 1, mark.column + 1)


def _aliased(event: Any, anchors: dict[str, tuple[Node, int] | None]) -> tuple[Node, int]:
    """What an alias stands for, and how many values that is. Raises Unreadable."""
    found = anchors.get(event.anchor)
    if found is None:
        known = "refers to the value it stands in" if event.anchor in anchors else "has no anchor before it"
        raise Unreadable(Problem(_place(event), f"the alias *{event.anchor} {known}"))
    return found


def key_of(node: Node, seen: dict[str, Place]) -> Scalar:
    """node as the key of a mapping; seen holds the keys that the mapping has so far. Raises Unreadable."""
    if not isinstance(node, Scalar):
        raise Unreadable(Problem(node.place, "a key has to be a plain word, not a list or a mapping"))
    first = seen.setdefault(node.text, node.place)
    if first is not node.place:
        raise Unreadable(
            Problem(node.place, f"the key «{node.text}» stands twice; the first is at {first.line}:{first.column}")
        )
    return node


@lru_cache(maxsize=4096)
def _kind(text: str) -> str:
    """What an unquoted text is: file after file holds the same figures."""
    if text in _NULL:
        return "null"
    if _NUMBER.fullmatch(text):
        return "number"
    return "true/false" if text in _BOOL else "text"


def _bad_character(text: str, error: yaml.reader.ReaderError) -> Problem:
    from .text import place_at

    position = error.position if isinstance(error.position, int) else 0
    for index, character in enumerate(text):
        if not character.isprintable() and character not in "\n\r\t\x85\u2028\u2029" and not character.isspace():
            position = index
            break
    code = ord(text[position]) if position < len(text) else 0
    return Problem(place_at(text, position), f"the control character U+{code:04X} may not stand in a YAML file")


def _in_words(error: yaml.MarkedYAMLError, text: str, place: Place) -> str:
    lines = text.split("\n")
    line = lines[place.line - 1] if place.line <= len(lines) else ""
    problem = error.problem or "it cannot be read"
    if "\t" in line[: place.column] and ("cannot start any token" in problem or "tab character" in problem):
        return "a tab; indent with spaces"
    if "mapping values are not allowed" in problem:
        return "a second «: » in one line; put text that holds a colon in quotes, or check the indentation"
    return problem + (f" ({error.context})" if error.context else "")
