"""An ordinary and an editable install both bring the rules, the reference and the command. Needs the package index."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parent.parent
PROBE = """
import formcheck_rules, formcheck_shared
from importlib.resources import files
from formcheck.plugins import gather
from formcheck.reference.store import open_reference
print(len(gather().rules()), len(list(open_reference().headings)))
print(files("formcheck_shared").joinpath("properties.yaml").is_file())
print(files("formcheck_shared").joinpath("legal/README.md").is_file(), files("formcheck.formula").joinpath("formula.schema.json").is_file())
"""


def _python(folder: Path) -> str:
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True, capture_output=True)
    return str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))


def _pip(python: str, *arguments: str) -> None:
    result = subprocess.run(
        [python, "-m", "pip", "--disable-pip-version-check", *arguments], capture_output=True, text=True
    )
    if result.returncode and ("Could not find a version" in result.stderr or "NewConnectionError" in result.stderr):
        pytest.skip("no package index here")
    assert result.returncode == 0, result.stderr


@pytest.mark.parametrize("editable", [False, True], ids=["ordinary", "editable"])
def test_install_into_an_empty_environment(tmp_path: Path, editable: bool) -> None:
    python = _python(tmp_path / "env")
    source = tmp_path / "source"
    # a copy, so that a build leaves nothing behind in the checkout
    subprocess.run(["git", "clone", "--quiet", "--no-local", str(HOME), str(source)], check=True, capture_output=True)
    _pip(python, "install", "--quiet", *(["--editable"] if editable else []), str(source))
    environment = {**os.environ, "FORMCHECK_CACHE": str(tmp_path / "cache"), "PYTHONPATH": ""}
    result = subprocess.run([python, "-c", PROBE], capture_output=True, text=True, cwd=tmp_path, env=environment)
    assert result.returncode == 0, result.stderr
    counts, shared, more = result.stdout.splitlines()
    rules, materials = map(int, counts.split())
    assert rules > 20
    assert materials > 80
    assert (shared, more) == ("True", "True True")
    command = Path(python).with_name("formcheck" + (".exe" if os.name == "nt" else ""))
    example = source / "examples" / "sound" / "potting-shed-salve.formula.yaml"
    review = subprocess.run(
        [str(command), "review", str(example)], capture_output=True, text=True, cwd=tmp_path, env=environment
    )
    assert review.returncode in (0, 1), review.stderr
    assert "Potting shed salve" in review.stdout


def test_a_wheel_holds_what_it_should_and_nothing_else(tmp_path: Path) -> None:
    source = tmp_path / "source"
    subprocess.run(["git", "clone", "--quiet", "--no-local", str(HOME), str(source)], check=True, capture_output=True)
    _pip(sys.executable, "wheel", "--quiet", "--no-deps", "--wheel-dir", str(tmp_path), str(source))
    (wheel,) = tmp_path.glob("formcheck-*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    tops = {name.split("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {
        "formcheck",
        "formcheck_rules",
        "formcheck_shared",
    }
    for wanted in ("formcheck/py.typed", "formcheck_rules/totals/total_not_100.py", "formcheck_shared/materials/preservatives.yaml",
                   "formcheck_shared/limits/heat.yaml", "formcheck_shared/legal/eu_preservatives.csv"):  # fmt: skip
        assert wanted in names
