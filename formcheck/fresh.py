"""From a fresh machine to a first review: makes a private environment here and runs one thing in it.

    python3 -m formcheck.fresh review examples
    python3 -m formcheck.fresh test
    python3 -m formcheck.fresh site

Needs nothing but Python 3.10 or newer and its package index; uses the standard library only. The environment is made
once, in `.venv` beside pyproject.toml, and used again for as long as pyproject.toml stays as it is.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence

HOME = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
ENVIRONMENT = os.path.join(HOME, ".venv")
EXTRAS = {"test": ("test,yardsticks", "test"), "lint": ("test,lint",), "site": ("site",)}
"""What a task needs, best first: where the outside yardsticks cannot be had, their tests are skipped."""


def main(arguments: Sequence[str]) -> int:
    """Runs `test`, `lint`, `site` or any other formcheck command."""
    if not arguments:
        print(__doc__)
        return 0
    name = arguments[0]
    try:
        python = prepared(EXTRAS.get(name, ("",)))
    except (OSError, subprocess.CalledProcessError) as error:
        print(f"formcheck: no environment could be made in {ENVIRONMENT}: {error}", file=sys.stderr)
        print("(on Debian and Ubuntu the package python3-venv brings what Python lacks there)", file=sys.stderr)
        return 2
    for command in _commands(python, name, list(arguments)):
        status = subprocess.call(command, cwd=HOME if name in EXTRAS else None)
        if status:
            return status
    return 0


def _commands(python: str, name: str, arguments: list[str]) -> list[list[str]]:
    if name == "test":
        return [[python, "-m", "pytest", *arguments[1:]]]
    if name == "lint":
        return [[python, "-m", "ruff", "check", "."], [python, "-m", "mypy"]]
    # isolated: nothing of the working folder is imported, which may hold formulas of somebody else
    return [[python, "-I", "-m", "formcheck", *arguments]]


def prepared(choices: Sequence[str]) -> str:
    """The environment's Python, with formcheck and the first of the choices of extras that can be installed.

    Raises OSError or CalledProcessError.
    """
    for extras in choices[:-1]:
        try:
            return _prepared(extras)
        except subprocess.CalledProcessError:
            print(f"formcheck: going on without all of [{extras}]", file=sys.stderr)
    return _prepared(choices[-1])


def _prepared(extras: str) -> str:
    folder, name = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    python = os.path.join(ENVIRONMENT, folder, name)
    stamp = os.path.join(ENVIRONMENT, f"formcheck-{extras or 'plain'}.stamp")
    with open(os.path.join(HOME, "pyproject.toml"), encoding="utf-8") as file:
        wanted = file.read()
    if os.path.exists(python) and _read(stamp) == wanted:
        return python
    print("formcheck: making a private environment in .venv (once) ...", file=sys.stderr)
    if not os.path.exists(python):
        subprocess.run([sys.executable, "-m", "venv", ENVIRONMENT], check=True)
    what = f".[{extras}]" if extras else "."
    quiet = ["--quiet", "--disable-pip-version-check"]
    subprocess.run([python, "-m", "pip", "install", *quiet, "--editable", what], check=True, cwd=HOME)
    with open(stamp, "w", encoding="utf-8") as file:
        file.write(wanted)
    return python


def _read(path: str) -> str:
    try:
        with open(path, encoding="utf-8") as file:
            return file.read()
    except OSError:
        return ""


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
