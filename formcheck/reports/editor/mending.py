"""Corrections to choose from where something was found, each as the smallest edits of the text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from ...reading.document import Unreadable
from ...reading.editing import applied
from ...records import NamedTuple
from ...review.corrections import CannotEdit, Edit, correct
from ...review.misreadings import mended
from ...review.model import Review, at_or_above
from ...review.rule import Finding, Rule
from ..safe_text import one_line
from .opened import FORMULA, Opened
from .remarks import UNREAD, Remark


class Mending(NamedTuple):
    """One correction. what: what changes; remark: what it mends; sure: the only right answer, not one among others."""

    what: str
    edits: tuple[Edit, ...]
    remark: Remark | None = None
    sure: bool = False


def mendings(opened: Opened, remarks: Iterable[Remark]) -> list[Mending]:
    """The corrections that hold for some of the remarks on a text: the file still reads, and the finding is gone."""
    if opened.what != FORMULA:
        return []
    found: list[Mending] = []
    rules = opened.desk.rules(opened.path)
    for remark in remarks:
        if remark.grade == UNREAD:
            found.extend(_slips(opened, remark))
        elif remark.finding is not None and remark.rule in rules:
            found.extend(_of_rule(opened, rules[remark.rule], remark, remark.finding))
    return [_shifted(opened, each) for each in found]


def all_at_once(opened: Opened) -> Mending | None:
    """Everything that has one right answer, corrected in one go; None where there is nothing."""
    if opened.what != FORMULA:
        return None
    try:
        result = correct(opened.desk.reviewer, opened.path, opened.data)
    except (Unreadable, CannotEdit):
        return None
    count = len(result.made)
    what = f"correct everything that has one right answer ({count})"
    return _shifted(opened, Mending(what, tuple(_difference(result.old, result.new)))) if count else None


def _shifted(opened: Opened, mending: Mending) -> Mending:
    """The edits in characters of the text as the editor has it, which may begin with a byte order mark."""
    by = len(opened.text) - len(opened.readable)
    return mending._replace(edits=tuple(Edit(edit.start + by, edit.end + by, edit.text) for edit in mending.edits))


def _of_rule(opened: Opened, rule: Rule, remark: Remark, finding: Finding) -> Iterator[Mending]:
    sheet = opened.seen.sheet
    if rule.corrections is None or sheet is None:
        return
    try:
        offered = list(rule.corrections(sheet, finding))
    except Exception:  # of a rule; the review itself says what fails, a list of corrections need not
        return
    kept = [each for each in offered if _holds(opened, each.edits, rule.id)]
    for each in kept:
        yield Mending(one_line(each.what), each.edits, remark, len(kept) == 1 and not each.asked)


def _holds(opened: Opened, edits: Iterable[Edit], rule: str) -> bool:
    """Whether the text still reads afterwards, the rule finds less, and nothing that would hold it is new."""
    try:
        text = applied(opened.readable, edits)
    except CannotEdit:
        return False
    before = opened.seen.review
    after = opened.desk.reviewer.review(opened.path, text.encode("utf-8", "surrogatepass"))
    if after.errors or len(after.faults) > len(before.faults):
        return False
    new = _grave(after) - _grave(before)
    return _count(after, rule) < _count(before, rule) and not new


def _grave(review: Review) -> Counter[str]:
    return Counter(each.rule for each in review.findings if at_or_above(each.severity, "major"))


def _count(review: Review, rule: str) -> int:
    return sum(each.rule == rule for each in (*review.findings, *(accepted.finding for accepted in review.accepted)))


def _slips(opened: Opened, remark: Remark) -> Iterator[Mending]:
    """Slips of writing with one right answer, where they are all that keeps the file from being read."""
    better = mended(opened.path, opened.readable, opened.seen.review.errors, opened.desk.reviewer.readers)
    if better is not None:
        what = "; ".join(said for _, said in better.what)
        yield Mending(one_line(what), tuple(_difference(opened.readable, better.text)), remark, True)


def _difference(old: str, new: str) -> Iterator[Edit]:
    """What changed, in whole lines: few edits, each where something did change."""
    from difflib import SequenceMatcher

    before, after = old.splitlines(True), new.splitlines(True)
    starts = [0]
    for line in before:
        starts.append(starts[-1] + len(line))
    for tag, low, high, first, last in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if tag != "equal":
            yield Edit(starts[low], starts[high], "".join(after[first:last]))
