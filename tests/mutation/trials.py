"""The trials of a run: a fork for every change, in a process in which pytest has collected the tests."""

from __future__ import annotations

import gc
import json
import os
import resource
import signal
import subprocess
import sys
import time
from bisect import bisect
from collections import Counter
from collections.abc import Callable, Iterator
from importlib import import_module
from itertools import accumulate
from pathlib import Path
from typing import Any

import pytest
from changes import Change, changes
from coverage import CoverageData
from living import Living, NotAlive
from mutation import BUILD, COVERAGE, HOME, LIMIT_S, RESULTS, TIMES, arguments, key, part

KILLED, TIMED_OUT, SURVIVED, INVALID, NOT_ALIVE = "killed", "timed out", "survived", "invalid", "not alive"
LATE = 77  # the exit status of a child that took too long
MEMORY = 6 << 30
TOO_SLOW_S = 2.0  # the few tests that take longer are left out


class Trials:
    """A pytest plug-in that runs changes in place of the tests."""

    def __init__(self, options: Any, paths: list[Path], wanted: set[str] | None) -> None:
        self.options, self.paths, self.wanted = options, paths, wanted
        self.times: dict[str, float] = json.loads(TIMES.read_text(encoding="utf-8"))
        self.failed = False

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.failed = self.failed or report.failed

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: Any) -> bool:
        covered = CoverageData(str(COVERAGE))
        covered.read()
        used = {_test(each) for each in covered.measured_contexts()}
        self.items = {
            item.nodeid: item
            for item in session.items
            if (item.nodeid in used and self.times[item.nodeid] < TOO_SLOW_S) or item.nodeid not in self.times
        }
        session.config.pluginmanager.unregister(name="terminalreporter")
        for path in self.paths:
            import_module(_dotted(path))
        self.living = Living({str(path) for path in self.paths})
        _reviewer_at_hand(session.items)
        gc.freeze()
        bad = set() if self.options.sure else self._unchanged()
        os.write(
            self.options.screen,
            f"{len(self.items)} tests; left out as they fail without a change: {sorted(bad)}\n".encode(),
        )
        self.items = {name: item for name, item in self.items.items() if name not in bad}
        for path in self.paths:
            self._module(path, covered)
        return True

    def _unchanged(self) -> set[str]:
        """Tests that fail where nothing is changed, run as they will be."""

        def work() -> dict[str, Any]:
            names = list(self.items)
            return {"bad": [name for name, following in zip(names, [*names[1:], None]) if self._fails(name, following)]}

        return set(in_a_fork(work)["bad"])

    def _module(self, path: Path, covered: CoverageData) -> None:
        source = path.read_text(encoding="utf-8")
        module = str(path.relative_to(HOME))
        every = list(named(module, source))
        note_made(module, [key(result) for result, _ in every])
        contexts = {
            line: {_test(name) for name in names} for line, names in covered.contexts_by_lineno(str(path)).items()
        }
        kills: Counter[str] = Counter()
        outcomes: Counter[str] = Counter()
        started = time.monotonic()
        for result, change in part(every, module, self.options.share, self.options.seed):
            if self.wanted is not None and key(result) not in self.wanted:
                continue
            order = self._order(path, change, contexts, kills)
            result |= {"tests": len(order), **self._trial(path, source, change, order)}
            kills[result.get("by", "")] += 1
            outcomes[result["outcome"]] += 1
            with RESULTS.open("a", encoding="utf-8") as file:
                file.write(json.dumps(result, ensure_ascii=False) + "\n")
        if outcomes:
            told = f"{module}: {dict(outcomes)} of {len(every)}, {time.monotonic() - started:.0f} s"
            os.write(self.options.screen, f"{told}\n".encode())

    def _order(self, path: Path, change: Change, contexts: dict[int, set[str]], kills: Counter[str]) -> list[str]:
        """The tests that run the changed statement, best first, then those that run the module, as many as the budget
        holds; tests younger than the coverage always. What is worked out once and kept is run by the first test that
        asks for it alone, so that coverage does not show whom else it serves."""
        lines = change.lines if change.in_function else contexts
        covering: set[str] = set().union(*(contexts.get(line, ()) for line in lines))
        touching: set[str] = set().union(*contexts.values())
        names = [name for name in self.items if name in touching or name not in self.times]
        near = (
            {"tests/bench_"}
            if path.parent.name == "bench" and path.parent.parent.name == "formcheck"
            else {path.stem.replace("_", "-"), f"rules/test_{path.parent.name}.py", "test_by_hand.py"}
        )
        near_ones = {name for name in names if any(word in name for word in near)}

        def rank(name: str) -> tuple[object, ...]:
            covers = name in covering or name not in self.times
            return (not covers, -kills[name], name not in near_ones, self.times.get(name, 0.0))

        names.sort(key=rank)
        spent = list(accumulate(self.times.get(name, 0.0) for name in names))
        return names[: 1 + bisect(spent, self.options.budget)]

    def _trial(self, path: Path, source: str, change: Change, order: list[str]) -> dict[str, Any]:
        if not order:
            return {"outcome": SURVIVED}
        if not self.options.fresh:
            result = in_a_fork(lambda: self._alive(path, source, change, order))
            if result["outcome"] != NOT_ALIVE:
                return result
        return in_a_fresh_python(path, change.source, order)

    def _alive(self, path: Path, source: str, change: Change, order: list[str]) -> dict[str, Any]:
        try:
            self.living.change(str(path), source, change.source, change.in_function)
        except SyntaxError:
            return {"outcome": INVALID}
        except (NotAlive, ValueError) as error:
            return {"outcome": NOT_ALIVE, "why": str(error)}
        except Exception as error:
            return {"outcome": KILLED, "by": f"import: {error!r}"}
        signal.signal(signal.SIGPROF, _too_long)
        signal.signal(signal.SIGALRM, _too_long)
        for name, following in zip(order, [*order[1:], None]):
            signal.setitimer(signal.ITIMER_PROF, LIMIT_S + 4 * self.times.get(name, 0.0))
            signal.alarm(300)
            if self._fails(name, following):
                return {"outcome": KILLED, "by": name}
        return {"outcome": SURVIVED}

    def _fails(self, name: str, following: str | None) -> bool:
        self.failed = False
        item, after = self.items[name], self.items[following] if following else None
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
        return self.failed


