"""Review formula files before anything is weighed.

A file named here is always read; a folder is searched for *.formula.yaml, .yml, .toml and .json; - stands for
what is piped in. Exit status: 0 nothing at or above the threshold, 1 findings, 2 something could not be read or used.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
import time
from collections.abc import Iterable, Iterator

from ..reading import files
from ..reading.document import START, Problem
from ..reading.text import MOST_BYTES
from ..reports.report import Context
from ..review.model import HOLD, UNREAD, Review
from ..review.rule import SEVERITIES
from ..review.run import Reviewed, Reviewer
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, plugins_of
from .given import say_faults
from .main import complain
from .outputs import deliver, names, outputs, wanted
from .refusal import Refused

EXAMPLES = """examples:
  formcheck review hand-gel.formula.yaml
  formcheck review formulas/ --format json --output review.json
  formcheck review formulas/ --format text --format sarif=review.sarif
  formcheck review formulas/ --format html --output pages
  formcheck review hand-gel.formula.yaml --format html=hand-gel.html
  cat draft.formula.yaml | formcheck review - --threshold critical
"""
PATIENCE_S = 1.0
"""How long a run may take before a progress bar appears."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "paths", nargs="+", metavar="PATH", help="a formula file, a folder to look through, or - for what is piped in"
    )
    parser.add_argument(
        "--format",
        action="append",
        default=[],
        metavar="NAME[=FILE]",
        help="the kind of report: text (default), json, sarif, junit, github, gitlab, markdown, html, or one of a plug-in; "
        "give it again for several",
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
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    reviewer = Reviewer(options.threshold, plugins_of(options))
    gc.freeze()  # rules and reference live as long as the run: the collector need not look at them again
    reports = reviewer.plugins.reports()
    tally = _Tally()
    try:
        asked = wanted(options.format, options.output, names(reports), options.paths)
        context = Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite, reviewer.configuration.house)
        reviews = _with_progress(_reviews(options.paths, reviewer))
        delivered = deliver(tally.watch(reviews), outputs(asked, context, reports))
    except Refused as refusal:
        return complain(str(refusal))
    except BadSettings as error:
        return complain_of(error)
    say_faults(reviewer)
    broken = tally.incomplete or not delivered or bool(reviewer.plugins.faults)
    return 2 if broken else int(tally.held > 0)


class _Tally:
    """Keeps count of what decides the exit status, as reviews pass by."""

    def __init__(self) -> None:
        self.held = 0
        self.incomplete = False

    def watch(self, reviews: Iterable[Reviewed]) -> Iterator[Reviewed]:
        for reviewed in reviews:
            self.held += reviewed.review.verdict == HOLD
            self.incomplete |= reviewed.review.incomplete
            yield reviewed


def _reviews(paths: Iterable[str], reviewer: Reviewer) -> Iterator[Reviewed]:
    for path in paths:
        if path == "-":
            yield _file(path, reviewer, sys.stdin.buffer.read(MOST_BYTES + 1))
        elif os.path.isdir(path):
            yield from _folder(path, reviewer)
        else:
            yield _file(path, reviewer)


def _file(path: str, reviewer: Reviewer, data: bytes | None = None) -> Reviewed:
    """The review of a file; a configuration that cannot be used ends the run. Raises BadSettings."""
    reviewer.settings(path)
    return reviewer.review_sheet(path, data)


def _folder(path: str, reviewer: Reviewer) -> Iterator[Reviewed]:
    found = False
    unlisted: list[OSError] = []
    for file in files.find(path, reviewer.configuration.leaves_out, unlisted.append):
        found = True
        yield _file(file, reviewer)
    for error in unlisted:
        yield _unread(str(error.filename or path), f"cannot be listed: {(error.strerror or str(error)).lower()}")
    if not found and not unlisted:
        endings = ", ".join("*" + end for end in files.ENDINGS)
        yield _unread(path, f"no formula files here; a folder is searched for {endings}")


def _unread(path: str, message: str) -> Reviewed:
    """What a folder shows that gave nothing to review."""
    name = os.path.basename(os.path.abspath(path))
    return Reviewed(Review(path, name, UNREAD, errors=(Problem(START, message),)))


def _with_progress(reviews: Iterator[Reviewed]) -> Iterator[Reviewed]:
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
