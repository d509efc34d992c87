"""A command as a page: what it is for, what it takes, examples. One record behind `--help`, the manual, the site, completion."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

from ..formula.names import listed
from ..records import NamedTuple

NARROWEST, WIDEST = 60, 96
_ABOUT_AT = 24
"""The column at which explanations stand, unless all the options are short."""
_UNIT = re.compile(r"(?<=\d) (?=(?:g|ml|%)(?!\w))")
_TIE = "\0"
_BEFORE_OPTION = re.compile(r" (?=--|\| )")


class Taken(NamedTuple):
    """Something a command takes: an operand, or an option.

    flags: how an option is written, empty for an operand; value: what stands for its value, empty for a switch; about: a
    clause without a full stop; choices: the values there are, empty where any will do; many: whether several may be given.
    """

    flags: tuple[str, ...]
    value: str
    about: str
    choices: tuple[str, ...] = ()
    required: bool = False
    many: bool = False

    @property
    def written(self) -> str:
        """As the user writes it: `--size MASS`, `FILE`, `PATH...`."""
        if not self.flags:
            return f"{self.value}..." if self.many else self.value
        return f"{', '.join(self.flags)} {self.value}".rstrip()

    @property
    def explained(self) -> str:
        """What it is for, with its choices where the clause does not name them."""
        if all(choice in self.about for choice in self.choices):
            return self.about
        return f"{self.about}: {listed(self.choices, 'or')}"


class CommandPage(NamedTuple):
    """One command. title: its first sentence; paragraphs: the rest, each in one line; status: what its exit status says, empty
    where it says nothing; examples: command lines, each with a remark that may be empty.
    """

    name: str
    summary: str
    usage: str
    title: str
    paragraphs: tuple[str, ...]
    status: str
    operands: tuple[Taken, ...]
    options: tuple[Taken, ...]
    examples: tuple[tuple[str, str], ...]


def help_text(page: CommandPage, width: int = 80) -> str:
    """The page as `--help` shows it, at most so many columns wide."""
    width = max(NARROWEST, min(width, WIDEST)) - 1
    return "\n".join(_help_lines(page, width)) + "\n"


def _help_lines(page: CommandPage, width: int) -> Iterator[str]:
    yield from _folded(page.usage, width, "", " " * 4)
    for paragraph in (page.title, *page.paragraphs, *((f"Exit status: {page.status}",) if page.status else ())):
        yield ""
        yield from _folded(paragraph, width)
    taken = (*page.operands, *page.options)
    column = min(_ABOUT_AT, 4 + max((len(each.written) for each in taken), default=0))
    for heading, rows in (("takes:", page.operands), ("options:", page.options)):
        if rows:
            yield ""
            yield heading
        for row in rows:
            yield from _row(row, column, width)
    yield ""
    yield "example:" if len(page.examples) == 1 else "examples:"
    for command, remark in page.examples:
        yield from _example(command, remark, width)


def _row(row: Taken, column: int, width: int) -> Iterator[str]:
    head = f"  {row.written}"
    if len(head) > column - 2:
        yield head
        head = ""
    yield from _folded(row.explained, width, head.ljust(column), " " * column)


def _example(command: str, remark: str, width: int) -> Iterator[str]:
    """A line of shell, broken the way a shell allows where it is too long; a remark goes before it."""
    if remark:
        yield f"  # {remark}"
    line = " "
    for part in _BEFORE_OPTION.split(command):
        if len(line) + len(part) + 3 > width:
            yield f"{line} \\"
            line = " " * 5
        line += f" {part}"
    yield line


def _folded(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of a width; a number stays with its unit."""
    held = _UNIT.sub(_TIE, text)
    lines = textwrap.wrap(
        held, width, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )
    return [line.replace(_TIE, " ") for line in lines]
