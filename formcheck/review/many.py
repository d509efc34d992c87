"""Many files: over all cores of this machine, or over any executor that somebody brings, near or far.

Reviews come in the order of the files, whoever made them, and only so many are under way at once, so that a hundred
thousand files need no more memory than a thousand.
"""

from __future__ import annotations

import json
import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Protocol, TypeAlias

from ..plugins import gather
from ..reading import files
from ..records import NamedTuple
from .as_data import as_data, from_data
from .grounds import Grounds
from .model import Review
from .run import Reviewed, Reviewer, Task

if TYPE_CHECKING:
    from concurrent.futures import Executor, Future

CHUNK = 16
"""Files that go to another process at once."""
AHEAD = 64
"""Chunks under way, where nobody says how many hands there are."""
MOST_WAITING = 4000
"""Reviews that may wait for one before them."""


class Setup(NamedTuple):
    """What another process needs in order to review as this one would; all of it can be pickled.

    run: a name for this run, since a process that lives on must not use settings it read in an earlier one.
    """

    run: str
    threshold: str | None
    packs: tuple[str, ...]
    today: date

    @classmethod
    def new(cls, threshold: str | None = None, packs: Iterable[str] = (), today: date | None = None) -> Setup:
        """The setup of a run that begins now."""
        return cls(os.urandom(8).hex(), threshold, tuple(packs), today or date.today())

    def reviewer(self) -> Reviewer:
        """A reviewer as this setup has it."""
        return Reviewer(self.threshold, gather(packs=self.packs) if self.packs else None, today=self.today)


class Answer(NamedTuple):
    """The review of a task. line: as JSON; until: the first day on which it may be another.

    key: the task's own, where it stands for what this review rests upon: settings may have changed on the way.
    """

    line: str
    until: date
    key: bytes | None = None


class Pending(Protocol):
    """What in_order() asks of a future."""

    def result(self) -> list[Answer]: ...

    def done(self) -> bool: ...

    def cancel(self) -> bool: ...


Submit: TypeAlias = Callable[[Sequence[Task]], Pending]
_here = threading.local()


def review_many(
    paths: Iterable[str | os.PathLike[str]],
    *,
    executor: Executor | None = None,
    threshold: str | None = None,
    packs: Iterable[str] = (),
    today: date | None = None,
    ahead: int = AHEAD,
) -> Iterator[Review]:
    """The reviews of many formula files, in their order, as they come.

    paths: files, folders to look through, and addresses such as s3://bucket/formulas that fsspec knows. executor: any
    concurrent.futures.Executor, whose workers have formcheck installed and read the files themselves; None for this
    process alone. threshold, packs, today: as for one review. ahead: how many chunks of files are under way at once.
    A file that cannot be read has a review that says so. Raises OSError where a folder cannot be listed.
    """
    for line in review_lines(paths, executor=executor, threshold=threshold, packs=packs, today=today, ahead=ahead):
        yield from_data(json.loads(line))


def review_lines(
    paths: Iterable[str | os.PathLike[str]],
    *,
    executor: Executor | None = None,
    threshold: str | None = None,
    packs: Iterable[str] = (),
    today: date | None = None,
    ahead: int = AHEAD,
) -> Iterator[str]:
    """The same as lines of JSON without their ends, a review each, as the report json-lines has them."""
    setup = Setup.new(threshold, packs, today)
    tasks = (Task(path) for path in found(os.fspath(path) for path in paths))
    if executor is None:
        for task in tasks:
            yield review_chunk(setup, [task])[0].line
        return

    def submit(tasks: Sequence[Task]) -> Future[list[Answer]]:
        return executor.submit(review_chunk, setup, tasks)

    for result in in_order(tasks, submit, ahead):
        assert isinstance(result, Done)
        yield result.answer.line


def found(paths: Iterable[str], leaves_out: Callable[[str], bool] | None = None) -> Iterator[str]:
    """The formula files that paths stand for: files as they are named, folders looked through. Raises OSError."""
    for path in paths:
        if files.is_searched(path):
            yield from files.find(path, leaves_out)
        else:
            yield path


# --- in another process


def review_chunk(setup: Setup, tasks: Sequence[Task]) -> list[Answer]:
    """The reviews of some files, in whatever process and thread this is called."""
    reviewer, grounds = at_hand(setup)
    return [_answer(task, reviewer, grounds) for task in tasks]


def hold(setup: Setup, reviewer: Reviewer, grounds: Grounds) -> None:
    """Takes a reviewer that is there already for that of a run, here and in what is forked off."""
    _here.run, _here.reviewer, _here.grounds = setup.run, reviewer, grounds


def at_hand(setup: Setup) -> tuple[Reviewer, Grounds]:
    """The reviewer of a run, made once a thread; what is forked off takes it along."""
    if getattr(_here, "run", None) != setup.run:
        reviewer = setup.reviewer()
        hold(setup, reviewer, Grounds(reviewer))
    found: tuple[Reviewer, Grounds] = (_here.reviewer, _here.grounds)
    return found


def _answer(task: Task, reviewer: Reviewer, grounds: Grounds) -> Answer:
    review, sheet = reviewer.review_sheet(task.path, task.data)
    if sheet is None:
        return Answer(json.dumps(as_data(review)), reviewer.today)
    until = grounds.holds_until(sheet.formula)
    sheet.let_go()
    key = grounds.key(task.path, task.data) if task.key is not None and task.data is not None else None
    return Answer(json.dumps(as_data(review)), until, key)


# --- in order


class Done(NamedTuple):
    """A task with what came of it."""

    task: Task
    answer: Answer


class _Chunk:
    """Tasks that go together; future: once they are under way."""

    def __init__(self) -> None:
        self.tasks: list[Task] = []
        self.future: Pending | None = None


def in_order(items: Iterable[Task | Reviewed], submit: Submit, ahead: int) -> Iterator[Done | Reviewed]:
    """Hands tasks out in chunks and gives what comes of them in the order of the items; what is reviewed passes through.

    ahead: chunks under way at most. Whatever a future raises is raised; those still waiting are called off at the end.
    """
    slots: deque[Reviewed | tuple[_Chunk, int]] = deque()
    under_way: deque[_Chunk] = deque()
    chunk = _Chunk()

    def send() -> None:
        nonlocal chunk
        if chunk.tasks:
            chunk.future = submit(chunk.tasks)
            under_way.append(chunk)
            chunk = _Chunk()

    def first() -> Done | Reviewed:
        slot = slots.popleft()
        if isinstance(slot, Reviewed):
            return slot
        of, index = slot
        if of.future is None:
            send()
        assert of.future is not None
        answer = of.future.result()[index]
        if index == len(of.tasks) - 1:
            under_way.remove(of)
        return Done(of.tasks[index], answer)

    def due() -> bool:
        """Whether the first is to be given now: it is there, or so much is under way that we wait for it."""
        if not slots:
            return False
        slot = slots[0]
        if isinstance(slot, Reviewed) or len(under_way) > ahead or len(slots) > MOST_WAITING:
            return True
        return slot[0].future is not None and slot[0].future.done()

    try:
        for item in items:
            if isinstance(item, Reviewed):
                slots.append(item)
            else:
                slots.append((chunk, len(chunk.tasks)))
                chunk.tasks.append(item)
                if len(chunk.tasks) >= CHUNK:
                    send()
            while due():
                yield first()
        send()
        while slots:
            yield first()
    finally:
        for of in under_way:
            if of.future is not None:
                of.future.cancel()
