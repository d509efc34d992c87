"""Workflow commands of GitHub's runners: every line an annotation beside the formula, and a line of figures at the end.

The runner shows the first ten errors, warnings and notices of a step and leaves the rest in its log. What was accepted
on purpose is left out. Nothing but these commands and figures is printed: in a runner's log any line that begins with
two colons is a command, and a formula must not be able to give one.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..reading.document import Place
from ..review.model import HOLD, UNREAD, Review
from ..review.rule import SEVERITIES
from .identity import STANDARD_INPUT, relative
from .report import Context, Report
from .safe_text import one_line, sentence

COMMANDS = {"critical": "error", "major": "error", "minor": "warning", "note": "notice"}


class GitHub(Report):
    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._reviews = self._held = self._unread = self._silenced = 0

    def add(self, review: Review) -> str:
        self._reviews += 1
        self._held += review.verdict == HOLD
        self._unread += review.verdict == UNREAD
        self._silenced += len(review.silenced)
        return "".join(f"{line}\n" for line in _lines(review))

    def end(self) -> str:
        ready = self._reviews - self._held - self._unread
        silent = f"; findings silenced by the configuration: {self._silenced}" if self._silenced else ""
        return (
            f"formulas: {self._reviews}; ready: {ready}; on hold: {self._held}; not reviewed: {self._unread}{silent}\n"
        )


def _lines(review: Review) -> Iterator[str]:
    for problem in review.errors:
        yield command("error", review.file, problem.place, "file not read", problem.message)
    for fault in review.faults:
        yield command("error", review.file, Place(1, 1), "rule failed", f"{fault.who}: {fault.what}")
    for finding in sorted(review.findings, key=lambda f: SEVERITIES.index(f.severity)):
        yield command(
            COMMANDS[finding.severity],
            review.file,
            finding.place,
            f"{finding.severity}: {finding.rule}",
            sentence(finding.message),
            finding.why,
            finding.remedy,
        )


def command(name: str, file: str, place: Place, title: str, *lines: str) -> str:
    """One workflow command; every part of it escaped."""
    where = {} if file == STANDARD_INPUT else {"file": relative(file)}
    properties = {**where, "line": str(place.line), "col": str(place.column), "title": title}
    pairs = ",".join(f"{key}={_property(value)}" for key, value in properties.items())
    return f"::{name} {pairs}::" + "%0A".join(_data(line) for line in lines)


def _data(text: str) -> str:
    return one_line(text).replace("%", "%25")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
