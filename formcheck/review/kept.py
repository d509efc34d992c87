"""Reviews kept from one run to the next, in one SQLite file of the user's cache folder.

What is kept is a help and never a need: a file that is damaged is made anew, an entry that is damaged is passed over, and
where nothing can be read or written the review is simply done again. Many runs may use the file at once. An entry holds
from the day it was made to the day before something can change, see grounds.py.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, TypeAlias
from zlib import crc32

from ..folders import private
from ..reference.kept import cache_folder
from .as_data import as_data, from_data
from .model import Review

if TYPE_CHECKING:
    import sqlite3

FILE = "reviews-1.sqlite"
UNUSED_DAYS = 60
"""An entry that nobody asked for in so many days is thrown away."""
MOST_MB = 1024
_BATCH = 500
_PATIENCE_S = 2.0
_PRAGMAS = ("synchronous = off", "cache_size = -16000")
"""A lost entry is no loss: nothing waits for the disk."""
_TABLE = """
create table if not exists kept (
    key blob primary key, since integer, until integer, used integer, seal integer, review text)
"""
"""Rows lie in the order in which they were made, so that those of one folder lie together."""


_Row: TypeAlias = "tuple[bytes, int, int, int, int, str]"
"""As the table has it: key, since, until, used, seal, review."""


class Kept:
    """Asks for reviews by their key, and keeps new ones. Use as a context, so that what is new is written at the end."""

    def __init__(self, today: date, folder: str | None = None) -> None:
        self._today = today.toordinal()
        self._file = os.path.join(folder or cache_folder(), FILE)
        self._new: list[_Row] = []
        self._used: list[tuple[int, bytes]] = []
        self._base: sqlite3.Connection | None = None
        self._rebuilt = False

    def __enter__(self) -> Kept:
        self._open()
        return self

    def __exit__(self, *_: object) -> None:
        self._write()
        self._throw_away()
        self._close()

    def get(self, asked: Sequence[tuple[bytes, str]]) -> dict[str, Review]:
        """The reviews that are kept and hold, by path. asked: keys, each with the path at which its file now lies."""
        rows = self._rows([key for key, _ in asked])
        found = {}
        for key, path in asked:
            review = self._review(rows[key], path) if key in rows else None
            if review is not None:
                found[path] = review
        return found

    def _review(self, row: _Row, path: str) -> Review | None:
        """The review of a row; None where it does not hold today, or is damaged."""
        key, since, until, used, seal, text = row
        try:
            if not since <= self._today < until or seal != _seal(key, since, until, text):
                return None
            review = from_data(json.loads(text), path)
        except (KeyError, TypeError, ValueError):
            return None
        if used != self._today:
            self._used.append((self._today, key))
        return review

    def put(self, key: bytes, until: date, review: Review) -> None:
        """Keeps a review that holds from today until the day before `until`."""
        text = json.dumps(as_data(review), ensure_ascii=True, separators=(",", ":"))
        end = until.toordinal()
        self._new.append((key, self._today, end, self._today, _seal(key, self._today, end, text), text))
        if len(self._new) >= _BATCH:
            self._write()

    def _rows(self, keys: Sequence[bytes]) -> dict[bytes, _Row]:
        if self._base is None or not keys:
            return {}
        marks = ", ".join("?" * len(keys))
        try:
            rows = self._base.execute(f"select * from kept where key in ({marks})", keys)
            return {row[0]: row for row in rows}
        except Exception as error:
            self._failed(error)
            return {}

    def _write(self) -> None:
        new, used = self._new, self._used
        self._new, self._used = [], []
        if self._base is None or not (new or used):
            return
        try:
            with self._base:
                self._base.execute("begin immediate")
                self._base.executemany("insert or replace into kept values (?, ?, ?, ?, ?, ?)", new)
                self._base.executemany("update kept set used = ? where key = ?", used)
        except Exception as error:
            self._failed(error)

    def _throw_away(self) -> None:
        """Once a day, what nobody asked for in a long while; everything, where the file has grown out of bounds."""
        if self._base is None:
            return
        try:
            (last,) = self._base.execute("pragma user_version").fetchone()
            if last == self._today:
                return
            with self._base:
                self._base.execute("begin immediate")
                grown = os.stat(self._file).st_size > MOST_MB * 1_000_000
                oldest = self._today if grown else self._today - UNUSED_DAYS
                self._base.execute("delete from kept where used < ?", (oldest,))
                self._base.execute(f"pragma user_version = {self._today:d}")
            if grown:
                self._base.execute("vacuum")
        except Exception as error:
            self._failed(error)

    def _open(self) -> None:
        try:
            import sqlite3

            folder = os.path.dirname(self._file)
            if not private(folder):
                return
            self._base = sqlite3.connect(self._file, timeout=_PATIENCE_S, isolation_level=None)
            for pragma in _PRAGMAS:
                self._base.execute(f"pragma {pragma}")
            self._base.execute(_TABLE)
        except Exception as error:  # no SQLite in this Python, no room, no right to write
            self._failed(error)

    def _failed(self, error: Exception) -> None:
        """A damaged file is made anew, once; where others keep it busy, or nothing can be written, it is left alone."""
        import sqlite3

        self._close()
        busy = isinstance(error, sqlite3.OperationalError)
        if busy or not isinstance(error, sqlite3.DatabaseError) or self._rebuilt:
            return
        self._rebuilt = True
        with contextlib.suppress(OSError):
            os.unlink(self._file)
            with contextlib.suppress(OSError):
                os.unlink(f"{self._file}-journal")
            self._open()

    def _close(self) -> None:
        if self._base is not None:
            with contextlib.suppress(Exception):
                self._base.close()
            self._base = None


def _seal(key: bytes, since: int, until: int, text: str) -> int:
    """A checksum against bad disks; what others could have written there is kept out by the folder's owner and mode."""
    return crc32(text.encode(), crc32(b"%d %d" % (since, until), crc32(key)))
