"""A copy of the project as it lies here, to install from, and a world without the user's own git and pip settings."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parent.parent
NO_INDEX = ("Could not find a version", "NewConnectionError", "No matching distribution", "Temporary failure in name")


def bare_world(folder: Path, **more: str) -> dict[str, str]:
    """The environment of this process, without variables and settings of git that would reach into another repository."""
    settings = folder / "gitconfig"
    settings.write_text("[user]\n\tname = R. Quill\n\temail = quill@example.org\n[init]\n\tdefaultBranch = main\n")
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("GIT_", "PRE_COMMIT"))}
    return {
        **kept,
        "GIT_CONFIG_GLOBAL": str(settings),
        "GIT_CONFIG_NOSYSTEM": "1",
        "PYTHONPATH": "",
        **more,
    }


def copy_of_project(target: Path, world: Mapping[str, str]) -> str:
    """A git repository with every file of this checkout, committed or not; gives its commit. A build leaves nothing here."""
    listing = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=HOME, capture_output=True
    )
    if listing.returncode:
        pytest.skip("not a git checkout")
    for name in filter(None, os.fsdecode(listing.stdout).split("\0")):
        if (HOME / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(HOME / name, target / name)
    for command in (["init", "--quiet"], ["add", "--all"], ["commit", "--quiet", "--message", "as it lies"]):
        subprocess.run(["git", *command], cwd=target, check=True, capture_output=True, env=dict(world))
    head = subprocess.run(["git", "rev-parse", "HEAD"], cwd=target, check=True, capture_output=True, text=True)
    return head.stdout.strip()


def skip_without_index(result: subprocess.CompletedProcess[str]) -> None:
    """Skips the test where an install failed for want of a package index; fails it where it failed for anything else."""
    said = result.stdout + result.stderr
    if result.returncode and any(words in said for words in NO_INDEX):
        pytest.skip("no package index here")
    assert result.returncode == 0, said
