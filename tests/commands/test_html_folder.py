"""Pages on their way to a file or a folder: what is taken for which, what is refused, and what is never overwritten."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from formcheck.commands.folder_output import FolderOutput
from formcheck.commands.main import main
from formcheck.commands.outputs import deliver
from formcheck.reports.report import Context, make_folder
from formcheck.review.model import Review
from formcheck.review.run import Reviewed, Reviewer

SOUND = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "sound.formula.yaml").write_text(SOUND)
    (tmp_path / "flawed.formula.yaml").write_text(SOUND.replace("q.s.", "95"))
    (tmp_path / "broken.formula.yaml").write_text("name: [")
    return tmp_path


def run(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "formcheck", "review", *arguments]
    result = subprocess.run(command, capture_output=True, cwd=folder, timeout=120, encoding="utf-8")
    assert "Traceback" not in result.stdout + result.stderr
    return result


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


PAGES = {"index.html", "sound.html", "flawed.html", "broken.html"}


@pytest.mark.parametrize(
    "asked",
    [
        ("--format", "html", "--output", "pages"),
        (
            "--format",
            "html=a/b/pages",
        ),
    ],
)
def test_a_name_without_an_ending_is_a_folder(folder: Path, asked: tuple[str, ...]) -> None:
    result = run(".", *asked, "--format" if "=" in asked[-1] else "--threshold", "text" if "=" in asked[-1] else "major", folder=folder)  # fmt: skip
    assert result.returncode == 2  # one file cannot be read; the others are shown all the same
    target = folder / ("a/b/pages" if "=" in asked[-1] else "pages")
    assert names(target) == PAGES
    assert "Garden bath oil" in (target / "sound.html").read_text("utf-8")
    assert "not valid YAML" in (target / "broken.html").read_text("utf-8")


def test_a_folder_that_is_there_is_filled_whatever_its_name(folder: Path) -> None:
    (folder / "pages.d").mkdir()
    assert run("sound.formula.yaml", "--format", "html=pages.d", folder=folder).returncode == 0
    assert names(folder / "pages.d") == {"index.html", "sound.html"}


def test_a_name_with_an_ending_is_one_file(folder: Path) -> None:
    assert run("sound.formula.yaml", "flawed.formula.yaml", "--format", "html=all.html", folder=folder).returncode == 1
    text = (folder / "all.html").read_text("utf-8")
    assert text.count('class="formula"') == 2
    assert run("sound.formula.yaml", "--format", "html", folder=folder).stdout.startswith("<!doctype html>")


def test_a_second_run_replaces_its_own_pages(folder: Path) -> None:
    run("flawed.formula.yaml", "--format", "html", "--output", "pages", folder=folder)
    (folder / "flawed.formula.yaml").write_text(SOUND)
    assert run("flawed.formula.yaml", "--format", "html", "--output", "pages", folder=folder).returncode == 0
    assert "READY" in (folder / "pages" / "flawed.html").read_text("utf-8")
    assert names(folder / "pages") == {"index.html", "flawed.html"}


@pytest.mark.parametrize("name", ["index.html", "flawed.html"])
def test_what_somebody_else_made_is_left_alone(folder: Path, name: str) -> None:
    pages = folder / "pages"
    pages.mkdir()
    (pages / name).write_text("<!doctype html><title>Our shop</title>")
    result = run("flawed.formula.yaml", "--format", "html", "--output", "pages", folder=folder)
    assert result.returncode == 2
    assert (
        result.stderr == f"formcheck: pages/{name} was not made by formcheck; it is left alone, name another folder\n"
    )
    assert names(pages) == {name}
    assert "Our shop" in (pages / name).read_text()


@pytest.mark.parametrize(
    ("output", "words"),
    [
        ("taken", "taken is a file; name a folder for the pages"),
        ("taken/pages", "taken/pages: cannot be written: not a directory"),
        ("sound.formula.yaml", "must not overwrite"),
    ],
)
def test_where_no_folder_can_be_is_one_clear_line(folder: Path, output: str, words: str) -> None:
    (folder / "taken").write_text("x")
    result = run("sound.formula.yaml", "--format", "html", "--output", output, folder=folder)
    assert result.returncode == 2
    assert words in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_other_formats_still_want_a_file(folder: Path) -> None:
    (folder / "pages").mkdir()
    result = run("sound.formula.yaml", "--format", "json", "--output", "pages", folder=folder)
    assert result.returncode == 2
    assert "pages is a folder; name a file in it" in result.stderr


def test_pages_and_text_in_one_run(folder: Path) -> None:
    result = run("flawed.formula.yaml", "--format", "text", "--format", "html=pages", folder=folder)
    assert result.returncode == 1
    assert "HOLD" in result.stdout
    assert names(folder / "pages") == {"index.html", "flawed.html"}


def output(folder: Path, reviewer: Reviewer) -> FolderOutput:
    context = Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite)
    return FolderOutput(make_folder("html", context), str(folder))


def test_a_run_that_breaks_off_leaves_the_old_pages_whole(tmp_path: Path, reviewer: Reviewer) -> None:
    target = tmp_path / "pages"
    assert deliver([Reviewed(Review("a.formula.yaml", "old", "ready"))], [output(target, reviewer)])

    def reviews() -> Iterator[Reviewed]:
        yield Reviewed(Review("a.formula.yaml", "new", "ready"))
        assert (target / "a.html.part").exists()
        raise KeyboardInterrupt

    assert deliver(reviews(), [output(target, reviewer)]) is None
    assert names(target) == {"index.html", "a.html"}
    assert "old" in (target / "a.html").read_text("utf-8")


def test_a_run_that_breaks_off_leaves_no_empty_folder(tmp_path: Path, reviewer: Reviewer) -> None:
    def reviews() -> Iterator[Reviewed]:
        yield Reviewed(Review("a.formula.yaml", "new", "ready"))
        raise KeyboardInterrupt

    assert deliver(reviews(), [output(tmp_path / "pages", reviewer)]) is None
    assert not (tmp_path / "pages").exists()


def test_a_link_in_the_folder_is_not_followed_into_somebody_elses_file(tmp_path: Path, reviewer: Reviewer) -> None:
    target, precious = tmp_path / "pages", tmp_path / "precious.html"
    target.mkdir()
    precious.write_text("mine")
    (target / "a.html").symlink_to(precious)
    assert not deliver([Reviewed(Review("a.formula.yaml", "a", "ready"))], [output(target, reviewer)])
    assert precious.read_text() == "mine"


def test_a_person_is_told_where_the_pages_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(3):
        (tmp_path / f"oil-{number}.formula.yaml").write_text(SOUND)
    monkeypatch.chdir(tmp_path)
    main(["review", ".", "--format", "html", "--output", "pages"])
    assert capsys.readouterr() == ("", ""), "a build is told nothing"
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    main(["review", ".", "--format", "html=pages", "--format", "json=r.json"])
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"formcheck: 3 formulas done, 0 on hold; see {os.path.join('pages', 'index.html')} and r.json\n"
