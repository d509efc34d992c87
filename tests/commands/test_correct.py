"""The correct command: shows a diff, writes only when asked, keeps everything else of the file byte for byte."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TEXT = """\
# The hand gel, third try — keep!
formcheck: 1
name: "Garden hand gel"        # as on the label
product: {use: leave-on, form: gel, area: [hands], users: [adults], markets: [EU]}
phases:
    A:
        Aqua: 93.5             # soft water
        Glycerin:   4,0
        Hydroxyethylcellulose: 1.2

procedure:
- add: Hydroxyethylcellulose   # by the spoon
  into: A
- {mix: A, for: 3 h}
"""
MENDED = TEXT.replace("93.5", "94.8").replace("4,0", "4.0").replace("- add: H", "- sprinkle: H") + "- {fill: A}\n"


def run(*arguments: str, folder: Path, data: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", "correct", *arguments], capture_output=True, cwd=folder, input=data
    )
    assert b"Traceback" not in result.stderr
    return result


def put(folder: Path, text: str = TEXT, name: str = "gel.formula.yaml") -> Path:
    path = folder / name
    path.write_bytes(text.encode())
    return path


def test_it_shows_the_change_and_writes_nothing(tmp_path: Path) -> None:
    path = put(tmp_path)
    result = run("gel.formula.yaml", folder=tmp_path)
    shown = result.stdout.decode()
    assert result.returncode == 1
    assert "4 corrections, not written yet: --save writes them" in shown
    assert "\n-        Aqua: 93.5             # soft water\n" in shown
    assert "\n+        Aqua: 94.8             # soft water\n" in shown
    assert "+- {fill: A}" in shown
    assert path.read_bytes() == TEXT.encode()


def test_it_writes_when_asked_and_only_what_was_shown(tmp_path: Path) -> None:
    path = put(tmp_path)
    path.chmod(0o640)
    assert run("gel.formula.yaml", "--save", folder=tmp_path).returncode == 0
    assert path.read_bytes() == MENDED.encode()
    assert path.stat().st_mode & 0o777 == 0o640
    assert os.listdir(tmp_path) == ["gel.formula.yaml"]
    again = run("gel.formula.yaml", "--save", folder=tmp_path)
    assert again.returncode == 0
    assert b"nothing to correct" in again.stdout
    assert path.read_bytes() == MENDED.encode()


def test_mark_line_ends_and_a_missing_last_line_break_are_kept(tmp_path: Path) -> None:
    path = put(tmp_path)
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.rstrip("\n").replace("\n", "\r\n").encode())
    assert run("gel.formula.yaml", "--save", folder=tmp_path).returncode == 0
    assert path.read_bytes() == b"\xef\xbb\xbf" + MENDED.rstrip("\n").replace("\n", "\r\n").encode()


@pytest.mark.skipif(shutil.which("patch") is None, reason="patch is not installed")
def test_the_diff_is_one_that_patch_understands(tmp_path: Path) -> None:
    """The unified format as POSIX patch reads it (IEEE Std 1003.1, patch), words above the diff passed over."""
    path = put(tmp_path)
    shown = run("gel.formula.yaml", folder=tmp_path).stdout
    subprocess.run(["patch", "-p0", path.name], input=shown, cwd=tmp_path, check=True, capture_output=True)
    assert path.read_bytes() == MENDED.encode()


def test_a_link_goes_on_leading_to_the_file(tmp_path: Path) -> None:
    path = put(tmp_path)
    (tmp_path / "link.formula.yaml").symlink_to(path.name)
    assert run("link.formula.yaml", "--save", folder=tmp_path).returncode == 0
    assert (tmp_path / "link.formula.yaml").is_symlink()
    assert path.read_bytes() == MENDED.encode()


def test_corrections_on_request(tmp_path: Path) -> None:
    put(tmp_path, MENDED.replace("Aqua:", "water:"))
    asked = run("gel.formula.yaml", folder=tmp_path)
    assert (asked.returncode, b"--also inci-names" in asked.stdout) == (0, True)
    assert run("gel.formula.yaml", "--also", "inci-names", "--save", folder=tmp_path).returncode == 0
    assert (tmp_path / "gel.formula.yaml").read_text(encoding="utf-8") == MENDED


def test_data_for_programs(tmp_path: Path) -> None:
    put(tmp_path)
    data = json.loads(run("gel.formula.yaml", "--format", "json", folder=tmp_path).stdout)
    assert [made["rule"] for made in data["corrections"]] == [
        "decimal comma",
        "total-not-100",
        "thickener-dumped",
        "fill-missing",
    ]
    assert not data["saved"]
    assert data["diff"].startswith("--- gel.formula.yaml\n+++ gel.formula.yaml, corrected\n@@ ")


def test_standard_input_is_shown_and_never_written(tmp_path: Path) -> None:
    assert run("-", folder=tmp_path, data=TEXT.encode()).returncode == 1
    refused = run("-", "--save", folder=tmp_path, data=TEXT.encode())
    assert (refused.returncode, refused.stdout) == (2, b"")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (TEXT.replace("A:\n", "A\n").encode(), "gel.formula.yaml:7:"),
        (TEXT.replace("mix: A", "stir: A").encode(), "«stir» is not a verb"),
        (TEXT.encode("utf-16"), "UTF-16"),
        (b"", "empty"),
        (b"x" * 3_000_000, "MB"),
        (TEXT.replace("Garden", "Garden\0").encode(), "U+0000"),
    ],
)
def test_a_file_that_cannot_be_read_in_full_is_never_touched(data: bytes, said: str, tmp_path: Path) -> None:
    path = put(tmp_path)
    path.write_bytes(data)
    result = run("gel.formula.yaml", "--save", folder=tmp_path)
    assert result.returncode == 2
    assert said in result.stderr.decode()
    assert "left alone" in result.stderr.decode()
    assert path.read_bytes() == data


@pytest.mark.parametrize("name", ["nowhere.formula.yaml", "."])
def test_what_is_no_file_is_said_in_one_line(name: str, tmp_path: Path) -> None:
    result = run(name, folder=tmp_path)
    assert result.returncode == 2
    assert result.stderr.decode().count("\n") == 1


def test_an_unknown_request_names_those_there_are(tmp_path: Path) -> None:
    put(tmp_path)
    result = run("gel.formula.yaml", "--also", "everything", folder=tmp_path)
    assert result.returncode == 2
    assert b"inci-names" in result.stderr


def test_control_characters_are_shown_and_not_obeyed(tmp_path: Path) -> None:
    put(tmp_path, TEXT.replace("as on the label", "as \u202e on the label").replace("soft water", "soft \u202e water"))
    result = run("gel.formula.yaml", folder=tmp_path)
    assert "\u202e" not in result.stdout.decode()
    assert "<U+202E>" in result.stdout.decode()


def test_a_file_that_changed_in_the_meantime_is_left_alone(tmp_path: Path) -> None:
    from formcheck.commands.saving import NotSaved, save

    path = put(tmp_path)
    with pytest.raises(NotSaved, match="meantime"):
        save(str(path), b"new", b"something else")
    assert path.read_bytes() == TEXT.encode()
    with pytest.raises(NotSaved):
        save(str(tmp_path / "no" / "where"), b"new")


def test_a_review_does_not_load_what_corrects() -> None:
    code = "import sys; from formcheck.review.run import Reviewer; Reviewer(); print([m for m in sys.modules if 'corrections' in m or 'editing' in m])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "[]"
