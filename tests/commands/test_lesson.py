"""`formcheck lesson`: the conversation, marks and mended files, progress, a teacher's exercises, a class's hand-ins."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.reference.store import shared_folder
from formcheck.reports.lesson_class_report import csv as class_table
from formcheck.reports.lesson_page import LessonPage
from formcheck.review.lesson_class import Handed, HandIn
from formcheck.review.lesson_marks import Marks, Misread, read_letters, read_lines, score
from formcheck.review.lesson_mended import judge
from formcheck.review.lesson_progress import NotProgress, Progress, usual_file
from formcheck.review.lesson_sheet import BadCourse, Exercise, read_course
from formcheck.review.run import Reviewer
from formcheck.review.settings import AS_DECLARED

LESSONS = Path(shared_folder()) / "lessons"


@pytest.fixture(scope="module")
def course() -> tuple[Exercise, ...]:
    return _course()


def _course() -> tuple[Exercise, ...]:
    rules = {rule.id for rule in Reviewer(settings=AS_DECLARED).rules}
    return read_course(str(LESSONS), lambda path: rules)


COURSE = _course()


@pytest.fixture(scope="module")
def lesson_reviewer() -> Reviewer:
    return Reviewer(settings=AS_DECLARED)


def run(
    *arguments: str, folder: Path, typed: str = "", environment: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """The command in a folder of its own, its progress there too."""
    env = {**os.environ, "FORMCHECK_DATA": str(folder / "data"), **(environment or {})}
    return subprocess.run(
        [sys.executable, "-m", "formcheck", "lesson", *arguments],
        input=typed,
        capture_output=True,
        text=True,
        cwd=folder,
        env=env,
        timeout=120,
    )


def right(exercise: Exercise) -> str:
    """What somebody types who knows."""
    lines = " ".join(str(min(flaw.lines)) for flaw in exercise.flaws)
    letters = " ".join(choice.letter for choice in exercise.choices if choice.rule)
    return f"{lines}\n{letters}\n"


def progress_of(folder: Path) -> dict[str, dict[str, object]]:
    data = json.loads((folder / "data" / "lesson-progress.json").read_text())
    found: dict[str, dict[str, object]] = data["courses"]["formcheck"]
    return found


# --- the conversation


def test_the_whole_course_with_right_marks(tmp_path: Path) -> None:
    result = run(folder=tmp_path, typed="".join(map(right, COURSE)))
    assert result.returncode == 0, result.stderr
    assert result.stderr == ""
    of = 2 * sum(len(exercise.flaws) for exercise in COURSE)
    assert f"{len(COURSE)} of {len(COURSE)} exercises done, {of} of {of} points" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "\x1b" not in result.stdout
    assert "{" not in result.stdout.split("Why")[1].split("Mended")[0]
    assert len(progress_of(tmp_path)) == len(COURSE)


def test_it_leaves_cleanly_at_the_end_of_input_and_goes_on_from_there(tmp_path: Path) -> None:
    first = run(folder=tmp_path, typed=right(COURSE[0]) + "7\n")
    assert first.returncode == 0
    assert "Traceback" not in first.stderr
    assert list(progress_of(tmp_path)) == [COURSE[0].id]
    second = run(folder=tmp_path)
    assert "Going on with exercise 2." in second.stdout
    assert f"1 of {len(COURSE)}  " not in second.stdout


def test_no_input_at_all(tmp_path: Path) -> None:
    result = run(folder=tmp_path)
    assert result.returncode == 0
    assert COURSE[0].title in result.stdout
    assert not (tmp_path / "data").exists()


def test_start_and_again(tmp_path: Path) -> None:
    run(folder=tmp_path, typed=right(COURSE[0]) + right(COURSE[1]))
    from_two = run("--start", "2", folder=tmp_path, typed="q\n").stdout
    assert f"2 of {len(COURSE)}  {COURSE[1].title}" in from_two
    again = run("--again", folder=tmp_path, typed="q\n").stdout
    assert f"1 of {len(COURSE)}  {COURSE[0].title}" in again
    beyond = run("--start", "99", folder=tmp_path)
    assert beyond.returncode == 2
    assert beyond.stderr == f"formcheck: there is no exercise 99; they are 1 to {len(COURSE)}\n"


def test_the_list_shows_the_best_result(tmp_path: Path) -> None:
    run(folder=tmp_path, typed="5\nz\nq\n")
    run(folder=tmp_path, typed=right(COURSE[0]))
    listed = run("--list", folder=tmp_path).stdout.splitlines()
    assert len(listed) == len(COURSE)
    assert "2/2" in listed[0]
    assert "2/2" not in listed[1]


def test_what_cannot_be_read_is_asked_again(tmp_path: Path) -> None:
    result = run(folder=tmp_path, typed="abc\n99\n0\n1e3\n" + right(COURSE[0]))
    assert "«abc» is no line number" in result.stdout
    assert "line 99: the formula has lines 1 to 10" in result.stdout
    assert "2 of 2 points" in result.stdout


def test_help_hints_words_and_skipping(tmp_path: Path) -> None:
    typed = "?\n\nh\nh\nh\nv\nt\n" + right(COURSE[0]) + "s\ns\nq\n"
    result = run(folder=tmp_path, typed=typed).stdout
    assert "a hint; costs a point" in result
    assert "Hint 2 of 2" in result
    assert "There are no more hints." in result
    assert "Taken off for hints: 2." in result
    assert "0 of 2 points" in result
    assert f"4 of {len(COURSE)}  " in result
    assert list(progress_of(tmp_path)) == [COURSE[0].id]


def test_wrong_answers_are_told_why(tmp_path: Path) -> None:
    wrong = next(choice for choice in COURSE[0].choices if not choice.rule)
    result = run(folder=tmp_path, typed=f"1\n{wrong.letter}\n").stdout
    assert "0 of 2 points" in result
    assert wrong.but[:30] in " ".join(result.split())
    assert "Not at fault: line 1." in result


def test_bytes_that_are_no_text_do_not_stop_it(tmp_path: Path) -> None:
    env = {**os.environ, "FORMCHECK_DATA": str(tmp_path), "PYTHONIOENCODING": "utf-8"}
    command = [sys.executable, "-m", "formcheck", "lesson"]
    result = subprocess.run(command, input=b"\xff\xfe\x1b[2J\n5\n", capture_output=True, env=env, timeout=60)
    assert result.returncode == 0
    assert b"Traceback" not in result.stderr
    assert b"\x1b" not in result.stdout


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")
def test_a_terminal_gets_bold_headings_unless_no_colour_is_wanted(tmp_path: Path) -> None:
    """https://no-color.org: a NO_COLOR that is set and not empty means no colour."""
    import pty

    shown = []
    for more in ({}, {"NO_COLOR": "1"}):
        leader, follower = pty.openpty()
        env = {**os.environ, "FORMCHECK_DATA": str(tmp_path), "TERM": "xterm", "COLUMNS": "80"}
        env.pop("NO_COLOR", None)
        process = subprocess.Popen(
            [sys.executable, "-m", "formcheck", "lesson", "--show", "1"],
            stdout=follower,
            stderr=subprocess.DEVNULL,
            env={**env, **more},
        )
        os.close(follower)
        text = b""
        try:
            while piece := os.read(leader, 4096):
                text += piece
        except OSError:
            pass
        os.close(leader)
        assert process.wait(60) == 0
        shown.append(text)
    assert b"\x1b[1m" in shown[0]
    assert b"\x1b" not in shown[1]


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")
def test_at_a_keyboard_it_waits_before_the_next_exercise(tmp_path: Path) -> None:
    import pty

    leader, follower = pty.openpty()
    env = {**os.environ, "FORMCHECK_DATA": str(tmp_path), "TERM": "dumb"}
    command = [sys.executable, "-m", "formcheck", "lesson"]
    process = subprocess.Popen(command, stdin=follower, stdout=subprocess.PIPE, text=True, env=env)
    os.close(follower)
    os.write(leader, (right(COURSE[0]) + "\n" + right(COURSE[1]) + "q\n").encode())
    shown, _ = process.communicate(timeout=60)
    os.close(leader)
    assert process.returncode == 0
    assert "Enter for exercise 3, q to leave:" in shown
    assert f"3 of {len(COURSE)}  " not in shown
    assert f"2 of {len(COURSE)} exercises done, 4 of 4 points" in shown


