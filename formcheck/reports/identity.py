"""Which file and which finding it is, said so that one run can be compared with another."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from urllib.parse import quote, quote_from_bytes

from ..review.model import Review
from ..review.rule import Finding

STANDARD_INPUT = "-"


def relative(path: str) -> str:
    """A path as builds want it: from the working folder where it lies below, with forward slashes, without `./`."""
    if path == STANDARD_INPUT:
        return path
    try:
        below = os.path.relpath(path)
    except ValueError:  # another drive
        below = os.path.abspath(path)
    if below == os.pardir or below.startswith(os.pardir + os.sep):
        below = os.path.normpath(path)
    return below.replace(os.sep, "/")


def uri(path: str) -> str:
    """The same as a URI reference (RFC 3986); an absolute path becomes a file URI. Every byte of a name survives."""
    below = relative(path)
    if not os.path.isabs(below):
        return quote_from_bytes(os.fsencode(below), safe="/")
    drive, rest = os.path.splitdrive(below)
    return "file://" + (quote(f"/{drive}", safe="/:") if drive else "") + quote_from_bytes(os.fsencode(rest), safe="/")


def fingerprints(review: Review) -> dict[Finding, str]:
    """A fingerprint (32 hex digits) for every finding of a review, those accepted or silenced included; all are different.

    It rests on the file's name, the rule, the materials and the place in the formula, not on lines, numbers of steps
    or computed values: it stays when lines or steps are put in before it, and when a percent changes. Findings alike in
    all that are told apart by their order.
    """
    findings = [*review.findings, *review.settled]
    seen: dict[str, int] = {}
    result: dict[Finding, str] = {}
    for finding in sorted(findings, key=lambda f: (f.place, f.message)):
        base = _base(review.file, finding)
        seen[base] = seen.get(base, 0) + 1
        result[finding] = _digest((base, str(seen[base])))
    return result


def fingerprint(file: str, kind: str, text: str) -> str:
    """A fingerprint for something that is no finding: a file that could not be read, a rule that failed."""
    return _digest((relative(file), kind, text))


def _base(file: str, finding: Finding) -> str:
    path = "/".join("#" if part.isdigit() else part for part in finding.path.split("/"))
    return "\n".join((relative(file), finding.rule, path, *sorted(finding.materials)))


def _digest(parts: Iterable[str]) -> str:
    return hashlib.sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:32]
