"""Whether an exercise holds: its flaws are found where it says, nothing else is, its text and its mended formula are right."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..reading.document import START, Place, Problem, Unreadable
from ..review.lesson_mended import Case, flawed, judge, model_answer
from ..review.lesson_sheet import BadCourse, Exercise, Mistake, read_bytes
from ..review.model import READY
from ..review.run import Reviewer
from .lesson_page import LessonPage
from .lesson_values import Scene

COUNTING = ("critical", "major", "minor")


def prove(exercise: Exercise, reviewer: Reviewer) -> list[Mistake]:
    """Everything in an exercise that does not hold; empty where it does."""
    try:
        case = flawed(exercise, reviewer)
    except Unreadable as error:
        return _unread(exercise.formula_path, error.problems)
    try:
        mended = model_answer(exercise, reviewer)
    except Unreadable as error:
        return _unread(exercise.mended_path or "", error.problems)
    told = [*_faults(exercise.formula_path, case), *_found(exercise, case, mended)]
    if mended is not None and exercise.mended_path is not None:
        told.extend(_mended(exercise, exercise.mended_path, mended, reviewer))
    try:
        list(LessonPage().explanation(Scene(exercise, case, mended)))
    except BadCourse as error:
        told.extend(error.mistakes)
    return told


def _unread(path: str, problems: Iterable[Problem]) -> list[Mistake]:
    return [Mistake(path, problem.place, problem.message) for problem in problems]


def _faults(path: str, case: Case) -> Iterator[Mistake]:
    for fault in case.review.faults:
        yield Mistake(path, START, f"the review is not whole: {fault.who} {fault.what}")


def _found(exercise: Exercise, case: Case, mended: Case | None) -> Iterator[Mistake]:
    findings = [finding for finding in case.review.findings if finding.severity in COUNTING]
    for flaw in exercise.flaws:
        own = [finding for finding in findings if finding.rule == flaw.rule]
        if not own:
            yield Mistake(exercise.sheet_path, START, f"{flaw.rule} finds nothing in the flawed formula")
        elif not any(finding.place.line in flaw.lines for finding in own):
            at = ", ".join(str(finding.place.line) for finding in own)
            yield Mistake(exercise.sheet_path, START, f"{flaw.rule} points at line {at}, which does not count as right")
    for finding in findings:
        if finding.rule not in exercise.rules and finding.rule not in exercise.allowed:
            text = f"{finding.rule} finds something too, neither to be found nor allowed: {finding.message}"
            yield Mistake(exercise.formula_path, finding.place, text)
    both = [*findings, *(mended.review.findings if mended else ())]
    for rule in exercise.allowed:
        if not any(finding.rule == rule for finding in both):
            yield Mistake(exercise.sheet_path, START, f"{rule} is allowed, and finds nothing")


def _mended(exercise: Exercise, path: str, case: Case, reviewer: Reviewer) -> Iterator[Mistake]:
    yield from _faults(path, case)
    if case.review.verdict != READY:
        yield Mistake(path, START, f"the mended formula is not ready: {case.review.verdict}")
    for finding in case.review.findings:
        if finding.severity in COUNTING and finding.rule not in exercise.allowed:
            yield Mistake(path, finding.place, f"{finding.rule} still finds something: {finding.message}")
    for text in judge(path, read_bytes(path), exercise, reviewer).besides:
        yield Mistake(path, Place(1, 1), text)
