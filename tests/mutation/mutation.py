"""Mutation testing of formcheck/bench/ and rules/, by hand: does a test notice when the code is changed?

    pip install 'cosmic-ray==8.7.0' pytest-cov   (and the extras test and yardsticks)
    python tests/mutation/mutation.py cover      which tests run which line, and how long they take (three minutes)
    python tests/mutation/mutation.py run        every change of every module (--share 0.2 --seed 1: a part of them)
    python tests/mutation/mutation.py run formcheck/bench/thermal.py rules/heat/*.py
    python tests/mutation/mutation.py again      those that survived and have no answer, after tests were added
    python tests/mutation/mutation.py report     the table of DEVELOPERS.md, and survivors without an answer

The changes are those of changes.py. All happens in one warm process: pytest collects the tests once; for each change the
process forks, the child puts the changed code into the living functions (a changed constant into the modules that hold
it) and runs the tests that execute that statement until one fails: those first that killed before, then those named
after the module, then the quickest, as many as --budget seconds hold.
What cannot be changed in a living module (a default of a field) is run in a fresh Python, and so is, with `run --fresh`,
everything. Time is CPU time, so that other work on the machine makes no timeouts. A part is drawn for every module by
itself from the written seed; a larger share with the same seed holds the smaller one.

survivors.md answers those that stay, one line each; what it lists below as not answered is still to be looked at. Results lie
in build/mutation. A run takes about half a second of CPU time a change, more where it survives; do not touch sources or run
`cover` meanwhile.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
HOME = HERE.parent.parent
BUILD = HOME / "build" / "mutation"
COVERAGE, TIMES, RESULTS = BUILD / "coverage", BUILD / "times.json", BUILD / "results.jsonl"
# the tests of what is computed and of what rules say; those of commands, reports and reading are about other things
USED = (
    *("bench_chemistry", "bench_heat", "bench_sheets", "rules", "corpus"),
    *("review/test_corrections.py", "reports/test_pictures.py", "commands/test_ph_command.py"),
)
LIMIT_S = 4.0  # a test with more CPU time than this and four times its own is a timeout
BUDGET_S = 4.0  # a change that tests of so much CPU time do not notice has survived


def targets(asked: Iterable[str] = ()) -> list[Path]:
    """The modules to change: those asked for, else all of bench/ and rules/."""
    paths = [Path(each).resolve() for each in asked]
    return paths or sorted([*(HOME / "formcheck" / "bench").glob("*.py"), *(HOME / "rules").rglob("*.py")])


def environment() -> dict[str, str]:
    """CI: hypothesis draws the same examples in every run and keeps no database."""
    return {**os.environ, "CI": "1", "PYTHONPATH": str(HERE), "COVERAGE_FILE": str(COVERAGE)}


def arguments(tests: Iterable[str] = ()) -> list[str]:
    used = [str(HOME / "tests" / each) for each in USED]
    return ["-q", "-p", "no:asyncio", "-p", "no:cacheprovider", *(tests or used)]


def cover() -> int:
    BUILD.mkdir(parents=True, exist_ok=True)
    settings = BUILD / "coveragerc"
    settings.write_text(f"[run]\ninclude =\n    {HOME}/formcheck/bench/*\n    {HOME}/rules/*\n", encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-p", "timing", "--cov", f"--cov-config={settings}"]
    command += ["--cov-context=test", "--cov-report=", *arguments()]
    return subprocess.run(command, cwd=HOME, env=environment(), check=False).returncode


def run(options: argparse.Namespace) -> int:
    import pytest
    from trials import Trials

    os.environ.update(environment())
    os.chdir(HOME)
    wanted = None
    if options.command == "again":
        known = answers()
        wanted = {key(each) for each in results() if each["outcome"] == "survived" and answer(each) not in known}
    options.screen = os.dup(2)  # pytest catches what is printed
    trials = Trials(options, targets(options.modules), wanted)
    return int(pytest.main(arguments(options.tests), plugins=[trials]))


def results() -> list[dict[str, Any]]:
    """The last result of every change."""
    if not RESULTS.exists():
        return []
    lines = RESULTS.read_text(encoding="utf-8").splitlines()
    return list({key(each): each for each in map(json.loads, lines)}.values())


def key(result: dict[str, Any]) -> str:
    """What names a change, wherever its lines stand: two equal ones in a function are told apart by their number."""
    return " | ".join(str(result[part]) for part in ("module", "function", "operator", "was", "becomes", "number"))


def part(changes: list[Any], module: str, share: float, seed: int) -> list[Any]:
    """The changes of a module that are run, at least one."""
    order = list(range(len(changes)))
    random.Random(f"{seed} {module}").shuffle(order)
    taken = order[: max(1, round(share * len(order)))] if order else []
    return [changes[each] for each in sorted(taken)]


def report() -> int:
    made = json.loads((BUILD / "made.json").read_text(encoding="utf-8"))
    current = {each for keys in made.values() for each in keys}
    found = [each for each in results() if key(each) in current]
    print("| | made | run | killed | timed out | survived | answered |\n|---|--:|--:|--:|--:|--:|--:|")
    answered = answers()
    sizes: Counter[str] = Counter()
    for module, keys in made.items():
        sizes[group(module)] += len(keys)
    rows = [row(name, size, found, answered) for name, size in sorted(sizes.items()) if size]
    total = [str(sum(int(each[column]) for each in rows)) for column in range(1, 7)]
    for each in [*rows, ["all", *total]]:
        print("| " + " | ".join(each) + " |")
    open_ones = [each for each in found if each["outcome"] == "survived" and answer(each) not in answered]
    for each in open_ones:
        print(f"\n{each['module']}:{each['line']} {each['function']} ({each['operator']})", *_shown(each), sep="\n    ")
    print(f"\n{len(open_ones)} without an answer")
    return 1 if open_ones else 0


def group(module: str) -> str:
    """What has one line in the table: a module of bench/, a family of rules/."""
    return module if module.startswith("formcheck/") else module.rsplit("/", 1)[0]


def row(name: str, made: int, found: list[dict[str, Any]], answered: set[str]) -> list[str]:
    mine = [each for each in found if group(each["module"]) == name]
    counts = Counter(each["outcome"] for each in mine)
    told = sum(each["outcome"] == "survived" and answer(each) in answered for each in mine)
    numbers = (made, len(mine), counts["killed"], counts["timed out"], counts["survived"], told)
    return [name, *map(str, numbers)]


def answer(result: dict[str, Any]) -> str:
    """How survivors.md names it."""
    return f"{result['module']} | {result['function'] or 'the module'} | {result['was']} | {result['becomes']}"


def answers() -> set[str]:
    path = HERE / "survivors.md"
    return set(_answered(path.read_text(encoding="utf-8").splitlines())) if path.exists() else set()


def _answered(lines: Iterable[str]) -> Iterator[str]:
    """Lines such as: - `function`: `was` -> `becomes`: why, below a heading that names the module."""
    module = ""
    for line in lines:
        if line.startswith("## "):
            module = line[3:].strip()
        elif line.startswith("- `") and "` -> `" in line:
            before, after = line.split("` -> `", 1)
            function, was = before[3:].split("`: `", 1)
            yield f"{module} | {function} | {was} | {after.split('`: ', 1)[0]}"


def _shown(result: dict[str, Any]) -> tuple[str, str, str]:
    return result["was"], result["becomes"], f"{result['tests']} tests"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("command", choices=("cover", "run", "again", "report"))
    parser.add_argument("modules", nargs="*")
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--budget", type=float, default=BUDGET_S)
    parser.add_argument("--fresh", action="store_true")
    parser.add_argument("--sure", action="store_true", help="all tests pass where nothing is changed: do not try again")
    parser.add_argument("--tests", action="append", default=[], help="a file or folder of tests to keep to")
    options = parser.parse_args()
    if options.command == "cover":
        return cover()
    return report() if options.command == "report" else run(options)


if __name__ == "__main__":
    raise SystemExit(main())