def in_a_fork(work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """What the work answers in a child of this process; a child that dies or takes too long says so."""
    read, write = os.pipe()
    pid = os.fork()
    if not pid:
        _quiet()
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        try:
            os.write(write, json.dumps(work()).encode())
        except BaseException as error:
            os.write(write, json.dumps({"outcome": KILLED, "by": f"the run itself: {error!r}"}).encode())
        os._exit(0)
    os.close(write)
    with open(read, "rb") as file:
        told = file.read()
    status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    return (
        dict(json.loads(told)) if told else {"outcome": TIMED_OUT if status == LATE else KILLED, "by": f"exit {status}"}
    )


def in_a_fresh_python(path: Path, source: str, order: list[str]) -> dict[str, Any]:
    """The same tests in a Python that imports the changed module."""
    try:
        compile(source, str(path), "exec", dont_inherit=True)
    except SyntaxError:
        return {"outcome": INVALID}
    told = Path(os.environ.setdefault("MUTATION_TOLD", str(BUILD / f"fresh-{os.getpid()}.json")))
    told.write_text(json.dumps({"path": str(path), "source": source, "tests": order}), encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-x", "-p", "fresh", *arguments(sorted({_file(each) for each in order}))]
    try:
        done = subprocess.run(command, cwd=HOME, capture_output=True, text=True, timeout=600, check=False)
    except subprocess.TimeoutExpired:
        return {"outcome": TIMED_OUT}
    if done.returncode in (0, 5):  # all passed, or none was there
        return {"outcome": SURVIVED, "fresh": True}
    failed = [line.split(" ")[1] for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return {"outcome": KILLED, "by": (failed or [done.stdout[-300:]])[0], "fresh": True}


def named(module: str, source: str) -> Iterator[tuple[dict[str, Any], Change]]:
    """Every change with what it is called: its module, function, operator, the words before and after, its number
    among equal ones."""
    seen: Counter[str] = Counter()
    for change in changes(source):
        was, becomes = words(source.splitlines(), change.source.splitlines())
        called: dict[str, Any] = {"module": module, "function": change.within, "operator": change.operator}
        called |= {"was": was, "becomes": becomes, "line": change.line, "number": 0}
        seen[key(called)] += 1
        yield {**called, "number": seen[key(called)]}, change


def words(before: list[str], after: list[str]) -> tuple[str, str]:
    """The lines that differ, each side in one line."""
    start = next((at for at, pair in enumerate(zip(before, after)) if pair[0] != pair[1]), 0)
    end = next((at for at, pair in enumerate(zip(before[::-1], after[::-1])) if pair[0] != pair[1]), 0)
    sides = (before[start : len(before) - end], after[start : len(after) - end])
    was, becomes = (" ".join(" ".join(each).split()) for each in sides)
    return was, becomes


def note_made(module: str, keys: list[str]) -> None:
    """Which changes a module has by now; results of others are of code that is no more."""
    path = BUILD / "made.json"
    made = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    path.write_text(json.dumps({**made, module: keys}, ensure_ascii=False), encoding="utf-8")


def _reviewer_at_hand(items: list[Any]) -> None:
    """The fixture that most tests share is made once for all children; it has reviewed nothing yet."""
    made = {}
    for item in items:
        for fixture in item._fixtureinfo.name2fixturedefs.get("reviewer", ()):
            if fixture.scope == "session" and id(fixture) not in made:
                made[id(fixture)] = fixture.func()
                fixture.cached_result = (made[id(fixture)], None, None)


def _dotted(path: Path) -> str:
    """The module at a path; rules/ is imported as formcheck_rules."""
    parts = path.relative_to(HOME).with_suffix("").parts
    parts = ("formcheck_rules", *parts[1:]) if parts[0] == "rules" else parts
    return ".".join(parts).removesuffix(".__init__")


def _quiet() -> None:
    nowhere = os.open(os.devnull, os.O_RDWR)
    for each in (1, 2):
        os.dup2(nowhere, each)


def _too_long(*_: object) -> None:
    os._exit(LATE)


def _test(context: str) -> str:
    return context.rsplit("|", 1)[0]


def _file(test: str) -> str:
    return test.split("::")[0]
