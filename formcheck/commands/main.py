"""The command line: which command, and nothing of what it does."""

from __future__ import annotations

import argparse
import contextlib
import importlib
import io
import os
import sys
from collections.abc import Sequence
from types import ModuleType
from typing import Any, NoReturn

COMMANDS = {
    "review": "review formula files before anything is weighed",
    "changed": "review what changed files concern, in few lines: for a commit hook",
    "batch": "the weigh-out and making sheet of one formula, for the bench",
    "label": "the list of ingredients and what else the label needs, by market",
    "ph": "pH windows, predicted pH and the acid or base plan of one formula",
    "compare": "what changed between two versions of a formula, and in its review",
    "correct": "mend what has one right answer in a formula file, shown as a diff",
    "convert": "a formula from a spreadsheet, or a spreadsheet from a formula",
    "new": "start a formula from a commented file for a kind of product",
    "lesson": "exercises in reading a formula, and what a class handed in",
    "explain": "what a material or a rule is, with its limits and sources",
    "rules": "list the rules, or write their handbook pages",
    "settings": "what is in force for a formula or folder, and where it comes from",
    "house-test": "run the examples of house rules",
    "reference": "check the reference's own files",
    "schema": "print the JSON Schema of the formula file",
    "editor": "review formulas while you write them: a language server for editors",
    "completion": "a script by which your shell completes what you type",
    "manual": "print the manual page",
    "site": "write all the documentation as pages that work without a network",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command; gives its exit status."""
    _open_streams()
    try:
        try:
            return _run(list(sys.argv[1:] if arguments is None else arguments))
        finally:
            if sys.stdout is not None:
                sys.stdout.flush()
    except BrokenPipeError:  # the reader of our output went away; that is its right
        _drop_output()
        return 2
    except OSError as error:
        _drop_output()
        reason = (error.strerror or str(error)).lower()
        return complain(f"{error.filename}: cannot be used: {reason}" if error.filename else f"cannot write: {reason}")
    except KeyboardInterrupt:
        print("\nformcheck: stopped", file=sys.stderr)
        return 130


def _open_streams() -> None:
    """Standard streams that were closed on us become empty ones, and no character stops their writing."""
    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")


def _drop_output() -> None:
    """What is still to be written goes nowhere."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(arguments: list[str]) -> int:
    if sys.stdout is None:
        return complain("standard output is closed, and there is nowhere to write to")
    name = arguments[0] if arguments else ""
    if name in ("--version", "version"):
        from .. import __version__

        print(f"formcheck {__version__}")
        return 0
    if name == "help" and len(arguments) == 2:
        return _run([arguments[1], "--help"])
    if name not in COMMANDS:
        return _help(name)
    parser = parser_of(name)
    status: int = parser.command.run(parser.parse_args(arguments[1:]))
    return status


def parser_of(name: str) -> Parser:
    """What reads the arguments of a command; its module is imported for that."""
    return Parser(name, importlib.import_module(f".{name.replace('-', '_')}", __package__))


class Parser(argparse.ArgumentParser):
    """Reads the arguments of one command. Its page and its complaints are worded elsewhere, and only when wanted."""

    def __init__(self, name: str, command: ModuleType) -> None:
        super().__init__(
            prog=f"formcheck {name}",
            description=command.__doc__,
            epilog=command.EXAMPLES,
            allow_abbrev=False,
            add_help=False,
        )
        self.name = name
        self.command = command
        command.add_arguments(self)
        self.add_argument("--help", "-h", action="help", help="show this page")

    @property
    def arguments(self) -> Sequence[argparse.Action]:
        """Everything it takes, in the order of declaration."""
        return self._actions

    def print_help(self, file: Any = None) -> None:
        """Unlike the one it replaces it does not keep silent where nothing can be written."""
        (file or sys.stdout).write(self.format_help())

    def format_help(self) -> str:
        import shutil

        from ..reports.command_page import help_text
        from .described import page_of

        return help_text(page_of(self), shutil.get_terminal_size().columns)

    def error(self, message: str) -> NoReturn:
        from .described import what_is_wrong

        complain(f"{what_is_wrong(self, message)} ({self.prog} --help says more)")
        sys.exit(2)


def complain(message: str) -> int:
    """One clear line on standard error; gives the exit status of something that could not be used."""
    from ..reports.safe_text import one_line

    with contextlib.suppress(OSError):
        print(f"formcheck: {one_line(message)}", file=sys.stderr)
    return 2


def _help(name: str) -> int:
    lines = ["formcheck COMMAND ...", "", "Reviews a skincare formula before anything is weighed.", ""]
    lines.extend(f"  {command:<10} {about}" for command, about in COMMANDS.items())
    lines.extend(("", "formcheck COMMAND --help says more, with an example.", ""))
    if name in ("", "-h", "--help", "help"):
        print("\n".join(lines))
        return 0
    from ..formula.names import suggestion

    return complain(f"«{name}» is no command{suggestion(name, COMMANDS) or '; they are ' + ', '.join(COMMANDS)}")
