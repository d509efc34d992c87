"""Bytes to text: UTF-8 with or without a byte order mark, and a clear word on anything else."""

from __future__ import annotations

import codecs
import re

from .document import START, Place, Problem, Unreadable

MOST_BYTES = 1024 * 1024
"""A formula of a thousand ingredients takes some 60 kB; a file over 1 MiB is something else."""

_MARKS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)


def decode(data: bytes) -> str:
    """The text of a file.

    Raises Unreadable when it is too large, not UTF-8, or holds a character that no text file should hold.
    """
    if len(data) > MOST_BYTES:
        raise Unreadable(
            Problem(START, f"the file has more than {MOST_BYTES / 1e6:.1f} MB, the most that a formula file may have")
        )
    for mark, name in _MARKS:
        if data.startswith(mark):
            raise Unreadable(Problem(START, f"the file is {name}; save it as UTF-8"))
    if data.startswith(codecs.BOM_UTF8):
        data = data[len(codecs.BOM_UTF8) :]
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Unreadable(Problem(_place_of_byte(data, error.start), _not_utf8(data, error.start))) from None
    return text


def line_starts(text: str) -> list[int]:
    """The index at which every line begins, lines counted by their line feeds."""
    return [0, *(match.end() for match in re.finditer("\n", text))]


def place_at(text: str, index: int) -> Place:
    """Line and column of the character at index."""
    line_start = text.rfind("\n", 0, index) + 1
    return Place(text.count("\n", 0, index) + 1, index - line_start + 1)


def _place_of_byte(data: bytes, index: int) -> Place:
    head = data[:index].decode("utf-8")
    return place_at(head + "?", len(head))


def _not_utf8(data: bytes, index: int) -> str:
    if len(data) > 3 and data[1:2] == b"\0":
        return "the file looks like UTF-16 without a byte order mark; save it as UTF-8"
    return f"byte 0x{data[index]:02X} is not UTF-8 text (an older Windows or Mac encoding?); save the file as UTF-8"
