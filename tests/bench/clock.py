"""Measuring several things in turns, and what the values come to."""

from __future__ import annotations

import gc
import os
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import pyperf


class Spent(NamedTuple):
    """What one run of a command took: seconds on the clock, seconds of the processor, its largest memory in MB."""

    wall: float
    cpu: float
    peak_mb: float
    status: int


class Measured(NamedTuple):
    """Median, and median distance from it, in seconds."""

    median: float
    spread: float

    @property
    def ms(self) -> str:
        """In milliseconds, with the spread where it shows."""
        digits = 0 if self.median >= 0.02 else 2
        return f"{self.median * 1e3:.{digits}f} ± {self.spread * 1e3:.{digits}f} ms"


class Clock:
    """Measures, and keeps every value."""

    def __init__(self, rounds: int) -> None:
        self.rounds = rounds
        self._kept: list[pyperf.Benchmark] = []

    def commands(self, commands: Mapping[str, Sequence[str]], rounds: int = 0) -> dict[str, Measured]:
        """Processor time of commands that run in turns, after one turn that warms the caches."""
        taken: dict[str, list[float]] = {name: [] for name in commands}
        for number in range((rounds or self.rounds) + 1):
            for name, command in commands.items():
                spent = run(command)
                if number:
                    taken[name].append(spent.cpu)
        return {name: self.measured(name, values) for name, values in taken.items()}

    def functions(self, functions: Mapping[str, Callable[[], object]], rounds: int = 0) -> dict[str, Measured]:
        """Processor time of functions of this process that are called in turns, after one call that warms them up."""
        taken: dict[str, list[float]] = {name: [] for name in functions}
        for number in range((rounds or self.rounds) + 1):
            for name, function in functions.items():
                gc.collect()
                started = time.process_time()
                function()
                if number:
                    taken[name].append(time.process_time() - started)
        return {name: self.measured(name, values) for name, values in taken.items()}

    def measured(self, name: str, values: Sequence[float]) -> Measured:
        """What some values come to; they are kept under the name."""
        kept = pyperf.Run(list(values), metadata={"name": name, "unit": "second"}, collect_metadata=False)
        benchmark = pyperf.Benchmark([kept])
        self._kept.append(benchmark)
        return Measured(benchmark.median(), benchmark.median_abs_dev() if len(values) > 1 else 0.0)

    def keep(self, file: str) -> None:
        """Writes every value into a file that pyperf reads."""
        pyperf.BenchmarkSuite(self._kept).dump(file, replace=True)


def run(command: Sequence[str]) -> Spent:
    """Runs a command to its end, its output thrown away."""
    started = time.perf_counter()
    nothing = subprocess.DEVNULL
    process = subprocess.Popen(command, stdin=nothing, stdout=nothing, stderr=nothing)
    _, status, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - started
    process.returncode = os.waitstatus_to_exitcode(status)
    return Spent(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, process.returncode)
