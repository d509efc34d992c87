"""The settings shown, house rules tested, packs loaded: the commands as their users run them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

OFF = """\
formcheck: 1
name: Garden bath oil
phases:
  A: {Helianthus Annuus Seed Oil: 99, Tocopherol: 0.5}
"""
SETTINGS = """\
threshold = "minor"
house-rules = ["own.house.yaml"]
leave-out = ["archive"]

[unstated]
room = "18 °C"

[rules.total-not-100]
tolerance = 0.1
silent = true
reason = "a draft"
"""
HOUSE = """\
house: 1
rules:
  plain-oil:
    finds: a bath oil that is not plain
    harm: untidy
    why: We sell them plain.
    remedy: Leave it out.
    expect: {lacks: {material: Tocopherol}}
    flawed: "{formcheck: 1, name: x, phases: {A: {Tocopherol: q.s.}}}"
    mended: "{formcheck: 1, name: x, phases: {A: {Squalane: q.s.}}}"
"""
PACK = """\
from pathlib import Path
from formcheck.plugins import implements
from formcheck.review.rule import declare

Path(__file__).with_name("ran").touch()
rule = declare(finds="anything", harm="untidy", why="X.", remedy="X.", flawed="", mended="")
rule.id, rule.family = "pack-rule", "garden"
rule.check = lambda sheet: [rule.finding((sheet.formula.phases_place, "/phases"), "here it is")]

@implements
def formcheck_rules():
    return [rule]
