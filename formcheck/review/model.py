"""A review: what came out of looking at one formula file. Plain frozen records, ready to be shown."""

from __future__ import annotations

from ..formula.model import Deviation
from ..plugins import Fault
from ..reading.document import Problem
from ..records import NamedTuple
from .rule import SEVERITIES, Finding, Unchecked

HOLD = "hold"
READY = "ready"
UNREAD = "not reviewed"
THRESHOLD = "major"
"""Lowest severity that holds a formula back, unless the house or the command line says otherwise."""


class Accepted(NamedTuple):
    """A finding that the maker accepted on purpose."""

    finding: Finding
    deviation: Deviation


class Silenced(NamedTuple):
    """A finding that the configuration keeps out. reason: the configuration's own; where: its file and line."""

    finding: Finding
    reason: str
    where: str


class Regraded(NamedTuple):
    """A finding to which the configuration gives another severity. was: the rule's own."""

    finding: Finding
    was: str
    reason: str
    where: str


class Review(NamedTuple):
    """The review of one file.

    verdict: hold (something at or above the threshold), ready, or not reviewed (the file could not be read, or a rule
    failed on it and nothing else holds it back). tables: the legal tables used, with their dates. silenced, regraded:
    what the configuration did; regraded findings stand among findings too. threshold: the one the verdict went by.
    """

    file: str
    name: str
    verdict: str
    findings: tuple[Finding, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    unchecked: tuple[Unchecked, ...] = ()
    errors: tuple[Problem, ...] = ()
    faults: tuple[Fault, ...] = ()
    tables: tuple[str, ...] = ()
    note: str = ""
    silenced: tuple[Silenced, ...] = ()
    regraded: tuple[Regraded, ...] = ()
    threshold: str = THRESHOLD

    def count(self, severity: str) -> int:
        """How many findings have a severity."""
        return sum(finding.severity == severity for finding in self.findings)

    @property
    def settled(self) -> tuple[Finding, ...]:
        """Findings that do not count: accepted on purpose, or silenced by the configuration."""
        return (*(each.finding for each in self.accepted), *(each.finding for each in self.silenced))

    @property
    def incomplete(self) -> bool:
        """Whether something kept the review from being whole."""
        return bool(self.errors or self.faults)


def at_or_above(severity: str, threshold: str) -> bool:
    """Whether a severity reaches the threshold."""
    return SEVERITIES.index(severity) <= SEVERITIES.index(threshold)
