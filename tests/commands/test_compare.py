"""Two versions of a formula held against each other, as files and as git revisions."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

OLD = """\
formcheck: 1
name: Garden hand gel
product: {use: leave-on, form: gel, area: [hands]}
batch: {size: 200 g, balance: 0.01 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}
  B: {Panthenol: 1, Phenoxyethanol: 1.2}
procedure:
  - {disperse: Xanthan Gum, in: Glycerin}
  - {add: Aqua, into: A}
  - {add: B, into: A}
  - {fill: A}
finished: {pH: 5.5}
claims: [moisturises]
"""
NEW = (
    OLD.replace("Glycerin: 4", "Glycerin: 5")
    .replace("Phenoxyethanol: 1.2", "Phenoxyethanol: 0.9")
    .replace("Xanthan Gum: 0.6}", "Xanthan Gum: 0.6, Panthenol: 1}")
    .replace("B: {Panthenol: 1, ", "B: {Betaine: 1, ")
    .replace("  - {fill: A}", "  - {rest: A, for: 12 h}\n  - {fill: A}")
    .replace("pH: 5.5", "pH: 5.0 to 5.6")
    .replace("claims: [moisturises]", "claims: [moisturises, softens]")
)


def run(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", "compare", *arguments], capture_output=True, text=True, cwd=folder
    )
    assert "Traceback" not in result.stdout + result.stderr
    return result


def both(folder: Path) -> None:
    (folder / "old.formula.yaml").write_text(OLD)
    (folder / "new.formula.yaml").write_text(NEW)


def test_what_changed_is_told_as_a_maker_would(tmp_path: Path) -> None:
    both(tmp_path)
    result = run("old.formula.yaml", "new.formula.yaml", "--format", "json", folder=tmp_path)
    assert result.returncode == 0
    data = json.loads(result.stdout)
    changes = {change["what"] for change in data["changes"]}
    assert {
        "Glycerin 4 % -> 5 %",
        "Phenoxyethanol 1.2 % -> 0.9 %",
        "Panthenol moved from phase B to phase A",
        "Betaine is new, 1 % in phase B",
        "Aqua 93.2 % (q.s.) -> 91.5 % (q.s.)",
        "step 4 is new: rest A for 12 h",
        "pH: 5.5 -> 5 to 5.6",
        "now claimed: softens",
    } == changes
    assert "preservative-over-limit" in {finding["rule"] for finding in data["findings gone"]}
    assert data["old"]["verdict"] == "hold"


def test_a_finding_that_only_moved_is_still_the_same(tmp_path: Path) -> None:
    (tmp_path / "old.formula.yaml").write_text(OLD)
    (tmp_path / "new.formula.yaml").write_text("# a comment above\n\n" + OLD)
    data = json.loads(run("old.formula.yaml", "new.formula.yaml", "--format", "json", folder=tmp_path).stdout)
    assert data["findings gone"] == data["findings new"] == data["changes"] == []
    assert data["findings still there"]


def test_a_git_revision_against_the_file_as_it_is(tmp_path: Path) -> None:
    def git(*arguments: str) -> None:
        identity = ["-c", "user.name=R. Quill", "-c", "user.email=quill@example.org"]
        subprocess.run(["git", *identity, *arguments], cwd=tmp_path, check=True, capture_output=True)

    git("init", "--quiet")
    (tmp_path / "gel.formula.yaml").write_text(OLD)
    git("add", ".")
    git("commit", "--quiet", "-m", "first")
    (tmp_path / "gel.formula.yaml").write_text(NEW)
    for arguments in (["gel.formula.yaml"], ["HEAD:gel.formula.yaml", "gel.formula.yaml"], ["HEAD:gel.formula.yaml"]):
        result = run(*arguments, folder=tmp_path)
        assert result.returncode == 0, result.stderr
        assert "Glycerin 4 % -> 5 %" in result.stdout
    missing = run("HEAD~7:gel.formula.yaml", "gel.formula.yaml", folder=tmp_path)
    assert missing.returncode == 2
    assert "git says" in missing.stderr


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    both(tmp_path)
    (tmp_path / "bad.formula.yaml").write_text("- no\n")
    result = run("old.formula.yaml", "bad.formula.yaml", folder=tmp_path)
    assert result.returncode == 2
    assert result.stderr.startswith("bad.formula.yaml:1:1: a list at the top")


def test_a_revision_without_a_file_asks_for_the_file(tmp_path: Path) -> None:
    both(tmp_path)
    who = ["-c", "user.name=A", "-c", "user.email=a@example.org"]
    for words in (["init", "-q"], ["add", "."], [*who, "commit", "-q", "-m", "first"]):
        subprocess.run(["git", *words], cwd=tmp_path, check=True)
    result = run("HEAD", "new.formula.yaml", folder=tmp_path)
    assert result.returncode == 2
    assert "Write HEAD:FILE" in result.stderr
