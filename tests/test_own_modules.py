"""Our own way to find modules finds what Python's finds, and leaves to Python what is not as usual.

Yardstick: importlib.machinery.PathFinder. What byte code has to fit: PEP 552.
"""

from __future__ import annotations

import os
import py_compile
import subprocess
import sys
from collections.abc import Callable
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from pathlib import Path

import pytest

from formcheck.own_modules import _Finder

NAME = "formcheck.garden"
COUNT = """
import sys
sys.argv = ["formcheck", "review", "examples/sound/allotment-hand-gel.formula.yaml"]
from formcheck.commands.main import console
console()
ours = [m for name, m in sys.modules.items() if name.startswith(("formcheck.", "formcheck_rules."))]
print(sum(type(m.__loader__).__module__ == "formcheck.own_modules" for m in ours), len(ours), file=sys.stderr)
"""


@pytest.fixture(params=["garden.py", "garden/__init__.py"])
def source(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A module, or a package, with its byte code."""
    path = tmp_path / request.param
    path.parent.mkdir(exist_ok=True)
    path.write_text("plum = 1\n")
    py_compile.compile(str(path), doraise=True)
    return path


def folder(source: Path) -> list[str]:
    return [str(source.parent.parent if source.stem == "__init__" else source.parent)]


def kept(source: Path) -> Path:
    (found,) = (source.parent / "__pycache__").iterdir()
    return found


def test_it_finds_what_python_finds(source: Path) -> None:
    ours, theirs = _Finder().find_spec(NAME, folder(source)), PathFinder.find_spec(NAME, folder(source))
    assert ours is not None
    assert theirs is not None
    for what in ("name", "origin", "cached", "has_location", "submodule_search_locations", "parent"):
        assert getattr(ours, what) == getattr(theirs, what), what
    assert ours.loader is not None
    module = module_from_spec(ours)
    ours.loader.exec_module(module)
    assert (module.plum, module.__file__) == (1, str(source))
    assert ours.loader.get_code(NAME) == theirs.loader.get_code(NAME)  # type: ignore[union-attr, attr-defined]


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda path: path.write_text("plum = 22\n"), id="the source is longer"),
        pytest.param(lambda path: os.utime(path, (1, 1)), id="the source has another time"),
        pytest.param(lambda path: path.unlink(), id="the source is gone"),
        pytest.param(lambda path: kept(path).unlink(), id="there is no byte code"),
        pytest.param(lambda path: kept(path).write_bytes(kept(path).read_bytes()[:40]), id="the byte code is torn"),
        pytest.param(lambda path: kept(path).write_bytes(b""), id="the byte code is empty"),
        pytest.param(lambda path: kept(path).write_bytes(b"abcd" + kept(path).read_bytes()[4:]), id="of another Python"),
        pytest.param(
            lambda path: py_compile.compile(str(path), invalidation_mode=py_compile.PycInvalidationMode.CHECKED_HASH),
            id="byte code by the source's hash",
        ),
    ],
)
def test_what_is_not_as_usual_is_left_to_python(source: Path, change: Callable[[Path], object]) -> None:
    change(source)
    assert _Finder().find_spec(NAME, folder(source)) is None


@pytest.mark.parametrize("name", ["garden", "formcheck", "other.garden", "formcheck_pack_x.garden", "formcheck.shed"])
def test_others_modules_are_left_to_python(source: Path, name: str) -> None:
    assert _Finder().find_spec(name, folder(source)) is None
    assert _Finder().find_spec(name, None) is None


def test_the_program_finds_its_modules_so() -> None:
    world = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    home = Path(__file__).resolve().parent.parent
    for _ in ("compiled", "found"):
        result = subprocess.run([sys.executable, "-c", COUNT], capture_output=True, text=True, cwd=home, env=world)
    so, all_of_them = map(int, result.stderr.split())
    assert so > all_of_them - 10
