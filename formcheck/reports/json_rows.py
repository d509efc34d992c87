"""A JSON list written row by row."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any


class Rows:
    """The items of one JSON list, each on a line of its own unless dump says otherwise; remembers where commas go.

    Only ASCII comes out, so that no encoding on the way can spoil it.
    """

    def __init__(self, dump: Callable[[Any], str] = json.dumps) -> None:
        self._dump = dump
        self._started = False

    def add(self, items: Iterable[Any]) -> str:
        """The text of more items."""
        parts: list[str] = []
        for item in items:
            parts.append(",\n" if self._started else "\n")
            parts.append(self._dump(item))
            self._started = True
        return "".join(parts)
