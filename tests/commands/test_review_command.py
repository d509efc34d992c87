"""The review command as a person or a build runs it: exit status, both formats, bad input in one clear line."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

SOUND = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5}
"""
FLAWED = SOUND.replace("q.s.", "95")


def run(*arguments: str, stdin: bytes = b"", folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", *arguments], input=stdin, capture_output=True, cwd=folder, timeout=120
    )
    out, err = result.stdout.decode(), result.stderr.decode()
    assert "Traceback" not in out + err
    return subprocess.CompletedProcess(result.args, result.returncode, out, err)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "sound.formula.yaml").write_text(SOUND)
    (tmp_path / "flawed.formula.yaml").write_text(FLAWED)
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["sound.formula.yaml"], 0),
        (["flawed.formula.yaml"], 1),
        (["flawed.formula.yaml", "--threshold", "critical"], 0),
        (["."], 1),
        (["sound.formula.yaml", "absent.formula.yaml"], 2),
        (["flawed.formula.yaml", "--format", "parchment"], 2),
    ],
)
def test_exit_status(folder: Path, arguments: list[str], status: int) -> None:
    assert run("review", *arguments, folder=folder).returncode == status


def test_other_files_are_reviewed_when_one_cannot_be_read(folder: Path) -> None:
    (folder / "broken.formula.yaml").write_text("formcheck: 1\nname: [\n")
    result = run("review", ".", folder=folder)
    assert result.returncode == 2
    assert "Garden bath oil" in result.stdout
    assert "broken.formula.yaml:3:1: not valid YAML" in result.stdout
    assert "3 formulas: 1 ready, 1 on hold, 1 not reviewed" in result.stdout


def test_a_finding_says_all_that_a_maker_needs(folder: Path) -> None:
    out = run("review", "flawed.formula.yaml", folder=folder).stdout
    for words in (
        "HOLD",
        "1 major",
        "MAJOR",
        "95.5 %",
        "4.5 %",
        "flawed.formula.yaml:4:1:",
        "total-not-100",
        "why",
        "mend",
    ):
        assert words in out
    assert "\x1b" not in out


REPORT = {
    "type": "object",
    "required": ["format", "reviews"],
    "properties": {
        "format": {"const": 1},
        "reviews": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["file", "name", "verdict", "findings", "unchecked", "errors"],
                "properties": {
                    "verdict": {"enum": ["hold", "ready", "not reviewed"]},
                    "findings": {
                        "type": "array",
                        "items": {
                            "type": "object",
                            "required": [
                                "rule",
                                "severity",
                                "line",
                                "column",
                                "message",
                                "why",
                                "remedy",
                                "source",
                                "path",
                            ],
                            "properties": {
                                "severity": {"enum": ["critical", "major", "minor", "note"]},
                                "line": {"type": "integer", "minimum": 1},
                                "column": {"type": "integer", "minimum": 1},
                                "path": {"pattern": "^(/.*)?$"},
                            },
                        },
                    },
                    "unchecked": {"type": "array", "items": {"required": ["rule", "needs"]}},
                    "errors": {"type": "array", "items": {"required": ["line", "column", "message"]}},
                },
            },
        },
    },
}


def test_json_has_the_documented_shape(folder: Path) -> None:
    (folder / "broken.formula.yaml").write_text("- no\n")
    result = run("review", ".", "--format", "json", folder=folder)
    data = json.loads(result.stdout)
    jsonschema.validate(data, REPORT)
    assert [review["verdict"] for review in data["reviews"]] == ["not reviewed", "hold", "ready"]
    (finding,) = [f for f in data["reviews"][1]["findings"] if f["rule"] == "total-not-100"]
    assert (finding["line"], finding["column"], finding["path"]) == (4, 1, "/phases")


def test_output_goes_to_a_file_in_one_piece(folder: Path) -> None:
    result = run("review", "sound.formula.yaml", "--format", "json", "--output", "out.json", folder=folder)
    assert result.returncode == 0
    assert result.stdout == ""
    assert json.loads((folder / "out.json").read_text())["format"] == 1
    assert not (folder / "out.json.part").exists()
    assert run("review", "sound.formula.yaml", "--output", "no/such/folder/out", folder=folder).returncode == 2


