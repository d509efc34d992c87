"""All that the review of a file rests upon, as one short key: who has the same key has the same review.

In the key go the file's own bytes and how it is read; the program's own files, those of the rules, the reference and the
law, byte by byte; the files of plug-ins, and what else is installed; the settings, house rules and materials that serve the
file, as they were read; the threshold. The day is not in the key: holds_until() says how long a verdict stands.
"""

from __future__ import annotations

import importlib
import os
import re
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cached_property
from hashlib import blake2b
from types import ModuleType
from typing import Any

from ..formula.model import Formula
from ..plugins import BUILT_IN, builtin_package
from ..reading.document import Unreadable
from ..reading.places import folder_of
from ..reference.store import shared_folder
from .run import Reviewer

LAYOUT = b"1"
"""Changes whenever what is kept is written another way."""
MOST_FILES = 5000
"""A plug-in with more files than this is not looked through; nothing is kept where it is in force."""
_DATE = re.compile(rb"\b(\d{4}-\d{2}-\d{2})\b")
_SKIPPED = ("__pycache__", ".git", "node_modules")


class Grounds:
    """What the reviews of one reviewer rest upon."""

    def __init__(self, reviewer: Reviewer) -> None:
        self._reviewer = reviewer
        self._folders: dict[str, bytes | None] = {}
        self._plugins = {
            _module_of(plugin).partition(".")[0]
            for name, plugin in reviewer.plugins.manager.list_name_plugin()
            if name != BUILT_IN
        }

    @cached_property
    def keeps(self) -> bool:
        """Whether reviews may be kept at all: not where something is amiss, or where what they rest upon is not known."""
        return not self._reviewer.plugins.faults and self._reviewer.usual and self._files_of_plugins is not None

    def key(self, path: str, data: bytes) -> bytes | None:
        """The key of a file with these bytes; None where its review cannot be kept. Raises BadSettings."""
        folder = folder_of(path)
        if folder not in self._folders:
            self._folders[folder] = self._digest_of_folder(path)
        served = self._folders[folder]
        if served is None:
            return None
        kind = os.path.basename(path).lower().partition(".")[2].encode("utf-8", "surrogateescape")
        return blake2b(b"\0".join((self._program, served, kind, data)), digest_size=16).digest()

    def holds_until(self, formula: Formula) -> date:
        """The first day on which the same file may be judged otherwise: a deviation has ended, or law begins to apply.

        Rules of plug-ins may look at the calendar as they like: where there are any, it is tomorrow.
        """
        today = self._reviewer.today
        if self._plugins:
            return today + timedelta(1)
        ends = (d.until + timedelta(1) for d in formula.deviations if d.until is not None and d.until < date.max)
        return min((day for day in (*self._dates_of_law, *ends) if day > today), default=date.max)

    def _digest_of_folder(self, path: str) -> bytes | None:
        reviewer = self._reviewer
        settings = reviewer.settings(path)
        try:
            beside = reviewer.beside(folder_of(path))
        except Unreadable:
            return None
        digest = blake2b(reviewer.threshold_of(settings).encode())
        for file, text in (*settings.texts, *beside.texts):
            for part in (file, text):
                digest.update(b"\0%d\0" % len(part) + part.encode("utf-8", "surrogatepass"))
        return digest.digest()

    @cached_property
    def _dates_of_law(self) -> tuple[date, ...]:
        """Every date that stands in the legal tables: on some of them law begins to apply."""
        return tuple(day for path in _files_below(os.path.join(shared_folder(), "legal")) for day in _dates_in(path))

    @cached_property
    def _program(self) -> bytes:
        digest = blake2b(LAYOUT + repr(sys.version_info).encode())
        for root in (_folder(importlib.import_module("formcheck")), _folder(builtin_package()), shared_folder()):
            for path in _files_below(root):
                with open(path, "rb") as file:
                    data = file.read()
                digest.update(os.path.relpath(path, root).encode() + b"\0%d\0" % len(data) + data)
        for path in self._files_of_plugins or ():
            with open(path, "rb") as file:
                digest.update(path.encode("utf-8", "surrogateescape") + b"\0" + blake2b(file.read()).digest())
        digest.update("\0".join(_installed()).encode("utf-8", "surrogateescape"))
        return digest.digest()

    @cached_property
    def _files_of_plugins(self) -> tuple[str, ...] | None:
        """The files of the packages that plug-ins belong to, and the materials they bring; None where they cannot be told."""
        found: list[str] = []
        for name in sorted(self._plugins):
            module = sys.modules.get(name)
            files = list(_files_of(module)) if module is not None else []
            if not files or len(files) > MOST_FILES:
                return None
            found.extend(files)
        return (*found, *sorted(self._reviewer.plugins.materials()))


def _module_of(plugin: Any) -> str:
    return plugin.__name__ if isinstance(plugin, ModuleType) else type(plugin).__module__


def _files_of(module: ModuleType) -> Iterator[str]:
    folders = list(getattr(module, "__path__", ()))
    for folder in folders:
        for count, path in enumerate(_files_below(folder)):
            yield path
            if count > MOST_FILES:
                return
    if not folders and getattr(module, "__file__", None):
        yield str(module.__file__)


def _files_below(root: str) -> Iterator[str]:
    for folder, folders, names in os.walk(root):
        folders[:] = sorted(name for name in folders if name not in _SKIPPED)
        yield from (os.path.join(folder, name) for name in sorted(names) if not name.endswith(".pyc"))


def _folder(package: ModuleType) -> str:
    return next(iter(package.__path__))


def _installed() -> Iterator[str]:
    """Names and versions of what is installed, as the folders that say so are called."""
    for folder in dict.fromkeys(sys.path):
        try:
            yield from sorted(name for name in os.listdir(folder or ".") if name.endswith((".dist-info", ".egg-info")))
        except OSError:
            continue


def _dates_in(path: str) -> Iterator[date]:
    with open(path, "rb") as file:
        data = file.read()
    for text in set(_DATE.findall(data)):
        try:
            yield date.fromisoformat(text.decode())
        except ValueError:
            continue
