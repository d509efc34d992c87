"""Reviews kept from one run to the next: never a stale one, whatever changes and whatever breaks."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from formcheck.plugins import gather
from formcheck.reference.kept import cache_folder
from formcheck.review.grounds import Grounds
from formcheck.review.here import reviewed_here
from formcheck.review.kept import FILE, UNUSED_DAYS, Kept
from formcheck.review.model import Review
from formcheck.review.run import Reviewer, Task

DAY = date(2026, 11, 25)
CREAM = """\
formcheck: 1
name: Hand balm
product: {use: leave-on, form: balm, area: hands, markets: [EU]}
phases:
  A: {Helianthus Annuus Seed Oil: 60, Cera Alba: 20, Tocopherol: 0.5}
deviations:
  - {rule: total-not-100, reason: the rest is weighed by the customer, until: 2026-12-24}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Twenty-five formulas in a folder of their own, which is where the search for settings ends."""
    (tmp_path / "formulas" / ".git").mkdir(parents=True)
    for number in range(25):
        (tmp_path / "formulas" / f"balm-{number:02d}.formula.yaml").write_text(CREAM + f"# {number}\n")
    return tmp_path / "formulas"


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """The files that are really reviewed, with a cache folder of the test's own."""
    done: list[str] = []
    original = Reviewer.review_sheet

    def review_sheet(self: Reviewer, path: str, data: bytes | None = None) -> object:
        done.append(os.path.basename(path))
        return original(self, path, data)

    monkeypatch.setattr(Reviewer, "review_sheet", review_sheet)
    monkeypatch.setattr("formcheck.review.kept.cache_folder", lambda: str(tmp_path / "cache"))
    return done


def run(folder: Path, today: date = DAY, threshold: str | None = None, packs: tuple[str, ...] = ()) -> list[Review]:
    """All reviews of a folder, as a run of the program has them."""
    reviewer = Reviewer(threshold, gather(packs=packs), today=today)
    tasks = [Task(str(path)) for path in sorted(folder.rglob("*.formula.yaml"))]
    return [review for review, _ in reviewed_here(tasks, reviewer, packs, processes=1)]


def test_what_is_unchanged_is_not_reviewed_again(folder: Path, counted: list[str]) -> None:
    first = run(folder)
    assert len(counted) == 25
    assert run(folder) == first
    assert len(counted) == 25
    assert {review.verdict for review in first} == {"ready"}
    assert all(review.accepted for review in first)


def test_only_a_changed_file_is_reviewed_again(folder: Path, counted: list[str]) -> None:
    run(folder)
    counted.clear()
    file = folder / "balm-07.formula.yaml"
    status = file.stat()
    file.write_text(file.read_text().replace("Cera Alba: 20", "Cera Alba: 10"))
    os.utime(file, ns=(status.st_atime_ns, status.st_mtime_ns))  # the times of a file prove nothing
    found = run(folder)
    assert counted == ["balm-07.formula.yaml"]
    assert "70.5" in found[7].accepted[0].finding.message


def test_a_moved_file_keeps_its_review_and_says_where_it_is(folder: Path, counted: list[str]) -> None:
    run(folder)
    counted.clear()
    (folder / "balm-00.formula.yaml").rename(folder / "a-balm.formula.yaml")
    assert run(folder)[0].file == str(folder / "a-balm.formula.yaml")
    assert counted == []


MATERIALS = "materials: {Cera Alba: {class: [wax], INCI: Cera Alba}}\n"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("formcheck.toml", "threshold = 'note'\n"),
        ("formcheck.toml", "[rules.total-not-100]\nseverity = 'note'\nreason = 'x'\n"),
        ("pyproject.toml", "[tool.formcheck]\nthreshold = 'minor'\n"),
        ("materials.yaml", "formcheck: 1\n" + MATERIALS),
    ],
)
def test_what_serves_a_folder_counts(folder: Path, counted: list[str], name: str, text: str) -> None:
    run(folder)
    (folder / name).write_text(text)
    counted.clear()
    with_it = run(folder)
    assert len(counted) == 25
    (folder / name).write_text(text + "# another word\n")
    run(folder)
    assert len(counted) == 50
    (folder / name).unlink()
    run(folder)
    assert len(counted) == 50
    assert len(with_it) == 25


def test_house_rules_and_what_a_configuration_builds_on_count(folder: Path, counted: list[str]) -> None:
    example = Path(__file__).parents[2] / "examples" / "house"
    for file in example.glob("*.house.yaml"):
        shutil.copy(file, folder / "our.house.yaml")
    (folder / "base.toml").write_text("house-rules = ['our.house.yaml']\n")
    (folder / "formcheck.toml").write_text("builds-on = 'base.toml'\n")
    run(folder)
    counted.clear()
    run(folder)
    assert counted == []
    with open(folder / "our.house.yaml", "a") as house:
        house.write("# another word\n")
    run(folder)
    assert len(counted) == 25
    (folder / "base.toml").write_text("house-rules = ['our.house.yaml']\nthreshold = 'note'\n")
    run(folder)
    assert len(counted) == 50


