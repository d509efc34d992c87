"""Text that has to wait for the end of a report: in memory while it is little, in a nameless file when it is much."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator

MOST_IN_MEMORY = 4_000_000
_PIECE = 1 << 20


class Spool:
    """Takes texts, and gives them back in their order, in pieces. Raises OSError where there is no room for them."""

    def __init__(self) -> None:
        self._file = tempfile.SpooledTemporaryFile(MOST_IN_MEMORY, "w+", encoding="utf-8", newline="")  # noqa: SIM115

    def add(self, text: str) -> None:
        self._file.write(text)

    def pieces(self) -> Iterator[str]:
        """All of it; whatever is added later is not seen."""
        self._file.seek(0)
        while text := self._file.read(_PIECE):
            yield text
        self._file.close()
