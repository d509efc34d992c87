"""The review as data: a documented, versioned JSON document.

{"format": 1, "reviews": [{"file", "name", "verdict",
  "findings": [{"rule", "severity", "line", "column", "message", "why", "remedy", "source", "path", "materials", "step"}],
  "accepted": [a finding with "reason", "accepted by", "until"],
  "silenced": [a finding with "reason", "where"], "regraded": [a finding with "was", "reason", "where"], "threshold",
  "unchecked": [{"rule", "needs"}], "errors": [{"line", "column", "message"}],
  "faults": [{"who", "what"}], "tables": [text]}]}

path is a JSON Pointer (RFC 6901) into the formula file; step is the number of the step, or null. silenced and regraded
are what the configuration did, at the file and line that where names; what is regraded stands among findings too.
"""

from __future__ import annotations

import json
import textwrap
from typing import Any

from ..review.model import Review
from ..review.rule import Finding
from .json_rows import Rows
from .report import Context, Report

FORMAT = 1


class Json(Report):
    """All reviews in one document."""

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._rows = Rows(lambda review: textwrap.indent(json.dumps(as_data(review), indent=2), " " * 4))

    def begin(self) -> str:
        return f'{{\n  "format": {FORMAT},\n  "reviews": ['

    def add(self, review: Review) -> str:
        return self._rows.add([review])

    def end(self) -> str:
        return "\n  ]\n}\n"


def as_data(review: Review) -> dict[str, Any]:
    """One review as plain data."""
    return {
        "file": review.file,
        "name": review.name,
        "verdict": review.verdict,
        "findings": [_finding(finding) for finding in review.findings],
        "accepted": [
            {
                **_finding(finding),
                "reason": deviation.reason,
                "accepted by": deviation.accepted_by,
                "until": deviation.until.isoformat() if deviation.until else None,
            }
            for finding, deviation in review.accepted
        ],
        "silenced": [
            {**_finding(finding), "reason": reason, "where": where} for finding, reason, where in review.silenced
        ],
        "regraded": [
            {**_finding(finding), "was": was, "reason": reason, "where": where}
            for finding, was, reason, where in review.regraded
        ],
        "threshold": review.threshold,
        "unchecked": [{"rule": item.rule, "needs": item.needs} for item in review.unchecked],
        "errors": [
            {"line": problem.place.line, "column": problem.place.column, "message": problem.message}
            for problem in review.errors
        ],
        "faults": [{"who": fault.who, "what": fault.what} for fault in review.faults],
        "tables": list(review.tables),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "line": finding.place.line,
        "column": finding.place.column,
        "message": finding.message,
        "why": finding.why,
        "remedy": finding.remedy,
        "source": finding.source,
        "path": finding.path,
        "materials": list(finding.materials),
        "step": finding.step,
    }
