"""The options of a call that gives none, without argparse: it takes longer to import than a small file to review."""

from __future__ import annotations

from collections.abc import Sequence
from types import ModuleType, SimpleNamespace
from typing import Any


def plain_options(command: ModuleType, given: Sequence[str]) -> Any:
    """What argparse makes of names alone, for a command that takes any number of them; None where there is more to read."""
    if not given or any(text.startswith("-") and text != "-" for text in given):
        return None
    usual = _Usual()
    command.add_arguments(usual)
    return SimpleNamespace(**usual.options, **{usual.names: list(given)})


class _Usual:
    """Takes the declarations that are meant for argparse, and remembers what holds where an option is not given."""

    def __init__(self) -> None:
        self.options: dict[str, Any] = {}
        self.names = ""

    def add_argument(self, *flags: str, **told: Any) -> None:
        """As of argparse.ArgumentParser."""
        flag = next((flag for flag in flags if flag.startswith("--")), flags[0])
        if not flag.startswith("-"):
            self.names = flag
            return
        name = told.get("dest") or flag.lstrip("-").replace("-", "_")
        self.options[name] = told.get("default", False if told.get("action") == "store_true" else None)
