"""What changed files concern: formulas themselves, and those that materials and settings serve; told in few lines."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
import yaml

from formcheck.commands.main import main
from formcheck.reading.files import ENDINGS
from formcheck.review.run import MATERIALS_FILES, Reviewer
from formcheck.review.served import FORMULA, MATERIALS, NAMED, OTHER, kind_of

HOME = Path(__file__).resolve().parents[2]
SOUND = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5}
"""
SHORT = SOUND.replace("q.s.", "95")
BLEND = "materials:\n  Plum blend: {contains: {Tocopherol: 90, Aqua: 10}}\n"
FORMULA_IN_RULE = "".join(f"      {line}\n" for line in SOUND.splitlines())
HOUSE = f"""\
house: 1
rules:
  too-little-oil:
    finds: a bath oil of this house that is not nearly all sunflower oil
    harm: fails
    why: It is sold as one.
    remedy: Fill up with sunflower oil.
    where: {{form: bath}}
    expect:
      sum: {{material: Helianthus Annuus Seed Oil, percent: from 99.9 %}}
    flawed: |
{FORMULA_IN_RULE}    mended: |
{FORMULA_IN_RULE.replace("0.5", "0.1")}"""

Run = Callable[..., SimpleNamespace]


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A git repository with one formula at its root and two in folders below, all followed."""
    monkeypatch.chdir(tmp_path)
    for name in ("root", "serums/a", "serums/deep/b"):
        path = tmp_path / f"{name}.formula.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(SOUND)
    git("init", "--quiet")
    git("add", ".")
    return tmp_path


def git(*arguments: str) -> None:
    subprocess.run(["git", *arguments], check=True, capture_output=True)


@pytest.fixture
def run(repository: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*arguments: str) -> SimpleNamespace:
        capsys.readouterr()
        status = main(["changed", *arguments])
        out, err = capsys.readouterr()
        return SimpleNamespace(status=status, out=out, err=err, lines=out.splitlines())

    return call


def reviewed(result: SimpleNamespace) -> int:
    return int(re.search(r"formulas reviewed: (\d+)", result.out).group(1))  # type: ignore[union-attr]


# --- what is told


def test_a_sound_formula_takes_one_line(run: Run) -> None:
    result = run("root.formula.yaml")
    assert (result.status, result.out, result.err) == (0, "formulas reviewed: 1\n", "")


def test_each_finding_stands_on_one_line_with_its_place_and_rule(run: Run, repository: Path) -> None:
    """`file:line:column: ` is the form of the GNU coding standards, section "Formatting Error Messages"."""
    (repository / "root.formula.yaml").write_text(SHORT)
    result = run("root.formula.yaml", "serums/a.formula.yaml")
    assert result.status == 1
    assert result.lines[0] == "HOLD  Garden bath oil: 1 major"
    place, grade, rule, message = re.fullmatch(r"(\S+): (\w+), ([\w-]+): (.+)", result.lines[1]).groups()  # type: ignore[union-attr]
    assert (grade, rule) == ("major", "total-not-100")
    file, line, column = place.split(":")
    assert (repository / file).read_text().splitlines()[int(line) - 1][int(column) - 1 :].startswith("phases")
    assert "95.5 %" in message
    assert result.lines[2] == "formulas reviewed: 2; on hold: 1"
    assert result.lines[-2] == "  formcheck review root.formula.yaml"


def test_minor_findings_are_counted_and_not_told(run: Run, repository: Path) -> None:
    minor = (HOME / "examples/flawed/parsley-serum.formula.yaml").read_text()
    (repository / "serums/a.formula.yaml").write_text(minor)
    lines = run("serums/a.formula.yaml").lines
    assert "minor" in lines[0]
    assert all(re.search(r": (critical|major), ", line) for line in lines if line.startswith("serums/"))
    strict = run("serums/a.formula.yaml", "--threshold", "minor").lines
    assert sum(": minor, " in line for line in strict) == int(re.search(r"(\d+) minor", lines[0]).group(1))  # type: ignore[union-attr]


def test_what_was_accepted_on_purpose_counts_and_does_not_hold(run: Run, repository: Path) -> None:
    deviation = "deviations:\n  - {rule: total-not-100, reason: a pilot of the oil alone}\n"
    (repository / "root.formula.yaml").write_text(SHORT + deviation)
    result = run("root.formula.yaml")
    assert (result.status, result.out) == (0, "formulas reviewed: 1; accepted on purpose: 1\n")


def test_names_and_texts_of_a_formula_are_shown_and_not_obeyed(run: Run, repository: Path) -> None:
    name = "evil\x1b[2J.formula.yaml"
    (repository / name).write_text(SHORT.replace("Garden", '"Garden\\e[31m\\nHOLD').replace("oil\n", 'oil"\n', 1))
    result = run(name)
    assert result.status == 1
    assert "\x1b" not in result.out
    assert len(result.lines) == 6


def test_many_findings_end_in_few_commands(run: Run, repository: Path) -> None:
    names = [f"f{number}.formula.yaml" for number in range(12)]
    for name in names:
        (repository / name).write_text(SHORT)
    result = run(*names)
    assert sum("formcheck review" in line for line in result.lines) == 5
    assert result.lines[-2] == "  and so for 7 more"


# --- what a file concerns


def test_files_of_other_kinds_are_passed_over(run: Run, repository: Path) -> None:
    (repository / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    (repository / "notes.toml").write_text("a = 1\n")
    result = run("README.md", "pyproject.toml", "notes.toml", "serums")
    assert (result.status, result.out) == (0, "formulas reviewed: 0\n")


def test_no_names_are_no_work(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    assert (run().status, run().out) == (0, "")
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(b"")))
    assert run("-").status == 0


@pytest.mark.parametrize("between", ["\n", "\0", "\r\n"], ids=["lines", "NUL", "Windows lines"])
def test_names_come_from_standard_input(run: Run, monkeypatch: pytest.MonkeyPatch, between: str) -> None:
    names = between.join(["root.formula.yaml", "serums/a.formula.yaml", ""]).encode()
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(names)))
    assert reviewed(run("-")) == 2


def test_more_names_than_are_read_are_refused(
    monkeypatch: pytest.MonkeyPatch, repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A name that is passed over in silence would be a formula that nobody reviewed."""
    monkeypatch.setattr("formcheck.commands.changed.MOST_NAMES_BYTES", 100)
    for count, status in ((100, 0), (101, 2)):
        names = b"x" * (count - 1) + b"\n"
        monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(names)))
        assert main(["changed", "-"]) == status
    out, err = capsys.readouterr()
    assert out.count("\n") <= 1
    assert err.startswith("formcheck: more than 0 MiB of names are piped in")


