"""A class's hand-ins: a table for a spreadsheet, and a short summary for the teacher."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from ..review.lesson_class import Handed, HandIn, summary
from .csv_text import table
from .safe_text import visible

HEADINGS = (
    "student", "exercise", "title", "handed in as", "points", "of", "percent", "found", "half found", "missed",
    "wrong marks", "remark", "file",
)  # fmt: skip
_MOST_FLAWS = 5


def csv(handed: Handed) -> str:
    """A line for every exercise that somebody handed in; no cell acts as a formula of the spreadsheet."""
    return table([HEADINGS, *(_row(each) for each in handed.hand_ins)])


def _row(each: HandIn) -> tuple[str, ...]:
    return (
        each.student,
        str(each.exercise.number),
        each.exercise.title,
        each.how,
        str(each.points),
        str(each.of),
        str(round(100 * each.points / each.of)),
        ", ".join(each.found),
        ", ".join(each.half),
        ", ".join(each.missed),
        each.wrong,
        each.remark,
        each.file,
    )


def page(handed: Handed, width: int) -> Iterator[str]:
    """How many handed in what, which flaw was missed most, and the points of each student."""
    found = summary(handed)
    exercises = {each.exercise.id for each in handed.hand_ins}
    yield (
        f"{_counted(len(handed.hand_ins), 'hand-in')} of {_counted(len(found.students), 'student')}, "
        f"{_counted(len(exercises), 'exercise')}"
    )
    missed = [flaw for flaw in found.flaws if flaw[2]]
    if missed:
        yield ""
        yield "Missed most, of the hand-ins"
        for exercise, rule, count, of in missed[:_MOST_FLAWS]:
            yield from _wrap(f"{count} of {of}  {rule} in exercise {exercise.number}, {exercise.title}", width)
    elif found.flaws:
        yield "Every flaw was found by everybody."
    if found.students:
        yield ""
        yield "Points"
        for student, points, of in found.students:
            yield from _wrap(f"{points} of {of}  {student}", width)
    if handed.aside:
        yield ""
        yield "Left aside, no hand-ins by their names"
        yield from _wrap(", ".join(handed.aside), width)


def _wrap(text: str, width: int) -> list[str]:
    return textwrap.wrap(visible(text), width, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
