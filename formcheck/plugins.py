"""The hooks that plug-ins may answer, and nothing else decides what is loaded.

A plug-in is any importable module or object named in the entry-point group `formcheck`. Hooks are called by keyword;
an implementation takes only the arguments it names. Arguments and hooks may be added at any time; one is removed only
after a release in which using it gave a warning. examples/plugin is a whole plug-in to copy.

The built-in rules come through the same hook as anybody's. Whatever a plug-in does wrong becomes a Fault with its name;
what else it brings, and what others bring, is used all the same.
"""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from types import ModuleType
from typing import TYPE_CHECKING, Any, TypeVar

from .formula.names import suggestion
from .records import NamedTuple

if TYPE_CHECKING:
    from .hook_manager import HookManager
    from .reading.document import Node
    from .reference.store import Reference
    from .review.model import Review
    from .review.rule import Rule

GROUP = "formcheck"
BUILT_IN = "built-in"
MARK = "__formcheck_hook__"
"""What tells a function that answers a hook; set by implements."""
_F = TypeVar("_F", bound=Callable[..., Any])


def implements(function: _F) -> _F:
    """Marks a function that answers the hook it is named after."""
    setattr(function, MARK, True)
    return function


class Hooks:
    """What a plug-in may bring. Every hook is optional."""

    def formcheck_rules(self) -> Iterable[Rule]:  # type: ignore[empty-body]
        """Rules. `formcheck.review.rule.pack(package)` collects those of a package."""

    def formcheck_materials(self) -> Iterable[str]:  # type: ignore[empty-body]
        """Paths of YAML files in the form of shared/: `materials:` and, where it needs its own, `classes:`, `sources:`
        and `limits:`. What is there already cannot be described again.
        """

    def formcheck_readers(self) -> dict[str, Callable[[str], Node | None]]:  # type: ignore[empty-body]
        """Readers by file ending, such as {".formula.csv": read}: text in, positioned nodes out."""

    def formcheck_reports(self) -> dict[str, Callable[[Iterable[Review]], str]]:  # type: ignore[empty-body]
        """Reports by the name that --format takes: reviews in, text out."""


_ANYTHING = (Exception, SystemExit)
"""What a plug-in may raise at us; one that ends the program must not end the review."""


class Fault(NamedTuple):
    """Something of ours or of a plug-in's that did not work; shown apart from the findings."""

    who: str
    what: str


