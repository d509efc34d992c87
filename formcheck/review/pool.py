"""All cores of this machine: processes that end with the one that started them, whatever becomes of it."""

from __future__ import annotations

import contextlib
import gc
import json
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from multiprocessing.connection import wait

from ..reading.document import START, Problem
from .as_data import as_data
from .many import Answer, Done, Setup, in_order, review_chunk
from .model import UNREAD, Review
from .run import Reviewed, Task

AHEAD = 6
"""Chunks under way for each process."""


def over_processes(items: Iterable[Task | Reviewed], setup: Setup, processes: int) -> Iterator[Done | Reviewed]:
    """As in_order() gives it, over so many processes. A file at which a process dies has a review that says so."""
    pool = _Pool(setup, processes)
    try:
        yield from in_order(items, pool.submit, AHEAD * processes)
    finally:
        pool.close()


class _Pool:
    """Processes that are replaced where they die: out of memory, by a fault of a compiled module, by somebody's hand."""

    def __init__(self, setup: Setup, processes: int) -> None:
        self.setup = setup
        self.processes = processes
        self._executor = self._new(processes)

    def submit(self, tasks: Sequence[Task]) -> _Under:
        """Puts tasks under way."""
        return _Under(self, tasks, self._send(tasks))

    def close(self) -> None:
        """Ends all processes; each finishes the few files it has in hand."""
        self._executor.shutdown(wait=True, cancel_futures=True)

    def one_by_one(self, tasks: Sequence[Task]) -> list[Answer]:
        """What a dead process had in hand, each file in a process of its own, so that it is seen which one it was."""
        answers = []
        for task in tasks:
            alone = self._new(1)
            try:
                answers.extend(alone.submit(review_chunk, self.setup, [task]).result())
            except BrokenExecutor:
                answers.append(self._died_at(task))
            finally:
                alone.shutdown(wait=True)
        return answers

    def _send(self, tasks: Sequence[Task]) -> Future[list[Answer]]:
        try:
            return self._executor.submit(review_chunk, self.setup, tasks)
        except BrokenExecutor:
            self._executor.shutdown(wait=True, cancel_futures=True)
            self._executor = self._new(self.processes)
            return self._executor.submit(review_chunk, self.setup, tasks)

    def _died_at(self, task: Task) -> Answer:
        message = "not reviewed: the process that reviewed it was ended from outside, as for want of memory"
        review = Review(task.path, os.path.basename(task.path), UNREAD, errors=(Problem(START, message),))
        return Answer(json.dumps(as_data(review)), self.setup.today)

    @staticmethod
    def _new(processes: int) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(processes, mp_context=_context(), initializer=_begin)


class _Under:
    """A chunk under way, with what to do where its process died."""

    def __init__(self, pool: _Pool, tasks: Sequence[Task], inner: Future[list[Answer]]) -> None:
        self._pool = pool
        self._tasks = tasks
        self._inner = inner

    def done(self) -> bool:
        return self._inner.done()

    def cancel(self) -> bool:
        return self._inner.cancel()

    def result(self) -> list[Answer]:
        try:
            return self._inner.result()
        except BrokenExecutor:
            self._inner = Future()
            self._inner.set_result(self._pool.one_by_one(self._tasks))
            return self._inner.result()


def _context() -> multiprocessing.context.BaseContext:
    """Forked where that is safe: the reference and the rules, read already, come along."""
    forks = sys.platform == "linux" and threading.active_count() == 1
    return multiprocessing.get_context("fork" if forks else "spawn")


def _begin() -> None:
    """In a new process: an interrupt is for the one that started it, and with that one it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.freeze()
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        with contextlib.suppress(OSError):
            wait([parent.sentinel])
        os._exit(1)
