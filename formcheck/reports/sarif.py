"""SARIF 2.1.0 (OASIS Standard, with Errata 01): what code hosts and editors show beside the lines of a file.

Critical and major findings are errors, minor ones warnings, notes notes; the severity itself stands in `properties`.
Accepted deviations are results with a suppression, and so is what the configuration silences; files that could not be read, rules that failed and what could not
be checked are notifications of the run.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from .. import __version__
from ..formula.model import Deviation
from ..formula.names import listed
from ..reading.document import Place
from ..review.model import Review
from ..review.rule import Finding, Rule
from .identity import STANDARD_INPUT, fingerprints, uri
from .json_rows import Rows
from .markdown_text import block, inline
from .report import Context, Report
from .safe_text import one_line, sentence
from .spool import Spool

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {"critical": "error", "major": "error", "minor": "warning", "note": "note"}
NOTICES = {
    "file-not-read": "a file could not be read or understood, and was not reviewed",
    "rule-failed": "a rule failed on a file; the other rules went on",
    "not-checked": "a rule could not judge a formula, for something it needs is not stated",
}
ROOT = "%SRCROOT%"
FINGERPRINT = "formcheckFinding/v1"


class Sarif(Report):
    """One run of the program over all files, every result on a line of its own."""

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._rows = Rows()
        self._index = {rule.id: number for number, rule in enumerate(context.rules)}
        self._notice_rows = Rows()
        self._notices = Spool()
        self._whole = True

    def begin(self) -> str:
        root = {ROOT: {"description": {"text": "The folder in which the review was run."}}}
        return (
            f'{{"$schema": "{SCHEMA}",\n"version": "2.1.0",\n"runs": [{{\n'
            f'"columnKind": "unicodeCodePoints",\n"originalUriBaseIds": {json.dumps(root)},\n"results": ['
        )

    def add(self, review: Review) -> str:
        self._whole &= not review.incomplete
        self._notices.add(self._notice_rows.add(_notices(review)))
        prints = fingerprints(review)
        results = [self._result(review.file, finding, prints[finding]) for finding in review.findings]
        for finding, deviation in review.accepted:
            result = self._result(review.file, finding, prints[finding])
            results.append({**result, "suppressions": [_suppression(review.file, deviation)]})
        for finding, reason, where in review.silenced:
            result = self._result(review.file, finding, prints[finding])
            results.append({**result, "suppressions": [_by_configuration(reason, where)]})
        return self._rows.add(results)

    def end(self) -> str:
        return "".join(self.rest())

    def rest(self) -> Iterator[str]:
        yield f'\n],\n"tool": {json.dumps({"driver": self._driver()})},\n'
        yield f'"invocations": [{{"executionSuccessful": {json.dumps(self._whole)}, "toolExecutionNotifications": ['
        yield from self._notices.pieces()
        yield "\n]}]\n}]}\n"

    def _driver(self) -> dict[str, Any]:
        """What the program is, with its rules: known whole only at the end, for formulas bring those of their house."""
        known = {rule.id: rule for rule in (*self.context.house(), *self.context.rules)}
        return {
            "name": "formcheck",
            "version": __version__,
            "semanticVersion": __version__,
            "shortDescription": {"text": "Reviews a skincare formula before anything is weighed."},
            "rules": [self._rule(known[id]) if id in known else {"id": one_line(id)} for id in self._index],
            "notifications": [{"id": id, "shortDescription": {"text": text}} for id, text in NOTICES.items()],
        }

    def _rule(self, rule: Rule) -> dict[str, Any]:
        sources = self.context.cite(rule.sources) if rule.sources else ""
        return {
            "id": rule.id,
            "shortDescription": {"text": _plain(f"Finds {sentence(rule.finds)}")},
            "fullDescription": {"text": _plain(rule.why)},
            "help": {"text": _plain(f"{rule.why} {rule.remedy}"), "markdown": _help(rule, sources)},
            "defaultConfiguration": {"level": LEVELS[rule.severity]},
            "properties": {
                "severity": rule.severity,
                "harm": rule.harm,
                "family": rule.family,
                "tags": [rule.family] if rule.family else [],
            },
        }

    def _result(self, file: str, finding: Finding, fingerprint: str) -> dict[str, Any]:
        index = self._index.setdefault(finding.rule, len(self._index))
        result: dict[str, Any] = {"ruleId": one_line(finding.rule), "ruleIndex": index}
        location = _location(file, finding.place)
        if finding.path:
            location["logicalLocations"] = [{"fullyQualifiedName": one_line(finding.path)}]
        result.update(
            level=LEVELS[finding.severity],
            message={"text": _plain(f"{sentence(finding.message)} {finding.remedy}")},
            locations=[location],
            partialFingerprints={FINGERPRINT: fingerprint},
            properties={
                "severity": finding.severity,
                "why": one_line(finding.why),
                "remedy": one_line(finding.remedy),
                "source": one_line(finding.source),
                "materials": [one_line(name) for name in finding.materials],
                "step": finding.step,
            },
        )
        return result


def _help(rule: Rule, sources: str) -> str:
    lines = [f"# {inline(rule.id)}", "", inline(sentence(f"Finds {rule.finds}")), ""]
    lines.extend(("## Why it matters", "", inline(rule.why), "", "## How to mend it", "", inline(rule.remedy), ""))
    if rule.flawed.strip():
        lines.extend(("## A formula with the flaw", "", *block(rule.flawed.strip()), ""))
    if rule.mended.strip():
        lines.extend(("## The same formula, mended", "", *block(rule.mended.strip()), ""))
    if rule.needs:
        lines.extend((f"Needs from the formula: {inline(listed(rule.needs))}.", ""))
    if sources:
        lines.extend((f"Rests on: {inline(sources)}", ""))
    return "\n".join(lines)


def _location(file: str, place: Place) -> dict[str, Any]:
    address = uri(file)
    artifact = {"uri": address}
    if file != STANDARD_INPUT and not address.startswith("file:"):
        artifact["uriBaseId"] = ROOT
    region = {"startLine": max(1, place.line), "startColumn": max(1, place.column)}
    return {"physicalLocation": {"artifactLocation": artifact, "region": region}}


def _suppression(file: str, deviation: Deviation) -> dict[str, Any]:
    who = f" (accepted by {deviation.accepted_by})" if deviation.accepted_by else ""
    until = f" (until {deviation.until.isoformat()})" if deviation.until else ""
    return {
        "kind": "inSource",
        "status": "accepted",
        "justification": one_line(f"{deviation.reason}{who}{until}"),
        "location": _location(file, deviation.place),
    }


def _by_configuration(reason: str, where: str) -> dict[str, Any]:
    return {"kind": "external", "status": "accepted", "justification": one_line(f"silenced at {where}: {reason}")}


def _notices(review: Review) -> list[dict[str, Any]]:
    notices = [_notice("file-not-read", "error", p.message, _location(review.file, p.place)) for p in review.errors]
    start = _location(review.file, Place(1, 1))
    for fault in review.faults:
        notices.append(_notice("rule-failed", "error", f"{fault.who}: {fault.what}", start))
    for item in review.unchecked:
        notices.append(_notice("not-checked", "note", f"{item.rule}: {item.needs}", start))
    return notices


def _notice(kind: str, level: str, text: str, location: dict[str, Any]) -> dict[str, Any]:
    descriptor = {"id": kind, "index": list(NOTICES).index(kind)}
    return {"descriptor": descriptor, "level": level, "message": {"text": _plain(text)}, "locations": [location]}


def _plain(text: str) -> str:
    """A plain text message: no placeholder (section 3.11.5 of the standard) and no link (3.11.6) comes of the text."""
    return one_line(text).replace("](", "] (").replace("{", "{{").replace("}", "}}")
