"""Finds our own modules without looking through folders: a review imports about two hundred of them.

Only where the byte code that Python keeps beside a module fits its source by size and time, as Python itself checks it;
whatever else there is to importing is left to Python.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib.machinery import ModuleSpec, SourceFileLoader
from marshal import loads
from types import CodeType, ModuleType

_OURS = ("formcheck", "formcheck_rules")
_HEAD = 16
"""Bytes before the code: mark of the Python, four zeros, time and size of the source (PEP 552)."""


def use() -> None:
    """Finds our modules so from now on, where Python keeps byte code in the usual way."""
    if sys.implementation.cache_tag and sys.pycache_prefix is None and not sys.flags.optimize:
        sys.meta_path.insert(0, _Finder())


class _Loader(SourceFileLoader):
    """Python's own, with the code at hand for the import that asks for it."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self._code: CodeType | None = code

    def get_code(self, fullname: str) -> CodeType | None:
        code, self._code = self._code, None
        return super().get_code(fullname) if code is None else code


class _Finder:
    """As importlib.abc.MetaPathFinder, which takes a while to import."""

    def __init__(self) -> None:
        from importlib.util import MAGIC_NUMBER

        self._ending = f".{sys.implementation.cache_tag}.pyc"
        self._mark = MAGIC_NUMBER + b"\0\0\0\0"

    def find_spec(
        self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """The module, or None where it takes Python to find or to compile it."""
        package, _, last = name.rpartition(".")
        if not path or package.partition(".")[0] not in _OURS:
            return None
        try:
            return self._spec(name, path[0], last) or self._spec(name, f"{path[0]}/{last}", "__init__")
        except (OSError, ValueError, EOFError, TypeError):
            return None

    def _spec(self, name: str, folder: str, stem: str) -> ModuleSpec | None:
        """The module in a file; None where there is no such file. Raises OSError, ValueError where its byte code does not fit."""
        source, kept = f"{folder}/{stem}.py", f"{folder}/__pycache__/{stem}{self._ending}"
        try:
            status = os.stat(source)
        except FileNotFoundError:
            return None
        with open(kept, "rb", buffering=0) as file:
            data = file.read()
        times = (int(status.st_mtime) & 0xFFFFFFFF, status.st_size & 0xFFFFFFFF)
        if data[:_HEAD] != self._mark + b"".join(number.to_bytes(4, "little") for number in times):
            raise ValueError("the byte code is of another source, or of another Python")
        spec = ModuleSpec(name, _Loader(name, source, loads(memoryview(data)[_HEAD:])), origin=source)
        if stem == "__init__":
            spec.submodule_search_locations = [folder]
        spec.has_location = True
        spec.cached = kept
        return spec
