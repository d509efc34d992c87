"""Review formula files before anything is weighed.

A file named here is always read; a folder is searched for *.formula.yaml, .yml, .toml and .json; - reads standard
input. Exit status: 0 nothing at or above the threshold, 1 findings, 2 something could not be read or used.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping

from ..reading import files
from ..reading.document import START, Problem
from ..reading.text import MOST_BYTES
from ..review.model import HOLD, UNREAD, Review
from ..review.rule import SEVERITIES
from ..review.run import THRESHOLD, Reviewer
from .main import complain

EXAMPLES = """examples:
  formcheck review hand-gel.formula.yaml
  formcheck review formulas/ --format json --output review.json
  cat draft.formula.yaml | formcheck review - --threshold critical
"""
PATIENCE_S = 1.0
"""How long a run may take before a progress bar appears."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("paths", nargs="+", metavar="PATH", help="a formula file, a folder, or - for standard input")
    parser.add_argument(
        "--format", default="text", metavar="NAME", help="text (default) or json, or one that a plug-in brings"
    )
    parser.add_argument(
        "--threshold",
        choices=SEVERITIES,
        default=THRESHOLD,
        help="lowest severity that puts a formula on hold (default: major)",
    )
    parser.add_argument("--output", metavar="FILE", help="write the report to a file instead of standard output")


def run(options: argparse.Namespace) -> int:
    reviewer = Reviewer(options.threshold)
    reports = reviewer.plugins.reports()
    if options.format not in ("text", "json") and options.format not in reports:
        return complain(f"«{options.format}» is no format; there are {', '.join(['text', 'json', *reports])}")
    reviews = _with_progress(_reviews(options.paths, reviewer))
    tally = _Tally()
    if options.format == "text" and not options.output:
        _print_text(tally.watch(reviews))
    else:
        text = _render(options.format, reports, tally.watch(reviews))
        if not _write(text, options.output):
            return 2
    for fault in reviewer.plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    return 2 if tally.incomplete or reviewer.plugins.faults else int(tally.held > 0)


class _Tally:
    """Counts reviews as they pass by."""

    def __init__(self) -> None:
        self.count = self.held = self.unread = 0
        self.incomplete = False

    def watch(self, reviews: Iterable[Review]) -> Iterator[Review]:
        for review in reviews:
            self.count += 1
            self.held += review.verdict == HOLD
            self.unread += review.verdict == UNREAD
            self.incomplete |= review.incomplete
            yield review


def _reviews(paths: Iterable[str], reviewer: Reviewer) -> Iterator[Review]:
    for path in paths:
        if path == "-":
            yield reviewer.review("-", sys.stdin.buffer.read(MOST_BYTES + 1))
        elif os.path.isdir(path):
            yield from _folder(path, reviewer)
        else:
            yield reviewer.review(path)


def _folder(path: str, reviewer: Reviewer) -> Iterator[Review]:
    found = False
    try:
        for file in files.find(path):
            found = True
            yield reviewer.review(file)
    except OSError as error:
        message = f"cannot be listed: {(error.strerror or str(error)).lower()}"
        yield Review(path, os.path.basename(path), UNREAD, errors=(Problem(START, message),))
        return
    if not found:
        message = f"no formula files here; a folder is searched for {', '.join('*' + end for end in files.ENDINGS)}"
        yield Review(path, os.path.basename(os.path.abspath(path)), UNREAD, errors=(Problem(START, message),))


def _print_text(reviews: Iterable[Review]) -> None:
    from ..reports import terminal

    page = terminal.Page(terminal.width_of(sys.stdout), terminal.wants_colour(sys.stdout))
    count = held = unread = 0
    for review in reviews:
        if count:
            print()
        count += 1
        held += review.verdict == HOLD
        unread += review.verdict == UNREAD
        print(page.show(review), end="")
    if count > 1:
        print(f"\n{terminal.summary(count, held, unread)}")


def _render(name: str, reports: Mapping[str, Callable[[Iterable[Review]], str]], reviews: Iterable[Review]) -> str:
    if name == "json":
        from ..reports.json_report import render

        return render(reviews)
    if name == "text":
        from ..reports import terminal

        page = terminal.Page()
        return "\n".join(page.show(review) for review in reviews)
    return reports[name](reviews)


def _write(text: str, path: str | None) -> bool:
    """Writes a report; a file is written beside and renamed, so that no half report is left behind."""
    if path is None:
        sys.stdout.write(text)
        return True
    beside = f"{path}.part"
    try:
        with open(beside, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.replace(beside, path)
    except OSError as error:
        complain(f"{path}: cannot be written: {(error.strerror or str(error)).lower()}")
        return False
    return True


def _with_progress(reviews: Iterator[Review]) -> Iterator[Review]:
    """The same reviews; once they have taken a while, a bar on a terminal's standard error says how many are done."""
    if not sys.stderr.isatty() or sys.stdout.isatty():
        yield from reviews
        return
    started = time.monotonic()
    shown = False
    for count, review in enumerate(reviews, 1):
        yield review
        if time.monotonic() - started > PATIENCE_S and count % 20 == 0:
            shown = True
            print(f"\r{count} formulas reviewed ", end="", file=sys.stderr, flush=True)
    if shown:
        print("\r" + " " * 40 + "\r", end="", file=sys.stderr)
