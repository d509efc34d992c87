"""The formula file inside a page: the whole of it with numbered lines, or the few lines that a finding speaks of."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from ..reading.document import Place
from .markup import Markup, tag

AROUND = 2
"""Lines shown before and after the one that is meant."""
MOST_LINES = 3000
MOST_WIDE = 240
_BEFORE_COLUMN = 60
_BREAKS = re.compile(r"\r\n|\r|\n")


class Source:
    """The text of one formula file. prefix: makes the ids of its lines unique on the page."""

    def __init__(self, text: str, prefix: str) -> None:
        self.lines = _BREAKS.split(text)
        if self.lines and not self.lines[-1]:
            self.lines.pop()
        self.prefix = prefix

    def has(self, line: int) -> bool:
        """Whether the whole file, as shown, has this line."""
        return 1 <= line <= min(len(self.lines), MOST_LINES)

    def line_id(self, line: int) -> str:
        return f"{self.prefix}-line-{line}"

    def excerpt(self, place: Place) -> Markup | None:
        """The line of a place with its neighbours, marked from the column on; None where the file has no such line."""
        if not 1 <= place.line <= len(self.lines):
            return None
        first, last = max(1, place.line - AROUND), min(len(self.lines), place.line + AROUND)
        rows = [self._row(number, place if number == place.line else None) for number in range(first, last + 1)]
        return tag("div", rows, class_="source", role="group", aria_label=f"line {place.line} of the file")

    def whole(self, signs: Mapping[int, Markup]) -> Iterator[Markup]:
        """Every line with an id; signs: what stands in the margin of a line."""
        rows = [
            tag(
                "div",
                tag("span", str(number), class_="no"),
                tag("code", _clipped(line, 0)),
                tag("span", signs[number], class_="signs") if number in signs else None,
                id=self.line_id(number),
                class_="wide-margin" + (" here" if number in signs else ""),
            )
            for number, line in enumerate(self.lines[:MOST_LINES], 1)
        ]
        yield tag("div", rows, class_="source")
        if len(self.lines) > MOST_LINES:
            yield tag("p", f"{len(self.lines) - MOST_LINES} more lines are left out here.", class_="quiet")

    def _row(self, number: int, place: Place | None) -> Markup:
        line = self.lines[number - 1]
        shown = _clipped(line, 0) if place is None else _marked(line, place.column - 1)
        label: Callable[..., Markup] = tag
        count = (
            label("a", str(number), class_="no", href=f"#{self.line_id(number)}")
            if place is not None and self.has(number)
            else label("span", str(number), class_="no")
        )
        return tag("div", count, tag("code", shown), class_="here" if place is not None else None)


def _marked(line: str, column: int) -> list[str]:
    """The line with everything from a column on marked, up to white space or a comment at its end."""
    shown, start = _window(line, column)
    inside = shown[start:]
    comment = re.search(r"\s+#", inside)
    end = len(inside[: comment.start()].rstrip()) if comment else len(inside.rstrip())
    return [shown[:start], tag("mark", inside[:end]), inside[end:]]


def _clipped(line: str, column: int) -> str:
    return _window(line, column)[0]


def _window(line: str, column: int) -> tuple[str, int]:
    """At most so much of a long line as one cares to read, around a column; and where that column now is."""
    column = min(max(column, 0), len(line))
    if len(line) <= MOST_WIDE:
        return line, column
    start = max(0, column - _BEFORE_COLUMN)
    head = "… " if start else ""
    tail = " …" if start + MOST_WIDE < len(line) else ""
    return head + line[start : start + MOST_WIDE] + tail, column - start + len(head)