@pytest.mark.skipif(sys.platform == "win32", reason="a shell's way to close its input")
def test_a_closed_input_is_its_end(tmp_path: Path) -> None:
    env = {**os.environ, "FORMCHECK_DATA": str(tmp_path)}
    command = f"{sys.executable} -m formcheck lesson <&-"
    result = subprocess.run(["sh", "-c", command], capture_output=True, text=True, env=env, timeout=60)
    assert result.returncode == 0, result.stderr
    assert result.stderr == ""


def test_a_review_does_not_load_the_lessons(tmp_path: Path) -> None:
    code = (
        "import sys\nsys.argv = ['formcheck', 'review', sys.argv[1]]\n"
        "from formcheck.commands.main import main\nmain()\n"
        "print(*sorted(n for n in sys.modules if 'lesson' in n), file=sys.stderr)"
    )
    file = LESSONS / "01-sum-falls-short.mended.yaml"
    result = subprocess.run([sys.executable, "-c", code, str(file)], capture_output=True, text=True, timeout=60)
    assert result.stderr.strip() == ""


# --- marks


@given(
    number=st.integers(0, len(COURSE) - 1),
    lines=st.lists(st.integers(1, 10), max_size=12),
    answers=st.lists(st.sampled_from("abcdefg"), max_size=7),
    hints=st.integers(0, 9),
)
def test_points_stay_within_bounds_and_more_wrong_marks_never_help(
    number: int, lines: list[int], answers: list[str], hints: int
) -> None:
    exercise = COURSE[number]
    marks = Marks(tuple(lines), tuple(answers), hints)
    found = score(exercise, marks)
    assert 0 <= found.points <= found.of == 2 * len(exercise.flaws)
    assert sorted((*found.found, *found.half, *found.missed)) == sorted(exercise.rules)
    stray = next(n for n in range(1, 99) if not any(n in flaw.lines for flaw in exercise.flaws) and n not in lines)
    assert score(exercise, marks._replace(lines=(*lines, stray))).points <= found.points


