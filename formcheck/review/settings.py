"""The settings that serve a formula: those of the nearest configuration file, each with the place it was written at.

A folder is served by its own `formcheck.toml`, or by a `pyproject.toml` in which `[tool.formcheck` stands, else by what
serves the folder above; the search ends at a repository's root. The nearest file holds alone: only `builds-on`
in it brings another one in. Nothing here is loaded from Python, and nothing of this is kept outside a Configuration.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from ..bench.worksheet import NO_OPTIONS
from ..formula.model import AS_USUAL, Unstated
from ..reading.document import Place, Problem, Unreadable
from ..reading.places import above, is_address, is_file, is_root, joined
from ..records import NamedTuple
from ..reference.store import Reference
from .rule import Rule

FILE = "formcheck.toml"
PROJECT_FILE = "pyproject.toml"
_MARK = b"[tool.formcheck"
_MOST_OF_A_PROJECT_FILE = 2 * 1024 * 1024


class Given(NamedTuple):
    """A value somebody wrote into a configuration file. reason: why, where one has to be given."""

    value: Any
    file: str
    place: Place
    reason: str = ""

    @property
    def where(self) -> str:
        """`formcheck.toml:12`."""
        return f"{shown(self.file)}:{self.place.line}"


_NONE: Mapping[str, Given] = MappingProxyType({})


class Settings(NamedTuple):
    """What is in force for the formulas of a folder. A setting that nobody wrote is None, or missing from its mapping.

    files: the configuration files, nearest first; leave_out: folders (absolute) that a search passes by; house: rules of
    the house, read from house_files; silent, severity: by rule, families resolved; options: by rule and option; given:
    room, balance and markets for formulas that do not state them, as unstated holds them ready for use; values: the
    options as rules read them; texts: every file read for this, with what stood in it.
    """

    files: tuple[str, ...] = ()
    threshold: Given | None = None
    leave_out: tuple[Given, ...] = ()
    house_files: tuple[Given, ...] = ()
    house: tuple[Rule, ...] = ()
    silent: Mapping[str, Given] = _NONE
    severity: Mapping[str, Given] = _NONE
    options: Mapping[str, Mapping[str, Given]] = MappingProxyType({})
    given: Mapping[str, Given] = _NONE
    unstated: Unstated = AS_USUAL
    values: Mapping[str, Mapping[str, float]] = NO_OPTIONS
    texts: tuple[tuple[str, str], ...] = ()


AS_DECLARED = Settings()
"""Without any configuration: every rule as it declares itself."""


class BadSettings(Unreadable):
    """A configuration or house rule file that cannot be used. lines: `file:line:column: message`, one a problem."""

    def __init__(self, file: str, *problems: Problem) -> None:
        located = [
            (problem.place, f"{shown(file)}:{problem.place.line}:{problem.place.column}: {problem.message}")
            for problem in sorted(problems)
        ]
        super().__init__(*(Problem(place, f"in {line}") for place, line in located))
        self.lines = tuple(line for _, line in located)


class Configuration:
    """Finds and reads the settings of folders; every folder and every file is looked at once.

    rules: those of the plug-ins; reference: for the classes that rules of the house speak of.
    """

    def __init__(self, rules: Sequence[Rule], reference: Reference) -> None:
        self.rules = rules
        self.reference = reference
        self._folders: dict[str, Settings] = {}
        self._files: dict[str, Settings] = {}

    def of(self, folder: str) -> Settings:
        """The settings that serve the files of a folder (an absolute path). Raises BadSettings."""
        passed = []
        found = self._folders.get(folder)
        while found is None:
            passed.append(folder)
            file, higher = file_in(folder), above(folder)
            if file is not None:
                found = self._read(file)
            elif higher == folder or is_root(folder):
                found = AS_DECLARED
            else:
                folder, found = higher, self._folders.get(higher)
        self._folders.update(dict.fromkeys(passed, found))
        return found

    def _read(self, file: str) -> Settings:
        if file not in self._files:
            from .settings_file import read_settings

            self._files[file] = read_settings(file, self.rules, self.reference)
        return self._files[file]

    def house(self) -> tuple[Rule, ...]:
        """The house rules of all files read so far."""
        return tuple(rule for settings in self._files.values() for rule in settings.house)

    def leaves_out(self, folder: str) -> bool:
        """Whether a search of the folder above passes this one by. Raises BadSettings."""
        wanted = os.path.abspath(folder)
        return any(given.value == wanted for given in self.of(os.path.dirname(wanted)).leave_out)


def file_in(folder: str) -> str | None:
    """The configuration file of a folder itself. Raises BadSettings where there are two."""
    own, project = joined(folder, FILE), joined(folder, PROJECT_FILE)
    has_own = is_file(own)
    if is_address(folder) or not is_file(project) or not speaks_of_us(project, unreadable=not has_own):
        return own if has_own else None
    if has_own:
        message = f"there is a configuration here and in {shown(project)}; keep one of them"
        raise BadSettings(own, Problem(Place(1, 1), message))
    return project


def speaks_of_us(project_file: str, unreadable: bool = False) -> bool:
    """Whether a pyproject.toml has a table of ours; tells without reading it as TOML. unreadable: the answer where it is."""
    try:
        with open(project_file, "rb") as file:
            return _MARK in file.read(_MOST_OF_A_PROJECT_FILE)
    except OSError:
        return unreadable


def shown(path: str) -> str:
    """A path as a message shows it: from the working folder where that is shorter."""
    if is_address(path):
        return path
    try:
        near = os.path.relpath(path)
    except ValueError:  # another drive
        return path
    return near if len(near) <= len(path) else path