"""


def run(*arguments: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "formcheck", *arguments],
        capture_output=True,
        text=True,
        cwd=folder,
        timeout=60,
        env={**os.environ, "FORMCHECK_OWN": str(folder / "absent.toml"), **environment},
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / ".git").mkdir()
    (tmp_path / "a.formula.yaml").write_text(OFF)
    (tmp_path / "formcheck.toml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "own.house.yaml").write_text(HOUSE)
    return tmp_path


def line_of(text: str, words: str) -> str:
    return next(line for line in text.splitlines() if words in line)


def test_every_value_with_the_line_it_comes_from(folder: Path) -> None:
    out = run("settings", folder=folder).stdout
    for words, value, where in (
        ("threshold", "minor", "formcheck.toml:1"),
        ("room", "18 °C", "formcheck.toml:6"),
        ("balance", "none", "built in"),
        ("markets", "EU", "built in"),
        ("archive", "", "formcheck.toml:3"),
        ("own.house.yaml", "", "formcheck.toml:2"),
        ("total-not-100, tolerance", "0.1 %", "formcheck.toml:9"),
        ("total-not-100 ", "silent", "formcheck.toml:10"),
        ("balance-too-coarse, error ", "5 %", "built in"),
    ):
        line = line_of(out, words)
        assert value in line, line
        assert line.endswith(where), line
    assert "a draft" in out


@pytest.mark.parametrize("path", [".", "a.formula.yaml", "deep", "-"])
def test_the_same_for_a_file_a_folder_and_standard_input(folder: Path, path: str) -> None:
    (folder / "deep").mkdir()
    assert "formcheck.toml:6" in run("settings", path, folder=folder).stdout


def test_as_data(folder: Path) -> None:
    data = json.loads(run("settings", "--format", "json", folder=folder).stdout)
    file = str(folder / "formcheck.toml")
    assert data["files"] == [file]
    assert data["threshold"] == {"value": "minor", "where": {"file": file, "line": 1, "column": 1}}
    assert data["unstated"]["balance"] == {"value": None, "where": None, "unit": "g"}
    rules = {rule["rule"]: rule for rule in data["rules"]}
    assert rules["total-not-100"]["silent"]["reason"] == "a draft"
    assert rules["total-not-100"]["options"]["tolerance"]["value"] == 0.1
    assert rules["plain-oil"]["severity"] == {"value": "minor", "where": None, "declared": "minor"}


def test_without_a_configuration(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    result = run("settings", folder=tmp_path)
    assert result.returncode == 0
    assert "no formcheck.toml" in result.stdout
    assert "formcheck.toml:" not in result.stdout


@pytest.mark.parametrize(
    "arguments",
    [("review", "."), ("review", "-"), ("settings",), ("rules",), ("explain", "plain-oil"), ("house-test",)],
)
def test_a_wrong_configuration_stops_with_one_line(folder: Path, arguments: tuple[str, ...]) -> None:
    (folder / "formcheck.toml").write_text("[rules.total-not-10]\nsilent = true\n")
    result = run(*arguments, folder=folder)
    assert result.returncode == 2
    assert result.stderr == "formcheck.toml:1:8: «total-not-10» is no rule; did you mean «total-not-100»?\n"
    assert "ready" not in result.stdout


def test_a_file_or_folder_that_is_not_there(folder: Path) -> None:
    result = run("settings", "nowhere", folder=folder)
    assert (result.returncode, result.stderr) == (2, "formcheck: nowhere: there is no such file or folder\n")


def test_the_review_says_what_was_silenced(folder: Path) -> None:
    out = run("review", ".", folder=folder).stdout
    assert "1 minor; 1 finding silenced by the configuration" in out
    assert "Silenced at formcheck.toml:10: a draft" in " ".join(out.split())
    assert "plain-oil" in out
    data = json.loads(run("review", ".", "--format", "json", folder=folder).stdout)["reviews"][0]
    assert [(each["rule"], each["where"]) for each in data["silenced"]] == [("total-not-100", "formcheck.toml:10")]
    assert data["threshold"] == "minor"


def test_a_search_passes_by_what_is_left_out(folder: Path) -> None:
    (folder / "archive").mkdir()
    (folder / "archive" / "old.formula.yaml").write_text(OFF)
    assert "old.formula" not in run("review", ".", folder=folder).stdout
    assert "old.formula" in run("review", "archive", folder=folder).stdout
    assert "old.formula" in run("review", "archive/old.formula.yaml", folder=folder).stdout


def test_house_rules_are_explained_and_listed(folder: Path) -> None:
    page = run("explain", "plain-oil", folder=folder)
    assert page.returncode == 0
    assert "We sell them plain." in page.stdout
    assert "MINOR a bath oil that is not plain: Tocopherol 100 %" in " ".join(page.stdout.split())
    assert "plain-oil" in run("rules", folder=folder).stdout


# --- house-test


def test_house_test_runs_what_the_configuration_names(folder: Path) -> None:
    result = run("house-test", folder=folder)
    assert result.returncode == 0
    assert "plain-oil" in line_of(result.stdout, "as meant")
    assert "1 as meant and 0 astray" in result.stdout


def test_house_test_says_what_is_astray(folder: Path) -> None:
    (folder / "own.house.yaml").write_text(HOUSE.replace("Squalane", "Tocopherol"))
    result = run("house-test", "own.house.yaml", folder=folder)
    assert result.returncode == 1
    assert "own.house.yaml:3:3: the mended formula still sets it off" in " ".join(result.stdout.split())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("house-test", "nix.house.yaml"), "nix.house.yaml:1:1: cannot be opened"),
        (("house-test", "bad.house.yaml"), "bad.house.yaml:1:1: the key «house» is missing"),
    ],
)
def test_house_test_of_what_cannot_be_read(folder: Path, arguments: tuple[str, ...], words: str) -> None:
    (folder / "bad.house.yaml").write_text("rules: {}\n")
    result = run(*arguments, folder=folder)
    assert result.returncode == 2
    assert words in result.stderr


def test_house_test_without_any_file(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    result = run("house-test", folder=tmp_path)
    assert result.returncode == 2
    assert "name a file of them" in result.stderr


# --- packs


def test_a_pack_named_on_the_command_line_is_loaded(folder: Path) -> None:
    (folder / "pack.py").write_text(PACK)
    result = run("review", "a.formula.yaml", "--pack", "./pack.py", folder=folder)
    assert "pack-rule" in result.stdout
    assert (folder / "ran").exists()
    assert "pack-rule" in run("rules", "--pack", "pack.py", folder=folder).stdout


def test_a_pack_in_the_users_own_file_is_loaded(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    own = tmp_path_factory.mktemp("own")
    (own / "pack.py").write_text(PACK)
    (own / "own.toml").write_text('packs = ["pack.py"]\n')
    result = run("review", "a.formula.yaml", folder=folder, FORMCHECK_OWN=str(own / "own.toml"))
    assert "pack-rule" in result.stdout


def test_a_repository_cannot_have_its_code_run(folder: Path) -> None:
    """Neither a key of the configuration, nor a file that lies there, nor a name of one runs Python."""
    (folder / "pack.py").write_text(PACK)
    (folder / "formcheck_rules.py").write_text(PACK)
    (folder / "own.toml").write_text('packs = ["pack.py"]\n')
    run("review", ".", folder=folder)
    for line in ('packs = ["pack.py"]', 'house-rules = ["pack.py"]', 'builds-on = "pack.py"'):
        (folder / "formcheck.toml").write_text(line + "\n")
        assert run("review", ".", folder=folder).returncode == 2
    assert not (folder / "ran").exists()


@pytest.mark.parametrize(
    ("pack", "words"),
    [
        ("./absent.py", "there is no file"),
        ("no_such_module_here", "ModuleNotFoundError"),
        ("./broken.py", "ZeroDivisionError"),
        ("./empty.py", "answers no hook"),
    ],
)
def test_a_pack_that_fails_is_named_and_the_review_goes_on(folder: Path, pack: str, words: str) -> None:
    (folder / "broken.py").write_text("1 / 0\n")
    (folder / "empty.py").write_text("")
    result = run("review", "a.formula.yaml", "--pack", pack, folder=folder)
    assert result.returncode == 2
    assert pack in result.stderr
    assert words in result.stderr
    assert "Garden bath oil" in result.stdout


def test_a_wrong_file_of_the_users_own_is_named(folder: Path) -> None:
    (folder / "own.toml").write_text('pack = ["x.py"]\n')
    result = run("review", "a.formula.yaml", folder=folder, FORMCHECK_OWN=str(folder / "own.toml"))
    assert result.returncode == 2
    assert "own.toml:1:1: «pack» is not a key of the user's own file; did you mean «packs»?" in result.stderr


# --- a fast start

LOADED = """\
import sys
from formcheck.commands.main import main
main(["review", "a.formula.yaml"])
print(sorted(m for m in sys.modules if m in ("tomli", "formcheck.review.settings_file", "formcheck.review.house")), file=sys.stderr)
"""


def test_nothing_is_loaded_for_a_configuration_that_is_not_there(folder: Path) -> None:
    """A pyproject.toml without our table is no reason to read it as TOML."""
    (folder / "formcheck.toml").rename(folder / "kept")
    (folder / "pyproject.toml").write_text('[project]\nname = "formcheck-formulas"\n')

    def loaded() -> list[str]:
        result = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, cwd=folder, timeout=60)
        names: list[str] = json.loads(result.stderr.splitlines()[-1].replace("'", '"'))
        return names

    assert loaded() == []
    (folder / "kept").rename(folder / "formcheck.toml")
    assert loaded() == ["formcheck.review.house", "formcheck.review.settings_file", "tomli"]