def test_marking_everything_is_worth_nothing(course: tuple[Exercise, ...]) -> None:
    exercise = course[18]
    everything = Marks(tuple(range(1, len(exercise.lines) + 1)), tuple(c.letter for c in exercise.choices))
    assert score(exercise, everything).points == 0


def test_lines_and_letters_as_people_type_them(course: tuple[Exercise, ...]) -> None:
    exercise = course[4]
    assert read_lines(" 12, 15 ", exercise) == (12, 15)
    assert read_lines("12-14", exercise) == (12, 13, 14)
    assert read_lines("3 to 1; 2", exercise) == (1, 2, 3)
    assert read_letters("B, a", exercise) == ("b", "a")
    assert read_letters("ab", exercise) == ("a", "b")
    for text in ("", "x", "12 apples", "-1", "1.5.", "99999999999999999999"):
        with pytest.raises(Misread):
            read_lines(text, exercise)
    for text in ("", "12", "zz"):
        with pytest.raises(Misread):
            read_letters(text, exercise)


# --- mended files


def test_take_mend_and_have_it_reviewed(tmp_path: Path) -> None:
    taken = run("--take", "6", folder=tmp_path)
    path = tmp_path / f"{COURSE[5].id}.formula.yaml"
    assert taken.returncode == 0
    assert path.read_text() == COURSE[5].text
    assert run("--take", "6", folder=tmp_path).returncode == 2
    unmended = run("--mended", path.name, folder=tmp_path)
    assert unmended.returncode == 1
    assert "0 of 2 points: not yet mended" in unmended.stdout
    assert not (tmp_path / "data").exists()
    path.write_text(path.read_text().replace("{size: 50 g, balance: 0.1 g}", "{size: 250 g, balance: 0.01 g}"))
    mended = run("--mended", path.name, folder=tmp_path)
    assert mended.returncode == 0, mended.stderr
    assert "2 of 2 points: mended" in mended.stdout
    assert progress_of(tmp_path)[COURSE[5].id]["best"] == 2


def test_mending_from_within_the_conversation(tmp_path: Path) -> None:
    typed = "w\nr\nq\n"
    first = run("--start", "18", folder=tmp_path, typed=typed).stdout
    assert "not yet mended" in first
    path = tmp_path / f"{COURSE[17].id}.formula.yaml"
    path.write_text(path.read_text().replace("Allantoin: 1.5", "Allantoin: 0.3"))
    second = run("--start", "18", folder=tmp_path, typed="w\nr\nq\n").stdout
    assert "left alone" in second
    assert "2 of 2 points: mended" in second
    assert progress_of(tmp_path)[COURSE[17].id]["points"] == 2


