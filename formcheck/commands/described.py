"""Commands as pages, from their docstrings, their arguments and their examples; and what is said of arguments that do not fit."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterable, Iterator

from ..formula.names import listed, suggestion
from ..reports.command_page import CommandPage, Taken
from .main import COMMANDS
from .parser import Parser, parser_of

_STATUS = re.compile(r"Exit\s+status:")
"""What begins the last words of a docstring that tell the exit status."""
_REQUIRED = re.compile(r"the following arguments are required: (.+)")
_UNKNOWN = re.compile(r"unrecognized arguments: (\S+).*")
_CHOICE = re.compile(r"argument (?P<what>[^:]+): invalid choice: '(?P<given>.*)' \(.*")
_NO_VALUE = re.compile(r"argument (?P<what>[^:]+): expected .*")


def pages() -> Iterator[CommandPage]:
    """The page of every command, in the order in which `formcheck --help` lists them."""
    for name in COMMANDS:
        yield page_of(parser_of(name))


def page_of(parser: Parser) -> CommandPage:
    """A command's page."""
    taken = [_taken(parser, action) for action in parser.arguments if action.help != argparse.SUPPRESS]
    operands = tuple(each for each in taken if not each.flags)
    options = tuple(each for each in taken if each.flags)
    said, *status = _STATUS.split(parser.description or "", maxsplit=1)
    title, *rest = paragraphs(said)
    return CommandPage(
        parser.name,
        COMMANDS[parser.name],
        parser.usage or _usage(parser, operands, options),
        title,
        tuple(rest),
        " ".join(" ".join(status).split()),
        operands,
        options,
        tuple(_example(line) for line in (parser.epilog or "").splitlines() if line.startswith(" ")),
    )


def _example(line: str) -> tuple[str, str]:
    """A command line and the remark that a wide gap sets off from it."""
    command, _, remark = line.strip().partition("   ")
    return command.rstrip(), remark.strip()


def paragraphs(text: str) -> list[str]:
    """The paragraphs of a docstring, each on one line."""
    return [" ".join(part.split()) for part in re.split(r"\n\s*\n", text.strip())]


def what_is_wrong(parser: Parser, message: str) -> str:
    """What argparse has to say of the arguments, as one says it to a maker."""
    taken = [_taken(parser, action) for action in parser.arguments]
    if match := _REQUIRED.fullmatch(message):
        return f"{match[1]} is missing: {_about(match[1].split(', ')[0], taken)}"
    if match := _UNKNOWN.fullmatch(message):
        flags = [flag for each in taken for flag in each.flags]
        word = match[1].partition("=")[0]
        what = "is no option" if word.startswith("-") else "is one word too many"
        return f"«{word}» {what}{suggestion(word, flags) if word.startswith('-') else ''}"
    if match := _CHOICE.fullmatch(message):
        choices = next((each.choices for each in taken if match["what"] in _names(each)), ())
        known = suggestion(match["given"], choices) or f"; it takes {listed(choices, 'or')}"
        return f"«{match['given']}» after {match['what']}{known}"
    if match := _NO_VALUE.fullmatch(message):
        return f"a value is missing after {match['what']}: {_about(match['what'], taken)}"
    return message.removeprefix("argument ")


def _about(name: str, taken: Iterable[Taken]) -> str:
    return next((each.explained for each in taken if name in _names(each)), "see below")


def _names(taken: Taken) -> tuple[str, ...]:
    return (*taken.flags, "/".join(taken.flags), taken.value)


def _taken(parser: Parser, action: argparse.Action) -> Taken:
    choices = tuple(str(choice) for choice in action.choices or ())
    value = "" if action.nargs == 0 else _value(action)
    return Taken(
        tuple(action.option_strings),
        value,
        " ".join((action.help or "").replace("%%", "%").split()),
        choices,
        action.required and action.nargs not in ("?", "*"),
        (action.nargs in ("+", "*") and not action.option_strings) or isinstance(action, argparse._AppendAction),
    )


def _value(action: argparse.Action) -> str:
    if isinstance(action.metavar, tuple):
        return action.metavar[0]
    return action.metavar or action.dest.upper().replace("_", "-")


def _usage(parser: Parser, operands: Iterable[Taken], options: Iterable[Taken]) -> str:
    words = [each.written if each.required else f"[{each.written}]" for each in operands]
    words.extend(each.written for each in options if each.required)
    optional = any(not each.required and "--help" not in each.flags for each in options)
    return " ".join((parser.prog, *words, *(("[options]",) if optional else ())))
