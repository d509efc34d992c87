"""Files and folders that misbehave: links in circles, files nobody may read, files that are gone, disks that are full.

Every one is a clear line and exit status 2; the other files are reviewed, and no report is ever left half written.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from formcheck.bench.worksheet import Worksheet
from formcheck.commands.main import main
from formcheck.review.run import Reviewed, Reviewer

SOUND = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
batch: {size: 100 g, balance: 0.1 g}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5}
"""
FLAWED = SOUND.replace("form: bath", "form: serrum")
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
posix = pytest.mark.skipif(os.name == "nt", reason="POSIX files")
linux = pytest.mark.skipif(sys.platform != "linux", reason="a device that is always full")


def run(*arguments: str, folder: Path, **more: Any) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "formcheck", *arguments]
    more = {"stdin": subprocess.DEVNULL, "capture_output": True, **more}
    result = subprocess.run(command, cwd=folder, timeout=120, encoding="utf-8", **more)
    assert "Traceback" not in (result.stdout or "") + (result.stderr or "")
    return result


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "sound.formula.yaml").write_text(SOUND)
    (tmp_path / "other.formula.yaml").write_text(FLAWED)
    return tmp_path


def reviews(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, dict[str, Any]]]:
    """(exit status, reviews by the file's own name), from this process."""
    status = main(["review", *arguments, "--format", "json"])
    found = json.loads(capsys.readouterr().out)["reviews"]
    return status, {Path(review["file"]).name: review for review in found}


def told(review: dict[str, Any]) -> str:
    (error,) = review["errors"]
    return str(error["message"])


# --- links


@posix
def test_links_in_circles_lead_nowhere_and_are_said(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "a.formula.yaml").symlink_to("b.formula.yaml")
    (folder / "b.formula.yaml").symlink_to("a.formula.yaml")
    (folder / "self.formula.yaml").symlink_to("self.formula.yaml")
    (folder / "gone.formula.yaml").symlink_to("nowhere")
    (folder / "round").symlink_to(folder, target_is_directory=True)
    (folder / "deeper").mkdir()
    (folder / "deeper" / "up").symlink_to("..", target_is_directory=True)
    status, found = reviews(capsys, str(folder))
    assert status == 2
    assert len(found) == 6
    assert found["sound.formula.yaml"]["verdict"] == "ready"
    for name in ("a.formula.yaml", "b.formula.yaml", "self.formula.yaml"):
        assert "symbolic links" in told(found[name])
    assert "no such file" in told(found["gone.formula.yaml"])


@posix
@pytest.mark.parametrize("name", ["materials.yaml", "formcheck.toml", "pyproject.toml", "x.house.yaml"])
@pytest.mark.parametrize("kind", ["link to itself", "pipe", "folder", "endless"])
def test_what_stands_beside_a_formula_may_be_anything(folder: Path, name: str, kind: str) -> None:
    """A pipe would keep a reader waiting for ever, and a device never ends."""
    path = folder / name
    if name == "x.house.yaml":
        (folder / "formcheck.toml").write_text('house-rules = ["x.house.yaml"]\n')
    if kind == "link to itself":
        path.symlink_to(name)
    elif kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    else:
        path.symlink_to("/dev/zero")
    with _alarm(10):
        status = main(["review", str(folder / "sound.formula.yaml")])
    assert status == (2 if name == "x.house.yaml" else 0)


class _alarm:
    """Breaks a test off that hangs."""

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds

    def __enter__(self) -> None:
        signal.signal(signal.SIGALRM, self._late)
        signal.alarm(self.seconds)

    def __exit__(self, *_: object) -> None:
        signal.alarm(0)

    def _late(self, *_: object) -> None:
        raise AssertionError(f"still busy after {self.seconds} s")


