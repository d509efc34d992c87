"""The conversation of `formcheck lesson`: one exercise after another, from a terminal or from piped input."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import Any

from ..reading.document import Unreadable
from ..reports.lesson_page import LessonPage
from ..reports.safe_text import visible
from ..review.lesson_marks import Marks, Misread, read_letters, read_lines, score
from ..review.lesson_mended import Mending, judge
from ..review.lesson_progress import Progress
from ..review.lesson_sheet import Exercise, read_bytes
from ..review.run import Reviewer
from .lesson_desk import file_name, kept, scene, write_formula

KEYS = (
    ("a number", "the line at fault, or several: 12 15, 12-14"),
    ("h", "a hint; costs a point"),
    ("w", "write the formula to a file, to mend it there"),
    ("r", "have that file reviewed; it counts in place of marks"),
    ("t", "the text of the formula again"),
    ("v", "the vocabulary: all words explained so far"),
    ("s", "skip this exercise"),
    ("q", "leave; progress is kept"),
)


LEAVING = ("q", "quit", "exit")


class Leave(Exception):
    """The learner wants to stop, or there is no more input."""


class Skip(Exception):
    """The learner wants the next exercise."""


class Talk:
    """Talks a learner through a course."""

    def __init__(
        self, exercises: tuple[Exercise, ...], reviewer: Reviewer, progress: Progress, page: LessonPage
    ) -> None:
        self.exercises = exercises
        self.reviewer = reviewer
        self.progress = progress
        self.page = page

    def course(self, start: int | None, again: bool) -> int:
        """The exercises from one on; those that are done are passed over unless asked for. Gives the exit status."""
        first = start or 1
        todo = [e for e in self.exercises[first - 1 :] if again or e.id not in self.progress.done or e.number == start]
        if not todo:
            self.say((f"All {len(self.exercises)} exercises are done; --again does them once more.", ""))
        elif len(todo) < len(self.exercises):
            self.say((f"Going on with exercise {todo[0].number}. Type ? for help, q to leave.", ""))
        else:
            self.say((f"{len(self.exercises)} exercises. Type ? for help, q to leave.", ""))
        try:
            for exercise in todo:
                if exercise is not todo[0]:
                    self.pause(exercise)
                self.exercise(exercise)
        except Leave:
            self.say(("",))
            self.say(self.page.wrap(f"Progress is kept in {self.progress.path}; formcheck lesson goes on from here."))
        self.say(self.page.end(self.exercises, self.progress.done))
        return 0

    def exercise(self, exercise: Exercise) -> None:
        # told in full before it is asked, so that a sheet that cannot be used is found before marks are lost
        explanation = list(self.page.explanation(scene(exercise, self.reviewer)))
        self.say(self.page.exercise(exercise, len(self.exercises)))
        try:
            result = self.ask(exercise)
        except Skip:
            self.say(("", ""))
            return
        self.say(("",))
        if isinstance(result, Mending):
            self.say(self.page.mending(result))
        else:
            self.say(self.page.score(exercise, result, score(exercise, result)))
        self.say(("",))
        self.say(explanation)
        self.say(("", ""))

    def pause(self, following: Exercise) -> None:
        """Leaves time to read, where somebody sits at the keyboard."""
        if sys.stdin is not None and sys.stdin.isatty():
            typed = self.hear(f"Enter for exercise {following.number}, q to leave: ")
            if typed.casefold() in LEAVING:
                raise Leave

    def ask(self, exercise: Exercise) -> Marks | Mending:
        """Line numbers, then answers; or a mended file instead. The result is kept."""
        count = len(exercise.flaws)
        what = "line" if count == 1 else f"{count} lines"
        asked = _Asked(self, exercise)
        lines = asked.until(f"The {what} at fault (number, or ? for help): ", read_lines)
        if isinstance(lines, Mending):
            return lines
        which = "What is wrong (letter): " if count == 1 else f"What is wrong ({count} letters): "
        answers = asked.until(which, read_letters)
        if isinstance(answers, Mending):
            return answers
        marks = Marks(lines, answers, asked.hints)
        found = score(exercise, marks)
        first = {"lines": list(lines), "answers": list(answers), "hints": asked.hints}
        self.progress.keep(exercise.id, found.points, found.of, first)
        return marks

    def words(self, exercise: Exercise) -> Iterable[str]:
        """Every word that has been explained up to an exercise."""
        known = [pair for each in self.exercises[: exercise.number] for pair in each.words]
        return self.page.glossary(sorted(known, key=lambda pair: pair[0].casefold()))

    def say(self, lines: Iterable[str]) -> None:
        print("\n".join(lines))

    def hear(self, prompt: str) -> str:
        """What the learner types. Raises Leave at the end of input."""
        print(prompt, end="", flush=True)
        if sys.stdin is None:
            print()
            raise Leave
        try:
            typed = sys.stdin.readline()
        except (UnicodeDecodeError, ValueError):
            typed = ""
        if not sys.stdin.isatty():
            print(visible(typed.strip()))
        if not typed:
            raise Leave
        return typed.strip()


class _Asked:
    """One exercise while it is being asked: the hints given, the file written."""

    def __init__(self, talk: Talk, exercise: Exercise) -> None:
        self.talk = talk
        self.exercise = exercise
        self.hints = 0
        self.file = file_name(exercise)

    def until(self, prompt: str, read: Any) -> Any:
        """Asks until the answer can be read; the keys of KEYS are answered on the way. A Mending ends it as well."""
        while True:
            typed = self.talk.hear(prompt)
            key = typed.casefold()
            if key in LEAVING:
                raise Leave
            if key == "s":
                raise Skip
            if key == "r":
                mending = self.reviewed()
                if mending is not None:
                    return mending
            elif not self.helped(key):
                try:
                    return read(typed, self.exercise)
                except Misread as error:
                    self.talk.say(self.talk.page.wrap(str(error)))

    def helped(self, key: str) -> bool:
        """Whether what was typed is one of the keys that show something."""
        page, exercise = self.talk.page, self.exercise
        if key in ("", "?", "help"):
            width = max(len(name) for name, _ in KEYS)
            self.talk.say(f"  {name:<{width}}  {about}" for name, about in KEYS)
        elif key == "h":
            self.hint()
        elif key == "t":
            self.talk.say(page.formula(exercise))
        elif key == "v":
            self.talk.say(self.talk.words(exercise))
        elif key == "w":
            problem = write_formula(exercise, self.file)
            self.talk.say((problem or f"{self.file} is written. Mend it in an editor, then type r here.",))
        else:
            return False
        return True

    def hint(self) -> None:
        hints = self.exercise.hints
        if self.hints < len(hints):
            self.talk.say(self.talk.page.wrap(f"Hint {self.hints + 1} of {len(hints)}: {hints[self.hints]}"))
            self.hints += 1
        else:
            self.talk.say(("There are no more hints.",))

    def reviewed(self) -> Mending | None:
        """The learner's mended file, reviewed and kept; None with a word where it cannot be read."""
        try:
            data = read_bytes(self.file)
            mending = judge(self.file, data, self.exercise, self.talk.reviewer)
        except Unreadable as error:
            for problem in error.problems:
                self.talk.say((visible(f"{self.file}:{problem.place.line}:{problem.place.column}: {problem.message}"),))
            return None
        if not mending.whole:
            self.talk.say(self.talk.page.mending(mending))
            self.talk.say(("Mend it further and type r again, or mark lines here.",))
            return None
        points = max(0, mending.points - self.hints)
        self.talk.progress.keep(self.exercise.id, points, mending.of, kept(self.file, data, self.hints))
        return mending
