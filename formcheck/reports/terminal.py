"""The review as a person reads it at the bench: verdict first, then what to do, worst first."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from typing import TextIO

from ..review.model import HOLD, READY, UNREAD, Review
from ..review.rule import SEVERITIES, Finding
from .report import Context, Report
from .safe_text import sentence, visible
from .wrapping import wrap

CAUTION_RULES = frozenset(("caustic-handling", "powder-dust", "flammable-batch", "irritant-raw"))
_LABEL = 8
_STYLES = {
    "critical": "1;35",
    "major": "1;34",
    "minor": "36",
    "note": "2",
    "head": "1",
    HOLD: "1;7",
    READY: "1;32",
    "label": "2",
}


class Text(Report):
    """The text report: one page after another, and a line over all of them where there are several."""

    def __init__(self, context: Context, page: Page | None = None) -> None:
        super().__init__(context)
        self.page = page or Page()
        self.reviews = self.held = self.unread = self.silenced = 0

    def add(self, review: Review) -> str:
        gap = "\n" if self.reviews else ""
        self.reviews += 1
        self.held += review.verdict == HOLD
        self.unread += review.verdict == UNREAD
        self.silenced += len(review.silenced)
        return gap + self.page.show(review)

    def end(self) -> str:
        return f"\n{summary(self.reviews, self.held, self.unread, self.silenced)}\n" if self.reviews > 1 else ""


def wants_colour(stream: TextIO) -> bool:
    """Colour only on a terminal, and not where NO_COLOR is set or the terminal is dumb."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def width_of(stream: TextIO) -> int:
    """Columns to fill: the terminal's, within what is pleasant to read."""
    columns = 96
    if stream.isatty():
        import shutil

        columns = shutil.get_terminal_size((96, 24)).columns
    return max(48, min(columns, 108))


