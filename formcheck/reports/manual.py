"""The manual page, in the macros of man(7), from the pages of the commands. Plain ASCII, so that every reader shows it."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator, Sequence

from .command_page import CommandPage, Taken

_ABOUT = (
    "formcheck reads a skincare formula from a file and reviews it before anything is weighed: totals, doses, pH windows, "
    "heat, light and air, preservation, legal limits by market, and the procedure. Every finding comes with the numbers, "
    "the line in the file, why it matters, what to do about it and where the limit comes from. What could not be checked "
    "is said too.",
    "It calls no product safe, estimates no sun protection factor and stands for no safety assessment, challenge test or "
    "stability test. Suppliers' data sheets, local rules and licensed practice come first.",
)
_STATUSES = (
    ("0", "nothing that stops the formula; of commands that do not judge: done"),
    ("1", "findings at or above the threshold, or what else the command says of itself"),
    (
        "2",
        "something could not be read or used, or a part of the program failed; what else there was is done all the same",
    ),
)
_FILES = (
    ("*.formula.yaml, *.formula.toml, *.formula.json", "formula files; a folder is searched for them"),
    ("materials.yaml", "raw materials of the house, for every formula at or below its folder"),
    ("formcheck.toml", "the settings that serve a folder and what lies below it; pyproject.toml may hold them instead"),
    ("*.house.yaml", "rules of the house, named by the settings"),
    ("~/.config/formcheck/own.toml", "your own plug-ins, wherever you work"),
)
_ENVIRONMENT = (
    ("NO_COLOR", "no colour on the terminal where this is set"),
    ("FORMCHECK_CACHE", "the folder in which the compiled reference is kept"),
    ("FORMCHECK_DATA", "the folder in which your progress in the lessons is kept"),
    ("FORMCHECK_OWN", "your own file of plug-ins, in place of own.toml"),
)
_SOURCE_WIDTH = 72
_SPECIAL = {"\\": "\\e", "-": "\\-", "'": "\\(aq", "`": "\\(ga", "^": "\\(ha", "~": "\\(ti", '"': "\\(dq"}
_NOT_PLAIN = re.compile(r"[\\'`^~\"]|[^\x00-\x7f]")


def manual(pages: Sequence[CommandPage], version: str) -> str:
    """The whole page."""
    return "\n".join(_lines(pages, version)) + "\n"


def _lines(pages: Sequence[CommandPage], version: str) -> Iterator[str]:
    yield '.\\" Written by formcheck manual; nothing here is edited by hand.'
    yield f'.TH FORMCHECK 1 "" "formcheck {version}"'
    yield ".SH NAME"
    yield "formcheck \\- review a skincare formula before anything is weighed"
    yield ".SH SYNOPSIS"
    for number, page in enumerate(pages):
        if number:
            yield ".br"
        yield _usage(page)
    yield ".SH DESCRIPTION"
    yield from _texts(_ABOUT)
    yield ".SH COMMANDS"
    for page in pages:
        yield from _command(page)
    for heading, rows in (("EXIT STATUS", _STATUSES), ("FILES", _FILES), ("ENVIRONMENT", _ENVIRONMENT)):
        yield f".SH {heading}"
        for name, about in rows:
            yield from _entry(f"\\fB{_plain(name, hyphens=True)}\\fR", about)


def _command(page: CommandPage) -> Iterator[str]:
    yield f".SS {_plain(page.name, hyphens=True)}"
    yield _usage(page)
    yield ".PP"
    yield from _texts((page.title, *page.paragraphs))
    for taken in (*page.operands, *page.options):
        yield from _entry(_taken(taken), taken.explained)
    if page.status:
        yield ".PP"
        yield from _filled(f"Exit status: {page.status}")
    yield ".PP"
    yield "Example:" if len(page.examples) == 1 else "Examples:"
    yield ".PP"
    yield ".RS 4"
    yield ".nf"
    for command, remark in page.examples:
        if remark:
            yield _line(f"# {remark}")
        yield _line(command, hyphens=True)
    yield ".fi"
    yield ".RE"


def _usage(page: CommandPage) -> str:
    name = f"formcheck {page.name}"
    return f"\\fB{_plain(name, hyphens=True)}\\fR{_plain(page.usage.removeprefix(name), hyphens=True)}"


def _taken(taken: Taken) -> str:
    if not taken.flags:
        return f"\\fI{_plain(taken.written, hyphens=True)}\\fR"
    flags = ", ".join(f"\\fB{_plain(flag, hyphens=True)}\\fR" for flag in taken.flags)
    return f"{flags} \\fI{_plain(taken.value, hyphens=True)}\\fR" if taken.value else flags


def _entry(head: str, about: str) -> Iterator[str]:
    yield ".TP"
    yield head
    yield from _filled(about)


def _texts(paragraphs: Iterable[str]) -> Iterator[str]:
    for number, paragraph in enumerate(paragraphs):
        if number:
            yield ".PP"
        yield from _filled(paragraph)


def _line(text: str, hyphens: bool = False) -> str:
    """A line of text that begins no request."""
    shown = _plain(text, hyphens)
    return f"\\&{shown}" if shown.startswith((".", "'")) else shown


def _filled(text: str) -> Iterator[str]:
    """Running text in lines of a length that is pleasant to read in the source too."""
    for line in textwrap.wrap(text, _SOURCE_WIDTH, break_long_words=False, break_on_hyphens=False):
        yield _line(line)


def _plain(text: str, hyphens: bool = False) -> str:
    """Text without anything that roff obeys. hyphens: they are typed by the reader, and stay what they are."""
    shown = _NOT_PLAIN.sub(lambda match: _SPECIAL.get(match.group()) or f"\\[u{ord(match.group()):04X}]", text)
    typed = re.compile(r"-" if hyphens else r"(?<!\w)-|-(?=-)")
    return typed.sub(r"\\-", shown)