def test_the_threshold_counts(folder: Path, counted: list[str]) -> None:
    run(folder)
    assert {review.threshold for review in run(folder, threshold="note")} == {"note"}
    assert len(counted) == 50


def test_a_deviation_ends_on_its_day(folder: Path, counted: list[str]) -> None:
    run(folder)
    assert all(review.accepted for review in run(folder, date(2026, 12, 24)))
    assert len(counted) == 25
    late = run(folder, date(2026, 12, 25))
    assert len(counted) == 50
    assert {review.verdict for review in late} == {"hold"}
    assert not any(review.accepted for review in late)


def test_a_review_of_a_later_day_is_none_of_an_earlier(folder: Path, counted: list[str]) -> None:
    run(folder, date(2026, 12, 25))
    assert {review.verdict for review in run(folder, DAY)} == {"ready"}
    assert len(counted) == 50


LAW = """\
formcheck: 1
name: Hand balm
product: {use: leave-on, form: balm, area: hands, markets: [EU, UK, US, CA]}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., 4-Methylbenzylidene Camphor: 2, Vanillin: 0.2, Menthol: 0.1, Retinol: 0.1}
"""


def test_a_verdict_stands_until_law_changes_and_no_longer(reviewer: Reviewer) -> None:
    """On the last day of the time that holds_until() gives, the review is the same as on the first.

    The dates are in shared/legal: 4-methylbenzylidene camphor is banned by Regulation (EU) 2024/996, vanillin and menthol
    are allergens to be named by (EU) 2023/1545.
    """

    def on(day: date) -> Reviewer:
        return Reviewer(plugins=reviewer.plugins, reference=reviewer.reference, today=day)

    day, spans, changes = date(2024, 1, 1), 0, set()
    before: Review | None = None
    while day < date.max:
        review, sheet = on(day).review_sheet("x.formula.yaml", LAW.encode())
        assert sheet is not None
        until = Grounds(on(day)).holds_until(sheet.formula)
        assert until > day
        assert on(until - timedelta(1)).review("x.formula.yaml", LAW.encode()) == review
        if before is not None and before.findings != review.findings:
            changes.add(day)
        day, spans, before = until, spans + 1, review
    assert spans > 10
    assert len(changes) >= 2, "no date of law changes this formula: the test shows nothing"


def test_only_three_places_read_the_calendar() -> None:
    """Deviations, limits and bans, and allergens: a fourth would have to be thought of in holds_until()."""
    home = Path(__file__).parents[2]
    found = {
        str(path.relative_to(home))
        for room in ("formcheck/bench", "formcheck/formula", "formcheck/reference", "formcheck/review", "rules")
        for path in (home / room).rglob("*.py")
        if "sheet.today" in (text := path.read_text("utf-8")) or "self.today" in text or "date.today" in text
    }
    assert found == {
        "formcheck/bench/law.py",
        "formcheck/bench/allergens.py",
        "formcheck/bench/worksheet.py",
        "formcheck/review/run.py",
        "formcheck/review/many.py",
    }


PACK = """\
from formcheck.plugins import implements
from formcheck.review.rule import declare

rule = declare(finds="anything", harm="untidy", why="w", remedy="r", flawed="", mended="")
rule.id, rule.family = "anything", "packs"
rule.check = lambda sheet: [rule.finding(sheet.formula, "WORD")]

@implements
def formcheck_rules():
    return [rule]
"""


def test_a_pack_counts_and_with_it_every_day(folder: Path, counted: list[str], tmp_path: Path) -> None:
    pack = tmp_path / "pack.py"
    pack.write_text(PACK)
    run(folder)
    for word, day, done in (
        ("WORD", DAY, 50),
        ("WORD", DAY, 50),
        ("OTHER", DAY, 75),
        ("OTHER", date(2026, 11, 26), 100),
    ):
        pack.write_text(PACK.replace("WORD", word))
        found = run(folder, day, packs=(str(pack),))
        assert len(counted) == done
        assert {f.message for review in found for f in review.findings if f.rule == "anything"} == {word}


def test_reviews_that_are_not_whole_are_not_kept(folder: Path, counted: list[str], tmp_path: Path) -> None:
    (folder / "balm-03.formula.yaml").write_text("formcheck: 1\nname: [\n")
    pack = tmp_path / "pack.py"
    pack.write_text(PACK.replace('"WORD")]', '"WORD" if "# 4" not in sheet.formula.document.text else 1 / 0)]'))
    first = run(folder, packs=(str(pack),))
    counted.clear()
    assert run(folder, packs=(str(pack),)) == first
    assert counted == ["balm-03.formula.yaml", "balm-04.formula.yaml"]
    assert first[4].faults


def base(tmp_path: Path) -> Path:
    return tmp_path / "cache" / FILE


