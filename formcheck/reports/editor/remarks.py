"""A review as remarks on the text: from where up to where, how grave, what to say."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...formula.names import fold
from ...reading.document import START, Place, Problem
from ...records import NamedTuple
from ...review.rule import Finding
from ..safe_text import sentence, visible
from .opened import Opened

ACCEPTED, UNREAD, FAULT = "accepted", "unread", "fault"
_ELSEWHERE = re.compile(r"in (.+?):(\d+):(\d+): (.*)", re.DOTALL)
_WORD = re.compile(r"[^\s,\[\]{}]*")
_MOST_NEIGHBOURS = 8


class Neighbour(NamedTuple):
    """Another place that a remark speaks of. file: where it is not the open one; place: of the reader of that file."""

    what: str
    span: tuple[int, int] | None = None
    file: str = ""
    place: Place = START


class Remark(NamedTuple):
    """Something to show in the text.

    span: characters; grade: a severity, or accepted (on purpose), unread (what keeps the file from being understood),
    fault (something of the program's own failed); rule: its id, "" where there is none.
    """

    span: tuple[int, int]
    grade: str
    rule: str
    text: str
    finding: Finding | None = None
    neighbours: tuple[Neighbour, ...] = ()


def remarks(opened: Opened) -> list[Remark]:
    """Everything there is to say of a text, in the order in which the review says it."""
    review = opened.seen.review
    result = [_problem(opened, problem) for problem in review.errors]
    result.extend(_finding(opened, finding) for finding in review.findings)
    for finding, deviation in review.accepted:
        who = f" by {deviation.accepted_by}" if deviation.accepted_by else ""
        until = f", until {deviation.until}" if deviation.until else ""
        text = f"{sentence(finding.message)} Accepted{who}{until}: {deviation.reason}"
        result.append(Remark(_span(opened, finding.place), ACCEPTED, finding.rule, visible(text), finding))
    for fault in review.faults:
        text = f"A fault of the program, not of the formula; {fault.who}: {fault.what}"
        result.append(Remark(_span(opened, START), FAULT, "", visible(text)))
    return result


def _problem(opened: Opened, problem: Problem) -> Remark:
    """What keeps the file from being understood; what stands in a file beside it is shown at the beginning."""
    elsewhere = _ELSEWHERE.fullmatch(problem.message)
    if elsewhere is None:
        return Remark(_span(opened, problem.place), UNREAD, "", visible(problem.message))
    file, line, column, said = elsewhere.groups()
    neighbour = Neighbour(visible(said), None, file, Place(int(line), int(column)))
    return Remark(_span(opened, START), UNREAD, "", visible(problem.message), None, (neighbour,))


def _finding(opened: Opened, finding: Finding) -> Remark:
    span = _span(opened, finding.place)
    parts = [sentence(finding.message), finding.remedy]
    if finding.source:
        parts.append(f"Source: {finding.source}")
    text = visible("\n".join(part for part in parts if part))
    return Remark(span, finding.severity, finding.rule, text, finding, tuple(_neighbours(opened, finding, span)))


def _neighbours(opened: Opened, finding: Finding, own: tuple[int, int]) -> Iterator[Neighbour]:
    """The lines of the materials that a finding names, other than the one it stands at."""
    names = {fold(name) for name in finding.materials}
    lines = (line for line in opened.lines if fold(line.text) in names and line.start != own[0])
    for line, _ in zip(lines, range(_MOST_NEIGHBOURS)):
        yield Neighbour(visible(f"{line.text} in phase {line.path[1]}"), (line.start, line.end))


def _span(opened: Opened, place: Place) -> tuple[int, int]:
    """The key or value at a place, the key whose value is missing there, or else the word.

    What is missing at the end of the text is shown at its last sign.
    """
    start = opened.positions.of_place(place)
    if start == len(opened.text):
        start = max(len(opened.text.rstrip()) - 1, 0)
    without_value = None
    for piece in opened.pieces:
        if piece.start == start:
            return piece.start, piece.end
        if piece.role == "key" and piece.end <= start and not opened.text[piece.end : start].strip(" \t:"):
            without_value = (piece.start, piece.end)
    match = _WORD.match(opened.text, start)
    if match and match.end() > start:
        return start, match.end()
    if without_value and opened.text[start] not in "[{":
        return without_value
    return start, min(start + 1, len(opened.text))
