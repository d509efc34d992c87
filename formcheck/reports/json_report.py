"""The review as data: a documented, versioned JSON document; and the same reviews as JSON lines, one a line as they come.

{"format": 1, "reviews": [{"file", "name", "code", "verdict",
  "findings": [{"rule", "severity", "line", "column", "message", "why", "remedy", "source", "path", "materials", "step"}],
  "accepted": [a finding with "reason", "accepted by", "until", "deviation": {"line", "column", "path", "of"}],
  "silenced": [a finding with "reason", "where"], "regraded": [a finding with "was", "reason", "where"], "threshold",
  "unchecked": [{"rule", "needs"}], "errors": [{"line", "column", "message"}],
  "faults": [{"who", "what"}], "tables": [text]}]}

A line of JSON lines is one such review with "format" before the rest; lines can be cut, sorted and counted by any program.
path is a JSON Pointer (RFC 6901) into the formula file; step is the number of the step, or null. silenced and regraded
are what the configuration did, at the file and line that where names; what is regraded stands among findings too.
"""

from __future__ import annotations

import json
import textwrap

from ..review.as_data import as_data
from ..review.model import Review
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


class JsonLines(Report):
    """Every review on a line of its own, only ASCII, so that any program can take them as they come."""

    def add(self, review: Review) -> str:
        return json.dumps({"format": FORMAT, **as_data(review)}) + "\n"
