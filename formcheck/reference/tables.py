"""A file of tables, mapped into memory and read a page at a time: opening it costs the same however much it holds.

A table is a mapping, a sequence or any other value that JSON knows. A large mapping is spread over pages of some
hundred bytes by a checksum of its keys, and one more page has the keys in their order; a large sequence is spread in its
order; what is small lies on one page. The file:

    the mark, then four numbers of four bytes: length of the directory, number of pages, length of the file, seal of
    directory and places; the directory (JSON: name -> kind, first page, pages, length); the place of every page and of
    the end; the pages, each its seal and then JSON

A seal is a CRC-32 against torn writes and bad disks. It is looked at when a page is first read; where it does not fit
the tables are made anew and go on from there.
"""

from __future__ import annotations

import json
import struct
import sys
from array import array
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any
from zlib import crc32

_MARK = f"formcheck tables 1, {sys.byteorder} end first\n".encode()
_HEAD = struct.Struct("=4I")
_PAGE = 256
"""Bytes that a page of a large table has, give or take: a look-up decodes a whole page."""
_SMALL = 4096
_SHORT = 32768
"""Bytes up to which a mapping and a sequence lie on one page; a sequence is mostly gone through from end to end."""


class BadTables(ValueError):
    """These bytes are no whole file of tables."""


class Tables(Mapping[str, Any]):
    """The tables of a file by their names.

    make: gives the bytes anew where those at hand turn out to be spoilt. Raises BadTables where the file cannot be read
    at all, and where that is found later and there is no make.
    """

    def __init__(self, data: bytes | Any, make: Callable[[], bytes] | None = None) -> None:
        self._make = make
        self._known: dict[str, Any] = {}
        self._open(data)

    def _open(self, data: bytes | Any) -> None:
        start = len(_MARK) + _HEAD.size
        if len(data) < start or data[: len(_MARK)] != _MARK:
            raise BadTables("no tables")
        directory, pages, length, seal = _HEAD.unpack_from(data, len(_MARK))
        end = start + directory + 4 * (pages + 1)
        if length != len(data) or seal != crc32(data[start:end]):
            raise BadTables("the file is not whole")
        self._directory: dict[str, tuple[str, int, int, int]] = json.loads(data[start : start + directory])
        self._places = array("I", data[start + directory : end])
        self._data = data

    def page(self, name: str, number: int) -> Any:
        """What a page of a table holds."""
        page = self._directory[name][1] + number
        start = self._places[page]
        chunk = self._data[start + 4 : self._places[page + 1]]
        if int.from_bytes(self._data[start : start + 4], "little") != crc32(chunk):
            if self._make is None:
                raise BadTables("a page is not whole")
            self._open(self._make())
            return self.page(name, number)
        return json.loads(str(chunk, "utf-8"))

    def pages(self, name: str) -> int:
        """How many pages a table has."""
        return self._directory[name][2]

    def length(self, name: str) -> int:
        """How many entries a table has."""
        return self._directory[name][3]

    def __getitem__(self, name: str) -> Any:
        found = self._known.get(name)
        if found is None:
            kind = self._directory[name][0]
            opened = (
                self.page(name, 0) if kind == "whole" else Table(self, name) if kind == "table" else Rows(self, name)
            )
            found = self._known[name] = opened
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._directory)

    def __len__(self) -> int:
        return len(self._directory)


class Table(Mapping[str, Any]):
    """A large mapping; to go through all of it reads all of it."""

    def __init__(self, tables: Tables, name: str) -> None:
        self._tables = tables
        self._name = name
        self._pages: dict[int, dict[str, Any]] = {}

    def _page(self, key: str) -> dict[str, Any]:
        """The page that has the key, if any has."""
        number = _page_of(key, self._tables.pages(self._name) - 1)
        found = self._pages.get(number)
        if found is None:
            found = self._pages[number] = self._tables.page(self._name, number)
        return found

    def __getitem__(self, key: str) -> Any:
        return self._page(key)[key]

    def get(self, key: str, default: Any = None) -> Any:
        """The value of a key, or the default."""
        return self._page(key).get(key, default)

    def __contains__(self, key: object) -> bool:
        return isinstance(key, str) and key in self._page(key)

    def __iter__(self) -> Iterator[str]:
        return iter(self._tables.page(self._name, self._tables.pages(self._name) - 1))

    def __len__(self) -> int:
        return self._tables.length(self._name)


class Rows(Sequence[Any]):
    """A large sequence."""

    def __init__(self, tables: Tables, name: str) -> None:
        self._tables = tables
        self._name = name
        self._pages: dict[int, list[Any]] = {}

    def __getitem__(self, at: Any) -> Any:
        length, pages = len(self), self._tables.pages(self._name)
        if not -length <= at < length:
            raise IndexError(at)
        number, inside = divmod(at % length, _rows_of_page(length, pages))
        if number not in self._pages:
            self._pages[number] = self._tables.page(self._name, number)
        return self._pages[number][inside]

    def __len__(self) -> int:
        return self._tables.length(self._name)


def _page_of(key: str, pages: int) -> int:
    return crc32(key.encode("utf-8", "surrogatepass")) % pages


def _rows_of_page(length: int, pages: int) -> int:
    return -(-length // pages)


# --- writing


def written(tables: Mapping[str, Any]) -> bytes:
    """The file of these tables."""
    directory: dict[str, tuple[str, int, int, int]] = {}
    pages: list[bytes] = []
    for name, table in tables.items():
        kind, made = _spread(table)
        directory[name] = (kind, len(pages), len(made), len(table) if kind != "whole" else 1)
        pages.extend(_sealed(page) for page in made)
    listing = _json(directory)
    place = len(_MARK) + _HEAD.size + len(listing) + 4 * (len(pages) + 1)
    places = array("I", [place])
    for page in pages:
        places.append(places[-1] + len(page))
    inside = listing + places.tobytes()
    head = _HEAD.pack(len(listing), len(pages), places[-1], crc32(inside))
    return b"".join((_MARK, head, inside, *pages))


def _spread(table: Any) -> tuple[str, list[Any]]:
    """The kind of a table, and what each of its pages holds."""
    size = len(_json(table))
    count = size // _PAGE + 1
    if isinstance(table, list) and size > _SHORT:
        each = _rows_of_page(len(table), count)
        return "rows", [table[at : at + each] for at in range(0, len(table), each)]
    if not isinstance(table, Mapping) or size <= _SMALL:
        return "whole", [table]
    made: list[dict[str, Any]] = [{} for _ in range(count)]
    for key, value in table.items():
        made[_page_of(key, count)][key] = value
    return "table", [*made, list(table)]


def _sealed(page: Any) -> bytes:
    text = _json(page)
    return crc32(text).to_bytes(4, "little") + text


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()
