"""The weigh-out and making sheet for a terminal or a plain printer."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from .making_sheet import CAUTION, HEADS, NO_PROCEDURE, OBSERVATIONS, SIGNATURES, SUMS, Content, PhaseTable, PHPlan, Row
from .making_words import BLANK, StepWords
from .safe_text import one_line
from .wrapping import wrap

_LETTERS = {
    "A": (" ### ", "#   #", "#####", "#   #", "#   #"),
    "D": ("#### ", "#   #", "#   #", "#   #", "#### "),
    "E": ("#####", "#    ", "###  ", "#    ", "#####"),
    "H": ("#   #", "#   #", "#####", "#   #", "#   #"),
    "I": ("###", " # ", " # ", " # ", "###"),
    "L": ("#    ", "#    ", "#    ", "#    ", "#####"),
    "N": ("#   #", "##  #", "# # #", "#  ##", "#   #"),
    "O": (" ### ", "#   #", "#   #", "#   #", " ### "),
    "P": ("#### ", "#   #", "#### ", "#    ", "#    "),
    "R": ("#### ", "#   #", "#### ", "#  # ", "#   #"),
    "S": (" ####", "#    ", " ### ", "    #", "#### "),
    "T": ("#####", "  #  ", "  #  ", "  #  ", "  #  "),
    "U": ("#   #", "#   #", "#   #", "#   #", " ### "),
    "V": ("#   #", "#   #", "#   #", " # # ", "  #  "),
    "W": ("#   #", "#   #", "# # #", "## ##", "#   #"),
    " ": ("   ",) * 5,
}
"""Letters five rows high, those that the banners need."""
_TICK = "[ ]"


def text(content: Content, width: int = 96) -> str:
    """The sheet, ending in a newline."""
    return "\n".join(_Printer(width).lines(content)) + "\n"


def large(words: str) -> list[str]:
    """Words in letters five rows high."""
    return ["  ".join(_LETTERS[letter][row] for letter in words).rstrip() for row in range(5)]


class _Printer:
    def __init__(self, width: int) -> None:
        self.width = width

    def lines(self, content: Content) -> Iterator[str]:
        for words, why in content.banners:
            yield from self.banner(words, why)
        yield one_line(content.title)
        yield "=" * min(self.width, len(one_line(content.title)))
        yield "Weigh-out and making sheet"
        yield from self.facts((*content.facts, ("File", content.file)))
        yield from self.facts((head, BLANK * 4) for head in HEADS)
        yield from self.findings(content)
        yield from self.head("Before you start")
        for caution in (*content.cautions, CAUTION):
            yield from self.wrapped(caution, "  ! ", "    ")
        yield from self.weighing(content)
        yield from self.head("Making")
        yield from self.wrapped(SUMS, "  ", "  ")
        for step in content.steps:
            yield from self.step(step)
        if not content.steps:
            yield from self.wrapped(NO_PROCEDURE, "  ", "  ")
            yield from (f"  {number:>2}. {_TICK} {'_' * (self.width - 11)}" for number in range(1, 9))
        for plan in content.plans:
            yield from self.plan(plan)
        yield from self.head("Seen while making, and after")
        yield from self.facts((label, "_" * (self.width - 40)) for label in OBSERVATIONS)
        yield from self.head("Signed")
        yield from self.facts((label, f"{BLANK * 6}  date {BLANK * 2}") for label in SIGNATURES)

    def banner(self, words: str, why: str) -> Iterator[str]:
        yield "=" * self.width
        rows = large(words)
        if max(map(len, rows)) + 2 <= self.width:
            yield from (f"  {row}" for row in rows)
            yield ""
        yield from self.wrapped(f"{words}: {why}", "  ", "  ")
        yield "=" * self.width
        yield ""

    def head(self, words: str) -> Iterator[str]:
        yield ""
        yield words.upper()

    def facts(self, pairs: Iterable[tuple[str, str]]) -> Iterator[str]:
        for label, value in pairs:
            yield from self.wrapped(value, f"  {label + ' ':.<34} ", " " * 37)

    def findings(self, content: Content) -> Iterator[str]:
        if content.findings:
            yield from self.head("Open findings")
        for finding in content.findings:
            step = f" (step {finding.step})" if finding.step is not None else ""
            yield from self.wrapped(f"{finding.severity.upper()}{step}: {finding.message}", "  - ", "    ")
            if finding.holds:
                yield from self.wrapped(finding.remedy, "    > ", "      ")
        if content.left_out:
            yield from self.wrapped(content.left_out, "  ", "  ")

    def weighing(self, content: Content) -> Iterator[str]:
        yield from self.head("Weigh out")
        rows = [row for phase in content.phases for row in phase.rows] + list(content.to_taste)
        room = min(max((len(one_line(row.name)) for row in rows), default=8) + 1, max(20, self.width - 56))
        weight = max((len(row.grams) for row in rows), default=5)
        yield f"      {'':<{room}} {'%':>9}  {'g':>{weight}}  {'weighed g':<11} lot"
        for phase in content.phases:
            yield from self.phase(phase, room, weight)
        if content.to_taste:
            yield "  To have at hand for the pH"
            for row in content.to_taste:
                yield from self.row(row, room, weight)
        yield f"  All phases together: {content.sum}"
        for note in content.weighing_notes:
            yield from self.wrapped(note, "  ! ", "    ")

    def phase(self, phase: PhaseTable, room: int, weight: int) -> Iterator[str]:
        yield f"  Vessel {one_line(phase.letter)}, {phase.sum}"
        for row in phase.rows:
            yield from self.row(row, room, weight)

    def row(self, row: Row, room: int, weight: int) -> Iterator[str]:
        name = textwrap.wrap(one_line(row.name), room) or [""]
        shown = row.percent.removesuffix(" %")
        lot = one_line(row.lot) or BLANK * 2
        yield f"  {_TICK} {name[0]:<{room}} {shown:>9}  {row.grams or BLANK:>{weight}}  {BLANK * 2:<11} {lot}"
        yield from (f"      {part}" for part in name[1:])
        small = "; ".join(filter(None, (row.known_as, row.note, f"hazards: {row.hazards}" if row.hazards else "")))
        if small:
            yield from self.wrapped(small, " " * 8, " " * 8)

    def step(self, step: StepWords) -> Iterator[str]:
        yield from self.wrapped(step.do, f"  {step.number:>2}. {_TICK} ", " " * 10)
        for watch in step.watch:
            yield from self.wrapped(watch, " " * 10 + "- ", " " * 12)
        if step.note:
            yield from self.wrapped(f"Note: {step.note}", " " * 10, " " * 12)
        if step.record:
            yield from self.wrapped(", ".join(step.record), " " * 10 + "= ", " " * 12)

    def plan(self, plan: PHPlan) -> Iterator[str]:
        yield from self.head("pH plan")
        yield from self.wrapped(plan.head, "  ", "  ")
        for said in plan.says:
            yield from self.wrapped(said, "  - ", "    ")
        for number, portion in enumerate(plan.portions, 1):
            said = f"add {portion.add}; {portion.then}; pH expected {portion.expected}, measured {BLANK}"
            yield from self.wrapped(said, f"  {number}. {_TICK} ", " " * 9)

    def wrapped(self, words: str, first: str, rest: str) -> list[str]:
        return wrap(one_line(words), self.width, first, rest) or [first.rstrip()]
