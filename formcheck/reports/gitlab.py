"""GitLab's code-quality report: a JSON list of findings, compared by fingerprint between branches.

Critical, major and minor keep their names, a note is `info`; a file that could not be read is a `blocker`, and so is a
rule that failed. What was accepted on purpose is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..reading.document import Place
from ..review.model import Review
from .identity import fingerprint, fingerprints, relative
from .json_rows import Rows
from .report import Context, Report
from .safe_text import one_line, sentence

SEVERITY = {"critical": "critical", "major": "major", "minor": "minor", "note": "info"}


class GitLab(Report):
    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._rows = Rows()

    def begin(self) -> str:
        return "["

    def add(self, review: Review) -> str:
        return self._rows.add(_entries(review))

    def end(self) -> str:
        return "\n]\n"


def _entries(review: Review) -> Iterator[dict[str, Any]]:
    for number, problem in enumerate(review.errors):
        identity = fingerprint(review.file, "file-not-read", f"{number} {problem.message}")
        yield _entry(review, "file-not-read", "blocker", problem.place, problem.message, identity)
    for fault in review.faults:
        identity = fingerprint(review.file, "rule-failed", fault.who)
        yield _entry(review, "rule-failed", "blocker", Place(1, 1), f"{fault.who}: {fault.what}", identity)
    prints = fingerprints(review)
    for finding in review.findings:
        text = f"{sentence(finding.message)} {finding.remedy}"
        yield _entry(review, finding.rule, SEVERITY[finding.severity], finding.place, text, prints[finding])


def _entry(review: Review, check: str, severity: str, place: Place, text: str, identity: str) -> dict[str, Any]:
    return {
        "description": one_line(text),
        "check_name": one_line(check),
        "fingerprint": identity,
        "severity": severity,
        "location": {"path": one_line(relative(review.file)), "lines": {"begin": max(1, place.line)}},
    }
