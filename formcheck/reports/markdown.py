"""A comment for a merge request: a table of verdicts, then what is to be settled; the rest folded away.

Formulas on hold come first. The comment stays below what the hosts accept; what no longer fits is counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..records import NamedTuple
from ..review.model import HOLD, READY, UNREAD, Accepted, Review, Silenced
from ..review.rule import SEVERITIES, Finding
from .identity import relative
from .markdown_text import code, inline
from .report import Context, Report
from .safe_text import sentence
from .terminal import silenced

MOST = 60_000
"""Characters of a whole comment; GitHub takes 65536 (from memory), GitLab more."""
_LAST = 100
"""Of these the line that says what does not fit."""
MOST_ROWS = 200
MOST_TEXTS = 600
"""Of each verdict: no more can fit, since none is shorter than a hundred characters."""
MOST_NAME = 120
_ORDER = (HOLD, UNREAD, READY)
_GRAVE = frozenset(("critical", "major"))


class _Part(NamedTuple):
    """What there is to say of one formula, at length and in brief."""

    row: str
    text: str
    brief: str


class Markdown(Report):
    """Keeps texts to the end, for the worst are to stand first, but no more of them than can find room."""

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._parts: dict[str, list[_Part]] = {verdict: [] for verdict in _ORDER}
        self._counts = dict.fromkeys(_ORDER, 0)
        self._left = 0
        self._silenced = 0

    def add(self, review: Review) -> str:
        parts = self._parts[review.verdict]
        if len(parts) < MOST_TEXTS:
            parts.append(_Part(_row(review), "\n".join(_section(review)), "\n".join(_brief(review))))
        else:
            self._left += any(True for _ in _section(review))
        self._counts[review.verdict] += 1
        self._silenced += len(review.silenced)
        return ""

    def end(self) -> str:
        parts = [part for verdict in _ORDER for part in self._parts[verdict]]
        counts, formulas = self._counts, sum(self._counts.values())
        silent = f" {silenced(self._silenced).capitalize()}." if self._silenced else ""
        head = [
            "## Formula review",
            "",
            f"{counts[HOLD]} on hold, {counts[READY]} ready, {counts[UNREAD]} not reviewed.{silent}",
            "",
            f"| verdict | formula | file | {' | '.join(SEVERITIES)} |",
            "|---|---|---|--:|--:|--:|--:|",
            *(part.row for part in parts[:MOST_ROWS]),
        ]
        if formulas > MOST_ROWS:
            head.extend(("", f"{formulas - MOST_ROWS} more formulas are not listed."))
        return "\n".join((*head, *_fitting(parts, MOST - _LAST - len("\n".join(head)), self._left), ""))


def _fitting(parts: list[_Part], room: int, left: int) -> Iterator[str]:
    """The texts that fit, and how many do not; left: those that were not even kept."""
    for part in parts:
        if not part.text:
            continue
        text = next((text for text in (part.text, part.brief) if text and len(text) + 2 <= room), None)
        if text is None:
            left += 1
        else:
            room -= len(text) + 2
            yield from ("", text)
    if left:
        yield from ("", f"What there is to say of {left} more formulas does not fit here.")


def _row(review: Review) -> str:
    counts = " | ".join(str(review.count(severity) or "") for severity in SEVERITIES)
    verdict = review.verdict if review.verdict == READY else f"**{review.verdict}**"
    return f"| {verdict} | {_name(review)} | {code(relative(review.file))} | {counts} |"


def _name(review: Review) -> str:
    name = review.name
    return inline(name if len(name) <= MOST_NAME else name[:MOST_NAME] + "...")


def _title(review: Review) -> tuple[str, ...]:
    return f"### {review.verdict.capitalize()}: {_name(review)}", "", f"File: {code(relative(review.file))}", ""


def _brief(review: Review) -> Iterator[str]:
    grave = [finding for finding in review.findings if finding.severity in _GRAVE]
    if review.verdict == READY and not grave:
        return
    yield from _title(review)
    yield from (_headline(finding) for finding in grave)
    yield from ("", "What else there is to say of it does not fit here.")


def _section(review: Review) -> Iterator[str]:
    grave = [finding for finding in review.findings if finding.severity in _GRAVE]
    light = [finding for finding in review.findings if finding.severity not in _GRAVE]
    if not (grave or light or review.errors or review.faults or review.accepted or review.silenced):
        return
    yield from _title(review)
    for problem in review.errors:
        yield f"- line {problem.place.line}, column {problem.place.column}: {inline(problem.message)}"
    for fault in review.faults:
        yield f"- not the formula's fault: {inline(f'{fault.who}: {fault.what}')}"
    for finding in grave:
        yield from _finding(finding)
    if light:
        yield from _folded(_counted(light), (line for finding in light for line in _finding(finding)))
    if review.accepted:
        yield from _folded(f"{len(review.accepted)} accepted on purpose", map(_acceptance, review.accepted))
    if review.silenced:
        yield from _folded(silenced(len(review.silenced)), map(_silence, review.silenced))
    if review.unchecked:
        yield from _folded("not checked", _unchecked(review))
    if review.tables:
        tables = inline("; ".join(review.tables))
        yield from ("", f"The law it was held against. {tables}. Not legal advice: the official text decides.")


def _headline(finding: Finding) -> str:
    place = f"line {finding.place.line}"
    return f"- **{finding.severity}**, {place}, {code(finding.rule)}: {inline(sentence(finding.message))}"


def _finding(finding: Finding) -> Iterator[str]:
    yield _headline(finding)
    yield f"  *To mend it:* {inline(finding.remedy)}"
    yield "  <details><summary>why</summary>"
    yield ""
    yield f"  Why: {inline(finding.why)}"
    if finding.source:
        yield ""
        yield f"  Source: {inline(finding.source)}"
    yield ""
    yield "  </details>"
    yield ""


def _acceptance(accepted: Accepted) -> str:
    finding, deviation = accepted
    who = f" by {inline(deviation.accepted_by)}" if deviation.accepted_by else ""
    until = f" until {deviation.until}" if deviation.until else ""
    return (
        f"- {finding.severity}, line {finding.place.line}, {code(finding.rule)}: {inline(sentence(finding.message))} "
        f"Accepted{who}{until}: {inline(deviation.reason)}"
    )


def _silence(silenced: Silenced) -> str:
    finding, reason, where = silenced
    return (
        f"- {finding.severity}, line {finding.place.line}, {code(finding.rule)}: {inline(sentence(finding.message))} "
        f"Silenced at {code(where)}: {inline(reason)}"
    )


def _unchecked(review: Review) -> Iterator[str]:
    by_need: dict[str, dict[str, None]] = {}
    for item in review.unchecked:
        by_need.setdefault(item.needs, {})[code(item.rule)] = None
    for needs, rules in by_need.items():
        yield f"- for {', '.join(rules)}: {inline(needs)}"


def _folded(summary: str, lines: Iterable[str]) -> Iterator[str]:
    yield from ("", f"<details><summary>{summary}</summary>", "", *lines, "", "</details>")


def _counted(findings: list[Finding]) -> str:
    counts = {severity: sum(finding.severity == severity for finding in findings) for severity in SEVERITIES}
    return ", ".join(f"{count} {severity}" for severity, count in counts.items() if count)
