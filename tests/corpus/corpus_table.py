"""The corpus reviewed and held against expected.yaml; run as a program it prints a line a rule.

python -m tests.corpus.corpus_table
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any, NamedTuple

import yaml

from formcheck.reading.files import ENDINGS
from formcheck.review.model import Review
from formcheck.review.rule import SEVERITIES, Finding
from formcheck.review.run import Reviewer

HERE = os.path.dirname(os.path.abspath(__file__))
KINDS = ("published", "sound", "flawed")
GRAVE = ("critical", "major")
TODAY = date(2026, 11, 25)


class Wanted(NamedTuple):
    """A finding that has to be there. severity: None for any; at: words of the line it stands on, or None for any."""

    rule: str
    severity: str | None = None
    at: str | None = None

    def __str__(self) -> str:
        return " ".join(part for part in (self.severity, self.rule, f"at «{self.at}»" if self.at else "") if part)


class Expected(NamedTuple):
    """What the review of one formula must, may and must not say.

    finds: rule and severity of all that the review says, each once; None where minor findings and notes are not stored.
    """

    must: tuple[Wanted, ...] = ()
    may: frozenset[str] = frozenset()
    never: frozenset[str] = frozenset()
    finds: frozenset[tuple[str, str]] | None = None


class Outcome(NamedTuple):
    """One formula's review beside what was expected.

    found, missed: of the findings that have to be there; alarms: findings that must not be; extra: minor findings and
    notes that nobody asked for.
    """

    kind: str
    name: str
    review: Review
    found: tuple[Wanted, ...]
    missed: tuple[Wanted, ...]
    alarms: tuple[Finding, ...]
    extra: tuple[Finding, ...]

    @property
    def label(self) -> str:
        return f"{self.kind}/{self.name}"


def expectations() -> dict[str, dict[str, Expected]]:
    """Kind -> name of the formula -> what is expected. Raises ValueError for a word that expected.yaml does not have."""
    with open(os.path.join(HERE, "expected.yaml"), encoding="utf-8") as file:
        data = yaml.safe_load(file)
    return {kind: {name: _expected(name, entry or {}) for name, entry in data[kind].items()} for kind in KINDS}


def _expected(name: str, entry: Mapping[str, Any]) -> Expected:
    unknown = [key for key in entry if key not in ("must", "may", "not", "finds")]
    unknown += [key for item in entry.get("must", ()) for key in item if key not in Wanted._fields]
    unknown += [str(item) for item in entry.get("may", ()) if set(item) != {"rule", "why"}]
    unknown += [item["severity"] for item in entry.get("must", ()) if item.get("severity", "note") not in SEVERITIES]
    unknown += [word for word in entry.get("finds", {}).values() if word not in SEVERITIES]
    if unknown:
        raise ValueError(f"{name}: {', '.join(unknown)}")
    if "finds" in entry:
        finds = frozenset(entry["finds"].items())
        return Expected(tuple(Wanted(*each) for each in sorted(finds)), frozenset(), frozenset(), finds)
    return Expected(
        tuple(Wanted(**item) for item in entry.get("must", ())),
        frozenset(item["rule"] for item in entry.get("may", ())),
        frozenset(entry.get("not", ())),
    )


def formulas(kind: str) -> dict[str, str]:
    """Name -> path of the formula files of one kind."""
    folder = os.path.join(HERE, kind)
    return {
        file[: -len(ending)]: os.path.join(folder, file)
        for file in sorted(os.listdir(folder))
        for ending in ENDINGS
        if file.endswith(ending)
    }


def text_of(path: str) -> str:
    with open(path, encoding="utf-8") as file:
        return file.read()


def judge(reviewer: Reviewer, kind: str, name: str, path: str, expected: Expected) -> Outcome:
    """The review of one formula, held against what is expected. Rules that the reviewer does not have are passed over."""
    review = reviewer.review(path)
    lines = text_of(path).splitlines()
    known = {rule.id for rule in reviewer.rules}
    wanted = [each for each in expected.must if each.rule in known]
    matches = {each: [f for f in review.findings if _fits(each, f, lines)] for each in wanted}
    asked = {id(finding) for findings in matches.values() for finding in findings}
    alarms = [f for f in review.findings if _unasked(expected, f)]
    extra = [f for f in review.findings if f not in alarms and id(f) not in asked and f.severity not in GRAVE]
    return Outcome(
        kind,
        name,
        review,
        tuple(each for each in wanted if matches[each]),
        tuple(each for each in wanted if not matches[each]),
        tuple(alarms),
        tuple(extra),
    )


def _unasked(expected: Expected, finding: Finding) -> bool:
    """Whether a finding is an alarm. Where all findings are stored, any other is one."""
    if expected.finds is not None:
        return (finding.rule, finding.severity) not in expected.finds
    may = expected.may | {each.rule for each in expected.must}
    return finding.rule in expected.never or (finding.severity in GRAVE and finding.rule not in may)


def _fits(wanted: Wanted, finding: Finding, lines: list[str]) -> bool:
    if finding.rule != wanted.rule or wanted.severity not in (None, finding.severity):
        return False
    return wanted.at is None or wanted.at in lines[finding.place.line - 1]


def outcomes(reviewer: Reviewer) -> Iterator[Outcome]:
    """Every formula of the corpus that has an expectation."""
    for kind, entries in expectations().items():
        files = formulas(kind)
        for name, expected in entries.items():
            if name in files:
                yield judge(reviewer, kind, name, files[name], expected)


def table(reviewer: Reviewer, all_outcomes: Iterable[Outcome]) -> str:
    """A line a rule: how many findings had to be there and were, false alarms on both kinds, extra minor findings."""
    results = list(all_outcomes)
    found = Counter(wanted.rule for result in results for wanted in result.found)
    missed = Counter(wanted.rule for result in results for wanted in result.missed)
    alarms = {kind: Counter(f.rule for r in results if r.kind == kind for f in r.alarms) for kind in KINDS}
    extra = {kind: Counter(f.rule for r in results if r.kind == kind for f in r.extra) for kind in KINDS}
    head = f"{'rule':30}{'recall':>9}{'false alarms':>30}{'other minor, note':>30}"
    kinds = "".join(f"{kind:>10}" for kind in KINDS)
    rows = [head, f"{'':39}{kinds}{kinds}"]
    for rule in sorted(reviewer.rules, key=lambda each: (each.family, each.id)):
        counts = [counter[kind][rule.id] for counter in (alarms, extra) for kind in KINDS]
        wanted = found[rule.id] + missed[rule.id]
        recall = f"{found[rule.id]}/{wanted}" if wanted else "-"
        rows.append(f"{rule.id:30}{recall:>9}" + "".join(f"{n or '':>10}" for n in counts))
    sums = [sum(counter[kind].values()) for counter in (alarms, extra) for kind in KINDS]
    recall = f"{found.total()}/{found.total() + missed.total()}"
    rows.append(f"{'all':30}{recall:>9}" + "".join(f"{n:>10}" for n in sums))
    return "\n".join(rows)


def differences(result: Outcome) -> Iterator[str]:
    """Where a review differs from what is expected, one sentence each."""
    for wanted in result.missed:
        near = [f for f in result.review.findings if f.rule == wanted.rule]
        shown = "; ".join(f"there is {f.severity} on line {f.place.line}: {f.message}" for f in near) or "nothing"
        yield f"missed {wanted}: {shown}"
    for finding in result.alarms:
        yield f"false alarm {finding.severity} {finding.rule}, line {finding.place.line}: {finding.message}"
    for error in result.review.errors:
        yield f"cannot be read, line {error.place.line}: {error.message}"
    for fault in result.review.faults:
        yield f"{fault.who}: {fault.what}"


def main() -> int:
    reviewer = Reviewer(today=TODAY)
    results = list(outcomes(reviewer))
    lines = [table(reviewer, results), "", f"{len(results)} formulas"]
    for result in results:
        told = list(differences(result))
        if told:
            lines += ["", result.label, *(f"  {line}" for line in told)]
    sys.stdout.write("\n".join(lines) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
