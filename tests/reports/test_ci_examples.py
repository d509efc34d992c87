"""The examples for build systems: their review command is run as it stands, and every file they pick up is there."""

from __future__ import annotations

import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from hostile_reviews import SHORT

CI = Path(__file__).resolve().parents[2] / "examples" / "ci"


def load(name: str) -> dict[Any, Any]:
    data: dict[Any, Any] = yaml.safe_load((CI / name).read_text(encoding="utf-8"))
    return data


def review(lines: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    (command,) = [shlex.split(line) for line in lines if line.startswith("formcheck ")]
    (folder / "x.formula.yaml").write_text(SHORT)
    return subprocess.run(
        [sys.executable, "-m", *command], cwd=folder, capture_output=True, encoding="utf-8", timeout=60
    )


def test_github(tmp_path: Path) -> None:
    (job,) = load("github-workflow.yml")["jobs"].values()
    result = review([step.get("run", "") for step in job["steps"]], tmp_path)
    assert result.returncode == 1
    # in this log nothing but commands and our own figures may stand
    assert all(line.startswith(("::", "formulas: ")) for line in result.stdout.splitlines())
    (upload,) = [step for step in job["steps"] if "sarif" in step.get("uses", "")]
    assert (tmp_path / upload["with"]["sarif_file"]).is_file()
    (summary,) = [step["run"].split()[1] for step in job["steps"] if "GITHUB_STEP_SUMMARY" in step.get("run", "")]
    assert (tmp_path / summary).is_file()
    for step in job["steps"]:
        if "hashFiles" in step.get("if", ""):
            assert "always()" in step["if"]


def test_gitlab(tmp_path: Path) -> None:
    job = load("gitlab-ci.yml")["formulas"]
    result = review(job["script"], tmp_path)
    assert result.returncode == 1
    assert "HOLD" in result.stdout
    for file in (*job["artifacts"]["paths"], *job["artifacts"]["reports"].values()):
        assert (tmp_path / file).is_file()


@pytest.mark.parametrize("name", ["github-workflow.yml", "gitlab-ci.yml"])
def test_the_examples_install_what_they_run(name: str) -> None:
    text = (CI / name).read_text(encoding="utf-8")
    assert 'python -m pip install "$FORMCHECK"' in text
    assert len(text.splitlines()) <= 45
