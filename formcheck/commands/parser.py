"""What reads the arguments of a command."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from types import ModuleType
from typing import Any, NoReturn

from .main import complain, module_of


def parser_of(name: str) -> Parser:
    """What reads the arguments of a command; its module is imported for that."""
    return Parser(name, module_of(name))


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
