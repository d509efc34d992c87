"""The formula that a command was given: taken from standard input where it is piped, and what is wrong with it."""

from __future__ import annotations

import sys

from ..reading.document import Place, Unreadable
from ..reading.text import MOST_BYTES
from ..reports.safe_text import one_line, visible
from ..review.run import Reviewer
from .main import complain


def piped(file: str) -> bytes | None:
    """What is piped in where the file is `-`, or a little more than a formula may have of it; None for any other file."""
    return sys.stdin.buffer.read(MOST_BYTES + 1) if file == "-" else None


def say_faults(reviewer: Reviewer) -> None:
    """One line on standard error for each plug-in that could not be used."""
    for fault in reviewer.plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")


def say_at(file: str, place: Place, message: str) -> None:
    """One line on standard error about a place in a file, control characters shown and not obeyed."""
    print(f"{visible(file)}:{place.line}:{place.column}: {one_line(message)}", file=sys.stderr)


def say_unreadable(file: str, error: Unreadable) -> int:
    """Says what is wrong with a file, a line a problem; gives the exit status."""
    for problem in error.problems:
        say_at(file, problem.place, problem.message)
    return 2
