"""Which formulas a set of changed files concerns.

A formula concerns itself. A materials file serves every formula at or below its folder; a configuration, what it builds
on and its rule files of the house serve the formulas that go by it. What a configuration leaves out of a search is left
out here, and so is a formula that git does not follow, where another file's change would bring it in.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator

from ..formula.build import build_materials
from ..git import NoGit, git
from ..reading import files
from ..reading.document import Unreadable
from ..reading.places import folder_of
from ..records import NamedTuple
from .run import MATERIALS_FILES, Reviewer
from .settings import FILE, PROJECT_FILE, BadSettings, Settings, shown, speaks_of_us

FORMULA = "formula"
MATERIALS = "materials"
CONFIGURATION = "configuration"
NAMED = "named by a configuration"
OTHER = "other"


class Served(NamedTuple):
    """formulas: paths to review, in the order of their names; problems: `file:line:column: message` of changed files
    that serve formulas and cannot be read; left_out, gone: formulas that the configuration leaves out, that were removed.
    """

    formulas: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()


def served(paths: Iterable[str], reviewer: Reviewer) -> Served:
    """Sorts changed files, removed ones among them, and finds the formulas to review."""
    search = _Search(reviewer)
    found: dict[str, str] = {}
    problems: list[str] = []
    left_out: list[str] = []
    gone: list[str] = []
    for path in dict.fromkeys(paths):
        kind = kind_of(path, reviewer)
        if kind == FORMULA and not os.path.lexists(path):
            gone.append(path)
        elif kind == FORMULA and search.left_out(path):
            left_out.append(path)
        elif kind == FORMULA:
            found.setdefault(os.path.abspath(path), path)
        elif kind != OTHER:
            problems.extend(_problems(path, kind, reviewer))
            for formula in search.served_by(path, kind):
                found.setdefault(formula, shown(formula))
    return Served(tuple(sorted(found.values())), tuple(dict.fromkeys(problems)), tuple(left_out), tuple(gone))


def kind_of(path: str, reviewer: Reviewer) -> str:
    """What a file is to a review, by its name; a pyproject.toml counts where it has a table of ours.

    House rules, and any TOML file that a configuration may build on, are NAMED: whether they are is seen later.
    """
    name = os.path.basename(path)
    if name.lower().endswith((*files.ENDINGS, *reviewer.readers)):
        return FORMULA
    if name in MATERIALS_FILES:
        return MATERIALS
    if name == FILE or (name == PROJECT_FILE and speaks_of_us(path)):
        return CONFIGURATION
    if name != PROJECT_FILE and (name.endswith(".toml") or _is_house_file(name)):
        return NAMED
    return OTHER


def _is_house_file(name: str) -> bool:
    if ".house." not in name:
        return False
    from .settings_file import HOUSE_ENDINGS

    return name.endswith(HOUSE_ENDINGS)


def _problems(path: str, kind: str, reviewer: Reviewer) -> Iterator[str]:
    """What is wrong with a file that serves formulas; nothing where it was removed."""
    if not os.path.isfile(path):
        return
    try:
        if kind == MATERIALS:
            build_materials(files.read(path), lambda: reviewer.reference.properties)
        elif kind == CONFIGURATION:
            reviewer.configuration.of(folder_of(path))
        elif _is_house_file(os.path.basename(path)):
            from .house import read_house

            read_house(os.path.abspath(path), reviewer.reference, {})
    except BadSettings as error:
        yield from error.lines
    except Unreadable as error:
        for problem in error.problems:
            yield f"{shown(path)}:{problem.place.line}:{problem.place.column}: {problem.message}"


class _Search:
    """Finds formulas by what serves them; asks git once a repository."""

    def __init__(self, reviewer: Reviewer) -> None:
        self.reviewer = reviewer
        self._unfollowed: dict[str, frozenset[str]] = {}

    def served_by(self, path: str, kind: str) -> Iterator[str]:
        """The formulas (absolute paths) that a file serves; a configuration that was removed served those below it."""
        folder = folder_of(path)
        top = repository_of(folder)
        whole = kind == NAMED or (kind == CONFIGURATION and os.path.isfile(path))
        for formula in self._below(top if whole else folder):
            if formula in self._not_followed(top) or repository_of(os.path.dirname(formula)) != top:
                continue
            if not whole or self._rests_on(os.path.dirname(formula), path):
                yield formula

    def left_out(self, path: str) -> bool:
        """Whether a configuration leaves a folder out in which this file lies."""
        folder = folder_of(path)
        top = repository_of(folder)
        while folder != top and folder != os.path.dirname(folder):
            if self._leaves_out(folder):
                return True
            folder = os.path.dirname(folder)
        return False

    def _below(self, folder: str) -> Iterator[str]:
        try:
            yield from files.find(folder, self._leaves_out)
        except OSError:  # removed with its last file, or closed to us: git has nothing of it either
            return

    def _leaves_out(self, folder: str) -> bool:
        try:
            return self.reviewer.configuration.leaves_out(folder)
        except BadSettings:  # the review of the formulas says so
            return False

    def _rests_on(self, folder: str, path: str) -> bool:
        """Whether the settings of a folder come from this file, in part at least; also where they cannot be read."""
        try:
            settings = self.reviewer.configuration.of(folder)
        except BadSettings:
            return True
        return os.path.realpath(path) in map(os.path.realpath, _files_of(settings))

    def _not_followed(self, top: str) -> frozenset[str]:
        if top not in self._unfollowed:
            self._unfollowed[top] = frozenset(_unfollowed(top))
        return self._unfollowed[top]


def _files_of(settings: Settings) -> Iterator[str]:
    yield from settings.files
    yield from (str(given.value) for given in settings.house_files)


def repository_of(folder: str) -> str:
    """The root of the repository a folder lies in; without one the working folder, or the folder itself beside that."""
    above = folder
    while not os.path.exists(os.path.join(above, ".git")):
        if above == os.path.dirname(above):
            here = os.getcwd()
            return here if f"{folder}{os.sep}".startswith(f"{here}{os.sep}") else folder
        above = os.path.dirname(above)
    return above


def _unfollowed(top: str) -> Iterator[str]:
    """Formulas (absolute paths) that git does not follow; none where git cannot tell."""
    patterns = [f"*{ending}" for ending in files.ENDINGS]
    try:
        result = git(top, "ls-files", "-z", "--others", "--", *patterns)
    except NoGit:
        return
    if result.returncode == 0:
        yield from (os.path.join(top, os.fsdecode(name)) for name in result.stdout.split(b"\0") if name)
