"""Several reports of one run: where each goes, what is refused, and that nothing is kept that need not be."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

from formcheck.commands import review as command
from formcheck.commands.outputs import Output, Wanted, deliver, wanted
from formcheck.commands.refusal import Refused
from formcheck.plugins import gather, implements
from formcheck.reading.document import START
from formcheck.reports.report import BUILT_IN, Context, Whole, make
from formcheck.review.model import Review
from formcheck.review.rule import Finding
from formcheck.review.run import Reviewed, Reviewer

HOME = Path(__file__).resolve().parents[2]
SOUND = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5}
"""
FORMATS = sorted(BUILT_IN)


def run(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", "review", *arguments],
        capture_output=True,
        cwd=folder,
        timeout=120,
        encoding="utf-8",
    )
    assert "Traceback" not in result.stdout + result.stderr
    return result


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "sound.formula.yaml").write_text(SOUND)
    (tmp_path / "flawed.formula.yaml").write_text(SOUND.replace("q.s.", "95"))
    return tmp_path


def test_text_and_files_in_one_run(folder: Path) -> None:
    result = run(".", "--format", "text", "--format", "sarif=r.sarif", "--format", "junit=r.xml", folder=folder)
    assert result.returncode == 1
    assert "2 formulas: 1 ready, 1 on hold" in result.stdout
    assert json.loads((folder / "r.sarif").read_text())["version"] == "2.1.0"
    assert ElementTree.parse(folder / "r.xml").getroot().tag == "testsuites"
    assert not list(folder.glob("*.part"))


@pytest.mark.parametrize("name", FORMATS)
def test_a_format_says_the_same_in_a_file_and_on_standard_output(folder: Path, name: str) -> None:
    printed = run(".", "--format", name, folder=folder)
    with_output = run(".", "--format", name, "--output", "one.out", folder=folder)
    with_format = run(".", "--format", f"{name}=two.out", folder=folder)
    assert {printed.returncode, with_output.returncode, with_format.returncode} == {1}
    assert with_output.stdout == with_format.stdout == ""
    assert (folder / "one.out").read_text("utf-8") == (folder / "two.out").read_text("utf-8") == printed.stdout != ""


def test_files_alone_leave_standard_output_empty(folder: Path) -> None:
    assert run(".", "--format", "json=a.json", "--format", "gitlab=b.json", folder=folder).stdout == ""


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--format", "srif"], "«srif» is no format; did you mean «sarif»?"),
        (["--format", "git-lab=x"], "did you mean «gitlab»?"),
        (
            ["--format", "parchment"],
            "there are text, json, json-lines, sarif, junit, github, gitlab, markdown and html",
        ),
        (["--format", "text", "--format", "json"], "«text» and «json» would all go to standard output"),
        (["--format", "text", "--format", "json=-"], "would all go to standard output"),
        (["--format", "json=a", "--format", "sarif=./a"], "two reports would go to"),
        (["--format", "json=a", "--format", "text", "--output", "b"], "--output goes with one --format"),
        (["--format", "json=a", "--output", "b"], "--output goes with one --format"),
        (["--format", "json="], "names no file"),
        (["--output", "sound.formula.yaml"], "must not overwrite"),
        (["--output", "new.formula.json"], "must not overwrite"),
        (["--output", "sub"], "is a folder"),
        (["--format", "json=no/such/folder/x", "--format", "text"], "no/such/folder/x: cannot be written"),
    ],
)
def test_what_cannot_be_had_is_refused_before_anything_is_written(
    folder: Path, arguments: list[str], words: str
) -> None:
    (folder / "sub").mkdir()
    before = sorted(folder.rglob("*"))
    result = run("sound.formula.yaml", *arguments, folder=folder)
    assert result.returncode == 2
    assert words in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert result.stdout == ""
    assert sorted(folder.rglob("*")) == before
    assert (folder / "sound.formula.yaml").read_text() == SOUND


def test_a_report_does_not_overwrite_a_reviewed_file_of_another_name(folder: Path) -> None:
    (folder / "draft.yaml").write_text(SOUND)
    assert run("draft.yaml", "--output", "./draft.yaml", folder=folder).returncode == 2
    assert (folder / "draft.yaml").read_text() == SOUND


def test_an_old_report_stays_whole_until_the_new_one_is(folder: Path, context: Context) -> None:
    target = folder / "r.json"
    target.write_text("old")

    def reviews() -> Iterator[Reviewed]:
        yield Reviewed(Review("a", "a", "ready"))
        assert target.read_text() == "old"
        assert (folder / "r.json.part").exists()
        raise KeyboardInterrupt

    assert deliver(reviews(), [Output(make("json", context, {}), str(target))]) is None
    assert target.read_text() == "old"
    assert [path.name for path in folder.glob("r.json*")] == ["r.json"]


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
def test_a_full_disk_is_one_clear_line_and_the_other_reports_are_written(folder: Path) -> None:
    result = run(".", "--format", "json=/dev/full", "--format", "junit=r.xml", folder=folder)
    assert result.returncode == 2
    assert "/dev/full: cannot be written: no space left on device" in result.stderr
    assert ElementTree.parse(folder / "r.xml").getroot().tag == "testsuites"
    assert os.path.exists("/dev/full")


