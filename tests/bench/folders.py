"""The command over folders: on one core, unchanged since the last run, over all cores, and a hundred thousand files."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from clock import Clock, Spent, run
from formulas import copies, sixty_lines
from table import Row
from world import program

SOME = 500
TEN_THOUSAND = 10_000
HUNDRED_THOUSAND = 100_000
MOST_UNCHANGED_S = 1.5
MOST_MB = 400
FEW_ROUNDS = 3


def folders(folder: Path, clock: Clock) -> Iterator[Row]:
    """The whole command, start and report included, beside yamllint's over the same folder."""
    files = copies(folder / "some", sixty_lines(folder / "project"), SOME)
    taken = clock.commands(
        {"formcheck": _review(files, "--afresh", "--processes", "1"), "yamllint": [program("yamllint"), str(files)]},
        FEW_ROUNDS,
    )
    ours, theirs = taken["formcheck"], taken["yamllint"]
    yield Row(
        f"the command over {SOME} files, one process",
        f"{ours.median / SOME * 1e3:.2f} ms a file: {theirs.median / ours.median:.1f} times yamllint's rate",
        f"yamllint {theirs.median / SOME * 1e3:.2f} ms a file",
        "at least 3 times",
        theirs.median < 3 * ours.median,
    )


def unchanged(folder: Path, clock: Clock) -> Iterator[Row]:
    """The same run again: everything is as it was."""
    files = copies(folder / "ten-thousand", sixty_lines(folder / "project"), TEN_THOUSAND)
    first = run(_review(files))
    again = [run(_review(files)) for _ in range(FEW_ROUNDS)]
    wall = clock.measured("unchanged", [each.wall for each in again])
    cpu = clock.measured("unchanged, of the processor", [each.cpu for each in again])
    yield Row(
        f"{TEN_THOUSAND} unchanged files",
        f"{wall.median:.2f} s ({cpu.median:.2f} s of the processor)",
        f"the first run {first.wall:.0f} s",
        f"under {MOST_UNCHANGED_S} s",
        wall.median >= MOST_UNCHANGED_S,
    )


def many(folder: Path, clock: Clock) -> Iterator[Row]:
    """All anew, by one process and by as many as there are cores, in turns."""
    files = copies(folder / "many", sixty_lines(folder / "project"), TEN_THOUSAND // 5)
    alone: list[float] = []
    shared: list[float] = []
    for _ in range(FEW_ROUNDS):
        alone.append(run(_review(files, "--afresh", "--processes", "1")).wall)
        shared.append(run(_review(files, "--afresh")).wall)
    one, all_cores = clock.measured("one process", alone), clock.measured("all cores", shared)
    cores = len(os.sched_getaffinity(0))
    yield Row(
        f"{TEN_THOUSAND // 5} files over {cores} cores",
        f"{all_cores.median:.2f} s: {one.median / all_cores.median:.2f} times as fast as one process",
        f"one process {one.median:.2f} s",
        "",
    )


def memory(folder: Path, clock: Clock) -> Iterator[Row]:
    """A hundred thousand files; most are links to others, so that they fit on the disk."""
    text = sixty_lines(folder / "project")
    files = copies(folder / "hundred-thousand", text, HUNDRED_THOUSAND, different=10_000)
    thousand = _watched(_review(copies(folder / "thousand", text, 1000), "--afresh"))
    taken = _watched(_review(files, "--afresh"))
    yield Row(
        f"memory over {HUNDRED_THOUSAND} files, all processes together",
        f"{taken.peak_mb:.0f} MB ({taken.spent.wall:.0f} s)",
        f"1000 files {thousand.peak_mb:.0f} MB",
        f"under {MOST_MB} MB",
        taken.peak_mb >= MOST_MB,
    )


class Watched(NamedTuple):
    """A run and the most memory that it and its children had together, each shared page counted once, in MB."""

    spent: Spent
    peak_mb: float


def _watched(command: Sequence[str]) -> Watched:
    before = set(_children_of(os.getpid()))
    peak, ended = 0.0, threading.Event()

    def watch() -> None:
        nonlocal peak
        while not ended.is_set():
            ours = [pid for pid in _children_of(os.getpid()) if pid not in before]
            peak = max(peak, sum(_memory_mb(pid) for each in ours for pid in (each, *_children_of(each))))
            time.sleep(0.2)

    watcher = threading.Thread(target=watch)
    watcher.start()
    try:
        spent = run(command)
    finally:
        ended.set()
        watcher.join()
    return Watched(spent, peak)


def _children_of(pid: int) -> list[int]:
    try:
        tasks = os.listdir(f"/proc/{pid}/task")
        return [int(child) for task in tasks for child in _read(f"/proc/{pid}/task/{task}/children").split()]
    except OSError:
        return []


def _memory_mb(pid: int) -> float:
    lines = _read(f"/proc/{pid}/smaps_rollup").splitlines()
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("Pss:")), 0.0)


def _read(path: str) -> str:
    try:
        return Path(path).read_text(encoding="utf-8")
    except OSError:
        return ""


def _review(files: Path, *options: str) -> list[str]:
    return [program("formcheck"), "review", str(files), *options]