@posix
def test_pipes_and_sockets_in_a_folder_are_passed_over(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(folder / "pipe.formula.yaml")
    (folder / "zero.formula.yaml").symlink_to("/dev/zero")
    with _alarm(10):
        status, found = reviews(capsys, str(folder))
    assert set(found) == {"sound.formula.yaml", "other.formula.yaml"}
    assert status in (0, 1)


@linux
def test_a_device_that_never_ends_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with _alarm(10):
        status, found = reviews(capsys, "/dev/zero", str(folder / "sound.formula.yaml"))
    assert status == 2
    assert "MB" in told(found["zero"])


# --- what nobody may read


@pytest.fixture
def shut(tmp_path: Path) -> Iterator[Path]:
    """A folder with files and a folder that nobody may read."""
    base = tmp_path
    (base / "in" / "closed").mkdir(parents=True)
    for path, text in (("in/a", SOUND), ("in/b", FLAWED), ("in/closed/c", SOUND)):
        (base / f"{path}.formula.yaml").write_text(text)
    (base / "in" / "a.formula.yaml").chmod(0)
    (base / "in" / "closed").chmod(0)
    yield base
    (base / "in" / "closed").chmod(0o700)


def bounded(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Root reads everything; here it may not. CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH, capabilities(7)."""

    def without() -> None:
        import ctypes

        drop_from_the_bounding_set = 24
        for capability in (1, 2):
            if ctypes.CDLL(None).prctl(drop_from_the_bounding_set, capability, 0, 0, 0):
                os._exit(77)

    if ROOT and sys.platform != "linux":
        pytest.skip("root reads everything")
    return run(*arguments, folder=folder, **({"preexec_fn": without} if ROOT else {}))


@posix
def test_unreadable_files_and_folders_are_named_and_the_rest_reviewed(shut: Path) -> None:
    result = bounded("review", "in", "--format", "json", folder=shut)
    found = {review["file"]: review for review in json.loads(result.stdout)["reviews"]}
    assert result.returncode == 2
    assert "cannot be opened: permission denied" in told(found["in/a.formula.yaml"])
    assert "cannot be listed: permission denied" in told(found["in/closed"])
    assert found["in/b.formula.yaml"]["errors"] == []


@posix
@pytest.mark.parametrize("name", ["materials.yaml", "formcheck.toml", "pyproject.toml"])
def test_settings_and_materials_that_cannot_be_read_are_said(shut: Path, name: str) -> None:
    """A formula must not be judged as if they were not there."""
    (shut / "in" / name).write_text("[tool.formcheck]\n")
    (shut / "in" / name).chmod(0)
    result = bounded("review", "in/b.formula.yaml", folder=shut)
    assert result.returncode == 2
    assert name in result.stdout + result.stderr
    assert "permission denied" in result.stdout + result.stderr


@posix
def test_a_folder_nobody_may_write_to_gets_no_report(shut: Path) -> None:
    (shut / "in").chmod(0o555)
    for report in (["--format", "json", "--output", "in/r.json"], ["--format", "html", "--output", "in/pages"]):
        result = bounded("review", "in/b.formula.yaml", *report, folder=shut)
        assert result.returncode == 2
        assert len(result.stderr.splitlines()) == 1
        assert "permission denied" in result.stderr
    (shut / "in").chmod(0o755)


# --- what goes away


def test_files_that_vanish_during_the_run(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before the first file is reviewed all later ones are gone, with a folder that may still have to be searched."""
    (folder / "z" / "y").mkdir(parents=True)
    (folder / "z" / "y" / "last.formula.yaml").write_text(SOUND)
    review = Reviewer.review_sheet

    def then(self: Reviewer, path: str, data: bytes | None = None) -> Reviewed:
        (folder / "sound.formula.yaml").unlink(missing_ok=True)
        shutil.rmtree(folder / "z", ignore_errors=True)
        return review(self, path, data)

    monkeypatch.setattr(Reviewer, "review_sheet", then)
    status, found = reviews(capsys, str(folder))
    assert status == 2
    assert found["other.formula.yaml"]["errors"] == []
    assert "no such file" in told(found["sound.formula.yaml"])
    assert "no such file" in told(found.get("z") or found["last.formula.yaml"])


def test_folders_that_change_during_the_run(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file becomes a folder, a folder a file, and new files appear; each is met as what it then is, and nothing breaks."""
    (folder / "sub").mkdir()
    review = Reviewer.review_sheet

    def then(self: Reviewer, path: str, data: bytes | None = None) -> Reviewed:
        if (folder / "sub").is_dir():
            (folder / "sub").rmdir()
            (folder / "sub").write_text("no folder any more")
            (folder / "sound.formula.yaml").unlink()
            (folder / "sound.formula.yaml").mkdir()
            (folder / "a-new.formula.yaml").write_text(SOUND)
        return review(self, path, data)

    monkeypatch.setattr(Reviewer, "review_sheet", then)
    status, found = reviews(capsys, str(folder))
    assert status == 2
    assert "is a directory" in told(found["sound.formula.yaml"])
    assert found["other.formula.yaml"]["errors"] == []


def test_a_rule_that_fails_is_named_for_that_file_and_the_others_go_on(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from formcheck_rules.totals import total_not_100

    check = total_not_100.check

    def broken(sheet: Worksheet) -> Any:
        if sheet.formula.document.path.endswith("other.formula.yaml"):
            raise RecursionError("too deep")
        return check(sheet)

    monkeypatch.setattr(total_not_100, "check", broken)
    (folder / "third.formula.yaml").write_text(SOUND.replace("q.s.", "95"))
    status, found = reviews(capsys, str(folder))
    assert status == 2
    (fault,) = found["other.formula.yaml"]["faults"]
    assert "total-not-100" in json.dumps(fault)
    assert "RecursionError: too deep" in json.dumps(fault)
    assert not found["sound.formula.yaml"].get("faults")
    assert [finding["rule"] for finding in found["third.formula.yaml"]["findings"]][:1] == ["total-not-100"]


# --- where nothing more can be written

WRITING = {
    "review": ["review", ".", "--format", "json", "--output", "out"],
    "review as pages": ["review", ".", "--format", "html", "--output", "pages"],
    "batch": ["batch", "sound.formula.yaml", "--output", "out"],
    "batch as a page": ["batch", "sound.formula.yaml", "--format", "html", "--output", "out"],
    "label": ["label", "sound.formula.yaml", "--output", "out"],
    "convert": ["convert", "sound.formula.yaml", "out.xlsx", "--replace"],
    "convert to text": ["convert", "sound.formula.yaml", "out.csv", "--replace"],
    "correct": ["correct", "other.formula.yaml", "--save"],
}


def no_more_than(size: int) -> Callable[[], None]:
    """What a process does before it starts, so that no file of it grows beyond size: to it the disk is full."""

    def bound() -> None:
        import resource

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return bound


@linux
@pytest.mark.parametrize("name", WRITING)
def test_a_full_disk_leaves_old_files_as_they_were_and_no_half_new_ones(folder: Path, name: str) -> None:
    for old in ("out", "out.xlsx", "out.csv"):
        (folder / old).write_text("old")
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    result = run(*WRITING[name], folder=folder, preexec_fn=no_more_than(64))
    assert result.returncode == 2
    assert len(result.stderr.splitlines()) == 1, result.stderr
    assert re.search("cannot (be written|write): file too large", result.stderr)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


PRINTING = (
    ["review", "."], ["review", ".", "--format", "html"], ["review", ".", "--format", "sarif"], ["batch", "sound.formula.yaml"],
    ["label", "sound.formula.yaml"], ["ph", "sound.formula.yaml"], ["compare", "sound.formula.yaml", "other.formula.yaml"],
    ["correct", "other.formula.yaml"], ["convert", "sound.formula.yaml"], ["changed", "other.formula.yaml"],
    ["explain", "total-not-100"], ["rules"], ["schema"], ["settings", "."], ["new", "X", "--kind", "serum"], ["completion", "bash"], ["manual"],
    ["review", "--help"], ["--version"], [],
)  # fmt: skip


@linux
@pytest.mark.parametrize("arguments", PRINTING, ids=" ".join)
def test_standard_output_on_a_full_disk_is_one_clear_line(folder: Path, arguments: list[str]) -> None:
    with open("/dev/full", "w") as full:
        result = run(*arguments, folder=folder, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert result.returncode == 2
    assert len(result.stderr.splitlines()) == 1, result.stderr
    assert "no space left" in result.stderr


@posix
@pytest.mark.parametrize("arguments", PRINTING[:6], ids=" ".join)
def test_a_reader_that_went_away_is_no_traceback(folder: Path, arguments: list[str]) -> None:
    """Silent, as tools are in a pipe; the status tells that not all was said."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        result = run(*arguments, folder=folder, capture_output=False, stdout=writing, stderr=subprocess.PIPE)
    finally:
        os.close(writing)
    assert (result.returncode, result.stderr) == (2, "")
