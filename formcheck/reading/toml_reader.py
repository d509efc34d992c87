"""TOML 1.0 to a document. tomli decides whether the file is valid; a second scan finds where everything stands."""

from __future__ import annotations

import re
from typing import Any

from .document import START, Entry, Mapping, Node, Place, Problem, Scalar, Sequence, Unreadable
from .scan import Scan
from .text import place_at
from .yaml_reader import DEEPEST, MOST_NODES

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"((?:[^"\\\n]|\\.)*)"')
_LITERAL = re.compile(r"'([^'\n]*)'")
_LONG_BASIC = re.compile(r'"""(?:\r?\n)?((?:[^\\]|\\.)*?)"""(?!")', re.S)
_LONG_LITERAL = re.compile(r"'''(?:\r?\n)?(.*?)'''(?!')", re.S)
_OTHER = re.compile(r"[^,\]}#\r\n]+")
_ESCAPE = re.compile(r"\\(?:u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|x([0-9a-fA-F]{2})|([ \t]*\r?\n\s*)|(.))", re.S)
_SIMPLE = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b", '"': '"', "\\": "\\"}
_DIGITS = re.compile(r"[0-9_]{4000}")
_AT = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.S)


def read_toml(text: str) -> Node | None:
    """The top-level node; an empty file gives None. Raises Unreadable."""
    import tomli

    try:
        data = tomli.loads(text, parse_float=str)
    except tomli.TOMLDecodeError as error:
        raise Unreadable(_in_words(text, str(error))) from None
    except RecursionError:
        raise Unreadable(Problem(START, f"nested more than {DEEPEST} levels deep")) from None
    except ValueError:  # an integer of more digits than Python turns into one
        found = _DIGITS.search(text)
        place = place_at(text, found.start()) if found else START
        raise Unreadable(Problem(place, "not valid TOML: a number of thousands of digits")) from None
    return _Reader(text).read() if data else None


class _Table:
    """A table while it grows."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.keys: dict[str, Scalar] = {}
        self.values: dict[str, Any] = {}


class _Reader(Scan):
    """Goes through text that is known to be valid; so it only has to find things, not to doubt them."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.count = 0

    def read(self) -> Node:
        root = table = _Table(START)
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return _finish(root, 0)
            if self.text.startswith("[[", self.at):
                table = self._open(root, 2)
            elif self.text.startswith("[", self.at):
                table = self._open(root, 1)
            else:
                self._pair(table)

    def _open(self, root: _Table, brackets: int) -> _Table:
        place = self._counted()
        self.at += brackets
        *path, last = self._key()
        self.at += brackets
        table = root
        for key in path:
            table = _descend(table, key)
        if brackets == 1:
            return _descend(table, last)
        new = _Table(place)
        table.keys.setdefault(last.text, last)
        table.values.setdefault(last.text, []).append(new)
        return new

    def _pair(self, table: _Table) -> None:
        *path, last = self._key()
        for key in path:
            table = _descend(table, key)
        self._skip(_SPACE)
        self.at += 1  # the equals sign
        table.keys[last.text] = last
        table.values[last.text] = self._value(1)

    def _key(self) -> list[Scalar]:
        parts: list[Scalar] = []
        while True:
            self._skip(_SPACE)
            place = self.place()
            if self.text[self.at] == '"':
                parts.append(Scalar(_unescape(self._take(_BASIC)), "text", place, True))
            elif self.text[self.at] == "'":
                parts.append(Scalar(self._take(_LITERAL), "text", place, True))
            else:
                parts.append(Scalar(self._take(_BARE_KEY, 0), "text", place))
            self._skip(_SPACE)
            if self.text[self.at : self.at + 1] != ".":
                return parts
            self.at += 1

    def _value(self, depth: int) -> Any:
        self._skip(_SPACE)
        place = self._counted()
        if depth > DEEPEST:
            raise Unreadable(Problem(place, f"nested more than {DEEPEST} levels deep"))
        start = self.text[self.at]
        if start == "[":
            return self._array(place, depth)
        if start == "{":
            return self._inline(place, depth)
        if self.text.startswith('"""', self.at):
            return Scalar(_unescape(self._take(_LONG_BASIC)), "text", place, True)
        if self.text.startswith("'''", self.at):
            return Scalar(self._take(_LONG_LITERAL), "text", place, True)
        if start == '"':
            return Scalar(_unescape(self._take(_BASIC)), "text", place, True)
        if start == "'":
            return Scalar(self._take(_LITERAL), "text", place, True)
        word = self._take(_OTHER, 0).strip()
        return Scalar(word.replace("_", ""), _kind(word), place)

    def _counted(self) -> Place:
        """The place of one more value. Raises Unreadable where there are too many."""
        place = self.place()
        self.count += 1
        if self.count > MOST_NODES:
            raise Unreadable(Problem(place, f"the file holds more than {MOST_NODES} values"))
        return place

    def _array(self, place: Place, depth: int) -> Sequence:
        self.at += 1
        items: list[Any] = []
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == "]":
                self.at += 1
                return Sequence(tuple(items), place)
            value = self._value(depth + 1)
            items.append(_finish(value, depth) if isinstance(value, _Table) else value)
            self._skip(_BLANK)
            if self.text[self.at] == ",":
                self.at += 1

    def _inline(self, place: Place, depth: int) -> Node:
        self.at += 1
        table = _Table(place)
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == "}":
                self.at += 1
                return _finish(table, depth)
            if self.text[self.at] == ",":
                self.at += 1
                continue
            *path, last = self._key()
            inner = table
            for key in path:
                inner = _descend(inner, key)
            self._skip(_SPACE)
            self.at += 1
            inner.keys[last.text] = last
            inner.values[last.text] = self._value(depth + 1)

    def _take(self, pattern: re.Pattern[str], group: int = 1) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise Unreadable(Problem(self.place(), "a value that cannot be read"))
        self.at = match.end()
        return match.group(group)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        if match:
            self.at = match.end()


