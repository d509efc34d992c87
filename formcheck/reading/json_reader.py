"""JSON (RFC 8259) to a document, strictly, keeping every place."""

from __future__ import annotations

import re
from json.decoder import scanstring  # type: ignore[attr-defined]
from typing import Any

from .document import Entry, Mapping, Node, Problem, Scalar, Sequence, Unreadable
from .scan import Scan
from .text import place_at
from .yaml_reader import DEEPEST, MOST_NODES, key_of

_SPACE = re.compile(r"[ \t\n\r]*")
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?")
_WORDS = (("true", "true/false"), ("false", "true/false"), ("null", "null"))


def read_json(text: str) -> Node | None:
    """The top-level node, or None for an empty file. Raises Unreadable."""
    return _Reader(text).read()


class _Reader(Scan):
    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.count = 0

    def read(self) -> Node | None:
        self._skip()
        if self.at == len(self.text):
            return None
        node = self._tree()
        self._skip()
        if self.at < len(self.text):
            raise self._error("something stands after the end of the data")
        return node

    def _tree(self) -> Node:
        """Without recursion: `stack` holds open collections as [is_mapping, place, items, pending key, keys]."""
        stack: list[list[Any]] = []
        while True:
            self._skip()
            node = self._open_or_scalar(stack)
            while node is not None:
                self.count += 1
                if self.count > MOST_NODES:
                    raise self._error(f"the file holds more than {MOST_NODES} values")
                if not stack:
                    return node
                top = stack[-1]
                top[2].append(Entry(top[3], node) if top[0] else node)
                node = self._after_value(stack)

    def _open_or_scalar(self, stack: list[list[Any]]) -> Node | None:
        """A scalar or an empty collection; None when a collection was opened and its first value comes next."""
        text, place = self.text, self.place()
        character = text[self.at : self.at + 1]
        if character in ("{", "["):
            if len(stack) >= DEEPEST:
                raise self._error(f"nested more than {DEEPEST} levels deep")
            self.at += 1
            self._skip()
            closing = "}" if character == "{" else "]"
            if text[self.at : self.at + 1] == closing:
                self.at += 1
                return Mapping((), place) if character == "{" else Sequence((), place)
            stack.append([character == "{", place, [], None, {}])
            if character == "{":
                self._read_key(stack[-1])
            return None
        if character == '"':
            return Scalar(self._string(), "text", place, True)
        match = _NUMBER.match(text, self.at)
        if match:
            self.at = match.end()
            return Scalar(match.group(), "number", place)
        for word, kind in _WORDS:
            if text.startswith(word, self.at):
                self.at += len(word)
                return Scalar("" if kind == "null" else word, kind, place)
        raise self._error("a value was expected here" if character else "the file ends where a value was expected")

    def _after_value(self, stack: list[list[Any]]) -> Node | None:
        """After a value: a comma leads to the next one (None), a bracket closes the collection (the collection)."""
        self._skip()
        is_mapping, place, items, _, _ = top = stack[-1]
        character = self.text[self.at : self.at + 1]
        if character == ",":
            self.at += 1
            if is_mapping:
                self._skip()
                self._read_key(top)
            return None
        if character == ("}" if is_mapping else "]"):
            self.at += 1
            stack.pop()
            return Mapping(tuple(items), place) if is_mapping else Sequence(tuple(items), place)
        raise self._error("a comma or the closing bracket was expected here")

    def _read_key(self, top: list[Any]) -> None:
        place = self.place()
        if self.text[self.at : self.at + 1] != '"':
            raise self._error("a key in double quotes was expected here")
        key = key_of(Scalar(self._string(), "text", place, True), top[4])
        self._skip()
        if self.text[self.at : self.at + 1] != ":":
            raise self._error("a colon was expected after the key")
        self.at += 1
        top[3] = key

    def _string(self) -> str:
        try:
            value, self.at = scanstring(self.text, self.at + 1, True)
        except ValueError as error:
            self.at = getattr(error, "pos", self.at)
            reason = str(getattr(error, "msg", error)).lower()
            raise self._error(f"the text in quotes cannot be read: {reason}") from None
        return str(value)

    def _skip(self) -> None:
        match = _SPACE.match(self.text, self.at)
        if match:
            self.at = match.end()

    def _error(self, message: str) -> Unreadable:
        return Unreadable(Problem(place_at(self.text, self.at), f"not valid JSON: {message}"))