class Page:
    """Renders reviews one after another."""

    def __init__(self, width: int = 96, colour: bool = False) -> None:
        self.width = width
        self.colour = colour

    def show(self, review: Review) -> str:
        """One formula's review, with a blank line after it."""
        lines = list(self.lines(review))
        if not self.colour and not "".join(lines).isprintable():
            lines = [visible(line) for line in lines]
        return "\n".join(lines) + "\n"

    def lines(self, review: Review) -> Iterator[str]:
        name = visible(review.name) + (f" ({visible(review.note)})" if review.note else "")
        yield self.paint(name, "head")
        if visible(review.file) != name:
            yield self.paint(visible(review.file), "label")
        yield self.verdict(review)
        if review.errors:
            yield from self.errors(review)
            return
        cautions = [finding for finding in review.findings if finding.rule in CAUTION_RULES]
        if cautions:
            yield ""
            yield from self.cautions(cautions)
        number = 0
        for block in blocks(finding for finding in review.findings if finding.rule not in CAUTION_RULES):
            if len(block) > 1:
                yield ""
                yield self.paint(f"At step {block[0].step}, {len(block)} findings:", "head")
            for finding in block:
                number += 1
                if len(block) == 1:
                    yield ""
                yield from self.finding(number, finding, review.file)
        if review.accepted:
            yield ""
            yield from self.accepted(review)
        if review.silenced or review.regraded:
            yield ""
            yield from self.configured(review)
        if review.faults:
            yield ""
            yield self.paint("Faults of the program, not of the formula:", "head")
            for fault in review.faults:
                yield from self.wrapped(f"{fault.who}: {fault.what}", "  ", "    ")
        if review.unchecked:
            yield ""
            yield from self.unchecked(review)
        if review.tables:
            yield ""
            tables = "; ".join(review.tables)
            text = f"The law it was held against. {tables}. Not legal advice: the official text decides."
            yield from self.wrapped(text, "", "")

    def verdict(self, review: Review) -> str:
        counts = ", ".join(counted(severity, count) for severity in SEVERITIES if (count := review.count(severity)))
        tail = f"; {silenced(len(review.silenced))}" if review.silenced else ""
        if review.verdict == HOLD:
            return f"{self.paint('HOLD', HOLD)}  settle this before weighing: {counts}{tail}"
        if review.verdict == READY:
            rest = f"nothing that stops it: {counts}" if counts else "no findings"
            return f"{self.paint('READY', READY)}  {rest}{tail}"
        reason = "the file could not be read" if review.errors else "the review is not whole; see the faults below"
        return f"{self.paint('NOT REVIEWED', HOLD)}  {reason}"

    def errors(self, review: Review) -> Iterator[str]:
        for problem in review.errors:
            place = f"{review.file}:{problem.place.line}:{problem.place.column}"
            yield from self.wrapped(f"{place}: {problem.message}", "", "    ")

    def cautions(self, cautions: list[Finding]) -> Iterator[str]:
        yield self.paint("Before you start", "head")
        for finding in cautions:
            yield from self.wrapped(f"{sentence(finding.message)} {finding.remedy}", "  ! ", "    ")

    def finding(self, number: int, finding: Finding, file: str) -> Iterator[str]:
        head = f"{number:>2}. {finding.severity.upper()}  "
        wrapped = wrap(sentence(visible(finding.message)), self.width - len(head))
        severity = finding.severity
        yield self.paint(head, severity) + (wrapped[0] if wrapped else "")
        for line in wrapped[1:]:
            yield " " * len(head) + line
        place = f"{visible(file)}:{finding.place.line}:{finding.place.column}:"
        yield from self.labelled("where", place + f" {finding.rule}")
        yield from self.labelled("why", finding.why)
        yield from self.labelled("mend", finding.remedy)
        if finding.source:
            yield from self.labelled("source", finding.source)

    def accepted(self, review: Review) -> Iterator[str]:
        yield self.paint("Accepted deviations", "head")
        for finding, deviation in review.accepted:
            who = f" by {deviation.accepted_by}" if deviation.accepted_by else ""
            until = f", until {deviation.until}" if deviation.until else ""
            yield from self.wrapped(
                f"{finding.severity} {finding.rule}, line {finding.place.line}: {finding.message}. "
                f"Accepted{who}{until}: {deviation.reason}",
                "  ",
                "    ",
            )

    def configured(self, review: Review) -> Iterator[str]:
        yield self.paint("By the configuration", "head")
        for finding, was, reason, where in review.regraded:
            yield from self.wrapped(
                f"{finding.severity} {finding.rule}, line {finding.place.line}, by the rule itself {was}. "
                f"Set at {where}: {reason}",
                "  ",
                "    ",
            )
        for finding, reason, where in review.silenced:
            yield from self.wrapped(
                f"{finding.severity} {finding.rule}, line {finding.place.line}: {sentence(finding.message)} "
                f"Silenced at {where}: {reason}",
                "  ",
                "    ",
            )

    def unchecked(self, review: Review) -> Iterator[str]:
        yield self.paint("Not checked", "head")
        grouped: dict[str, list[str]] = {}
        for item in review.unchecked:
            grouped.setdefault(item.needs, []).append(item.rule)
        for needs, rules in grouped.items():
            yield from self.wrapped(f"{needs} (for {', '.join(dict.fromkeys(rules))})", "  ", "    ")

    def labelled(self, label: str, text: str) -> Iterator[str]:
        indent = " " * 4
        first = indent + label.ljust(_LABEL)
        wrapped = wrap(visible(text), self.width - len(first)) or [""]
        yield indent + self.paint(label.ljust(_LABEL), "label") + wrapped[0]
        for line in wrapped[1:]:
            yield " " * len(first) + line

    def wrapped(self, text: str, first: str, rest: str) -> Iterator[str]:
        yield from wrap(visible(text), self.width, first, rest)

    def paint(self, text: str, style: str) -> str:
        return f"\x1b[{_STYLES[style]}m{text}\x1b[0m" if self.colour else text


def blocks(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings in their order; those that one step sets off stand together, where the worst of them stands."""
    result: list[list[Finding]] = []
    by_step: dict[int, list[Finding]] = {}
    for finding in findings:
        if finding.step is None:
            result.append([finding])
        elif finding.step in by_step:
            by_step[finding.step].append(finding)
        else:
            by_step[finding.step] = [finding]
            result.append(by_step[finding.step])
    return result


def counted(severity: str, count: int) -> str:
    """`1 note`, `2 notes`; the other grades are adjectives and stay as they are."""
    return f"{count} {severity}{'s' if severity == 'note' and count != 1 else ''}"


def silenced(count: int) -> str:
    """`2 findings silenced by the configuration`."""
    return f"{count} finding{'' if count == 1 else 's'} silenced by the configuration"


def summary(reviews: int, held: int, unread: int, silent: int = 0) -> str:
    """One line over many formulas; silent: findings that the configuration silenced."""
    parts = [f"{reviews - held - unread} ready", f"{held} on hold"]
    if unread:
        parts.append(f"{unread} not reviewed")
    tail = f"; {silenced(silent)}" if silent else ""
    return f"{reviews} formulas: {', '.join(parts)}{tail}"