def test_what_is_no_regular_file_is_written_to_not_replaced(folder: Path) -> None:
    assert run(".", "--format", f"json={os.devnull}", folder=folder).returncode == 1
    assert not os.path.isfile(os.devnull)


@pytest.fixture
def context(reviewer: Reviewer) -> Context:
    return Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite)


@pytest.mark.parametrize("name", [name for name in FORMATS if name not in ("markdown", "html")])
def test_reviews_are_written_as_they_come(capsys: pytest.CaptureFixture[str], context: Context, name: str) -> None:
    """Nothing is kept: what was said of one formula is out before the next is reviewed."""

    def reviews() -> Iterator[Reviewed]:
        for number in range(3):
            yield Reviewed(Review(f"{number}.formula.yaml", "x", "hold", (finding(number),)))
            assert f"finding number {number}" in capsys.readouterr().out

    assert deliver(reviews(), [Output(make(name, context, {}))])


def finding(number: int) -> Finding:
    return Finding("total-not-100", "major", START, "/phases", f"finding number {number}", "why", "remedy", "")


def test_every_formula_is_reviewed_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[str] = []
    review = Reviewer.review_sheet

    def counted(self: Reviewer, path: str, data: bytes | None = None) -> Reviewed:
        seen.append(path)
        return review(self, path, data)

    monkeypatch.setattr(Reviewer, "review_sheet", counted)
    monkeypatch.chdir(folder)
    options = SimpleNamespace(
        paths=["sound.formula.yaml"],
        format=["json=a", "sarif=b", "markdown=c"],
        output=None,
        threshold="major",
        processes=None,
        afresh=False,
        pack=[],
    )
    assert command.run(options) == 0  # type: ignore[arg-type]
    assert seen == ["sound.formula.yaml"]


LOADED = """\
import sys
from formcheck.commands.main import main
main({argv!r})
print("\\n".join(sorted(sys.modules)), file=sys.stderr)
"""
REPORTS = {f"formcheck.reports.{module}" for module, _ in BUILT_IN.values()}


@pytest.mark.parametrize(
    ("arguments", "loaded"),
    [
        ([], {"formcheck.reports.terminal"}),
        (["--format", "junit"], {"formcheck.reports.junit"}),
        (
            ["--format", "text", "--format", "json=/dev/null"],
            {"formcheck.reports.terminal", "formcheck.reports.json_report"},
        ),
    ],
)
def test_only_the_reports_asked_for_are_imported(folder: Path, arguments: list[str], loaded: set[str]) -> None:
    code = LOADED.format(argv=["review", "sound.formula.yaml", *arguments])
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=folder, timeout=60)
    modules = set(result.stderr.split())
    assert modules & REPORTS == loaded
    if not arguments:
        assert "formcheck.reports.identity" not in modules


class Brought:
    """A plug-in with one report that works and two that do not."""

    @implements
    def formcheck_reports(self):  # type: ignore[no-untyped-def]
        return {"names": names_report, "broken": broken_report, "silent": lambda reviews: None}


def names_report(reviews: Iterable[Review]) -> str:
    return "".join(f"{review.name}: {review.verdict}\n" for review in reviews)


def broken_report(reviews: Iterable[Review]) -> str:
    raise ValueError("no ink")


@pytest.fixture
def brought(monkeypatch: pytest.MonkeyPatch, folder: Path) -> Path:
    plugins = gather([("garden", Brought())])
    monkeypatch.setattr(command, "Reviewer", lambda threshold, packs: Reviewer(threshold, plugins))
    monkeypatch.chdir(folder)
    return folder


def review(*formats: str) -> int:
    options = SimpleNamespace(
        paths=["sound.formula.yaml"],
        format=list(formats),
        output=None,
        threshold="major",
        processes=None,
        afresh=False,
        pack=[],
    )
    return command.run(options)  # type: ignore[arg-type]


def test_a_plug_in_report_works_beside_ours(brought: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert review("names", "json=a.json") == 0
    assert capsys.readouterr().out == "Garden bath oil: ready\n"
    assert json.loads((brought / "a.json").read_text())["format"] == 1


@pytest.mark.parametrize(
    ("name", "words"), [("broken", "broken: failed: ValueError: no ink"), ("silent", "silent: gave NoneType")]
)
def test_a_failing_plug_in_report_is_named_and_the_others_are_written(
    brought: Path, capsys: pytest.CaptureFixture[str], name: str, words: str
) -> None:
    assert review(f"{name}=b.txt", "names=c.txt") == 2
    assert words in capsys.readouterr().err
    assert not list(brought.glob("b.txt*"))
    assert (brought / "c.txt").read_text() == "Garden bath oil: ready\n"


def test_what_is_asked_for() -> None:
    known = ["text", "json", "a=b"]
    assert wanted([], None, known, []) == [Wanted("text", None)]
    assert wanted([], "x", known, []) == [Wanted("text", "x")]
    assert wanted(["json=a=b", "text=-"], None, known, []) == [Wanted("json", "a=b"), Wanted("text", None)]
    with pytest.raises(Refused):
        wanted(["text", "text=-"], None, known, [])


def test_whole_hands_over_every_review(context: Context) -> None:
    report = Whole(context, "names", names_report)
    assert report.add(Review("a", "A", "ready")) == report.add(Review("b", "B", "hold")) == ""
    assert report.end() == "A: ready\nB: hold\n"
