"""A lesson as text for a terminal: the exercise, what marks were worth, the explanation with its numbers and pictures.

Plain characters, no wider than asked for; colour only makes headings bold.
"""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterable, Iterator

from ..review.lesson_marks import Marks, Score
from ..review.lesson_mended import Mending
from ..review.lesson_progress import Done
from ..review.lesson_sheet import BadCourse, Exercise, Mistake
from ..review.rule import Finding
from ..review.words import listed, names
from .lesson_pictures import draw
from .lesson_values import NoValue, Scene, fill
from .safe_text import sentence, visible

WIDEST = 80
_NUMBER = 5
CAUTION = (
    "An exercise shows one thing at a time and stands in for no safety assessment. Data sheets, local rules and licensed "
    "practice come first."
)


class LessonPage:
    """Writes lessons. width: columns to fill; colour: whether headings may be bold."""

    def __init__(self, width: int = WIDEST, colour: bool = False) -> None:
        self.width = min(width, WIDEST)
        self.colour = colour

    def head(self, text: str) -> str:
        return f"\x1b[1m{visible(text)}\x1b[0m" if self.colour else visible(text)

    def wrap(self, text: str, first: str = "", rest: str | None = None) -> Iterator[str]:
        yield from textwrap.wrap(
            visible(text),
            self.width,
            initial_indent=first,
            subsequent_indent=first if rest is None else rest,
            break_on_hyphens=False,
        )

    # --- the exercise

    def exercise(self, exercise: Exercise, count: int) -> Iterator[str]:
        """The exercise as it is put to the learner."""
        yield "=" * self.width
        yield self.head(f"{exercise.number} of {count}  {exercise.title}")
        yield from self.wrap(exercise.aim)
        if exercise.words:
            yield ""
            yield self.head("New words")
            yield from self.glossary(exercise.words)
        yield ""
        yield from self.formula(exercise)
        yield ""
        yield from self.wrap(exercise.question)
        yield ""
        yield from self.choices(exercise)

    def glossary(self, words: Iterable[tuple[str, str]]) -> Iterator[str]:
        """Words with their meanings."""
        for word, meaning in words:
            yield from self.wrap(f"{word}: {meaning}", "  ", "    ")

    def formula(self, exercise: Exercise, marked: Iterable[int] = ()) -> Iterator[str]:
        """The flawed formula with the numbers of its lines; marked lines have an arrow."""
        shown = set(marked)
        for number, line in enumerate(exercise.lines, 1):
            pieces = textwrap.wrap(
                visible(line.expandtabs(4)), self.width - _NUMBER - 2, drop_whitespace=False, break_on_hyphens=False
            )
            yield f"{number:>{_NUMBER - 1}}{'>' if number in shown else ' '} {pieces[0] if pieces else ''}".rstrip()
            yield from (" " * (_NUMBER + 3) + piece.strip() for piece in pieces[1:])

    def choices(self, exercise: Exercise) -> Iterator[str]:
        for choice in exercise.choices:
            yield from self.wrap(choice.says, f"  {choice.letter}  ", "     ")

    # --- what it was worth

    def score(self, exercise: Exercise, marks: Marks, score: Score) -> Iterator[str]:
        """What the marks were worth, flaw by flaw, and why wrong answers are wrong."""
        yield self.head(f"{score.points} of {_points(score.of)}")
        for flaw in exercise.flaws:
            hit = sorted(flaw.lines & set(marks.lines))
            letter = next(choice.letter for choice in exercise.choices if choice.rule == flaw.rule)
            where = f"Line {hit[0]} is right" if hit else f"It stands on {_lines(flaw.lines)}"
            what = f"so is answer {letter}" if hit else f"answer {letter} is right"
            if letter not in marks.answers:
                what = f"the answer was {letter}"
            yield from self.wrap(f"{where}, {what}: {sentence(flaw.answer)}", "  ", "    ")
        if score.stray:
            yield from self.wrap(f"Not at fault: {_lines(score.stray)}.", "  ", "    ")
        for choice in exercise.choices:
            if choice.letter in score.wrong:
                yield from self.wrap(f"Not {choice.letter}: {sentence(choice.but)}", "  ", "    ")
        if marks.hints:
            yield from self.wrap(f"Taken off for hints: {marks.hints}.", "  ", "    ")

    def mending(self, mending: Mending) -> Iterator[str]:
        """What became of the flaws in a mended file."""
        yield self.head(f"{mending.points} of {_points(mending.of)}: {'mended' if mending.whole else 'not yet mended'}")
        for rule in mending.left:
            found = [finding for finding in mending.case.review.findings if finding.rule == rule]
            text = f"still there, line {found[0].place.line}: {found[0].message}" if found else "not shown to be mended"
            yield from self.wrap(f"{rule}: {sentence(text)}", "  ", "    ")
        for rule in mending.mended:
            yield from self.wrap(f"{rule}: mended.", "  ", "    ")
        for finding in mending.fresh:
            text = f"New, {finding.severity}, line {finding.place.line}: {sentence(finding.message)} ({finding.rule})"
            yield from self.wrap(text, "  ", "    ")
        for text in mending.besides:
            yield from self.wrap(sentence(f"{text[:1].upper()}{text[1:]}"), "  ", "    ")

    # --- why

    def explanation(self, scene: Scene) -> Iterator[str]:
        """What the review found, why it matters, the picture, and what the mended formula changes. Raises BadCourse."""
        exercise = scene.exercise
        yield self.head("What the review says")
        for finding in wanted(scene):
            yield from self.wrap(
                f"Line {finding.place.line}, {finding.severity}: {sentence(finding.message)}", "  ", "    "
            )
        yield ""
        yield self.head("Why")
        for words in exercise.explanation:
            try:
                yield from self.wrap(fill(words.text, scene), "  ")
            except NoValue as error:
                raise BadCourse(Mistake(exercise.sheet_path, words.place, str(error))) from None
        for picture in exercise.pictures:
            try:
                lines = draw(picture, scene, self.width - 2)
            except NoValue as error:
                raise BadCourse(Mistake(exercise.sheet_path, picture.place, str(error))) from None
            yield ""
            yield from ("  " + visible(line) for line in lines)
        yield from self.changes(scene)
        yield from self.sources(scene)

    def changes(self, scene: Scene) -> Iterator[str]:
        """The lines in which the mended formula differs."""
        if scene.mended is None:
            return
        yield ""
        yield self.head("Mended")
        old, new = (case.sheet.formula.document.text.splitlines() for case in (scene.flawed, scene.mended))
        for tag, a, b, c, d in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            if tag == "equal":
                continue
            for number in range(a, b):
                yield from self.wrap(old[number].strip(), f"  {number + 1:>8}  was  ", " " * 17)
            for number in range(c, d):
                where = f"after {a}" if a == b and number == c else ""
                yield from self.wrap(new[number].strip(), f"  {where:>8}  now  ", " " * 17)

    def sources(self, scene: Scene) -> Iterator[str]:
        """The works that the findings rest on."""
        works = list(dict.fromkeys(finding.source for finding in wanted(scene) if finding.source))
        if works:
            yield ""
            yield from self.wrap(f"By: {'; '.join(works)}.", "", "  ")

    # --- the course

    def listing(self, exercises: Iterable[Exercise], done: dict[str, Done]) -> Iterator[str]:
        """The exercises with the best result of each."""
        for exercise in exercises:
            result = done.get(exercise.id)
            tail = f"{result.best}/{result.of}" if result else "-"
            title = textwrap.shorten(visible(exercise.title), self.width - 14, placeholder=" ..")
            yield f"{exercise.number:>3}  {tail:>5}  {title}"

    def end(self, exercises: tuple[Exercise, ...], done: dict[str, Done]) -> Iterator[str]:
        """The course looked back on."""
        mine = [done[exercise.id] for exercise in exercises if exercise.id in done]
        points, of = sum(each.best for each in mine), sum(each.of for each in mine)
        yield self.head(f"{len(mine)} of {len(exercises)} exercises done, {points} of {_points(of)}")
        short = [e for e in exercises if e.id in done and done[e.id].best < done[e.id].of]
        if short:
            yield from self.wrap(f"Worth another look: {names((str(e.number) for e in short), most=30)}.")
        yield from self.wrap(CAUTION)


def wanted(scene: Scene) -> list[Finding]:
    """The findings that the exercise is about, in its order."""
    found = scene.flawed.review.findings
    return [finding for rule in scene.exercise.rules for finding in found if finding.rule == rule]


def _points(of: int) -> str:
    return f"{of} point{'' if of == 1 else 's'}"


def _lines(numbers: Iterable[int]) -> str:
    found = sorted(numbers)
    return f"line {found[0]}" if len(found) == 1 else f"line {listed(map(str, found), 'or')}"
