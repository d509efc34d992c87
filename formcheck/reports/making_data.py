"""The weigh-out and making sheet as data: JSON with all of it, CSV with the weighings.

{"format": 1, "file", "name", "verdict", "banners": [{"words", "why"}], "facts": {label: value},
  "findings": [{"severity", "rule", "message", "remedy", "holds", "step"}], "cautions": [text],
  "phases": [{"letter", "sum", "rows": [row]}], "to taste": [row], "sum", "weighing notes": [text],
  "steps": [{"number", "do", "watch": [text], "record": [text], "note"}],
  "pH plans": [{"head", "says": [text], "portions": [{"add", "then", "expected"}]}]}

A row is {"name", "known as", "percent", "grams", "lot", "note", "hazards"}; grams is a number as text, to the step of the
balance, "" where it cannot be said.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from .csv_text import table
from .making_sheet import CAUTION, SUMS, Content, Row

FORMAT = 1
_COLUMNS = ("status", "vessel", "material", "known as", "percent", "grams", "weighed g", "lot", "note", "hazards")


def data(content: Content) -> str:
    """The sheet as a JSON document, ending in a newline."""
    document = {
        "format": FORMAT,
        "file": content.file,
        "name": content.title,
        "verdict": content.verdict,
        "banners": [{"words": words, "why": why} for words, why in content.banners],
        "facts": dict(content.facts),
        "findings": [finding._asdict() for finding in content.findings],
        "cautions": [*content.cautions, CAUTION, SUMS],
        "phases": [
            {"letter": phase.letter, "sum": phase.sum, "rows": [_row(row) for row in phase.rows]}
            for phase in content.phases
        ],
        "to taste": [_row(row) for row in content.to_taste],
        "sum": content.sum,
        "weighing notes": list(content.weighing_notes),
        "steps": [{**step._asdict(), "watch": list(step.watch), "record": list(step.record)} for step in content.steps],
        "pH plans": [
            {
                "head": plan.head,
                "says": list(plan.says),
                "portions": [portion._asdict() for portion in plan.portions],
            }
            for plan in content.plans
        ],
    }
    return json.dumps(document, indent=2) + "\n"


def sheet_table(content: Content) -> str:
    """The weighings as CSV, one line a row; the status stands on every line, so that none is weighed by mistake."""
    return table((_COLUMNS, *_lines(content)))


def _lines(content: Content) -> Iterator[tuple[str, ...]]:
    status = ", ".join(words for words, _ in content.banners) or content.verdict
    groups = [(phase.letter, phase.rows) for phase in content.phases]
    for vessel, rows in (*groups, ("", content.to_taste)):
        for row in rows:
            yield (
                status,
                vessel,
                row.name,
                row.known_as,
                row.percent.removesuffix(" %"),
                row.grams,
                "",
                row.lot,
                row.note,
                row.hazards,
            )


def _row(row: Row) -> dict[str, Any]:
    return {name.replace("_", " "): value for name, value in row._asdict().items()}
