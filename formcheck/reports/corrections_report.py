"""Corrections as a person reads them, with the change as a unified diff; and as data."""

from __future__ import annotations

import difflib
import json
import re
import textwrap
from collections.abc import Iterator

from ..review.corrections import ON_REQUEST, Corrected
from ..review.model import READY
from ..review.rule import SEVERITIES
from .safe_text import one_line, visible
from .terminal import counted

_LINES = re.compile(r"[^\n]*\n|[^\n]+")


def text(result: Corrected, saved: bool, width: int) -> str:
    """What was corrected, what was tried and not kept, what is left, and last the diff."""
    lines: list[str] = []
    lines.append(f"{one_line(result.review.name)} ({one_line(result.file)})")
    lines.append(_head(result, saved))
    for made in result.made:
        lines.extend(_item(made.line, f"{made.what} ({made.rule})", width))
    if result.refused:
        lines.extend(("", "Tried and not kept"))
        for refused in result.refused:
            lines.extend(_item(refused.line, f"{refused.what} ({refused.rule}): {refused.why}", width))
    if result.open:
        lines.extend(("", "On request"))
        lines.extend(f"  --also {name:<14} {ON_REQUEST[name]}" for name in result.open)
    lines.extend(("", _left(result)))
    if result.made:
        lines.extend(("", *diff(result)))
    return "\n".join(lines) + "\n"


def as_data(result: Corrected, saved: bool) -> str:
    """The same as JSON."""
    data = {
        "format": 1,
        "file": result.file,
        "name": result.review.name,
        "saved": saved,
        "corrections": [made._asdict() for made in result.made],
        "not kept": [refused._asdict() for refused in result.refused],
        "on request": list(result.open),
        "findings left": {severity: result.review.count(severity) for severity in SEVERITIES},
        "diff": "".join(f"{line}\n" for line in diff(result)) if result.made else "",
    }
    return json.dumps(data, indent=2) + "\n"


def diff(result: Corrected) -> Iterator[str]:
    """The change as a unified diff, line by line; line ends are not shown, control characters are made visible."""
    name = one_line(result.file)
    for line in difflib.unified_diff(_lines(result.old), _lines(result.new), name, f"{name}, corrected", lineterm=""):
        yield visible(line.rstrip("\r\n"))
        if line[:1] in "+- " and not line.startswith(("--- ", "+++ ")) and not line.endswith("\n"):
            yield "\\ No newline at end of file"


def _lines(text: str) -> list[str]:
    return _LINES.findall(text)


def _head(result: Corrected, saved: bool) -> str:
    count = len(result.made)
    if not count:
        return "nothing to correct"
    what = "1 correction" if count == 1 else f"{count} corrections"
    return f"{what}, written" if saved else f"{what}, not written yet: --save writes {'it' if count == 1 else 'them'}"


def _item(line: int, what: str, width: int) -> list[str]:
    return textwrap.wrap(
        one_line(what),
        width,
        initial_indent=f"  line {line:<5}",
        subsequent_indent=" " * 12,
        break_on_hyphens=False,
        break_long_words=False,
    )


def _left(result: Corrected) -> str:
    """What no correction speaks of."""
    counts = [counted(severity, count) for severity in SEVERITIES if (count := result.review.count(severity))]
    if not counts:
        return "No findings are left." if result.review.verdict == READY else "The review is not whole."
    return f"Left to you: {', '.join(counts)}; formcheck review names them."
