"""Where the reports of one run go: which were asked for, and how each gets to its file or to standard output."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, TextIO

from ..formula.names import listed, suggestion
from ..reading.files import ENDINGS
from ..reports.report import BUILT_IN, Context, Function, Report, ReportFailed, make
from ..review.model import Review
from .main import complain

STANDARD_OUTPUT = "-"


class Wanted(NamedTuple):
    """One report that was asked for. file: None for standard output."""

    name: str
    file: str | None


class Refused(Exception):
    """What was asked for cannot be had; the message is for the user."""


def wanted(formats: Sequence[str], output: str | None, known: Iterable[str], reviewed: Iterable[str]) -> list[Wanted]:
    """The reports that `--format NAME`, `--format NAME=FILE` and `--output FILE` ask for. Raises Refused.

    known: names of reports; reviewed: the paths to be reviewed, none of which a report may overwrite.
    """
    names = list(known)
    asked = [_one(text, names) for text in formats or ("text",)]
    if output is not None:
        if len(asked) > 1 or asked[0].file is not None:
            raise Refused("--output goes with one --format NAME; with several, write each as --format NAME=FILE")
        asked = [Wanted(asked[0].name, None if output == STANDARD_OUTPUT else output)]
    _check_standard_output([item.name for item in asked if item.file is None])
    _check_files([item.file for item in asked if item.file is not None], reviewed)
    return asked


def _one(text: str, names: list[str]) -> Wanted:
    name, equals, file = text.partition("=")
    if name not in names:
        raise Refused(f"«{name}» is no format{suggestion(name, names)}; there are {listed(names)}")
    if equals and not file:
        raise Refused(f"«{text}» names no file; write --format {name}=FILE")
    return Wanted(name, None if file in ("", STANDARD_OUTPUT) else file)


def _check_standard_output(names: list[str]) -> None:
    if len(names) > 1:
        shown = listed(f"«{name}»" for name in names)
        raise Refused(f"{shown} would all go to standard output; give all but one a file: --format {names[-1]}=FILE")


def _check_files(files: list[str], reviewed: Iterable[str]) -> None:
    real = [os.path.realpath(file) for file in files]
    inputs = {os.path.realpath(path) for path in reviewed}
    for file, target in zip(files, real):
        if real.count(target) > 1:
            raise Refused(f"two reports would go to {file}")
        if target in inputs or target.endswith(ENDINGS):
            raise Refused(f"{file} is named as a formula is; a report must not overwrite one")
        if os.path.isdir(target):
            raise Refused(f"{file} is a folder; name a file in it")


class Output:
    """One report on its way. A file is written beside and renamed, so that no half report is ever left behind."""

    def __init__(self, report: Report, file: str | None = None) -> None:
        self.report = report
        self.file = file
        self.failed = False
        self._target = os.path.realpath(file) if file is not None else ""
        # what is no regular file (a pipe, /dev/null) cannot be replaced by one
        self._beside = self._target if _special(self._target) else f"{self._target}.part"
        self._stream: TextIO | None = None

    def begin(self) -> None:
        """Opens it and writes what comes first. Raises Refused where the file cannot be written."""
        if self.file is not None:
            try:
                self._stream = open(self._beside, "w", encoding="utf-8", newline="\n")  # noqa: SIM115
            except OSError as error:
                raise Refused(_unwritable(self.file, error)) from None
        self._put(self.report.begin())

    def add(self, review: Review) -> None:
        self._put(self.report.add(review))

    def end(self) -> None:
        """Writes the rest and puts the file in its place."""
        try:
            self._put(self.report.end())
        except ReportFailed as failure:
            self._fail(f"report {failure}")
        if self._stream is None or self.failed:
            return
        try:
            self._stream.close()
            if self._beside != self._target:
                os.replace(self._beside, self._target)
            self._stream = None
        except OSError as error:
            self._fail(_unwritable(self.file, error))

    def discard(self) -> None:
        """Takes away what was begun and did not come to its end; nothing where it did."""
        if self._stream is not None:
            with contextlib.suppress(OSError):
                self._stream.close()
            if self._beside != self._target:
                with contextlib.suppress(OSError):
                    os.remove(self._beside)
            self._stream = None

    def _put(self, text: str) -> None:
        if self.file is None:
            sys.stdout.write(text)
        elif self._stream is not None and not self.failed:
            try:
                self._stream.write(text)
            except OSError as error:
                self._fail(_unwritable(self.file, error))

    def _fail(self, message: str) -> None:
        self.failed = True
        complain(message)
        self.discard()


def outputs(asked: Iterable[Wanted], context: Context, brought: Mapping[str, Function]) -> list[Output]:
    """An output for every report asked for. Text on standard output is as wide as the terminal, and in colour there."""
    return [Output(_report(item, context, brought), item.file) for item in asked]


def _report(item: Wanted, context: Context, brought: Mapping[str, Function]) -> Report:
    if item == Wanted("text", None):
        from ..reports import terminal

        page = terminal.Page(terminal.width_of(sys.stdout), terminal.wants_colour(sys.stdout))
        return terminal.Text(context, page)
    return make(item.name, context, brought)


def deliver(reviews: Iterable[Review], outputs: Sequence[Output]) -> bool:
    """Hands every review to every output, one review at a time; whether all went well. Raises Refused."""
    try:
        for output in outputs:
            output.begin()
        for review in reviews:
            for output in outputs:
                output.add(review)
        for output in outputs:
            output.end()
    finally:
        for output in outputs:
            output.discard()
    return not any(output.failed for output in outputs)


def names(brought: Iterable[str]) -> list[str]:
    """All formats there are, ours first."""
    return list(dict.fromkeys((*BUILT_IN, *brought)))


def _special(path: str) -> bool:
    return os.path.exists(path) and not os.path.isfile(path)


def _unwritable(file: str | None, error: OSError) -> str:
    return f"{file}: cannot be written: {(error.strerror or str(error)).lower()}"