def test_a_file_that_is_no_exercise_or_no_formula(tmp_path: Path) -> None:
    (tmp_path / "own.formula.yaml").write_text("formcheck: 1\nname: Own\nphases: {A: {Aqua: q.s.}}\n")
    own = run("--mended", "own.formula.yaml", folder=tmp_path)
    assert own.returncode == 2
    assert "belongs to no exercise" in own.stderr
    missing = run("--mended", "nowhere.yaml", folder=tmp_path)
    assert missing.returncode == 2
    assert missing.stderr.startswith("nowhere.yaml:1:1: ")
    (tmp_path / "06-x.yaml").write_text("a: [\n")
    broken = run("--mended", "06-x.yaml", folder=tmp_path)
    assert broken.returncode == 2
    assert "Traceback" not in broken.stderr


ACID = 19


@pytest.mark.parametrize(
    ("number", "old", "new", "told"),
    [
        (
            ACID,
            "packaging:",
            "deviations: [{rule: preservative-outside-ph, reason: so be it}]\npackaging:",
            "accepted under",
        ),
        (ACID, "    Sodium Benzoate: 0.4\n    Potassium Sorbate: 0.3\n", "    Phenoxyethanol: 0.8\n", "is gone"),
        (ACID, "use: leave-on", "use: rinse-off", "product was changed (use)"),
        (
            ACID,
            "phases:",
            "materials:\n  Sodium Benzoate: {minimum free acid: 0.0001 %}\nphases:",
            "described anew",
        ),
        (13, "finished: {pH: 5.5}\n", "", "of 2 points: not yet mended"),
    ],
    ids=["deviation", "left out", "other product", "described anew", "nothing mended"],
)
def test_ways_round_do_not_count(
    number: int, old: str, new: str, told: str, course: tuple[Exercise, ...], lesson_reviewer: Reviewer
) -> None:
    exercise = course[number - 1]
    assert old in exercise.text
    mending = judge("x.formula.yaml", exercise.text.replace(old, new).encode(), exercise, lesson_reviewer)
    assert not mending.whole
    assert mending.points < mending.of
    assert told in " ".join(LessonPage().mending(mending)).replace("  ", " ")


def test_leaving_the_ph_out_is_no_mending(course: tuple[Exercise, ...], lesson_reviewer: Reviewer) -> None:
    acid = course[ACID - 1]
    step = "  - adjust pH: A\n    to: 6.6\n    with: Citric Acid\n    strength: 20 %\n"
    assert step in acid.text
    without = acid.text.replace(step, "").replace("finished: {pH: 6.6}\n", "")
    mending = judge("x.yaml", without.encode(), acid, lesson_reviewer)
    assert mending.left == acid.rules
    assert any("no longer be checked" in text for text in mending.besides)


def test_a_new_flaw_takes_a_point(course: tuple[Exercise, ...], lesson_reviewer: Reviewer) -> None:
    exercise = course[12]
    mended = exercise.text.replace("Phenoxyethanol: 0.2", "Phenoxyethanol: 1.8")
    mending = judge("x.yaml", mended.encode(), exercise, lesson_reviewer)
    assert [finding.rule for finding in mending.fresh] == ["preservative-over-limit"]
    assert mending.points == 1


def test_the_settings_of_a_learners_folder_do_not_count(tmp_path: Path) -> None:
    (tmp_path / "formcheck.toml").write_text(
        '[rules.over-solubility]\noff = "we like crystals"\n\n[rules]\nover-solubility = "off"\n'
    )
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  Allantoin: {solubility: {is: 90 %, in: water, at: 20 °C}}\n"
    )
    run("--take", "18", folder=tmp_path)
    result = run("--mended", f"{COURSE[17].id}.formula.yaml", folder=tmp_path)
    assert result.returncode == 1
    assert "over-solubility: still there" in result.stdout


# --- progress


