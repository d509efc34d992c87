"""What `formcheck lesson` does without a conversation: write, review, prove, score."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from typing import Any

from ..reading import files
from ..reading.document import Unreadable
from ..reports.lesson_page import LessonPage
from ..reports.lesson_values import Scene
from ..reports.safe_text import visible
from ..review.lesson_class import HAND_IN_ENDINGS, collect, which
from ..review.lesson_mended import flawed, judge, model_answer
from ..review.lesson_progress import Progress
from ..review.lesson_sheet import FLAWED_ENDINGS, Exercise, read_bytes
from ..review.run import Reviewer
from .main import complain
from .writing import STANDARD_OUTPUT, put

MOST_KEPT = 20_000
"""Characters of a mended file that progress keeps."""


def put_out(lines: Iterable[str]) -> int:
    """Prints lines; gives the exit status."""
    print("\n".join(lines))
    return 0


def scene(exercise: Exercise, reviewer: Reviewer) -> Scene:
    """All that an exercise is told from. Raises Unreadable."""
    return Scene(exercise, flawed(exercise, reviewer), model_answer(exercise, reviewer))


def file_name(exercise: Exercise) -> str:
    """What the formula of an exercise is called in the learner's folder."""
    ending = next(end for end in FLAWED_ENDINGS if exercise.formula_path.endswith(end))
    return f"{exercise.id}.formula.{ending.rpartition('.')[2]}"


def take(exercise: Exercise, output: str | None) -> int:
    """Writes the flawed formula into the learner's folder; a file that is there is left alone."""
    path = output or file_name(exercise)
    problem = write_formula(exercise, path)
    if problem:
        return complain(problem)
    print(f"{path} is yours to mend. Then: formcheck lesson --mended {path}")
    return 0


def write_formula(exercise: Exercise, path: str) -> str:
    """Writes the flawed formula; gives what stood in the way, or ""."""
    try:
        with open(path, "x", encoding="utf-8", newline="") as file:
            file.write(exercise.text)
    except FileExistsError:
        return f"{path} is already there and was left alone"
    except OSError as error:
        return f"{path}: cannot be written: {(error.strerror or str(error)).lower()}"
    return ""


def look_at(
    path: str, exercises: tuple[Exercise, ...], reviewer: Reviewer, page: LessonPage, progress: Progress
) -> int:
    """Reviews a mended formula and says what became of the flaws; once they are mended it counts and is explained."""
    try:
        data = read_bytes(path)
        exercise = which(path, files.read(path, data, reviewer.readers).root, exercises, reviewer)
        if exercise is None:
            return complain(
                f"{path}: belongs to no exercise: neither its file name nor its code or name is that of one; "
                "formcheck lesson --take N writes one"
            )
        mending = judge(path, data, exercise, reviewer)
    except Unreadable as error:
        return _unreadable(path, error)
    print(page.head(f"{exercise.number}  {exercise.title}"))
    print("\n".join(page.mending(mending)))
    if not mending.whole:
        return 1
    progress.keep(exercise.id, mending.points, mending.of, kept(path, data, 0))
    print()
    return put_out(page.explanation(scene(exercise, reviewer)))


def kept(path: str, data: bytes, hints: int) -> dict[str, Any]:
    """What progress remembers of a mended file: enough to review it again."""
    text = data.decode("utf-8", "replace")
    return {"file": os.path.basename(path), "text": text if len(text) <= MOST_KEPT else "", "hints": hints}


def _unreadable(path: str, error: Unreadable) -> int:
    for problem in error.problems:
        print(visible(f"{path}:{problem.place.line}:{problem.place.column}: {problem.message}"), file=sys.stderr)
    return 2


def prove_all(exercises: tuple[Exercise, ...], reviewer: Reviewer) -> int:
    """Says of every exercise what does not hold."""
    from ..reports.lesson_proof import prove

    mistakes = [mistake for exercise in exercises for mistake in prove(exercise, reviewer)]
    for mistake in mistakes:
        print(visible(str(mistake)))
    if not mistakes:
        print(f"all {len(exercises)} exercises hold")
    return int(bool(mistakes))


def check_class(
    folder: str, output: str | None, course: str, exercises: tuple[Exercise, ...], reviewer: Reviewer, width: int
) -> int:
    """Scores a class's hand-ins: the table to the output, a summary beside it."""
    from ..reports.lesson_class_report import csv, page

    try:
        handed = collect(folder, course, exercises, reviewer)
    except OSError as error:
        return complain(f"{error.filename or folder}: cannot be listed: {(error.strerror or str(error)).lower()}")
    for mistake in handed.mistakes:
        print(visible(str(mistake)), file=sys.stderr)
    if not handed.hand_ins:
        return complain(
            f"{folder}: no hand-ins here that can be scored: a folder or a file for each student was expected"
        )
    if output is not None and _is_hand_in(output, folder):
        return complain(f"{output} may be a hand-in; it is left alone, name another file")
    to_screen = output is None or output == STANDARD_OUTPUT
    if not put(csv(handed), output, folder):
        return 2
    print("\n".join(page(handed, width)), file=sys.stderr if to_screen else sys.stdout)
    return 2 if handed.mistakes else 0


def _is_hand_in(output: str, folder: str) -> bool:
    """Whether a file that is there already lies among the hand-ins and is named as they are."""
    path, home = os.path.realpath(output), os.path.realpath(folder)
    return os.path.exists(path) and path.startswith(home + os.sep) and path.lower().endswith(HAND_IN_ENDINGS)
