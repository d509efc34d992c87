"""The course itself: every exercise is what its sheet says, by the review; its words and its numbers hold."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from formcheck.reading import files
from formcheck.reference.store import shared_folder
from formcheck.reports.lesson_proof import prove
from formcheck.reports.lesson_values import BRACES, Scene, value
from formcheck.review.lesson_mended import flawed, judge, model_answer
from formcheck.review.lesson_sheet import Exercise, read_course
from formcheck.review.model import READY
from formcheck.review.run import Reviewer
from formcheck.review.settings import AS_DECLARED

FOLDER = Path(shared_folder()) / "lessons"
COUNTING = ("critical", "major", "minor")
WIDEST_LINE = 73
"""Columns that are left of 80 beside the line numbers."""


@pytest.fixture(scope="module")
def lesson_reviewer() -> Reviewer:
    return Reviewer(settings=AS_DECLARED)


def course() -> tuple[Exercise, ...]:
    rules = {rule.id for rule in Reviewer(settings=AS_DECLARED).rules}
    return read_course(str(FOLDER), lambda path: rules)


COURSE = course()
each_exercise = pytest.mark.parametrize("exercise", COURSE, ids=lambda exercise: exercise.id)


def scene(number: int, reviewer: Reviewer) -> Scene:
    exercise = COURSE[number - 1]
    return Scene(exercise, flawed(exercise, reviewer), model_answer(exercise, reviewer))


# --- the course


def test_there_are_two_dozen_and_their_numbers_follow_one_another() -> None:
    assert len(COURSE) >= 24
    assert [exercise.id[:2] for exercise in COURSE] == [f"{n:02}" for n in range(1, len(COURSE) + 1)]


def test_it_leads_from_the_sum_to_the_preservative_that_dies() -> None:
    assert COURSE[0].rules == ("total-not-100",)
    assert set(COURSE[-1].rules) == {"preservative-too-hot", "preservative-outside-ph"}


def test_no_rule_is_asked_for_alone_twice() -> None:
    single = [exercise.rules[0] for exercise in COURSE if len(exercise.rules) == 1]
    assert len(single) == len(set(single))


def test_the_review_of_a_folder_finds_no_lesson() -> None:
    assert list(files.find(str(FOLDER))) == []


# --- every exercise


@each_exercise
def test_it_holds(exercise: Exercise, lesson_reviewer: Reviewer) -> None:
    assert [str(mistake) for mistake in prove(exercise, lesson_reviewer)] == []


@each_exercise
def test_just_the_wanted_rules_find_something(exercise: Exercise, lesson_reviewer: Reviewer) -> None:
    review = lesson_reviewer.review(exercise.formula_path)
    counting = [finding for finding in review.findings if finding.severity in COUNTING]
    assert {finding.rule for finding in counting} - set(exercise.allowed) == set(exercise.rules)
    for flaw in exercise.flaws:
        places = {finding.place.line for finding in counting if finding.rule == flaw.rule}
        assert places & flaw.lines, f"{flaw.rule} points at {places}, right are {sorted(flaw.lines)}"


@each_exercise
def test_its_mended_formula_is_ready(exercise: Exercise, lesson_reviewer: Reviewer) -> None:
    assert exercise.mended_path is not None
    review = lesson_reviewer.review(exercise.mended_path)
    assert review.verdict == READY
    assert {f.rule for f in review.findings if f.severity in COUNTING} <= set(exercise.allowed)


@each_exercise
def test_its_mended_formula_would_be_accepted_and_its_flawed_one_not(
    exercise: Exercise, lesson_reviewer: Reviewer
) -> None:
    assert exercise.mended_path is not None
    mended = judge(exercise.mended_path, Path(exercise.mended_path).read_bytes(), exercise, lesson_reviewer)
    assert mended.whole
    assert mended.points == mended.of
    unmended = judge(exercise.formula_path, exercise.text.encode(), exercise, lesson_reviewer)
    assert unmended.points == 0
    assert unmended.left == exercise.rules


@each_exercise
def test_it_fits_a_screen_of_80_columns(exercise: Exercise) -> None:
    assert max(len(line) for line in exercise.lines) <= WIDEST_LINE


@each_exercise
def test_it_asks_in_full(exercise: Exercise) -> None:
    assert exercise.hints
    assert exercise.keep
    assert len(exercise.choices) >= 4
    assert exercise.question.endswith((".", "?"))
    # no comment in the flawed formula gives the answer away
    assert "#" not in exercise.text


@each_exercise
def test_the_right_line_is_not_most_of_the_formula(exercise: Exercise) -> None:
    for flaw in exercise.flaws:
        assert len(flaw.lines) <= len(exercise.lines) / 2


@each_exercise
def test_its_explanation_takes_every_number_from_the_review(exercise: Exercise) -> None:
    """Digits stand in braces; what is left may only count steps, or be the 100 of a sum."""
    values = 0
    for words in exercise.explanation:
        values += len(BRACES.findall(words.text))
        prose = re.sub(r"\bstep \d+\b|\b100( g)?\b|\b80 one of\b", "", BRACES.sub("", words.text))
        assert not re.search(r"\d", prose), prose
    assert values


def test_no_formula_is_a_vitamin_c_serum_with_a_cellulose_gum(lesson_reviewer: Reviewer) -> None:
    for exercise in COURSE:
        sheet = flawed(exercise, lesson_reviewer).sheet
        assert not sheet.holds("vitamin C")


def prose(exercise: Exercise) -> Iterator[str]:
    yield from (exercise.title, exercise.aim, exercise.question, *exercise.hints)
    yield from (text for choice in exercise.choices for text in (choice.says, choice.but))
    yield from (BRACES.sub("", words.text) for words in exercise.explanation)


def test_words_are_explained_where_they_first_stand() -> None:
    explained: dict[str, int] = {}
    for exercise in COURSE:
        for word, meaning in exercise.words:
            assert word not in explained, f"{word} is explained twice"
            assert meaning
            explained[word] = exercise.number
    assert len(explained) >= 30
    early = [
        f"«{word}» stands in exercise {exercise.number} and is explained in {number}"
        for word, number in explained.items()
        for exercise in COURSE[: number - 1]
        if any(re.search(rf"\b{re.escape(word)}s?\b", text, re.I) for text in prose(exercise))
    ]
    assert early == []


# --- its numbers, against something else


def test_free_acid_is_that_of_henderson_and_hasselbalch(lesson_reviewer: Reviewer) -> None:
    """Benzoic acid has a pKa of 4.20 at 25 °C (CRC Handbook of Chemistry and Physics)."""
    there = scene(19, lesson_reviewer)
    assert value("pH", there) == "6.6"
    shown = float(value("undissociated of Sodium Benzoate", there).rstrip(" %"))
    assert shown == pytest.approx(100 / (1 + 10 ** (6.6 - 4.20)), rel=0.05)
    mended = float(value("mended undissociated of Sodium Benzoate", there).rstrip(" %"))
    assert mended == pytest.approx(100 / (1 + 10 ** (4.8 - 4.20)), rel=0.05)


def test_hlb_is_the_mean_by_weight(lesson_reviewer: Reviewer) -> None:
    """HLB values add by weight (W. C. Griffin, 1954); 4.3 and 15.0 are those of the ICI guide of 1980."""
    there = scene(27, lesson_reviewer)
    assert float(value("HLB", there)) == pytest.approx((0.6 * 4.3 + 3.4 * 15.0) / 4.0, abs=0.05)
    assert float(value("mended HLB", there)) == pytest.approx((3.0 * 4.3 + 1.0 * 15.0) / 4.0, abs=0.05)


def test_a_tared_weighing_may_be_off_by_two_half_steps(lesson_reviewer: Reviewer) -> None:
    """Two readings, each within half a step (JCGM 100:2008, F.2.2.1): 0.1 g in 0.4 g is a quarter."""
    there = scene(6, lesson_reviewer)
    assert value("grams of Phenoxyethanol", there) == "0.4 g"
    assert value("weighing error of Phenoxyethanol", there) == "25 %"


def test_a_blend_counts_with_what_it_contains(lesson_reviewer: Reviewer) -> None:
    """0.6 + 0.9 x 0.8 = 1.32; Regulation (EC) No 1223/2009, Annex V, entry 29 allows 1.0 % of phenoxyethanol."""
    there = scene(14, lesson_reviewer)
    assert value("sum of Phenoxyethanol", there) == "1.32 %"
    assert value("limit by law of Phenoxyethanol", there) == "1 %"


def test_cooling_follows_newton(lesson_reviewer: Reviewer) -> None:
    """ln((85 - 22) / (60 - 22)) over ln((85 - 22) / (72 - 22)): a ratio of times that no time constant enters into."""
    there = scene(28, lesson_reviewer)
    minutes = [
        float(value(f"time to cool of step 2 down to {goal}", there).split()[0]) for goal in ("Benzyl Alcohol", "72 °C")
    ]
    expected = math.log(63 / 38) / math.log(63 / 50)
    assert minutes[0] / minutes[1] == pytest.approx(expected, rel=0.05)


def test_the_water_of_a_dilute_gel_is_nearly_pure(lesson_reviewer: Reviewer) -> None:
    """Raoult's law: 90 g of water with 6 g of glycerin (92.09 g/mol) and 2 g of panthenol (205.25 g/mol)."""
    water, others = 90 / 18.015, 6 / 92.09 + 2 / 205.25
    shown = float(value("water activity", scene(12, lesson_reviewer)))
    assert shown == pytest.approx(water / (water + others), abs=0.006)
