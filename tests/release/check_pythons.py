"""Tries a wheel in clean environments: on every Python at hand, without the source tree, warnings of deprecation as errors.

    python tests/release/check_pythons.py                     # builds the wheel of HEAD, then all tests on every Python
    python tests/release/check_pythons.py --smoke             # only installs it and reviews the examples
    python tests/release/check_pythons.py --wheel dist/x.whl --python /opt/python3.14/bin/python3
    python tests/release/check_pythons.py --lowest            # with the lowest versions that pyproject.toml allows

Pythons are looked for by name on the search path (python3.10 to python3.14) and in pyenv; one that is missing is named.
Needs the package index. Exit status: 0 all that were found are well, 1 something failed, 2 none was found.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import release_build

HOME = Path(__file__).resolve().parents[2]
VERSIONS = ("3.10", "3.11", "3.12", "3.13", "3.14")
OF_THE_TREE = (
    "tests/test_house.py", "tests/test_install.py", "tests/test_plugin_example.py", "tests/release", "tests/fuzz",
    "tests/bench", "tests/security/test_what_the_code_may_do.py", "tests/reports/test_site.py", "tests/test_hook.py",
    "tests/reports/test_handbook.py", "tests/test_readme.py",
)  # fmt: skip
"""Tests that are about the checkout itself: its layout, its installation, what is built from it."""
BESIDE = (
    "tests",
    "examples",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "pyproject.toml",
    "LICENSE",
    ".pre-commit-hooks.yaml",
)
STRICT = ("-W", "error::DeprecationWarning", "-W", "error::PendingDeprecationWarning")


def pythons() -> dict[str, str]:
    """Paths of the Pythons at hand, by version."""
    found: dict[str, str] = {}
    pyenv = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    for version in VERSIONS:
        places = [*sorted(pyenv.glob(f"{version}.*/bin/python3"), reverse=True), shutil.which(f"python{version}")]
        for place in filter(None, places):
            asked = subprocess.run([str(place), "-c", "import sys; print('%d.%d' % sys.version_info[:2])"],
                                   capture_output=True, text=True)  # fmt: skip
            if asked.stdout.strip() == version:
                found[version] = str(place)
                break
    return found


def world(folder: Path) -> dict[str, str]:
    """No Python of the checkout, and the user's folders in the test's own."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "FORMCHECK", "GIT_"))}
    return {**kept, "FORMCHECK_CACHE": str(folder / "cache"), "FORMCHECK_DATA": str(folder / "data")}


def installed(python: str, wheel: Path, folder: Path, extras: str = "", *more: str) -> str:
    """The Python of a new environment with the wheel in it. Raises CalledProcessError."""
    subprocess.run([python, "-m", "venv", str(folder)], check=True, capture_output=True)
    own = str(folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python"))
    install = [own, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", f"{wheel}{extras}", *more]
    subprocess.run(install, check=True, capture_output=True, text=True)
    return own


def smoke(python: str, folder: Path) -> str:
    """Reviews the examples by the installed command; what went wrong, or ""."""
    examples = folder / "examples"
    if not examples.exists():
        shutil.copytree(HOME / "examples", examples)
    for name, status in (("sound", 0), ("flawed", 1), ("house", 1)):
        command = [python, "-I", *STRICT, "-m", "formcheck", "review", name]
        result = subprocess.run(command, cwd=examples, env=world(folder), capture_output=True, text=True)
        said = (result.stdout + result.stderr)[-2000:]
        if result.returncode != status or "Traceback" in said or "Warning" in said:
            return f"review of examples/{name} ended with {result.returncode}, {status} was expected:\n{said}"
    where = subprocess.run([python, "-I", "-c", "import formcheck_shared; print(formcheck_shared.__file__)"],
                           cwd=folder, capture_output=True, text=True).stdout  # fmt: skip
    return "" if "site-packages" in where else f"the installed reference is not used, but {where}"


def tests(python: str, folder: Path, arguments: list[str]) -> int:
    """All tests that need no checkout, copied away from it; the exit status of pytest."""
    copied = folder / "away"
    for name in BESIDE:
        source = HOME / name
        if source.is_dir():
            shutil.copytree(source, copied / name, ignore=shutil.ignore_patterns("__pycache__", ".*cache"))
        elif source.exists():
            shutil.copy2(source, copied / name)
    for name, package in (("formcheck", "formcheck"), ("rules", "formcheck_rules"), ("shared", "formcheck_shared")):
        (copied / name).symlink_to(package_folder(python, package), target_is_directory=True)
    pytest = str(Path(python).with_name("pytest"))
    left_out = [f"--ignore={name}" for name in OF_THE_TREE]
    command = [pytest, "-q", "-p", "no:cacheprovider", *STRICT, *left_out, *arguments]
    return subprocess.run(command, cwd=copied, env=world(folder)).returncode


def package_folder(python: str, package: str) -> str:
    """Where a package is installed; tests that look into our folders look there."""
    code = f"import {package}, os; print(os.path.dirname({package}.__file__))"
    return subprocess.run([python, "-I", "-c", code], check=True, capture_output=True, text=True).stdout.strip()


def lowest() -> list[str]:
    """The core dependencies at their lower bounds, as `name==version`."""
    text = (HOME / "pyproject.toml").read_text(encoding="utf-8")
    listed = re.search(r"^dependencies = \[(.*?)\]", text, re.M | re.S)
    assert listed
    return [each.replace(">=", "==") for each in re.findall(r'"([^"]+)"', listed.group(1))]


def results(wheel: Path, options: argparse.Namespace) -> Iterator[tuple[str, bool]]:
    """(what was tried, whether it went well), one a Python."""
    found = {"given": options.python} if options.python else pythons()
    for version, python in found.items():
        started = time.monotonic()
        with tempfile.TemporaryDirectory(prefix=f"formcheck-{version}-") as name:
            folder = Path(name)
            try:
                own = installed(python, wheel, folder / "env", "" if options.smoke else "[test]",
                                *(lowest() if options.lowest else ()))  # fmt: skip
            except subprocess.CalledProcessError as error:
                yield f"Python {version}: cannot be installed: {(error.stderr or '')[-1500:]}", False
                continue
            wrong = smoke(own, folder)
            status = 0 if wrong or options.smoke else tests(own, folder, options.arguments)
        what = wrong or (f"tests ended with {status}" if status else "well")
        yield f"Python {version}: {what} ({time.monotonic() - started:.0f} s)", not (wrong or status)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--wheel", type=Path)
    parser.add_argument("--python", help="only this one")
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--lowest", action="store_true")
    parser.add_argument("arguments", nargs="*", help="for pytest, after --")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="formcheck-wheel-") as folder:
        wheel = options.wheel
        if wheel is None:
            _, wheel = release_build.build(Path(folder), release_build.environment(Path(folder) / "env"))
        told = []
        for what, well in results(wheel.resolve(), options):
            print(what, flush=True)
            told.append(well)
    for version in () if options.python else [each for each in VERSIONS if each not in pythons()]:
        print(f"Python {version}: not found on this machine, so not tried")
    return 2 if not told else int(not all(told))


if __name__ == "__main__":
    sys.exit(main())
