"""What a class handed in: marks, mended formulas and progress files, one folder or file a student, each scored anew.

A marks file is YAML: `lesson marks: 1`, `student:` with a name, `marks:` with an exercise a line, such as
`06-...: {lines: [13], answers: [b]}`. A mended formula belongs to the exercise that its file name names, else to the one
whose formula has its code or name. Scores that a progress file claims are not believed; its marks are scored again.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from typing import Any

from ..reading import files
from ..reading.document import START, Document, Mapping, Node, Place, Problem, Scalar, Sequence, Unreadable
from ..records import NamedTuple
from .lesson_marks import Marks, Misread, as_marks, score
from .lesson_mended import flawed, judge
from .lesson_progress import KEY, NotProgress, courses_of, parse
from .lesson_sheet import Exercise, Mistake, read_bytes
from .run import MATERIALS_FILES, Reviewer

MARKS_KEY = "lesson marks"
MARKS_VERSION = "1"
HAND_IN_ENDINGS = (".yaml", ".yml", ".toml", ".json")
_KINDS = (".formula", ".lesson", ".mended", ".marks")
_NOT_HANDED_IN = (*MATERIALS_FILES, "formcheck.toml")
DEEPEST = 4


class HandIn(NamedTuple):
    """One exercise as a student handed it in.

    how: "marks", "mended file" or "progress". found, half, missed: rules; wrong: marks that were wrong and findings that
    are new, in words; remark: what a teacher should know.
    """

    student: str
    exercise: Exercise
    file: str
    how: str
    points: int
    of: int
    found: tuple[str, ...]
    half: tuple[str, ...]
    missed: tuple[str, ...]
    wrong: str = ""
    remark: str = ""


class Handed(NamedTuple):
    """Everything in a class's folder. mistakes: what could not be read; aside: files that are no hand-ins."""

    hand_ins: tuple[HandIn, ...]
    mistakes: tuple[Mistake, ...]
    aside: tuple[str, ...]


def collect(folder: str, course: str, exercises: tuple[Exercise, ...], reviewer: Reviewer) -> Handed:
    """Scores everything below a folder. Raises OSError when it cannot be listed."""
    desk = _Desk(course, exercises, reviewer)
    for student, path in _files(folder):
        desk.take(student, path)
    return Handed(tuple(desk.hand_ins), tuple(desk.mistakes), tuple(desk.aside))


def _files(folder: str) -> Iterator[tuple[str, str]]:
    """(student, path): a folder is a student's, a file in the folder itself too ("" where its name has to tell)."""
    with os.scandir(folder) as listing:
        entries = sorted((entry for entry in listing if entry.name[0] != "."), key=lambda entry: entry.name)
    for entry in entries:
        if entry.is_dir(follow_symlinks=False):
            for path in _below(entry.path, DEEPEST):
                yield entry.name, path
        elif entry.is_file():
            yield "", entry.path


def _below(folder: str, depth: int) -> Iterator[str]:
    with os.scandir(folder) as listing:
        entries = sorted((entry for entry in listing if entry.name[0] != "."), key=lambda entry: entry.name)
    for entry in entries:
        if entry.is_dir(follow_symlinks=False) and depth:
            yield from _below(entry.path, depth - 1)
        elif entry.is_file():
            yield entry.path


