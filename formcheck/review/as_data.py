"""A review as plain data and back: what the JSON reports hold, what is kept from run to run, what goes between processes.

The keys are those of the JSON report, see formcheck/reports/json_report.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from ..formula.model import Deviation
from ..plugins import Fault
from ..reading.document import Place, Problem
from .model import Accepted, Regraded, Review, Silenced
from .rule import Finding, Unchecked


def as_data(review: Review) -> dict[str, Any]:
    """One review as plain data."""
    return {
        "file": review.file,
        "name": review.name,
        "code": review.note,
        "verdict": review.verdict,
        "findings": [_finding(finding) for finding in review.findings],
        "accepted": [{**_finding(finding), **_deviation(deviation)} for finding, deviation in review.accepted],
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


def from_data(data: Mapping[str, Any], file: str | None = None) -> Review:
    """The review that as_data() wrote. file: where it lies now, if not where it lay. Raises KeyError, TypeError, ValueError."""
    return Review(
        data["file"] if file is None else file,
        data["name"],
        data["verdict"],
        tuple(_read_finding(each) for each in data["findings"]),
        tuple(Accepted(_read_finding(each), _read_deviation(each)) for each in data["accepted"]),
        tuple(Unchecked(each["rule"], each["needs"]) for each in data["unchecked"]),
        tuple(Problem(Place(each["line"], each["column"]), each["message"]) for each in data["errors"]),
        tuple(Fault(each["who"], each["what"]) for each in data["faults"]),
        tuple(data["tables"]),
        data["code"],
        tuple(Silenced(_read_finding(each), each["reason"], each["where"]) for each in data["silenced"]),
        tuple(Regraded(_read_finding(each), each["was"], each["reason"], each["where"]) for each in data["regraded"]),
        data["threshold"],
    )


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


def _read_finding(data: Mapping[str, Any]) -> Finding:
    return Finding(
        data["rule"],
        data["severity"],
        Place(data["line"], data["column"]),
        data["path"],
        data["message"],
        data["why"],
        data["remedy"],
        data["source"],
        tuple(data["materials"]),
        data["step"],
    )


def _deviation(deviation: Deviation) -> dict[str, Any]:
    place = deviation.place
    return {
        "reason": deviation.reason,
        "accepted by": deviation.accepted_by,
        "until": deviation.until.isoformat() if deviation.until else None,
        "deviation": {"line": place.line, "column": place.column, "path": deviation.path, "of": deviation.of},
    }


def _read_deviation(data: Mapping[str, Any]) -> Deviation:
    at = data["deviation"]
    until = date.fromisoformat(data["until"]) if data["until"] else None
    place = Place(at["line"], at["column"])
    return Deviation(data["rule"], data["reason"], place, at["path"], data["accepted by"], until, at["of"])
