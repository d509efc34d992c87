"""Where the reports of one run go: which were asked for, and how each gets to its file or to standard output."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from typing import TextIO, TypeAlias

from ..folders import opened, special
from ..formula.names import listed, suggestion
from ..reading.files import ENDINGS
from ..records import NamedTuple
from ..reports.report import BUILT_IN, FOLDERS, Context, Function, Report, ReportFailed, make, make_folder
from ..review.run import Reviewed
from .folder_output import FolderOutput
from .main import complain
from .refusal import Refused, unwritable

STANDARD_OUTPUT = "-"


class Wanted(NamedTuple):
    """One report that was asked for. file: None for standard output; folder: whether it names a folder to fill."""

    name: str
    file: str | None
    folder: bool = False


def wanted(formats: Sequence[str], output: str | None, known: Iterable[str], reviewed: Iterable[str]) -> list[Wanted]:
    """The reports that `--format NAME`, `--format NAME=FILE` and `--output FILE` ask for. Raises Refused.

    known: names of reports; reviewed: the paths to be reviewed, none of which a report may overwrite.
    """
    names = list(known)
    asked = [_one(text, names) for text in formats or ("text",)]
    if output is not None:
        if len(asked) > 1 or asked[0].file is not None:
            raise Refused("--output goes with one --format NAME; with several, write each as --format NAME=FILE")
        asked = [_to(asked[0].name, output)]
    _check_standard_output([item.name for item in asked if item.file is None])
    _check_files(asked, reviewed)
    return asked


def _one(text: str, names: list[str]) -> Wanted:
    name, equals, file = text.partition("=")
    if name not in names:
        raise Refused(f"«{name}» is no format{suggestion(name, names)}; there are {listed(names)}")
    if equals and not file:
        raise Refused(f"«{text}» names no file; write --format {name}=FILE")
    return _to(name, file)


def _to(name: str, file: str) -> Wanted:
    if file in ("", STANDARD_OUTPUT):
        return Wanted(name, None)
    return Wanted(name, file, name in FOLDERS and _names_folder(file))


def _names_folder(file: str) -> bool:
    """Whether a folder is meant: one that is there, or a name without an ending for something that is not there yet."""
    return os.path.isdir(file) or (not os.path.splitext(file)[1] and not special(file))


def _check_standard_output(names: list[str]) -> None:
    if len(names) > 1:
        shown = listed(f"«{name}»" for name in names)
        raise Refused(f"{shown} would all go to standard output; give all but one a file: --format {names[-1]}=FILE")


def _check_files(asked: list[Wanted], reviewed: Iterable[str]) -> None:
    files = [(item.file, os.path.realpath(item.file), item.folder) for item in asked if item.file is not None]
    real = [target for _, target, _ in files]
    inputs = {os.path.realpath(path) for path in reviewed}
    for file, target, folder in files:
        if real.count(target) > 1:
            raise Refused(f"two reports would go to {file}")
        if folder and os.path.exists(target) and not os.path.isdir(target):
            raise Refused(f"{file} is a file; name a folder for the pages, or one file such as {file}.html")
        if folder:
            continue
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
        self._beside = self._target
        self._stream: TextIO | None = None

    @property
    def on_screen(self) -> bool:
        """Whether it goes to standard output, where what is written stays written."""
        return self.file is None

    @property
    def goes_to(self) -> str:
        """Where a person finds it."""
        return self.file or "standard output"

    def begin(self) -> None:
        """Opens it and writes what comes first. Raises Refused where the file cannot be written."""
        if self.file is not None:
            try:
                self._stream, self._beside = opened(self._target, newline="\n")
            except OSError as error:
                raise Refused(unwritable(self.file, error)) from None
        self._put(self.report.begin())

    def add(self, reviewed: Reviewed) -> None:
        self._put(self.report.add_sheet(reviewed.review, reviewed.sheet))

    def end(self) -> None:
        """Writes the rest and puts the file in its place."""
        try:
            for text in self.report.rest():
                self._put(text)
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
            self._fail(unwritable(self.file, error))

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
                self._fail(unwritable(self.file, error))

    def _fail(self, message: str) -> None:
        self.failed = True
        complain(message)
        self.discard()


Delivery: TypeAlias = "Output | FolderOutput"


def outputs(asked: Iterable[Wanted], context: Context, brought: Mapping[str, Function]) -> list[Delivery]:
    """An output for every report asked for. Text on standard output is as wide as the terminal, and in colour there."""
    return [
        FolderOutput(make_folder(item.name, context), item.file or "")
        if item.folder
        else Output(_report(item, context, brought), item.file)
        for item in asked
    ]


def _report(item: Wanted, context: Context, brought: Mapping[str, Function]) -> Report:
    if item == Wanted("text", None):
        from ..reports import terminal

        page = terminal.Page(terminal.width_of(sys.stdout), terminal.wants_colour(sys.stdout))
        return terminal.Text(context, page)
    return make(item.name, context, brought)


def deliver(reviews: Iterable[Reviewed], outputs: Sequence[Delivery]) -> bool | None:
    """Hands every review to every output, one review at a time; whether all went well. Raises Refused.

    None where somebody interrupted it: what goes to standard output is brought to an end with the reviews that were done,
    a file is left as it was before.
    """
    stopped = False
    try:
        for output in outputs:
            output.begin()
        try:
            for review in reviews:
                for output in outputs:
                    output.add(review)
        except KeyboardInterrupt:
            stopped = True
        for output in outputs:
            if not stopped or output.on_screen:
                output.end()
    finally:
        for output in outputs:
            output.discard()
    return None if stopped else not any(output.failed for output in outputs)


def names(brought: Iterable[str]) -> list[str]:
    """All formats there are, ours first."""
    return list(dict.fromkeys((*BUILT_IN, *brought)))
