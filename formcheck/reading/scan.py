"""Going through a text from its beginning to its end, with the place of where one is."""

from __future__ import annotations

from .document import Place
from .text import line_starts


class Scan:
    """A text and how far one has got. at: index of the next character; it only grows."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self._starts = line_starts(text)
        self._row = 0

    def place(self) -> Place:
        """Line and column of the next character; worked out from the last one asked for, so cheap."""
        starts = self._starts
        while self._row + 1 < len(starts) and starts[self._row + 1] <= self.at:
            self._row += 1
        return Place(self._row + 1, self.at - starts[self._row] + 1)
