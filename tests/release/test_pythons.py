"""The wheel in a clean environment of every Python at hand: it installs there, and reviews the examples without a warning.

All tests on every Python: python tests/release/check_pythons.py
"""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import check_pythons
import pytest

if TYPE_CHECKING:
    from conftest import Built


@pytest.mark.parametrize("version", check_pythons.VERSIONS)
def test_the_wheel_works_on(version: str, built: Built, tmp_path: Path) -> None:
    python = check_pythons.pythons().get(version)
    if python is None:
        pytest.skip(f"Python {version} is not on this machine")
    try:
        own = check_pythons.installed(python, built.one[1], tmp_path / "env")
    except subprocess.CalledProcessError as error:
        said = str(error.stderr)
        if "Could not find a version" in said or "NewConnectionError" in said:
            pytest.skip("no package index here")
        pytest.fail(said)
    assert check_pythons.smoke(own, tmp_path) == ""
