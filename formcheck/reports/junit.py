"""JUnit XML, as build servers read it: a suite a formula, a case a rule that has something to say.

A rule with a finding at or above the threshold fails; below it the case passes and carries the text as output. What was
accepted on purpose, silenced by the configuration or could not be checked is skipped, with the reason. A file that could
not be read, and a rule that failed, are errors. A formula that is ready has a passing case that says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from ..records import NamedTuple
from ..review.model import READY, Accepted, Review, Silenced, at_or_above
from ..review.rule import Finding
from .identity import relative
from .report import Report
from .safe_text import one_line, sentence, visible

_SIGNS = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&apos;"}
_FORBIDDEN = re.compile("[\ufffe\uffff]")
OUTCOMES = ("failure", "error", "skipped")


class Case(NamedTuple):
    """One test case. outcome: one of OUTCOMES, or nothing for a case that passes; texts: a paragraph each."""

    name: str
    outcome: str = ""
    message: str = ""
    kind: str = ""
    texts: tuple[str, ...] = ()


class JUnit(Report):
    """Only ASCII comes out, other characters as references, so that no encoding on the way can spoil it."""

    def begin(self) -> str:
        return '<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="formcheck">\n'

    def add(self, review: Review) -> str:
        return "".join(f"  {line}\n" for line in _suite(review, list(cases(review, review.threshold))))

    def end(self) -> str:
        return "</testsuites>\n"


def cases(review: Review, threshold: str) -> Iterator[Case]:
    """The test cases of one review, errors first."""
    if review.errors:
        where = tuple(f"{problem.place.line}:{problem.place.column}: {problem.message}" for problem in review.errors)
        yield Case("file can be read", "error", review.errors[0].message, "file-not-read", where)
    for fault in review.faults:
        yield Case(fault.who, "error", fault.what, "rule-failed", (fault.what,))
    told = [finding.rule for finding in (*review.findings, *review.settled)]
    for rule in dict.fromkeys((*told, *(item.rule for item in review.unchecked))):
        yield _case(rule, review, threshold)
    if review.verdict == READY:
        yield Case("ready")


def _case(rule: str, review: Review, threshold: str) -> Case:
    found = [finding for finding in review.findings if finding.rule == rule]
    failing = [finding for finding in found if at_or_above(finding.severity, threshold)]
    asides = [_acceptance(accepted) for accepted in review.accepted if accepted.finding.rule == rule]
    asides.extend(_silence(silenced) for silenced in review.silenced if silenced.finding.rule == rule)
    asides.extend(f"not checked: {item.needs}" for item in review.unchecked if item.rule == rule)
    texts = (*(_paragraph(finding) for finding in found), *asides)
    if failing:
        return Case(rule, "failure", failing[0].message, failing[0].severity, texts)
    if found:
        return Case(rule, texts=texts)
    return Case(rule, "skipped", asides[0], texts=texts)


def _paragraph(finding: Finding) -> str:
    source = f"\nSource: {finding.source}" if finding.source else ""
    head = f"{finding.severity}, line {finding.place.line}: {sentence(finding.message)}"
    return f"{head}\n{finding.why}\nTo mend it: {finding.remedy}{source}"


def _acceptance(accepted: Accepted) -> str:
    finding, deviation = accepted
    who = f" by {deviation.accepted_by}" if deviation.accepted_by else ""
    until = f" until {deviation.until}" if deviation.until else ""
    return f"accepted{who}{until}: {sentence(deviation.reason)} The finding: {finding.severity}, {finding.message}"


def _silence(silenced: Silenced) -> str:
    finding, reason, where = silenced
    return f"silenced at {where}: {sentence(reason)} The finding: {finding.severity}, {finding.message}"


def _suite(review: Review, cases: Sequence[Case]) -> Iterator[str]:
    file = relative(review.file)
    counts = {outcome: sum(case.outcome == outcome for case in cases) for outcome in OUTCOMES}
    yield _tag(
        "testsuite",
        name=f"{file}: {review.name}",
        file=file,
        tests=len(cases),
        failures=counts["failure"],
        errors=counts["error"],
        skipped=counts["skipped"],
    )
    yield "  <properties>" + _tag("property", "/", name="verdict", value=review.verdict) + "</properties>"
    for case in cases:
        yield "  " + _tag("testcase", classname=file, name=case.name) + _outcome(case) + "</testcase>"
    yield "</testsuite>"


def _outcome(case: Case) -> str:
    text = _escaped("\n\n".join(case.texts))
    if not case.outcome:
        return f"<system-out>{text}</system-out>" if text else ""
    kind = {"type": case.kind} if case.kind else {}
    return _tag(case.outcome, message=case.message, **kind) + text + f"</{case.outcome}>"


def _tag(name: str, end: str = "", /, **attributes: object) -> str:
    pairs = "".join(f' {key}="{_escaped(one_line(str(value)))}"' for key, value in attributes.items())
    return f"<{name}{pairs}{end}>"


def _escaped(text: str) -> str:
    """Text fit for an attribute or an element: XML's own signs, and what XML 1.0 forbids (section 2.2) made visible."""
    shown = _FORBIDDEN.sub(lambda match: f"<U+{ord(match.group()):04X}>", visible(text))
    escaped = "".join(_SIGNS.get(character, character) for character in shown)
    return escaped.encode("ascii", "xmlcharrefreplace").decode("ascii")
