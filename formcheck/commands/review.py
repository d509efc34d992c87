"""Review formula files before anything is weighed.

A file named here is always read; a folder is searched for *.formula.yaml, .yml, .toml and .json; - stands for
what is piped in. Exit status: 0 nothing at or above the threshold, 1 findings, 2 something could not be read or used.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sys
from collections.abc import Generator, Iterable, Iterator
from typing import TYPE_CHECKING

from ..formula.names import listed
from ..reading import files
from ..reading.document import START, Problem
from ..reading.text import MOST_BYTES
from ..reports.report import Context
from ..review.model import HOLD, UNREAD, Review
from ..review.rule import SEVERITIES
from ..review.run import Reviewed, Reviewer, Task, one_after_another, reviews_of
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, plugins_of
from .given import say_faults
from .main import complain
from .outputs import deliver, names, outputs, wanted
from .progress import Progress
from .refusal import Refused

if TYPE_CHECKING:
    import argparse

EXAMPLES = """examples:
  formcheck review hand-gel.formula.yaml
  formcheck review formulas/ --format json --output review.json
  formcheck review formulas/ --format text --format sarif=review.sarif
  formcheck review formulas/ --format html --output pages
  formcheck review hand-gel.formula.yaml --format html=hand-gel.html
  formcheck review formulas/ --format json-lines --output reviews.jsonl
  cat draft.formula.yaml | formcheck review - --threshold critical
"""
MOST_PROCESSES = 512
STOPPED = 130
"""The exit status of a run that somebody interrupted, as shells have it."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "paths",
        nargs="+",
        metavar="PATH",
        help="a formula file, a folder to look through, an address (s3://...), or - for what is piped in",
    )
    parser.add_argument(
        "--format",
        action="append",
        default=[],
        metavar="NAME[=FILE]",
        help="the kind of report: text (default), json, json-lines, sarif, junit, github, gitlab, markdown, html, or one "
        "of a plug-in; give it again for several",
    )
    parser.add_argument(
        "--threshold",
        choices=SEVERITIES,
        metavar="LEVEL",
        help="the lowest severity that puts a formula on hold: critical, major, minor or note (default: that of the "
        "configuration, else major)",
    )
    parser.add_argument(
        "--output",
        metavar="FILE",
        help="write the report to a file instead of the screen; with html a name without an ending is a folder, "
        "for a page a formula and an index",
    )
    parser.add_argument(
        "--processes",
        type=_processes,
        metavar="N",
        help="how many processes share much work (default: one a core)",
    )
    parser.add_argument(
        "--afresh",
        action="store_true",
        help="review every file again, though it and all it rests upon are as they were in an earlier run",
    )
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    reviewer = Reviewer(options.threshold, plugins_of(options))
    gc.freeze()  # rules and reference live as long as the run: the collector need not look at them again
    reports = reviewer.plugins.reports()
    try:
        asked = wanted(options.format, options.output, names(reports), options.paths)
        context = Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite, reviewer.configuration.house)
        targets = outputs(asked, context, reports)
        on_screen = any(target.on_screen for target in targets)
        tally = _Tally(shown=sys.stderr.isatty() and not (on_screen and sys.stdout.isatty()))
        reviews = _reviews(options, reviewer, draws=any(target.report.draws for target in targets))
        with contextlib.closing(reviews):
            delivered = deliver(tally.watch(reviews), targets)
    except Refused as refusal:
        return complain(str(refusal))
    except BadSettings as error:
        return complain_of(error)
    say_faults(reviewer)
    if delivered is None:
        print(f"formcheck: stopped; {tally}", file=sys.stderr)
        return STOPPED
    if delivered and not on_screen and sys.stderr.isatty():
        print(f"formcheck: {tally}; see {listed(target.goes_to for target in targets)}", file=sys.stderr)
    broken = tally.incomplete or not delivered or bool(reviewer.plugins.faults)
    return 2 if broken else int(tally.held > 0)


class _Tally:
    """Keeps count of what decides the exit status, as reviews pass by; on a terminal it shows so when they take a while."""

    def __init__(self, shown: bool) -> None:
        self._shown = shown
        self.done = self.held = self.unread = 0
        self.incomplete = False

    def __str__(self) -> str:
        unread = f", {self.unread} not reviewed" if self.unread else ""
        return f"{self.done} formula{'' if self.done == 1 else 's'} done, {self.held} on hold{unread}"

    def watch(self, reviews: Iterable[Reviewed]) -> Iterator[Reviewed]:
        with Progress(sys.stderr, shown=self._shown) as progress:
            for reviewed in reviews:
                yield reviewed
                self.done += 1
                self.held += reviewed.review.verdict == HOLD
                self.unread += reviewed.review.verdict == UNREAD
                self.incomplete |= reviewed.review.incomplete
                progress.say(str(self), self.done)


def _reviews(options: argparse.Namespace, reviewer: Reviewer, draws: bool) -> Generator[Reviewed, None, None]:
    """The reviews of all paths, in their order, by the cheapest way that gives what the reports need. Raises BadSettings."""
    items = _found(options.paths, reviewer)
    if draws:
        return one_after_another(items, reviewer)
    return reviews_of(items, reviewer, options.pack, options.processes, keep=not options.afresh)


def _found(paths: Iterable[str], reviewer: Reviewer) -> Iterator[Task | Reviewed]:
    """Every file that the paths stand for, and what cannot be had. Raises BadSettings: it ends the run."""
    for item in _looked_through(paths, reviewer):
        if isinstance(item, Task):
            reviewer.settings(item.path)
        yield item


def _looked_through(paths: Iterable[str], reviewer: Reviewer) -> Iterator[Task | Reviewed]:
    for path in paths:
        if path == "-":
            yield Task(path, sys.stdin.buffer.read(MOST_BYTES + 1))
            continue
        try:
            folder = files.is_searched(path)
        except OSError as error:
            yield _unlisted(path, error)
            continue
        if folder:
            yield from _below(path, reviewer)
        else:
            yield Task(path)


def _below(folder: str, reviewer: Reviewer) -> Iterator[Task | Reviewed]:
    found = False
    unlisted: list[OSError] = []
    for file in files.find(folder, reviewer.configuration.leaves_out, unlisted.append):
        found = True
        yield Task(file)
    for error in unlisted:
        yield _unlisted(str(error.filename or folder), error)
    if not found and not unlisted:
        endings = ", ".join("*" + end for end in files.ENDINGS)
        yield _unread(folder, f"no formula files here; a folder is searched for {endings}")


def _unlisted(path: str, error: OSError) -> Reviewed:
    return _unread(path, f"cannot be listed: {(error.strerror or str(error)).lower()}")


def _unread(path: str, message: str) -> Reviewed:
    """What is said of a path that gave nothing to review."""
    name = os.path.basename(os.path.abspath(path))
    return Reviewed(Review(path, name, UNREAD, errors=(Problem(START, message),)))


def _processes(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text[:6]) <= MOST_PROCESSES:
        from argparse import ArgumentTypeError

        raise ArgumentTypeError(f"«{text}» is no number of processes from 1 to {MOST_PROCESSES}")
    return int(text)
