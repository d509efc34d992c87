"""How far a long run is, on a line of standard error that goes away at its end."""

from __future__ import annotations

import time
from typing import TextIO

PATIENCE_S = 1.0
"""How long a run may take before anything is shown."""
EVERY_S = 0.2


class Progress:
    """Says so only where shown, a terminal, and only of runs that take a while. Use as a context."""

    def __init__(self, stream: TextIO, shown: bool) -> None:
        self._stream = stream
        self._shown = shown
        self._began = self._next = time.monotonic()
        self._width = 0

    def __enter__(self) -> Progress:
        self._next = self._began + PATIENCE_S
        return self

    def __exit__(self, *_: object) -> None:
        if self._width:
            self._write("")

    def say(self, text: str, done: int) -> None:
        """Shows a text and how many are done a second."""
        if not self._shown:
            return
        now = time.monotonic()
        if now >= self._next:
            self._next = now + EVERY_S
            self._write(f"{text} ({done / (now - self._began):.0f} a second)")

    def _write(self, text: str) -> None:
        import shutil

        text = text[: shutil.get_terminal_size().columns - 1]
        self._stream.write(f"\r{text.ljust(self._width)}" + ("" if text else "\r"))
        self._stream.flush()
        self._width = len(text)