def test_standard_input(folder: Path) -> None:
    result = run("review", "-", stdin=FLAWED.encode(), folder=folder)
    assert result.returncode == 1
    assert "-:4:1: total-not-100" in result.stdout


BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"{new}: &{new} [{','.join(['*' + old] * 9)}]\n" for old, new in zip("abcdefgh", "bcdefghi")
)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"- a\n- b\n", "a list at the top"),
        (b"formcheck: 1\n\tname: x\n", "a tab; indent with spaces"),
        (b"formcheck: 1\nformcheck: 1\n", "stands twice"),
        (BOMB.encode(), "more than 100000 values"),
        (b"x" * 5_000_000, "5.0 MB"),
        (SOUND.encode("utf-16"), "UTF-16"),
        (b"\xff\xfe\x00", "UTF-16"),
        (b"\x00\x01\x02", "control character"),
        (("formcheck: 1\nname: x\nphases: " + "[" * 5000).encode(), "nest"),
        (b"{" * 5000, "nest"),
    ],
)
def test_bad_input_gets_one_clear_line(folder: Path, data: bytes, words: str) -> None:
    (folder / "bad.formula.yaml").write_bytes(data)
    result = run("review", "bad.formula.yaml", folder=folder)
    assert result.returncode == 2
    lines = [line for line in result.stdout.splitlines() if line.startswith("bad.formula.yaml:")]
    assert len(lines) == 1
    assert words in lines[0]


def test_a_folder_without_formulas_says_what_is_searched_for(folder: Path) -> None:
    (folder / "empty").mkdir()
    result = run("review", "empty", folder=folder)
    assert result.returncode == 2
    assert "*.formula.yaml" in result.stdout


def test_a_missing_file_is_named(folder: Path) -> None:
    result = run("review", "absent.formula.yaml", folder=folder)
    assert result.returncode == 2
    assert "absent.formula.yaml:1:1: cannot be opened: no such file" in result.stdout


def test_a_thousand_ingredients(folder: Path) -> None:
    lines = "\n".join(f"    Material {number}: 0.1" for number in range(1000))
    (folder / "large.formula.yaml").write_text(f"formcheck: 1\nname: Large\nphases:\n  A:\n{lines}\n")
    result = run("review", "large.formula.yaml", "--format", "json", folder=folder)
    assert result.returncode in (0, 1)
    assert json.loads(result.stdout)["reviews"][0]["errors"] == []


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root reads everything")
def test_an_unreadable_file_is_named(folder: Path) -> None:
    path = folder / "sound.formula.yaml"
    path.chmod(0)
    result = run("review", "sound.formula.yaml", folder=folder)
    assert result.returncode == 2
    assert "permission denied" in result.stdout


def test_control_and_direction_characters_are_shown_not_obeyed(folder: Path) -> None:
    text = SOUND.replace("Garden bath oil", '"Garden\\e[31m \\u202Ebath"')
    result = run("review", "-", stdin=text.encode(), folder=folder)
    assert "\x1b" not in result.stdout
    assert "\u202e" not in result.stdout
    assert "<U+001B>[31m <U+202E>bath" in result.stdout


def test_a_closed_pipe_is_no_traceback(folder: Path) -> None:
    command = f'"{sys.executable}" -m formcheck review . | head -1'
    result = subprocess.run(command, shell=True, capture_output=True, text=True, cwd=folder, timeout=60)
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize("arguments", [[], ["--help"], ["review", "--help"], ["explain", "--help"], ["ph", "--help"]])
def test_help_fits_a_screen_and_shows_an_example(arguments: list[str]) -> None:
    result = run(*arguments)
    assert result.returncode == 0
    assert len(result.stdout.splitlines()) <= 40
    assert "formcheck" in result.stdout
    if "--help" in arguments[1:]:
        assert "example" in result.stdout


def test_an_unknown_command_names_the_nearest() -> None:
    result = run("revew")
    assert result.returncode == 2
    assert "did you mean «review»" in result.stderr
