"""A report of many files on its way into a folder."""

from __future__ import annotations

import contextlib
import os

from ..folders import cleared
from ..reports.report import FolderReport
from ..review.run import Reviewed
from .main import complain
from .refusal import Refused, unwritable

_HEAD_BYTES = 4096
"""Enough of a file to tell whether an earlier run made it."""


class FolderOutput:
    """Every file is written beside its place, and all are put in their places at the end.

    So a run that breaks off leaves the pages of the one before as they were. What somebody else made is never replaced.
    """

    on_screen = False

    def __init__(self, report: FolderReport, folder: str) -> None:
        self.report = report
        self.folder = folder
        self.failed = False
        self._waiting: list[tuple[str, str]] = []
        self._made = False

    @property
    def goes_to(self) -> str:
        """Where a person finds it: the page to begin with."""
        return os.path.join(self.folder, self.report.first)

    def begin(self) -> None:
        """Makes the folder where it is not there. Raises Refused."""
        try:
            self._made = not os.path.isdir(self.folder)
            os.makedirs(self.folder, exist_ok=True)
        except OSError as error:
            raise Refused(unwritable(self.folder, error)) from None

    def add(self, reviewed: Reviewed) -> None:
        if not self.failed:
            for name, text in self.report.add(reviewed.review, reviewed.sheet):
                self._write(name, text)

    def end(self) -> None:
        """Writes what comes last and puts everything in its place."""
        if not self.failed:
            for name, text in self.report.end():
                self._write(name, text)
        for beside, target in self._waiting:
            try:
                os.replace(beside, target)
            except OSError as error:
                return self._fail(unwritable(target, error))
        self._waiting.clear()

    def discard(self) -> None:
        """Takes away what was begun and did not come to its end; nothing where it did."""
        for beside, _ in self._waiting:
            with contextlib.suppress(OSError):
                os.remove(beside)
        self._waiting.clear()
        if self._made:
            with contextlib.suppress(OSError):  # only an empty one can be removed
                os.rmdir(self.folder)

    def _write(self, name: str, text: str) -> None:
        target = os.path.join(self.folder, name)
        if self.failed:
            return
        try:
            if not self._ours(target):
                return self._fail(f"{target} was not made by formcheck; it is left alone, name another folder")
            with open(cleared(f"{target}.part"), "x", encoding="utf-8", newline="\n") as stream:
                self._waiting.append((f"{target}.part", target))
                stream.write(text)
        except OSError as error:
            self._fail(unwritable(target, error))

    def _ours(self, target: str) -> bool:
        """Whether nothing is in the way, or only a page of an earlier run."""
        if not os.path.lexists(target):
            return True
        with open(target, encoding="utf-8", errors="replace") as stream:
            return self.report.ours(stream.read(_HEAD_BYTES))

    def _fail(self, message: str) -> None:
        self.failed = True
        complain(message)
        self.discard()
