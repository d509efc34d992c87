"""Learn to read a formula: short exercises, each with a flawed formula, from sums to why a preservative dies in a gel.

Mark the lines at fault and choose what is wrong, or write the formula to a file, mend it and have it reviewed. Progress
is kept in a file of your own. A teacher may write exercises (--exercises), prove that they hold (--prove) and score what
a class handed in (--check). Exit status: 0; 1 not mended, or an exercise that does not hold; 2 something not readable.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Collection

from ..reading.document import Unreadable
from ..reference.store import shared_folder
from ..reports.lesson_page import LessonPage
from ..reports.safe_text import visible
from ..reports.terminal import wants_colour, width_of
from ..review.lesson_progress import NotProgress, Progress, usual_file
from ..review.lesson_sheet import BadCourse, Exercise, read_course
from ..review.run import Reviewer
from ..review.settings import AS_DECLARED
from .main import complain

EXAMPLES = """examples:
  formcheck lesson                      go on with the first exercise not yet done
  formcheck lesson --start 6 --again
  formcheck lesson --take 6             write exercise 6 to a file, to mend it
  formcheck lesson --mended 06-preservative-on-a-kitchen-scale.formula.yaml
  formcheck lesson --exercises autumn/ --check hand-ins/ --output scores.csv
"""
BUILT_IN = "formcheck"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--list", action="store_true", help="list the exercises, with your best results")
    what.add_argument("--start", type=int, metavar="N", help="begin with exercise N, by its number in the list")
    what.add_argument("--show", type=int, metavar="N", help="show exercise N and ask nothing")
    what.add_argument(
        "--take", type=int, metavar="N", help="write the formula of exercise N to a file here, for you to mend"
    )
    what.add_argument("--mended", metavar="FILE", help="review a formula of the course that you mended")
    what.add_argument(
        "--check", metavar="DIR", help="score what a class handed in, a folder or file for each student, as CSV"
    )
    what.add_argument(
        "--prove",
        action="store_true",
        help="check that every exercise holds: that the review finds what its answers say",
    )
    parser.add_argument("--again", action="store_true", help="give the exercises that are done already, too")
    parser.add_argument(
        "--exercises", metavar="DIR", help="take a teacher's exercises from this folder instead of the course"
    )
    parser.add_argument(
        "--progress", metavar="FILE", help="keep your progress in this file (default: one in your own data folder)"
    )
    parser.add_argument("--output", metavar="FILE", help="where --check writes its scores, or --take the formula")


def run(options: argparse.Namespace) -> int:
    reviewer = Reviewer(settings=None if options.exercises else AS_DECLARED)
    for fault in reviewer.plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    folder = options.exercises or os.path.join(shared_folder(), "lessons")
    course = os.path.basename(os.path.abspath(folder)) if options.exercises else BUILT_IN
    try:
        exercises = read_course(folder, lambda path: _rules(reviewer, path))
        return _do(options, course, exercises, reviewer)
    except BadCourse as error:
        for mistake in error.mistakes:
            print(visible(str(mistake)), file=sys.stderr)
        return 2
    except Unreadable as error:
        return complain(visible(str(error)))
    except NotProgress as error:
        return complain(visible(str(error)))


def _rules(reviewer: Reviewer, path: str) -> Collection[str]:
    return {rule.id for rule in (*reviewer.rules, *reviewer.settings(path).house)}


def _do(options: argparse.Namespace, course: str, exercises: tuple[Exercise, ...], reviewer: Reviewer) -> int:
    from . import lesson_desk as desk

    number = next((n for n in (options.start, options.show, options.take) if n is not None), None)
    if number is not None and not 1 <= number <= len(exercises):
        return complain(f"there is no exercise {number}; they are 1 to {len(exercises)}")
    page = LessonPage(width_of(sys.stdout), wants_colour(sys.stdout))
    if options.prove:
        return desk.prove_all(exercises, reviewer)
    if options.check is not None:
        return desk.check_class(options.check, options.output, course, exercises, reviewer, page.width)
    if options.show is not None:
        return desk.put_out(page.exercise(exercises[options.show - 1], len(exercises)))
    if options.take is not None:
        return desk.take(exercises[options.take - 1], options.output)
    progress = Progress(options.progress or usual_file(), course)
    if options.mended is not None:
        return desk.look_at(options.mended, exercises, reviewer, page, progress)
    if options.list:
        return desk.put_out(page.listing(exercises, progress.done))
    from .lesson_talk import Talk

    return Talk(exercises, reviewer, progress, page).course(options.start, options.again)