def damaged(file: Path, how: str) -> None:
    if how == "no database":
        file.write_bytes(b"formcheck" * 2000)
    elif how == "cut short":
        file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    elif how == "other bytes":
        data = bytearray(file.read_bytes())
        data[4096:] = bytes(255 - byte for byte in data[4096:])
        file.write_bytes(data)
    elif how == "a folder":
        file.unlink()
        file.mkdir()
    elif how == "another verdict":
        with sqlite3.connect(file) as connection:
            connection.execute("""update kept set review = replace(review, '"ready"', '"hold"')""")
        connection.close()
    elif how == "no review":
        with sqlite3.connect(file) as connection:
            connection.execute("update kept set review = '[]', seal = 0")
        connection.close()


@pytest.mark.parametrize("how", ["no database", "cut short", "other bytes", "a folder", "another verdict", "no review"])
def test_what_is_damaged_is_made_anew(folder: Path, counted: list[str], tmp_path: Path, how: str) -> None:
    first = run(folder)
    damaged(base(tmp_path), how)
    assert run(folder) == first
    assert len(counted) == 50
    if how != "a folder":
        assert run(folder) == first
        assert run(folder) == first
        assert len(counted) <= 75  # a file found damaged half-way is made anew by the next run


def test_a_folder_that_others_can_write_to_is_not_trusted(folder: Path, counted: list[str], tmp_path: Path) -> None:
    if sys.platform == "win32":
        pytest.skip("Windows keeps other people's hands off by other means")
    cache = tmp_path / "cache"
    cache.mkdir()
    cache.chmod(0o777)
    run(folder)
    run(folder)
    assert len(counted) == 50
    assert not base(tmp_path).exists()


def test_what_nobody_asks_for_is_thrown_away(folder: Path, counted: list[str], tmp_path: Path) -> None:
    run(folder)
    (folder / "balm-00.formula.yaml").unlink()
    for days in range(0, UNUSED_DAYS + 11, 10):  # the rest is asked for again and again
        run(folder, DAY + timedelta(days))
    connection = sqlite3.connect(base(tmp_path))
    rows = [used for (used,) in connection.execute("select used from kept")]
    connection.close()
    assert rows
    assert min(rows) >= DAY.toordinal() + 10


def test_many_runs_at_once(folder: Path, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "formcheck", "review", ".", "--format", "json-lines"]
    Reviewer()  # so that the reference is compiled
    cache = tmp_path / "cache"
    cache.mkdir(mode=0o700)
    for file in Path(cache_folder()).glob("*.json"):
        shutil.copy(file, cache)
    environment = {**os.environ, "FORMCHECK_CACHE": str(cache)}
    for _ in range(2):  # the first time all want to write, the second time all want to read
        runs = [subprocess.Popen(command, cwd=folder, env=environment, stdout=-1, stderr=-1) for _ in range(4)]
        outputs = {run.communicate(timeout=120) for run in runs}
        assert len(outputs) == 1
        assert {run.returncode for run in runs} == {0}
        assert all(err == b"" for _, err in outputs)


def test_where_nothing_can_be_kept_the_review_is_done_all_the_same(
    folder: Path, counted: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr("formcheck.review.kept.cache_folder", lambda: str(tmp_path / "file" / "cache"))
    assert run(folder) == run(folder)
    assert len(counted) == 50


@pytest.fixture
def _held(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    (tmp_path / "cache").mkdir(mode=0o700)
    connection = sqlite3.connect(base(tmp_path), isolation_level=None)
    connection.execute("begin exclusive")
    yield connection
    connection.close()


@pytest.mark.usefixtures("_held")
def test_a_file_that_another_program_holds_is_left_to_it(
    folder: Path, counted: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("formcheck.review.kept._PATIENCE_S", 0.05)
    assert len(run(folder)) == 25
    assert base(tmp_path).exists()


def test_the_key_is_of_bytes_and_of_how_they_are_read(tmp_path: Path) -> None:
    grounds = Grounds(Reviewer(today=DAY))
    yaml, json = str(tmp_path / "a.formula.yaml"), str(tmp_path / "a.formula.json")
    keys = {grounds.key(path, data) for path in (yaml, json) for data in (b"{}", b"{} ")}
    assert len(keys) == 4
    assert grounds.key(yaml, b"{}") == grounds.key(str(tmp_path / "b.formula.yaml"), b"{}")


def test_kept_gives_what_it_was_given(tmp_path: Path) -> None:
    reviewer = Reviewer(today=DAY)
    text = textwrap.dedent(CREAM).replace("Hand balm", '"\\u202E\\ud83e\\udd6c"')
    review = reviewer.review("x.formula.yaml", text.encode())
    with Kept(DAY, str(tmp_path)) as kept:
        kept.put(b"key", date.max, review)
    with Kept(DAY, str(tmp_path)) as kept:
        there = review._replace(file="y.formula.yaml")
        assert kept.get([(b"key", "y.formula.yaml"), (b"other", "z.formula.yaml")]) == {"y.formula.yaml": there}
        assert kept.get([]) == {}
