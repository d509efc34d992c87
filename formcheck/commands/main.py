"""The command line: which command, and nothing of what it does."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence

COMMANDS = {
    "review": "review formula files before anything is weighed",
    "changed": "review what a set of changed files concerns, in few lines: for a commit hook",
    "batch": "the weigh-out and making sheet of one formula, for the bench",
    "label": "the list of ingredients and what else the label needs, by market",
    "ph": "pH windows, predicted pH and the acid or base plan of one formula",
    "compare": "what changed between two versions of a formula, and in its review",
    "correct": "mend what has one right answer in a formula file, shown as a diff",
    "convert": "a formula from a spreadsheet, or a spreadsheet from a formula",
    "new": "start a formula from a commented file for a kind of product",
    "explain": "what a material or a rule is, with its limits and sources",
    "rules": "list the rules, or write their handbook pages",
    "settings": "what is in force for a formula or folder, and the line it comes from",
    "house-test": "run the examples of house rules",
    "reference": "check the reference's own files",
    "schema": "print the JSON Schema of the formula file",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command; gives its exit status."""
    arguments = list(sys.argv[1:] if arguments is None else arguments)
    name = arguments[0] if arguments else ""
    if name in ("--version", "version"):
        from .. import __version__

        print(f"formcheck {__version__}")
        return 0
    if name not in COMMANDS:
        return _help(name)
    command = importlib.import_module(f".{name.replace('-', '_')}", __package__)
    parser = argparse.ArgumentParser(
        prog=f"formcheck {name}",
        description=command.__doc__,
        epilog=command.EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    command.add_arguments(parser)
    parsed = parser.parse_args(arguments[1:])
    try:
        status: int = command.run(parsed)
        sys.stdout.flush()
        return status
    except BrokenPipeError:
        # the reader of our output went away; that is its right
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 2
    except KeyboardInterrupt:
        print("\nformcheck: stopped", file=sys.stderr)
        return 130


def complain(message: str) -> int:
    """One clear line on standard error; gives the exit status of something that could not be used."""
    print(f"formcheck: {message}", file=sys.stderr)
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
