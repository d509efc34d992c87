"""The commit under test, built once for all tests of releases."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import release_build as build
from checkout import bare_world, copy_of_project


@pytest.fixture(scope="session")
def python(tmp_path_factory: pytest.TempPathFactory) -> str:
    try:
        return build.environment(tmp_path_factory.mktemp("env") / "env")
    except subprocess.CalledProcessError as error:
        if "Could not find a version" in error.stderr or "NewConnectionError" in error.stderr:
            pytest.skip("no package index here")
        raise


class Built:
    """The same commit, built twice in different worlds."""

    def __init__(self, folder: Path, python: str) -> None:
        world = bare_world(folder)
        first = folder / "here"
        copy_of_project(first, world)
        clone = ["git", "clone", "--quiet", "--no-local", str(first), str(folder / "a much longer name" / "there")]
        subprocess.run(clone, check=True, capture_output=True, env=world)
        self.one = build.build(folder / "one", python, home=first)
        self.two = elsewhere(folder / "a much longer name" / "there", folder / "two", python)
        self.epoch = int(build.git(first, "log", "-1", "--format=%ct"))


def elsewhere(checkout: Path, out: Path, python: str) -> tuple[Path, Path]:
    """A build with another umask, language, time zone, order of sets, later, and with what tests and editors leave behind."""
    for left in (
        "formcheck/__pycache__/x.cpython-310.pyc",
        "formcheck/notes.json",
        "build/lib/formcheck/old.py",
        ".venv/x.py",
    ):
        (checkout / left).parent.mkdir(parents=True, exist_ok=True)
        (checkout / left).write_bytes(b"left over")
    for path in checkout.glob("formcheck/*.py"):
        path.chmod(0o600)
        os.utime(path, (1_000_000_000, 1_000_000_000))
    changed = {"LC_ALL": "C", "TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "7", "SOURCE_DATE_EPOCH": "1"}
    before = {name: os.environ.get(name) for name in changed}
    old = os.umask(0o077)
    os.environ.update(changed)
    try:
        return build.build(out, python, home=checkout)
    finally:
        os.umask(old)
        for name, value in before.items():
            os.environ.pop(name) if value is None else os.environ.update({name: value})


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory, python: str) -> Built:
    return Built(tmp_path_factory.mktemp("built"), python)
