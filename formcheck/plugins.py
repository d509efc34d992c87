"""The hooks that plug-ins may answer, and nothing else decides what is loaded.

A plug-in is any importable module or object named in the entry-point group `formcheck`. Hooks are called by keyword;
an implementation takes only the arguments it names. Arguments and hooks may be added at any time; one is removed only
after a release in which using it gave a warning.

The built-in rules come through the same hook as anybody's.
"""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from types import ModuleType
from typing import TYPE_CHECKING, Any, NamedTuple

import pluggy

if TYPE_CHECKING:
    from .reading.document import Node
    from .review.model import Review
    from .review.rule import Rule

GROUP = "formcheck"
hook_specification = pluggy.HookspecMarker(GROUP)
implements = pluggy.HookimplMarker(GROUP)


class Hooks:
    """What a plug-in may bring. Every hook is optional."""

    @hook_specification
    def formcheck_rules(self) -> Iterable[Rule]:  # type: ignore[empty-body]
        """Rules. `formcheck.review.rule.pack(package)` collects those of a package."""

    @hook_specification
    def formcheck_materials(self) -> Iterable[str]:  # type: ignore[empty-body]
        """Paths of YAML files with a top-level `materials:`, in the form of shared/materials."""

    @hook_specification
    def formcheck_readers(self) -> dict[str, Callable[[str], Node | None]]:  # type: ignore[empty-body]
        """Readers by file ending, such as {".formula.csv": read}: text in, positioned nodes out."""

    @hook_specification
    def formcheck_reports(self) -> dict[str, Callable[[Iterable[Review]], str]]:  # type: ignore[empty-body]
        """Reports by the name that --format takes: reviews in, text out."""


class Fault(NamedTuple):
    """Something of ours or of a plug-in's that did not work; shown apart from the findings."""

    who: str
    what: str


class Plugins:
    """The plug-ins in force, and the faults of those that could not be loaded."""

    def __init__(self) -> None:
        self.manager = pluggy.PluginManager(GROUP)
        self.manager.add_hookspecs(Hooks)
        self.faults: list[Fault] = []

    def add(self, plugin: Any, name: str) -> None:
        """Registers one plug-in; a failure becomes a fault that names it."""
        try:
            self.manager.register(plugin, name)
        except Exception as error:
            self.faults.append(Fault(name, f"cannot be used: {type(error).__name__}: {error}"))

    def load(self, name: str, target: str) -> None:
        """Imports and registers what an entry point names."""
        module, _, attribute = target.partition(":")
        try:
            plugin: Any = __import__(module, fromlist=["*"])
            for part in filter(None, attribute.split(".")):
                plugin = getattr(plugin, part)
        except Exception as error:
            self.faults.append(Fault(name, f"cannot be loaded: {type(error).__name__}: {error}"))
            return
        self.add(plugin, name)

    def _ask(self, hook: str) -> Iterator[tuple[str, Any]]:
        """Every plug-in's answer to a hook, each in its own guard, in the order of their names."""
        for implementation in sorted(getattr(self.manager.hook, hook).get_hookimpls(), key=lambda i: i.plugin_name):
            try:
                answer = implementation.function()
                if answer is not None:
                    yield implementation.plugin_name, list(answer.items()) if isinstance(answer, dict) else list(answer)
            except Exception as error:
                name = implementation.plugin_name
                self.faults.append(Fault(name, f"{hook} failed: {type(error).__name__}: {error}"))

    def rules(self) -> list[Rule]:
        """Every rule, by id. Of two with one id the first plug-in's holds; the other is a fault."""
        found: dict[str, Rule] = {}
        for name, rules in self._ask("formcheck_rules"):
            for rule in rules:
                if rule.id in found:
                    self.faults.append(Fault(name, f"brings a second rule called {rule.id}; it is left out"))
                else:
                    found[rule.id] = rule
        return [found[id] for id in sorted(found)]

    def materials(self) -> list[str]:
        return [str(path) for _, paths in self._ask("formcheck_materials") for path in paths]

    def readers(self) -> dict[str, Callable[[str], Node | None]]:
        return {ending: read for _, pairs in self._ask("formcheck_readers") for ending, read in pairs}

    def reports(self) -> dict[str, Callable[[Iterable[Review]], str]]:
        return {name: report for _, pairs in self._ask("formcheck_reports") for name, report in pairs}


def gather(more: Iterable[tuple[str, Any]] = ()) -> Plugins:
    """The built-in plug-in, those installed in the entry-point group, and any given here."""
    plugins = Plugins()
    plugins.add(builtin_package(), "built-in")
    for name, target in entry_points():
        plugins.load(name, target)
    for name, plugin in more:
        plugins.add(plugin, name)
    return plugins


def entry_points() -> list[tuple[str, str]]:
    """(name, target) of what is installed in our group, read from the entry_points.txt files on sys.path.

    importlib.metadata would cost more than the whole review of a small file.
    """
    found: dict[str, str] = {}
    for folder in dict.fromkeys(sys.path):
        try:
            names = os.listdir(folder or ".")
        except OSError:
            continue
        for name in names:
            if name.endswith((".dist-info", ".egg-info")):
                for key, target in _group(os.path.join(folder, name, "entry_points.txt")):
                    found.setdefault(key, target)
    return sorted(found.items())


def _group(path: str) -> Iterator[tuple[str, str]]:
    try:
        with open(path, encoding="utf-8") as file:
            text = file.read()
    except OSError:
        return
    if f"[{GROUP}]" not in text:
        return
    inside = False
    for line in text.splitlines():
        line = line.strip()
        if line.startswith("["):
            inside = line == f"[{GROUP}]"
        elif inside and "=" in line:
            key, _, target = line.partition("=")
            yield key.strip(), target.split("[")[0].strip()


def builtin_package() -> ModuleType:
    """The package of the built-in rules."""
    return importlib.import_module("formcheck_rules")
