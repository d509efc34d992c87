"""The command line: which command, and nothing of what it does."""

from __future__ import annotations

import contextlib
import gc
import importlib
import io
import os
import sys
from collections.abc import Sequence
from types import ModuleType
from typing import Any

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
_OFTEN = ("review", "changed")
"""Commands that editors and hooks start for each file: their start counts."""

_SELDOM = 100_000
"""Objects that may come to be before the collector looks for garbage; a start makes fewer, and next to none is garbage."""


def console() -> int:
    """main() of a process that does nothing else, and so need not look for garbage while it starts or when it ends."""
    from ..own_modules import use

    use()
    gc.set_threshold(_SELDOM, *gc.get_threshold()[1:])
    status = main()
    gc.freeze()
    return status


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
    status: int = module_of(name).run(_options(name, arguments[1:]))
    return status


def module_of(name: str) -> ModuleType:
    """The module of a command."""
    return importlib.import_module(f".{name.replace('-', '_')}", __package__)


def _options(name: str, given: list[str]) -> Any:
    """What the arguments of a command say."""
    if name in _OFTEN:
        from .plain import plain_options

        plain = plain_options(module_of(name), given)
        if plain is not None:
            return plain
    from .parser import parser_of

    return parser_of(name).parse_args(given)


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
