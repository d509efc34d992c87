"""Starter files: every kind reviews as ready, nothing of the maker's is overwritten."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from formcheck.commands.new import kinds, starter
from formcheck.review.model import READY
from formcheck.review.run import Reviewer


def run(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "formcheck", "new", *arguments], capture_output=True, text=True, cwd=folder
    )


def test_there_is_a_dozen() -> None:
    assert len(kinds()) >= 12


@pytest.mark.parametrize("kind", kinds())
def test_every_starter_reviews_as_ready(kind: str, reviewer: Reviewer) -> None:
    text = starter(kind, "Hedgerow")
    review = reviewer.review("hedgerow.formula.yaml", text.encode())
    assert review.name == "Hedgerow"
    assert review.verdict == READY
    assert [finding for finding in review.findings if finding.severity != "note"] == []
    assert "#" in text


def test_a_file_is_written_and_never_overwritten(tmp_path: Path) -> None:
    first = run("Bean row: hand gel", "--kind", "gel", folder=tmp_path)
    assert first.returncode == 0, first.stderr
    path = tmp_path / "bean-row-hand-gel.formula.yaml"
    assert "name: 'Bean row: hand gel'" in path.read_text(encoding="utf-8")
    again = run("Bean row: hand gel", "--kind", "gel", folder=tmp_path)
    assert again.returncode == 2
    assert "left alone" in again.stderr


def test_an_unknown_kind_names_the_others(tmp_path: Path) -> None:
    result = run("x", "--kind", "shampo", folder=tmp_path)
    assert result.returncode == 2
    assert "did you mean «shampoo»" in result.stderr
    assert not list(tmp_path.iterdir())
