"""Many files on this machine: what is kept from earlier runs is not done again, and what is much is shared among all cores."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Generator, Iterable, Iterator
from contextlib import nullcontext
from datetime import date

from ..reading import files
from ..reading.document import Unreadable
from .as_data import from_data
from .grounds import Grounds
from .kept import Kept
from .many import Done, Setup, hold
from .model import UNREAD, Review
from .run import Reviewed, Reviewer, Task

TOGETHER = 64
TOGETHER_BYTES = 4_000_000
"""Files whose reviews are asked for at once."""
ALONE_S = 0.5
"""So long one process works alone. To start others costs about that, for nothing where little is left."""


def reviewed_here(
    items: Iterable[Task | Reviewed], reviewer: Reviewer, packs: Iterable[str], processes: int | None, keep: bool = True
) -> Generator[Reviewed, None, None]:
    """The reviews of files, without worksheets, over so many processes where there is much to do; None for one a core.

    packs: those that the reviewer was made with; keep: whether reviews kept from earlier runs serve, and those of this run
    are kept. What comes out is the same in any case.
    """
    setup = Setup.new(reviewer.asked_threshold, packs, reviewer.today)
    grounds = Grounds(reviewer)
    hold(setup, reviewer, grounds)
    with Kept(reviewer.today) if keep and grounds.keeps else nullcontext() as kept:
        yield from _Run(reviewer, grounds, kept, setup, processes or cores()).of(items)


def cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0)) or 1
    return os.cpu_count() or 1


def _by_size(items: Iterable[Task | Reviewed]) -> Iterator[list[Task | Reviewed]]:
    """Some items together, few where their files are large: what is asked for together is in memory together."""
    together: list[Task | Reviewed] = []
    size = 0
    for item in items:
        together.append(item)
        size += len(item.data or b"") if isinstance(item, Task) else 0
        if len(together) == TOGETHER or size > TOGETHER_BYTES:
            yield together
            together, size = [], 0
    yield together


class _Run:
    """One run over many files. kept: None where nothing is kept."""

    def __init__(self, reviewer: Reviewer, grounds: Grounds, kept: Kept | None, setup: Setup, processes: int) -> None:
        self.reviewer = reviewer
        self.grounds = grounds
        self.kept = kept
        self.setup = setup
        self.processes = processes
        self._much = False

    def of(self, items: Iterable[Task | Reviewed]) -> Iterator[Reviewed]:
        waiting = self._looked_up(items)
        yield from self._alone(waiting)
        if self._much:
            from .pool import over_processes

            for result in over_processes(waiting, self.setup, self.processes):
                yield result if isinstance(result, Reviewed) else self._from_there(result)

    def _looked_up(self, items: Iterable[Task | Reviewed]) -> Iterator[Task | Reviewed]:
        """What is kept in place of the tasks it answers. What is not goes on with the bytes for which its key stands."""
        if self.kept is None:
            yield from items
            return
        for together in _by_size(self._with_key(item) if isinstance(item, Task) else item for item in items):
            found = self.kept.get([(item.key, item.path) for item in together if isinstance(item, Task) and item.key])
            for item in together:
                review = found.get(item.path) if isinstance(item, Task) else None
                yield item if review is None else Reviewed(review)

    def _with_key(self, task: Task) -> Task:
        try:
            data = files.bytes_of(task.path) if task.data is None else task.data
            return Task(task.path, data, self.grounds.key(task.path, data))
        except Unreadable:  # the review says so
            return task

    def _alone(self, items: Iterator[Task | Reviewed]) -> Iterator[Reviewed]:
        """All of them, or as many as come in the time that one process works alone."""
        spent = 0.0
        for item in items:
            if isinstance(item, Reviewed):
                yield item
                continue
            started = time.perf_counter()
            reviewed = self.reviewer.review_sheet(item.path, item.data)
            if reviewed.sheet is not None:
                self._keep(item, reviewed.review, self.grounds.holds_until(reviewed.sheet.formula))
                reviewed.sheet.let_go()
            spent += time.perf_counter() - started
            yield Reviewed(reviewed.review)
            if spent > ALONE_S and self.processes > 1:
                self._much = True
                return

    def _from_there(self, done: Done) -> Reviewed:
        review = from_data(json.loads(done.answer.line))
        if done.answer.key == done.task.key:
            self._keep(done.task, review, done.answer.until)
        return Reviewed(review)

    def _keep(self, task: Task, review: Review, until: date) -> None:
        if self.kept is not None and task.key is not None and review.verdict != UNREAD and not review.incomplete:
            self.kept.put(task.key, until, review)
