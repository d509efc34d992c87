"""What a learner marks in a flawed formula, and what it is worth.

A point for every flaw whose line is marked, a point for every flaw whose answer is chosen; each mark or answer that is
wrong takes a point off its own part, a hint takes one off the whole; never below nothing.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from ..records import NamedTuple
from .lesson_sheet import Exercise

_RUN = re.compile(r"(\d+)(?:\s*(?:-|–|to)\s*(\d+))?")
MOST_MARKS = 200


class Marks(NamedTuple):
    """lines: numbers marked as being at fault; answers: letters chosen; hints: how many were asked for."""

    lines: tuple[int, ...] = ()
    answers: tuple[str, ...] = ()
    hints: int = 0


class Score(NamedTuple):
    """What marks are worth.

    found: rules of flaws with line and answer right; half: with one of the two; missed: with neither; stray: lines
    marked where no flaw is; wrong: letters of wrong answers.
    """

    points: int
    of: int
    found: tuple[str, ...]
    half: tuple[str, ...]
    missed: tuple[str, ...]
    stray: tuple[int, ...] = ()
    wrong: tuple[str, ...] = ()


class Misread(Exception):
    """Marks that say nothing; the message says what was expected."""


def score(exercise: Exercise, marks: Marks) -> Score:
    """What marks are worth in an exercise."""
    lines = {flaw.rule for flaw in exercise.flaws if flaw.lines & set(marks.lines)}
    right = frozenset().union(*(flaw.lines for flaw in exercise.flaws))
    stray = tuple(line for line in dict.fromkeys(marks.lines) if line not in right)
    chosen = [choice for choice in exercise.choices if choice.letter in marks.answers]
    answers = {choice.rule for choice in chosen if choice.rule}
    wrong = tuple(choice.letter for choice in chosen if not choice.rule)
    points = max(0, len(lines) - len(stray)) + max(0, len(answers) - len(wrong))
    return Score(
        max(0, points - marks.hints),
        2 * len(exercise.flaws),
        _those(exercise, lines & answers),
        _those(exercise, lines ^ answers),
        _those(exercise, set(exercise.rules) - lines - answers),
        stray,
        wrong,
    )


def _those(exercise: Exercise, rules: Collection[str]) -> tuple[str, ...]:
    return tuple(rule for rule in exercise.rules if rule in rules)


def read_lines(text: str, exercise: Exercise) -> tuple[int, ...]:
    """Line numbers as somebody types them: `12`, `12, 15`, `12-14`. Raises Misread."""
    count = len(exercise.lines)
    text = text.strip().rstrip(".")
    if _RUN.sub("", text).strip(" ,;\t") or not _RUN.search(text):
        raise Misread(f"«{text[:40]}» is no line number; such as 12, or 12 15, from 1 to {count}")
    found: list[int] = []
    for match in _RUN.finditer(text):
        first, last = int(match[1]), int(match[2] or match[1])
        if not (1 <= first <= count and 1 <= last <= count):
            raise Misread(f"line {first if not 1 <= first <= count else last}: the formula has lines 1 to {count}")
        found.extend(range(min(first, last), max(first, last) + 1))
    return tuple(dict.fromkeys(found))[:MOST_MARKS]


def read_letters(text: str, exercise: Exercise) -> tuple[str, ...]:
    """Letters of answers as somebody types them: `b`, `a, c`, `ac`. Raises Misread."""
    known = [choice.letter for choice in exercise.choices]
    letters = re.sub(r"[\s,;.)]+", "", text.casefold())
    unknown = next((letter for letter in letters if letter not in known), None)
    if not letters or unknown is not None:
        raise Misread(f"«{text.strip()[:40]}» is no answer; they are {known[0]} to {known[-1]}")
    return tuple(dict.fromkeys(letters))


def as_marks(lines: Iterable[object], answers: Iterable[object], hints: object, exercise: Exercise) -> Marks:
    """Marks from a file: line numbers, letters. Raises Misread."""
    numbers = read_lines(" ".join(map(str, lines)), exercise) if lines else ()
    letters = read_letters(" ".join(map(str, answers)), exercise) if answers else ()
    return Marks(numbers, letters, hints if isinstance(hints, int) and hints > 0 else 0)