def test_a_removed_formula_is_counted(run: Run) -> None:
    result = run("gone.formula.yaml", "root.formula.yaml")
    assert (result.status, result.out) == (0, "formulas reviewed: 1; removed: 1\n")


@pytest.mark.parametrize(("folder", "count"), [(".", 3), ("serums", 2), ("serums/deep", 1)])
@pytest.mark.parametrize("name", MATERIALS_FILES)
def test_a_materials_file_serves_its_folder_and_those_below(
    run: Run, repository: Path, folder: str, count: int, name: str
) -> None:
    assert reviewed(run(f"{folder}/{name}")) == count, "also where it was removed"
    if name.endswith(("yaml", "yml")):
        (repository / folder / name).write_text(BLEND)
        assert reviewed(run(f"{folder}/{name}")) == count


def test_a_formula_is_reviewed_once(run: Run, repository: Path) -> None:
    (repository / "materials.yaml").write_text(BLEND)
    assert reviewed(run("materials.yaml", "serums/a.formula.yaml", "./serums/a.formula.yaml")) == 3


def test_a_materials_file_that_cannot_be_read_is_told_once(run: Run, repository: Path) -> None:
    (repository / "materials.yaml").write_text("materials:\n  Plum blend: {contain: 5}\n")
    result = run("materials.yaml", "root.formula.yaml")
    assert result.status == 2
    assert [line for line in result.lines if "contain" in line] == [result.lines[0]]
    assert result.lines[0].startswith("materials.yaml:2:16: ")
    assert result.lines[1:] == ["formulas reviewed: 3; not reviewed: 3"]


def test_a_materials_file_that_serves_nothing_yet_is_read_all_the_same(run: Run, repository: Path) -> None:
    (repository / "oils").mkdir()
    (repository / "oils/materials.yaml").write_text("materials: [\n")
    result = run("oils/materials.yaml")
    assert result.status == 2
    assert result.lines[0].startswith("oils/materials.yaml:")


def test_a_formula_that_cannot_be_read(run: Run, repository: Path) -> None:
    (repository / "root.formula.yaml").write_text("formcheck: 1\nname: [\n")
    result = run("root.formula.yaml", "serums/a.formula.yaml")
    assert result.status == 2
    assert result.lines[0].startswith("root.formula.yaml:")
    assert result.lines[1] == "formulas reviewed: 2; not reviewed: 1"


def test_a_draft_that_git_does_not_follow_holds_nothing_up(run: Run, repository: Path) -> None:
    (repository / "serums/draft.formula.yaml").write_text(SHORT)
    (repository / "materials.yaml").write_text(BLEND)
    assert (run("materials.yaml").status, reviewed(run("materials.yaml"))) == (0, 3)
    git("add", "serums/draft.formula.yaml")
    assert (run("materials.yaml").status, reviewed(run("materials.yaml"))) == (1, 4)


def test_another_repository_below_has_materials_of_its_own(run: Run, repository: Path) -> None:
    git("init", "--quiet", "serums/deep")
    assert reviewed(run("materials.yaml")) == 2


