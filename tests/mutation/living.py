"""Puts changed code into a process in which the module is already imported, by many names and in many hands."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from decimal import Decimal
from types import CodeType, FunctionType, ModuleType
from typing import Any

PLAIN = (bool, int, float, str, Decimal, tuple, frozenset, set, dict, list)


class NotAlive(Exception):
    """The change cannot be put into a living module."""


class Living:
    """All functions of the modules at some paths, as they live in this process."""

    def __init__(self, paths: set[str]) -> None:
        self.functions: dict[tuple[str, int, str], list[FunctionType]] = {}
        for each in gc.get_objects():
            if isinstance(each, FunctionType) and each.__code__.co_filename in paths:
                self.functions.setdefault(_name(each.__code__), []).append(each)
        self.modules = {
            str(module.__file__): module
            for module in list(sys.modules.values())
            if isinstance(module, ModuleType) and getattr(module, "__file__", None) in paths
        }

    def change(self, path: str, old: str, new: str, in_function: bool) -> None:
        """Changes the module at a path from the old source to the new. Raises NotAlive, SyntaxError."""
        after = compile(new, path, "exec", dont_inherit=True)
        if in_function:
            self._functions(compile(old, path, "exec", dont_inherit=True), after)
        else:
            self._constants(self.modules[path], after)

    def _functions(self, before: CodeType, after: CodeType) -> None:
        pairs = list(zip(_outermost(before), _outermost(after), strict=True))
        changed = [(old, new) for old, new in pairs if old != new]
        for old, new in changed:
            living = self.functions.get(_name(old), [])
            if not living or len({each.__qualname__ for each in living}) > 1:
                raise NotAlive(f"{old.co_name} lives {len(living)} times")
            for each in living:
                each.__code__ = new
            self._inner(old, new)

    def _inner(self, before: CodeType, after: CodeType) -> None:
        """Functions that a changed one made when it ran, as decorators do."""
        inner = [[each for each in code.co_consts if isinstance(each, CodeType)] for code in (before, after)]
        if len(inner[0]) != len(inner[1]):
            return
        for old, new in zip(*inner):
            if old != new:
                for each in self.functions.get(_name(old), []):
                    each.__code__ = new
                self._inner(old, new)

    def _constants(self, module: ModuleType, after: CodeType) -> None:
        """A module run anew in a space of its own gives the changed constants; who holds the old one gets the new."""
        space = {name: getattr(module, name) for name in ("__name__", "__package__", "__file__", "__spec__")}
        exec(after, space)
        names = [name for name, value in space.items() if isinstance(value, PLAIN) and not name.startswith("__")]
        changed = [name for name in names if space[name] != getattr(module, name)]
        if not changed:
            raise NotAlive("no plain constant changes")
        for name in changed:
            old = getattr(module, name)
            for other in list(sys.modules.values()):
                if getattr(other, "__dict__", {}).get(name) is old:
                    setattr(other, name, space[name])


def _outermost(code: CodeType) -> Iterator[CodeType]:
    """Functions of a module and of its classes, not those within functions."""
    for each in code.co_consts:
        if isinstance(each, CodeType):
            if each.co_flags & 2:  # CO_NEWLOCALS: a function, not a class
                yield each
            else:
                yield from _outermost(each)


def _name(code: CodeType) -> tuple[str, int, str]:
    return code.co_filename, code.co_firstlineno, code.co_name


def fresh_loader(path: str, source: str) -> None:
    """From now on the module at a path is imported with this source."""
    from importlib.machinery import SourceFileLoader

    usual: Any = SourceFileLoader.get_code

    def get_code(self: Any, name: str) -> Any:
        if self.path == path:
            return compile(source, path, "exec", dont_inherit=True)
        return usual(self, name)

    SourceFileLoader.get_code = get_code  # type: ignore[method-assign]