class Plugins:
    """The plug-ins in force, and the faults of those that could not be loaded.

    own: the built-in plug-in. By itself it is asked without pluggy, which takes longer to import than a review takes.
    """

    def __init__(self, own: ModuleType | None = None) -> None:
        self._own = own
        self.faults: list[Fault] = []

    @cached_property
    def manager(self) -> HookManager:
        """What registers and looks through plug-ins; not needed where there are none but ours."""
        from .hook_manager import HookManager

        manager = HookManager()
        if self._own is not None:
            manager.register(self._own, BUILT_IN)
        return manager

    def add(self, plugin: Any, name: str) -> None:
        """Registers one plug-in; a failure becomes a fault that names it."""
        try:
            self.manager.register(plugin, name)
            answered = self.manager.get_hookcallers(plugin) or []
        except Exception as error:
            self.fault(name, f"cannot be used: {_said(error)}")
            return
        if not answered:
            self.fault(name, "answers no hook; mark its functions with formcheck.plugins.implements")
        for hook in answered:
            if not hook.has_spec():
                known = [name for name in vars(Hooks) if name.startswith(GROUP)]
                self.fault(name, f"answers «{hook.name}», which is no hook{suggestion(hook.name, known)}")

    def load(self, name: str, target: str) -> None:
        """Imports and registers what an entry point names."""
        module, _, attribute = target.partition(":")
        try:
            plugin: Any = __import__(module, fromlist=["*"])
            for part in filter(None, attribute.split(".")):
                plugin = getattr(plugin, part)
        except _ANYTHING as error:
            self.fault(name, f"cannot be loaded: {_said(error)}")
            return
        self.add(plugin, name)

    def fault(self, who: str, what: str) -> None:
        """Notes a fault, once."""
        fault = Fault(who, what)
        if fault not in self.faults:
            self.faults.append(fault)

    def _ask(self, hook: str, wanted: str, fits: Callable[[Any], bool]) -> Iterator[tuple[str, Any]]:
        """(plug-in, item) of every plug-in's answer to a hook, ours first, then in the order of their names.

        An answer that fails, and an item that is not what was wanted, is a fault of that plug-in.
        """
        for name, function in self._answers(hook):
            try:
                items = _items(function())
            except _ANYTHING as error:
                self.fault(name, f"{hook} failed: {_said(error)}")
                continue
            for item in items:
                if fits(item):
                    yield name, item
                else:
                    self.fault(name, f"{hook} gave {item!r:.60}, where {wanted} is expected")

    def _answers(self, hook: str) -> list[tuple[str, Callable[[], Any]]]:
        """(plug-in, function) of all that answer a hook, ours first, then in the order of their names."""
        if "manager" not in self.__dict__:
            own = getattr(self._own, hook, None)
            return [(BUILT_IN, own)] if own is not None and hasattr(own, MARK) else []
        found = [(i.plugin_name, i.function) for i in getattr(self.manager.hook, hook).get_hookimpls()]
        return sorted(found, key=lambda answer: (answer[0] != BUILT_IN, answer[0]))

    def rules(self) -> list[Rule]:
        """Every rule, by id. Of two with one id the first plug-in's holds; the other is a fault."""
        from .review.rule import Rule

        found: dict[str, Rule] = {}
        for name, rule in self._ask("formcheck_rules", "a rule", lambda item: isinstance(item, Rule) and item.id != ""):
            if rule.id in found:
                self.fault(name, f"brings a second rule called {rule.id}; it is left out")
            else:
                found[rule.id] = rule
        return [found[id] for id in sorted(found)]

    def materials(self) -> list[str]:
        """The material files that plug-ins bring."""
        return list(self._material_files())

    def _material_files(self) -> dict[str, str]:
        answers = self._ask("formcheck_materials", "a path", lambda item: isinstance(item, (str, os.PathLike)))
        return {os.fspath(path): name for name, path in answers}

    def reference(self) -> Reference:
        """The reference with what plug-ins bring to it; every mistake in their files is a fault."""
        from .reference.store import open_reference

        files = self._material_files()
        reference = open_reference(files)
        for path, line, column, message in reference.mistakes:
            self.fault(files.get(path, path), f"{path}:{line}:{column}: {message}")
        return reference

    def readers(self) -> dict[str, Callable[[str], Node | None]]:
        """Readers by file ending; one that fails makes the file unreadable, and says whose it is."""
        answers = self._ask("formcheck_readers", "a file ending with its reader", _is_named_function)
        return {ending: _guarded(name, read) for name, (ending, read) in answers}

    def reports(self) -> dict[str, Callable[[Iterable[Review]], str]]:
        """Reports by the name that --format takes. Of two with one name the first holds; the other is a fault."""
        from .reports.report import BUILT_IN as OURS

        found: dict[str, Callable[[Iterable[Review]], str]] = {}
        for name, (key, report) in self._ask("formcheck_reports", "a name with its report", _is_named_function):
            if key in found or key in OURS:
                self.fault(name, f"brings a second report called {key}; it is left out")
            else:
                found[key] = report
        return found


def _items(answer: Any) -> list[Any]:
    if answer is None:
        return []
    if isinstance(answer, str):
        return [answer]
    return list(answer.items() if isinstance(answer, dict) else answer)


def _said(error: BaseException) -> str:
    """An error on one line, as pluggy's and others' go over several."""
    return " ".join(f"{type(error).__name__}: {error}".split())


def _is_named_function(item: Any) -> bool:
    return isinstance(item, tuple) and len(item) == 2 and isinstance(item[0], str) and callable(item[1])


def _guarded(name: str, read: Callable[[str], Node | None]) -> Callable[[str], Node | None]:
    """The same reader, whose failures say which plug-in they come from."""
    from .reading.document import START, Mapping, Problem, Scalar, Sequence, Unreadable

    def reader(text: str) -> Node | None:
        try:
            root = read(text)
        except Unreadable:
            raise
        except Exception as error:
            raise Unreadable(Problem(START, f"the reader of plug-in {name} failed: {_said(error)}")) from error
        if root is not None and not isinstance(root, (Mapping, Sequence, Scalar)):
            message = f"the reader of plug-in {name} gave {type(root).__name__}, where a node is expected"
            raise Unreadable(Problem(START, message))
        return root

    return reader


def gather(more: Iterable[tuple[str, Any]] = (), packs: Iterable[str] = ()) -> Plugins:
    """The built-in plug-in, those installed in the entry-point group, the packs of the user's own file, and any given.

    more: plug-ins by name; packs: names or paths of packs as the command line takes them.
    """
    from .packs import Pack, load, load_own

    plugins = built_in()
    for name, target in entry_points():
        plugins.load(name, target)
    load_own(plugins)
    for pack in packs:
        load(plugins, Pack(pack, os.getcwd(), "the command line"))
    for name, plugin in more:
        plugins.add(plugin, name)
    return plugins


def built_in() -> Plugins:
    """The built-in plug-in alone."""
    return Plugins(builtin_package())


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