def _descend(table: _Table, key: Scalar) -> _Table:
    """The table under key, made where it is missing; of an array of tables the last one."""
    table.keys.setdefault(key.text, key)
    found = table.values.setdefault(key.text, _Table(key.place))
    if isinstance(found, list):
        found = found[-1]
    if not isinstance(found, _Table):
        raise Unreadable(Problem(key.place, f"«{key.text}» is not a table"))
    return found


def _finish(value: Any, depth: int) -> Node:
    """Growing tables to nodes."""
    if depth > DEEPEST:
        raise Unreadable(Problem(value.place, f"nested more than {DEEPEST} levels deep"))
    if isinstance(value, _Table):
        return Mapping(
            tuple(Entry(value.keys[name], _finish(child, depth + 1)) for name, child in value.values.items()),
            value.place,
        )
    if isinstance(value, list):
        return Sequence(tuple(_finish(child, depth + 1) for child in value), value[0].place)
    return value  # type: ignore[no-any-return]


def _kind(word: str) -> str:
    if word in ("true", "false"):
        return "true/false"
    # dates and times also begin with a digit; for us they are text
    if re.fullmatch(
        r"[-+]?(?:[0-9_]+(?:\.[0-9_]+)?(?:[eE][-+]?[0-9_]+)?|inf|nan|0x[0-9a-fA-F_]+|0o[0-7_]+|0b[01_]+)", word
    ):
        return "number"
    return "text"


def _unescape(text: str) -> str:
    return _ESCAPE.sub(_escaped, text) if "\\" in text else text


def _escaped(match: re.Match[str]) -> str:
    code = match.group(1) or match.group(2) or match.group(3)
    if code:
        return chr(int(code, 16))
    if match.group(4):
        return ""
    return _SIMPLE.get(match.group(5), match.group(5))


def _in_words(text: str, message: str) -> Problem:
    match = _AT.match(message)
    if match and match.group(2):
        place = Place(int(match.group(2)), int(match.group(3)))
    else:
        place = Place(text.count("\n") + 1, len(text) - text.rfind("\n"))
    said = match.group(1) if match else message
    return Problem(place, f"not valid TOML: {said[:1].lower()}{said[1:]}")