@pytest.mark.parametrize(
    "content",
    [b"{bad", b"[]", b'{"other": 1}', b'{"formcheck lesson progress": 9}', b"\x00\xff", b"[" * 100000],
    ids=["no JSON", "a list", "something else", "a later version", "bytes", "deep"],
)
def test_a_file_that_is_no_progress_is_named_in_one_line_and_left_alone(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "mine.json"
    path.write_bytes(content)
    result = run("--progress", str(path), folder=tmp_path, typed=right(COURSE[0]))
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert result.stderr.startswith(f"formcheck: {path}")
    assert "left as it is" in result.stderr
    assert path.read_bytes() == content


def test_nothing_of_the_file_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "mine.json"
    kept = {"autumn": {"x": {"points": 1, "best": 1, "of": 2, "times": 1, "first": {}}}}
    own = {"made up": "by somebody"}
    path.write_text(json.dumps({"formcheck lesson progress": 1, "note": "mine", "courses": {**kept, "formcheck": own}}))
    Progress(str(path), "formcheck").keep("01", 2, 2, {"lines": [5]})
    data = json.loads(path.read_text())
    assert data["note"] == "mine"
    assert data["courses"]["autumn"] == kept["autumn"]
    assert data["courses"]["formcheck"]["made up"] == "by somebody"
    assert data["courses"]["formcheck"]["01"]["points"] == 2
    assert [entry.name for entry in tmp_path.iterdir()] == ["mine.json"]


def test_two_windows_do_not_lose_each_others_results(tmp_path: Path) -> None:
    path = str(tmp_path / "mine.json")
    one, other = Progress(path, "formcheck"), Progress(path, "formcheck")
    one.keep("01", 1, 2, {})
    other.keep("02", 2, 2, {})
    assert set(Progress(path, "formcheck").done) == {"01", "02"}


def test_the_first_marks_and_the_best_points_are_kept(tmp_path: Path) -> None:
    progress = Progress(str(tmp_path / "mine.json"), "formcheck")
    for points in (1, 2, 0):
        progress.keep("01", points, 2, {"lines": [points]})
    done = Progress(progress.path, "formcheck").done["01"]
    assert (done.points, done.best, done.times, done.first) == (0, 2, 3, {"lines": [1]})


def test_courses_that_hold_something_else_are_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "mine.json"
    path.write_text('{"formcheck lesson progress": 1, "courses": [1]}')
    with pytest.raises(NotProgress, match="left as it is"):
        Progress(str(path), "formcheck").keep("01", 1, 2, {})
    assert path.read_text() == '{"formcheck lesson progress": 1, "courses": [1]}'


def test_where_progress_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification: user data lie in $XDG_DATA_HOME."""
    monkeypatch.delenv("FORMCHECK_DATA", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", "/srv/data")
    assert usual_file() == os.path.join("/srv/data", "formcheck", "lesson-progress.json")


def test_a_folder_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    result = run("--progress", str(tmp_path / "file" / "p.json"), folder=tmp_path, typed=right(COURSE[0]))
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1


# --- a teacher's exercises

FORMULA = """\
formcheck: 1
name: Cold frame oil
phases:
  A:
    Squalane: 90
    Caprylic/Capric Triglyceride: 5
"""
SHEET = """\
lesson: 1
title: An oil of mine
aim: Sums.
question: Which line?
find:
  - rule: total-not-100
    lines: ["phases:", 5]
    answer: The sum is wrong.
decoys:
  - {says: It is too green., but: it is not green}
explanation: ["They add to {total}."]
"""


@pytest.fixture
def teachers(tmp_path: Path) -> Path:
    folder = tmp_path / "autumn"
    folder.mkdir()
    (folder / "1-oil.formula.yaml").write_text(FORMULA)
    (folder / "1-oil.answers.yaml").write_text(SHEET)
    return folder


def test_a_teachers_course(teachers: Path, tmp_path: Path) -> None:
    assert run("--exercises", "autumn", "--prove", folder=tmp_path).stdout == "all 1 exercises hold\n"
    shown = run("--exercises", "autumn", "--show", "1", folder=tmp_path).stdout
    letter = "a" if "a  The sum is wrong." in shown else "b"
    result = run("--exercises", "autumn", folder=tmp_path, typed=f"5\n{letter}\n")
    assert result.returncode == 0, result.stderr
    assert "2 of 2 points" in result.stdout
    assert "They add to 95 %." in result.stdout
    assert "autumn" in json.loads((tmp_path / "data" / "lesson-progress.json").read_text())["courses"]


@pytest.mark.parametrize(
    ("old", "new", "place", "told"),
    [
        ("title: An", "titel: An", "2:1", "unknown key «titel» in the sheet; did you mean «title»?"),
        ("title: An oil of mine\n", "", "1:1", "the sheet has no «title»"),
        ("title: An oil of mine", "title: 12", "2:8", "«title» holds «12»; a text was expected (in quotes)"),
        ("lesson: 1", "lesson: 2", "1:9", "reads sheets of version 1"),
        ("rule: total-not-100", "rule: total-not-10", "6:11", "is no rule; did you mean «total-not-100»?"),
        ('["phases:", 5]', "[77]", "7:13", "line 77: the formula has lines 1 to 6"),
        ('["phases:", 5]', "[quick silver]", "7:13", "stands on no line"),
        ('["phases:", 5]', "[e]", "7:13", "write more of the line"),
        ('["phases:", 5]', "[]", "7:12", "is empty"),
        ('["phases:", 5]', "5", "7:12", "a list was expected"),
        ("decoys:\n  - {says: It is too green., but: it is not green}\n", "decoys: []\n", "9:9", "is empty"),
        ("but: it is not green", "because: it is not", "10:30", "unknown key «because»"),
        ("says: It is too green.", "says: The sum is wrong.", "10:12", "there already"),
        ("{total}", "{totals}", "11:15", "«totals» is no value"),
        ("{total}", "{grams of Squalane}", "11:15", "no batch size"),
        ("{total}", "{mended total}", "11:15", "has no mended formula"),
        ("question:", "pictures: [{show: sums}]\nquestion:", "4:12", "«sums» is no picture"),
        ("question: Which line?", "question: [", "6:3", "not valid YAML"),
    ],
)
def test_a_mistake_in_a_sheet_is_told_at_its_place(
    teachers: Path, tmp_path: Path, old: str, new: str, place: str, told: str
) -> None:
    sheet = teachers / "1-oil.answers.yaml"
    assert old in SHEET
    sheet.write_text(SHEET.replace(old, new))
    result = run("--exercises", "autumn", folder=tmp_path, typed="5\na\n")
    assert result.returncode == 2
    assert f"1-oil.answers.yaml:{place}: " in result.stderr
    assert told in result.stderr
    assert "Traceback" not in result.stderr


def test_proving_says_what_does_not_hold(teachers: Path, tmp_path: Path) -> None:
    (teachers / "1-oil.answers.yaml").write_text(SHEET.replace('["phases:", 5]', "[2]") + "allowed: [ph-harsh]\n")
    (teachers / "1-oil.mended.yaml").write_text(FORMULA)
    (teachers / "2-salt.lesson.yaml").write_text(
        FORMULA.replace("90", "95").replace("Caprylic/Capric Triglyceride: 5", "Aqua: 5")
    )
    (teachers / "2-salt.answers.yaml").write_text(SHEET.replace('["phases:", 5]', "[4]"))
    result = run("--exercises", "autumn", "--prove", folder=tmp_path)
    assert result.returncode == 1
    assert "points at line 3, which does not count as right" in result.stdout
    assert "ph-harsh is allowed, and finds nothing" in result.stdout
    assert "the mended formula is not ready" in result.stdout
    assert "total-not-100 finds nothing in the flawed formula" in result.stdout
    assert "emulsifier-missing finds something too" in result.stdout


def test_a_folder_without_exercises_or_without_a_formula(tmp_path: Path, teachers: Path) -> None:
    (tmp_path / "empty").mkdir()
    empty = run("--exercises", "empty", folder=tmp_path)
    assert empty.returncode == 2
    assert "no exercises here" in empty.stderr
    assert run("--exercises", "nowhere", folder=tmp_path).returncode == 2
    (teachers / "1-oil.formula.yaml").unlink()
    missing = run("--exercises", "autumn", folder=tmp_path)
    assert missing.returncode == 2
    assert "the flawed formula is missing" in missing.stderr


def test_hostile_text_of_a_sheet_is_shown_and_not_obeyed(teachers: Path, tmp_path: Path) -> None:
    evil = '"\\e[2J\\u202E wipe"'
    (teachers / "1-oil.formula.yaml").write_text(FORMULA.replace("Cold frame oil", evil))
    (teachers / "1-oil.answers.yaml").write_text(
        SHEET.replace("An oil of mine", evil).replace("It is too green.", evil).replace("aim: Sums.", f"aim: {evil}")
    )
    result = run("--exercises", "autumn", folder=tmp_path, typed="5\nab\n")
    assert result.returncode == 0, result.stderr
    assert "\x1b" not in result.stdout
    assert "\u202e" not in result.stdout
    assert "<U+001B>" in result.stdout


def test_formulas_of_a_course_may_be_toml_and_json(teachers: Path, tmp_path: Path) -> None:
    (teachers / "1-oil.formula.yaml").unlink()
    toml = '\nformcheck = 1\nname = "x"\n[phases.A]\nSqualane = 90\n"Isopropyl Myristate" = 5\n'
    (teachers / "1-oil.lesson.toml").write_text(toml)
    (teachers / "1-oil.answers.yaml").write_text(SHEET.replace('["phases:", 5]', "[phases.A, 5]"))
    proved = run("--exercises", "autumn", "--prove", folder=tmp_path)
    assert proved.returncode == 0, proved.stdout + proved.stderr
    run("--exercises", "autumn", "--take", "1", folder=tmp_path)
    assert (tmp_path / "1-oil.formula.toml").read_text() == toml


# --- a class


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture
def hand_ins(tmp_path: Path) -> Path:
    """Three students: mended files in a folder, marks in a file, a progress file."""
    folder = tmp_path / "class"
    (folder / "Ada").mkdir(parents=True)
    shutil.copy(LESSONS / f"{COURSE[5].id}.mended.yaml", folder / "Ada" / f"{COURSE[5].id}.formula.yaml")
    shutil.copy(LESSONS / f"{COURSE[18].id}.lesson.yaml", folder / "Ada" / "the mist.yaml")
    wrong = next(choice.letter for choice in COURSE[5].choices if not choice.rule)
    (folder / "b.yaml").write_text(
        f"lesson marks: 1\nstudent: Bo\nmarks:\n  6: {{lines: [5, 1], answers: {wrong}}}\n"
        f"  {COURSE[18].id}: {{lines: 20, answers: [a, b, c, d]}}\n"
    )
    first = {"lines": [1], "answers": [], "hints": 0}
    claim = {"points": 2, "best": 2, "of": 2, "times": 1, "first": first}
    progress = {"formcheck lesson progress": 1, "courses": {"formcheck": {COURSE[18].id: claim}}}
    (folder / "Cy.json").write_text(json.dumps(progress))
    return folder


def test_a_class_becomes_a_table_and_a_summary(hand_ins: Path, tmp_path: Path) -> None:
    result = run("--check", "class", "--output", "scores.csv", folder=tmp_path)
    assert result.returncode == 0, result.stderr
    found = {(row["student"], row["exercise"]): row for row in rows((tmp_path / "scores.csv").read_text("utf-8"))}
    assert set(found) == {("Ada", "6"), ("Ada", "19"), ("Bo", "6"), ("Bo", "19"), ("Cy", "19")}
    assert found["Ada", "6"]["points"] == "2"
    assert found["Ada", "6"]["found"] == "balance-too-coarse"
    assert found["Ada", "19"]["missed"] == "preservative-outside-ph"
    assert found["Bo", "6"]["half found"] == "balance-too-coarse"
    assert found["Bo", "6"]["wrong marks"].startswith("line 1, answer ")
    assert found["Bo", "6"]["points"] == "0"
    assert found["Bo", "19"]["points"] == "1"
    assert found["Cy", "19"]["points"] == "0", "points that a file claims are not believed"
    assert "5 hand-ins of 3 students, 2 exercises" in result.stdout
    assert "2 of 3  preservative-outside-ph in exercise 19" in result.stdout
    assert "2 of 4  Ada" in result.stdout


def test_to_the_screen_the_table_goes_alone(hand_ins: Path, tmp_path: Path) -> None:
    result = run("--check", "class", folder=tmp_path)
    assert len(rows(result.stdout)) == 5
    assert "Points" in result.stderr


def test_what_cannot_be_read_is_told_and_the_rest_is_scored(hand_ins: Path, tmp_path: Path) -> None:
    (hand_ins / "d.yaml").write_text("a: [\n")
    (hand_ins / "e.yaml").write_text(
        "lesson marks: 1\nmarks:\n  99: {lines: [1]}\n  6: {lines: [99]}\n  7: {line: 3}\n  8: 4\n  9: {lines: [21]}\n"
    )
    (hand_ins / "f.json").write_text('{"a": 1}')
    (hand_ins / "g.yaml").write_text("lesson marks: 3\nmarks: {}\n")
    (hand_ins / "h.formula.yaml").write_text("formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\n")
    (hand_ins / "letter.txt").write_text("hello")
    result = run("--check", "class", "--output", "scores.csv", folder=tmp_path)
    assert result.returncode == 2
    for told in (
        "d.yaml:2:1: not valid YAML",
        "e.yaml:3:3: «99» is no exercise of this course",
        "e.yaml:4:6: line 99: the formula has lines 1 to 16",
        "e.yaml:5:6: «line» means nothing here",
        "e.yaml:6:6: lines and answers were expected",
        "f.json:1:1: neither marks nor a formula",
        "g.yaml:1:1: this program reads «lesson marks: 1»",
        "h.formula.yaml:1:1: belongs to no exercise",
    ):
        assert told in result.stderr
    assert len(rows((tmp_path / "scores.csv").read_text("utf-8"))) == 6
    assert "letter.txt" in result.stdout


@pytest.mark.skipif(sys.platform == "win32", reason="no such file names")
def test_no_cell_acts_as_a_formula_of_the_spreadsheet(hand_ins: Path, tmp_path: Path) -> None:
    """OWASP, CSV injection: no cell may begin with = + - @."""
    (hand_ins / "Ada").rename(hand_ins / "=HYPERLINK(x)")
    (hand_ins / "b.yaml").write_text((hand_ins / "b.yaml").read_text().replace("Bo", '"@SUM(A1)\\e[2J"'))
    table = run("--check", "class", folder=tmp_path).stdout
    students = {row["student"] for row in rows(table)}
    assert "'=HYPERLINK(x)" in students
    assert all(cell[:1] not in "=+@-" or not cell for row in rows(table) for cell in row.values())
    assert "\x1b" not in table


def test_a_table_of_one(course: tuple[Exercise, ...]) -> None:
    hand_in = HandIn("+x", course[0], "-f", "marks", 1, 2, (), ("a",), (), "", "=1")
    found = rows(class_table(Handed((hand_in,), (), ())))[0]
    assert (found["student"], found["file"], found["remark"]) == ("'+x", "'-f", "'=1")
    assert found["percent"] == "50"


def test_odd_folders(tmp_path: Path) -> None:
    (tmp_path / "none").mkdir()
    empty = run("--check", "none", folder=tmp_path)
    assert empty.returncode == 2
    assert "no hand-ins here" in empty.stderr
    assert run("--check", "nowhere", folder=tmp_path).returncode == 2


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes in the file system")
def test_pipes_and_links_in_circles_are_passed_by(hand_ins: Path, tmp_path: Path) -> None:
    os.mkfifo(hand_ins / "pipe.yaml")
    os.symlink(hand_ins, hand_ins / "Ada" / "round")
    os.symlink("/dev/zero", hand_ins / "zero.yaml")
    result = run("--check", "class", "--output", "scores.csv", folder=tmp_path)
    assert result.returncode == 0, result.stderr
    assert len(rows((tmp_path / "scores.csv").read_text("utf-8"))) == 5


def test_a_hand_in_is_never_written_over(hand_ins: Path, tmp_path: Path) -> None:
    before = (hand_ins / "b.yaml").read_bytes()
    result = run("--check", "class", "--output", "class/b.yaml", folder=tmp_path)
    assert result.returncode == 2
    assert (hand_ins / "b.yaml").read_bytes() == before


def test_a_learners_own_progress_can_be_handed_in(tmp_path: Path) -> None:
    run(folder=tmp_path, typed=right(COURSE[0]) + "1\n" + right(COURSE[1]).split("\n")[1] + "\n")
    run("--take", "18", folder=tmp_path)
    path = tmp_path / f"{COURSE[17].id}.formula.yaml"
    path.write_text(path.read_text().replace("Allantoin: 1.5", "Allantoin: 0.3"))
    run("--mended", path.name, folder=tmp_path)
    (tmp_path / "class").mkdir()
    shutil.copy(tmp_path / "data" / "lesson-progress.json", tmp_path / "class" / "Rowan.json")
    found = rows(run("--check", "class", folder=tmp_path).stdout)
    assert [(row["exercise"], row["points"], row["student"]) for row in found] == [
        ("1", "2", "Rowan"),
        ("2", "1", "Rowan"),
        ("18", "2", "Rowan"),
    ]


def test_bad_course_says_every_mistake(tmp_path: Path) -> None:
    (tmp_path / "1.answers.yaml").write_text("lesson: 1\n")
    (tmp_path / "1.lesson.yaml").write_text(FORMULA)
    with pytest.raises(BadCourse) as raised:
        read_course(str(tmp_path), lambda path: ())
    missing = [mistake.message for mistake in raised.value.mistakes]
    assert len(missing) == 6
    assert all("the sheet has no «" in message for message in missing)