def test_a_configuration_serves_what_goes_by_it(run: Run, repository: Path) -> None:
    (repository / "formcheck.toml").write_text('threshold = "minor"\n')
    assert reviewed(run("formcheck.toml")) == 3
    (repository / "serums/formcheck.toml").write_text('threshold = "note"\n')
    assert reviewed(run("formcheck.toml")) == 1, "the nearest file holds alone"
    (repository / "serums/formcheck.toml").write_text('builds-on = "../formcheck.toml"\n')
    assert reviewed(run("formcheck.toml")) == 3
    (repository / "serums/formcheck.toml").write_text('builds-on = "../base.toml"\n')
    (repository / "base.toml").write_text('threshold = "critical"\n')
    assert reviewed(run("base.toml")) == 2
    (repository / "formcheck.toml").unlink()
    assert reviewed(run("formcheck.toml")) == 3, "one that was removed served all below it"


def test_a_table_in_pyproject_serves_as_a_configuration_does(run: Run, repository: Path) -> None:
    (repository / "pyproject.toml").write_text('[tool.formcheck]\nthreshold = "minor"\n')
    assert reviewed(run("pyproject.toml")) == 3


def test_house_rules_serve_the_formulas_whose_configuration_names_them(run: Run, repository: Path) -> None:
    (repository / "house").mkdir()
    (repository / "house/oils.house.yaml").write_text(HOUSE)
    assert run("house/oils.house.yaml").out == "formulas reviewed: 0\n"
    (repository / "serums/formcheck.toml").write_text('house-rules = ["../house/oils.house.yaml"]\n')
    result = run("house/oils.house.yaml")
    assert (result.status, reviewed(result)) == (1, 2)
    assert sum(": major, too-little-oil: " in line for line in result.lines) == 2
    (repository / "house/oils.house.yaml").unlink()
    assert (run("house/oils.house.yaml").status, reviewed(run("house/oils.house.yaml"))) == (2, 2)


def test_a_configuration_that_cannot_be_read_is_told_once(run: Run, repository: Path) -> None:
    (repository / "formcheck.toml").write_text('threshold = "minor"\nthreshhold = 1\n')
    result = run("formcheck.toml", "root.formula.yaml")
    assert result.status == 2
    assert result.lines[0].startswith("formcheck.toml:2:1: ")
    assert result.lines[1:] == ["formulas reviewed: 3; not reviewed: 3"]


def test_what_the_configuration_leaves_out_is_left_out(run: Run, repository: Path) -> None:
    (repository / "formcheck.toml").write_text('leave-out = ["serums/deep"]\n')
    (repository / "serums/deep/b.formula.yaml").write_text(SHORT)
    result = run("serums/deep/b.formula.yaml", "formcheck.toml")
    assert (result.status, result.out) == (0, "formulas reviewed: 2; left out by the configuration: 1\n")


def test_what_the_configuration_silences_is_counted(run: Run, repository: Path) -> None:
    silence = '[rules.total-not-100]\nsilent = true\nreason = "pilots only"\n'
    (repository / "formcheck.toml").write_text(silence)
    (repository / "root.formula.yaml").write_text(SHORT)
    result = run("root.formula.yaml")
    assert (result.status, result.out) == (0, "formulas reviewed: 1; silenced by the configuration: 1\n")


# --- the hook's own list of files


HOOK = yaml.safe_load((HOME / ".pre-commit-hooks.yaml").read_text())[0]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        *((f"serums/a{ending}", FORMULA) for ending in (*ENDINGS, ENDINGS[0].upper())),
        *((f"serums/{name}", MATERIALS) for name in MATERIALS_FILES),
        ("materials.yaml", MATERIALS),
        ("house/oils.house.yaml", NAMED),
        ("house/oils.house.json", NAMED),
        ("base.toml", NAMED),
        ("my-materials.yaml", OTHER),
        ("formula.yaml", OTHER),
        ("a.formula.yaml.bak", OTHER),
        ("a.house.txt", OTHER),
        ("README.md", OTHER),
    ],
)
def test_the_hook_is_given_the_files_that_concern_formulas(reviewer: Reviewer, name: str, kind: str) -> None:
    assert kind_of(name, reviewer) == kind
    assert bool(re.search(HOOK["files"], name)) == (kind != OTHER)


def test_a_commit_loads_no_more_than_a_review() -> None:
    """Cold start: no reports but the short one, no settings file where there is none, nothing heavy."""
    code = (
        "import sys; from formcheck.commands.main import main; "
        "main(['changed', 'examples/sound/potting-shed-salve.formula.yaml']); "
        "print(*sorted(sys.modules), file=sys.stderr)"
    )
    result = subprocess.run([sys.executable, "-c", code], cwd=HOME, capture_output=True, text=True, timeout=60)
    loaded = set(result.stderr.split())
    assert "formcheck.reports.brief" in loaded
    assert not loaded & {"jsonschema", "tomli", "importlib.metadata", "asyncio", "formcheck.review.settings_file",
                         "formcheck.reports.sarif", "formcheck.reports.markdown"}  # fmt: skip