class _Desk:
    """Takes hand-ins one after another."""

    def __init__(self, course: str, exercises: tuple[Exercise, ...], reviewer: Reviewer) -> None:
        self.course = course
        self.exercises = exercises
        self.reviewer = reviewer
        self.hand_ins: list[HandIn] = []
        self.mistakes: list[Mistake] = []
        self.aside: list[str] = []

    def take(self, student: str, path: str) -> None:
        """One file, whatever it is."""
        name = os.path.basename(path)
        if not name.lower().endswith(HAND_IN_ENDINGS) or name in _NOT_HANDED_IN:
            self.aside.append(path)
            return
        try:
            self.read(student, path)
        except Unreadable as error:
            self.mistakes.extend(Mistake(path, each.place, each.message) for each in error.problems)
        except NotProgress as error:
            self.mistakes.append(Mistake(path, START, str(error).removeprefix(f"{path}:").strip()))

    def read(self, student: str, path: str) -> None:
        data = read_bytes(path)
        document = files.read(path, data, self.reviewer.readers)
        root = document.root
        if any(entry.key.text == KEY for entry in root.entries):
            self.progress(student or self.named_by(path, None), path, parse(data, path))
        elif root.get(MARKS_KEY) is not None:
            self.marks(student, path, root)
        elif root.get("phases") is not None:
            self.mended(student, path, data, document)
        else:
            wanted = f"a formula with «phases:», marks with «{MARKS_KEY}: 1», or a progress file was expected"
            raise Unreadable(Problem(root.place, f"neither marks nor a formula; {wanted}"))

    # --- marks

    def marks(self, student: str, path: str, root: Mapping) -> None:
        version = root.get(MARKS_KEY)
        if not isinstance(version, Scalar) or version.text != MARKS_VERSION:
            raise Unreadable(Problem(root.place, f"this program reads «{MARKS_KEY}: {MARKS_VERSION}»"))
        given = root.get("student")
        own = given.text.strip() if isinstance(given, Scalar) else ""
        entries = root.get("marks")
        if not isinstance(entries, Mapping):
            raise Unreadable(
                Problem(root.place, "no «marks:»; an exercise a line was expected, with lines and answers")
            )
        for entry in entries.entries:
            exercise = self.called(entry.key.text)
            if exercise is None:
                self.mistake(path, entry.key.place, f"«{entry.key.text}» is no exercise of this course")
                continue
            try:
                marks = _marks(entry.value, exercise)
            except Misread as error:
                self.mistake(path, entry.value.place, str(error))
                continue
            self.add(student or own or self.named_by(path, None), exercise, path, "marks", marks)

    def progress(self, student: str, path: str, data: dict[str, Any]) -> None:
        courses = courses_of(data)
        if self.course not in courses:
            raise Unreadable(Problem(START, f"progress in other courses than «{self.course}»"))
        for id, done in courses[self.course].items():
            exercise = self.called(id)
            if exercise is None:
                self.mistake(path, START, f"«{id}» is no exercise of this course")
                continue
            first = done.first
            if isinstance(first.get("text"), str):
                name = str(first.get("file") or f"{exercise.id}.formula.yaml")
                self.judged(student, exercise, path, "progress", os.path.basename(name), first["text"].encode())
                continue
            try:
                marks = as_marks(
                    _listed(first.get("lines")), _listed(first.get("answers")), first.get("hints"), exercise
                )
            except Misread as error:
                self.mistake(path, START, f"{id}: {error}")
                continue
            self.add(student, exercise, path, "progress", marks)

    def add(self, student: str, exercise: Exercise, path: str, how: str, marks: Marks) -> None:
        found = score(exercise, marks)
        stray = [f"line {line}" for line in found.stray] + [f"answer {letter}" for letter in found.wrong]
        hints = f"hints: {marks.hints}" if marks.hints else ""
        self.hand_ins.append(
            HandIn(
                student,
                exercise,
                path,
                how,
                found.points,
                found.of,
                found.found,
                found.half,
                found.missed,
                ", ".join(stray),
                hints,
            )
        )

    # --- mended formulas

    def mended(self, student: str, path: str, data: bytes, document: Document) -> None:
        exercise = which(path, document.root, self.exercises, self.reviewer)
        if exercise is None:
            raise Unreadable(
                Problem(START, "belongs to no exercise: neither its file name nor its code or name is that of one")
            )
        self.judged(student or self.named_by(path, exercise), exercise, path, "mended file", path, data)

    def judged(self, student: str, exercise: Exercise, file: str, how: str, path: str, data: bytes) -> None:
        done = judge(path, data, exercise, self.reviewer)
        fresh = ", ".join(f"new: {finding.rule}" for finding in done.fresh)
        remark = "; ".join(done.besides)
        self.hand_ins.append(
            HandIn(student, exercise, file, how, done.points, done.of, done.mended, (), done.left, fresh, remark)
        )

    # --- names

    def called(self, text: str) -> Exercise | None:
        """The exercise of this id or number."""
        return next((e for e in self.exercises if text in (e.id, str(e.number), f"{e.number:02}")), None)

    def named_by(self, path: str, exercise: Exercise | None) -> str:
        """The student whom a file's own name names: without the exercise and the endings."""
        name = os.path.basename(path)
        for ending in (*HAND_IN_ENDINGS, *_KINDS):
            name = name.removesuffix(ending)
        rest = name.replace(exercise.id, "") if exercise else name
        return rest.strip(" .-_,") or name

    def mistake(self, path: str, place: Place, message: str) -> None:
        self.mistakes.append(Mistake(path, place, message))


