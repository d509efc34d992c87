"""Review the formulas that changed files concern, in few lines: for a commit hook.

A formula is reviewed itself; a materials file brings the formulas at or below its folder along, a configuration or a
rule file of the house those that go by it. Other files, and what the configuration leaves out, are passed over. - reads
names that are piped in, one a line, or with NUL between them. Exit status: as that of review.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Iterator

from ..reports.brief import Brief
from ..reports.report import Context
from ..review.model import HOLD
from ..review.rule import SEVERITIES
from ..review.run import Reviewer, Task, reviews_of
from ..review.served import served
from .configured import add_pack_argument, plugins_of
from .main import complain
from .refusal import Refused

EXAMPLES = """examples:
  formcheck changed hand-gel.formula.yaml materials.yaml
  git diff --cached --name-only -z | formcheck changed -
"""
NAMES = "-"
MOST_NAMES_BYTES = 64 * 1024 * 1024
"""A million names take about as much; a stream that goes on is none of git's."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files", nargs="*", metavar="FILE", help="a file that was changed or removed, or - for names that are piped in"
    )
    parser.add_argument(
        "--threshold",
        choices=SEVERITIES,
        metavar="LEVEL",
        help="the lowest severity that puts a formula on hold: critical, major, minor or note (default: that of the "
        "configuration, else major)",
    )
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    try:
        names = list(_names(options.files))
    except Refused as refusal:
        return complain(str(refusal))
    if not names:
        return 0
    reviewer = Reviewer(options.threshold, plugins_of(options))
    concerned = served(names, reviewer)
    report = Brief(
        Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite, reviewer.configuration.house), concerned
    )
    sys.stdout.write(report.begin())
    held, incomplete = False, bool(concerned.problems)
    with contextlib.closing(reviews_of(map(Task, concerned.formulas), reviewer, options.pack)) as reviews:
        for review, _ in reviews:
            held |= review.verdict == HOLD
            incomplete |= review.incomplete
            sys.stdout.write(report.add(review))
    sys.stdout.write(report.end())
    for fault in reviewer.plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    return 2 if incomplete or reviewer.plugins.faults else int(held)


def _names(given: list[str]) -> Iterator[str]:
    """The names given and piped in. Raises Refused where more are piped in than are read: none is passed over in silence."""
    for name in given:
        if name != NAMES:
            yield name
            continue
        data = sys.stdin.buffer.read(MOST_NAMES_BYTES + 1)
        if len(data) > MOST_NAMES_BYTES:
            raise Refused(f"more than {MOST_NAMES_BYTES // 2**20} MiB of names are piped in; give fewer at a time")
        names = data.split(b"\0") if b"\0" in data else data.splitlines()
        yield from (os.fsdecode(each) for each in names if each)
