"""The review as a commit shows it: what stops a formula, each finding on one line with its place, and a line of figures.

Places are written in the form of the GNU coding standards, `file:line:column: `, by which editors jump. A formula that
nothing stops is only counted.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable, Iterator

from ..review.model import HOLD, READY, THRESHOLD, UNREAD, Review, at_or_above
from ..review.rule import SEVERITIES
from ..review.served import Served
from .identity import relative
from .report import Context, Report
from .safe_text import one_line, sentence
from .terminal import counted

_ELSEWHERE = re.compile(r"in (?P<file>.+?)(?P<rest>:\d+:\d+: .+)", re.DOTALL)
"""A problem of a file that serves the formula: a materials file, a configuration."""

_COMMANDS = 5
"""So many commands are written out at the end."""


class Brief(Report):
    """The report of `formcheck changed`. concerned: what was found to the changed files."""

    def __init__(self, context: Context, concerned: Served) -> None:
        super().__init__(context)
        self.concerned = concerned
        self._said: set[str] = set()
        self._held: list[str] = []
        self._reviews = self._unread = self._accepted = self._silenced = 0

    def begin(self) -> str:
        return self._once(one_line(problem) for problem in self.concerned.problems)

    def add(self, review: Review) -> str:
        self._reviews += 1
        self._unread += review.verdict == UNREAD
        self._accepted += len(review.accepted)
        self._silenced += len(review.silenced)
        if review.verdict == HOLD:
            self._held.append(review.file)
        return self._once(_lines(review))

    def end(self) -> str:
        return "".join(f"{line}\n" for line in self._figures())

    def _once(self, lines: Iterable[str]) -> str:
        """Each line that was not there before: what is wrong with a materials file is wrong for all its formulas."""
        new = [line for line in dict.fromkeys(lines) if line not in self._said]
        self._said.update(new)
        return "".join(f"{line}\n" for line in new)

    def _figures(self) -> Iterator[str]:
        figures = {
            "formulas reviewed": self._reviews,
            "on hold": len(self._held),
            "not reviewed": self._unread,
            "accepted on purpose": self._accepted,
            "silenced by the configuration": self._silenced,
            "left out by the configuration": len(self.concerned.left_out),
            "removed": len(self.concerned.gone),
        }
        yield "; ".join(f"{what}: {count}" for what, count in figures.items() if count or what == "formulas reviewed")
        if self._held:
            yield "Why, and how to mend it:"
            yield from (f"  formcheck review {_quoted(file)}" for file in self._held[:_COMMANDS])
            if len(self._held) > _COMMANDS:
                yield f"  and so for {len(self._held) - _COMMANDS} more"
            yield "What you accept on purpose goes under «deviations:» in the file, with its reason."


def _lines(review: Review) -> Iterator[str]:
    file = one_line(relative(review.file))
    for problem in review.errors:
        yield _problem(file, f":{problem.place.line}:{problem.place.column}: ", problem.message)
    for fault in review.faults:
        yield one_line(f"{file}: a fault of the program, not of the formula: {fault.who} {fault.what}")
    weakest = max(review.threshold, THRESHOLD, key=SEVERITIES.index)
    findings = [finding for finding in review.findings if at_or_above(finding.severity, weakest)]
    if findings:
        verdict = "HOLD" if review.verdict == HOLD else "READY" if review.verdict == READY else "NOT REVIEWED"
        yield f"{verdict}  {one_line(review.name)}: {_counts(review)}"
    for finding in findings:
        place = f"{file}:{finding.place.line}:{finding.place.column}:"
        yield f"{place} {finding.severity}, {finding.rule}: {one_line(sentence(finding.message))}"


def _problem(file: str, place: str, message: str) -> str:
    elsewhere = _ELSEWHERE.fullmatch(message)
    if elsewhere:
        return one_line(relative(elsewhere["file"]) + elsewhere["rest"])
    return f"{file}{place}{one_line(message)}"


def _counts(review: Review) -> str:
    return ", ".join(counted(severity, count) for severity in SEVERITIES if (count := review.count(severity)))


def _quoted(path: str) -> str:
    """A path as a shell takes it, with nothing in it that a terminal obeys."""
    return one_line(shlex.quote(relative(path)))