def which(path: str, root: Mapping, exercises: Iterable[Exercise], reviewer: Reviewer) -> Exercise | None:
    """The exercise that a formula belongs to: by the name of its file, else by its code, else by its name."""
    among = tuple(exercises)
    name = os.path.basename(path).casefold()
    named = [exercise for exercise in among if exercise.id.casefold() in name]
    if named:
        return max(named, key=lambda exercise: len(exercise.id))
    for key in ("code", "name"):
        own = root.get(key)
        if isinstance(own, Scalar) and own.text.strip():
            same = [exercise for exercise in among if _said(exercise, key, reviewer) == own.text.strip()]
            if len(same) == 1:
                return same[0]
    return among[0] if len(among) == 1 else None


def _said(exercise: Exercise, key: str, reviewer: Reviewer) -> str | None:
    formula = flawed(exercise, reviewer).sheet.formula
    return formula.code if key == "code" else formula.name


def _marks(node: Node, exercise: Exercise) -> Marks:
    if not isinstance(node, Mapping):
        raise Misread("lines and answers were expected, such as {lines: [13], answers: [b]}")
    unknown = [entry.key.text for entry in node.entries if entry.key.text not in ("lines", "answers", "hints")]
    if unknown:
        raise Misread(f"«{unknown[0]}» means nothing here; there are lines, answers and hints")
    hints = node.get("hints")
    count = int(hints.text) if isinstance(hints, Scalar) and re.fullmatch(r"\d{1,3}", hints.text) else 0
    return as_marks(_texts(node.get("lines")), _texts(node.get("answers")), count, exercise)


def _texts(node: Node | None) -> list[str]:
    if isinstance(node, Sequence):
        return [item.text for item in node.items if isinstance(item, Scalar)]
    return [node.text] if isinstance(node, Scalar) and node.text else []


def _listed(value: object) -> list[object]:
    return list(value) if isinstance(value, list) else []


class Summary(NamedTuple):
    """A class at a glance.

    flaws: (exercise, rule, how often it was not wholly found, of how many), the most missed first; students: (name,
    points, of), the best hand-in of an exercise counting.
    """

    flaws: tuple[tuple[Exercise, str, int, int], ...]
    students: tuple[tuple[str, int, int], ...]


def summary(handed: Handed) -> Summary:
    """What a class missed most, and what each student has."""
    missed: dict[tuple[int, str], list[int]] = {}
    best: dict[str, dict[str, tuple[int, int]]] = {}
    exercises = {each.exercise.number: each.exercise for each in handed.hand_ins}
    for each in handed.hand_ins:
        for rule in each.exercise.rules:
            count = missed.setdefault((each.exercise.number, rule), [0, 0])
            count[0] += rule not in each.found
            count[1] += 1
        own = best.setdefault(each.student, {})
        own[each.exercise.id] = max(own.get(each.exercise.id, (-1, each.of)), (each.points, each.of))
    flaws = [(exercises[number], rule, n, of) for (number, rule), (n, of) in missed.items()]
    flaws.sort(key=lambda each: (-each[2] / each[3], -each[3], each[0].number, each[1]))
    students = (
        (student, sum(points for points, _ in own.values()), sum(of for _, of in own.values()))
        for student, own in sorted(best.items())
    )
    return Summary(tuple(flaws), tuple(students))
