"""Where something stands, in three ways: characters of the text, lines and columns of our readers, positions of an editor.

An editor counts lines and columns from 0, the columns in units of an encoding agreed on at the start (UTF-16 unless it
says otherwise); our readers count from 1, in characters. What ends a line differs too: see the Language Server Protocol
3.17, «Position», and YAML 1.1, section 5.4, which libyaml follows.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable

from ...reading.document import Place
from ...records import NamedTuple

_EDITOR_BREAK = re.compile(r"\r\n|[\n\r]")
_READER_BREAKS = {"yaml": re.compile(r"\r\n|[\n\r\x85\u2028\u2029]")}
_READER_BREAK = re.compile("\n")
BYTE_ORDER_MARK = "\ufeff"


class Position(NamedTuple):
    """A position as the editor counts it: line and column from 0, the column in units of its encoding."""

    line: int
    column: int


class Span(NamedTuple):
    """From start up to end, as the editor counts."""

    start: Position
    end: Position


class Positions:
    """Turns one way to say where into another, for one text.

    kind: yaml, toml or json, the reader whose places are meant; units: utf-8, utf-16 or utf-32.
    """

    def __init__(self, text: str, kind: str = "yaml", units: str = "utf-16") -> None:
        self.text = text
        self._width = _WIDTHS[units]
        self._lines = _spans(text, _EDITOR_BREAK)
        self._starts = [start for start, _ in self._lines]
        self._places = [start for start, _ in _spans(text, _READER_BREAKS.get(kind, _READER_BREAK))]
        if text.startswith(BYTE_ORDER_MARK):
            self._places[0] = 1

    def of_place(self, place: Place) -> int:
        """The character at a reader's place; the end of the text for a place past it."""
        if place.line > len(self._places):
            return len(self.text)
        return min(self._places[place.line - 1] + place.column - 1, len(self.text))

    def position(self, offset: int) -> Position:
        """The editor's position of a character."""
        line = bisect_right(self._starts, offset) - 1
        start, end = self._lines[line]
        return Position(line, self._units(self.text[start : min(offset, end)]))

    def span(self, start: int, end: int) -> Span:
        return Span(self.position(start), self.position(end))

    def offset(self, position: Position) -> int:
        """The character at an editor's position; a column past the end of its line means that end."""
        if position.line >= len(self._lines):
            return len(self.text)
        start, end = self._lines[position.line]
        if self.text[start:end].isascii():
            return min(start + position.column, end)
        units = 0
        for at in range(start, end):
            units += self._width(ord(self.text[at]))
            if units > position.column:
                return at
        return end

    def _units(self, text: str) -> int:
        return len(text) if text.isascii() else sum(self._width(ord(character)) for character in text)


def _spans(text: str, line_break: re.Pattern[str]) -> list[tuple[int, int]]:
    """From where up to where every line reaches, without what ends it."""
    result = []
    start = 0
    for match in line_break.finditer(text):
        result.append((start, match.start()))
        start = match.end()
    result.append((start, len(text)))
    return result


def _utf8(code: int) -> int:
    return 1 + (code >= 0x80) + (code >= 0x800) + (code >= 0x10000)


def _utf16(code: int) -> int:
    return 1 + (code >= 0x10000)


def _utf32(code: int) -> int:
    return 1


_WIDTHS: dict[str, Callable[[int], int]] = {"utf-8": _utf8, "utf-16": _utf16, "utf-32": _utf32}
