"""What all open files share: the reviewer, the names that may be proposed, and what every key of the file means."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import cached_property
from typing import Any

from ...formula.names import fold
from ...formula.schema import schema
from ...plugins import Plugins, gather
from ...reading.document import Unreadable
from ...records import NamedTuple
from ...reference.store import Reference
from ...review.rule import Rule
from ...review.run import Reviewer
from .pieces import Path


class Name(NamedTuple):
    """One way to write a material of the reference. folded: for comparing; heading: the name it stands under."""

    written: str
    folded: str
    heading: str
    classes: tuple[str, ...]


class Desk:
    """plugins: those in force, gathered once. today: the day to review by, each day's own where it is left out."""

    def __init__(self, plugins: Plugins | None = None, today: date | None = None) -> None:
        self.plugins = plugins or gather()
        self.reference: Reference = self.plugins.reference()
        self._today = today
        self._reviewer: Reviewer | None = None

    @property
    def reviewer(self) -> Reviewer:
        """Reads the materials and settings beside a formula once; anew after forget(), and every day."""
        today = self._today or date.today()
        if self._reviewer is None or self._reviewer.today != today:
            self._reviewer = Reviewer(plugins=self.plugins, reference=self.reference, today=today)
        return self._reviewer

    def forget(self) -> None:
        """Materials and settings beside formulas have changed."""
        self._reviewer = None

    def rules(self, path: str) -> dict[str, Rule]:
        """The rules that look at a file, by id; those of the house too where its settings can be read."""
        try:
            house = self.reviewer.settings(path).house
        except Unreadable:
            house = ()
        return {rule.id: rule for rule in (*self.reviewer.rules, *house)}

    @cached_property
    def names(self) -> tuple[Name, ...]:
        """Every name of every material, each once; a material's own before those of others."""
        found: dict[str, Name] = {}
        materials = list(self.reference.all())
        for material in materials:
            classes = tuple(material.value("class") or ())
            found.setdefault(fold(material.name), Name(material.name, fold(material.name), material.name, classes))
        for material in materials:
            classes = tuple(material.value("class") or ())
            for name in material.names:
                found.setdefault(fold(name), Name(name, fold(name), material.name, classes))
        return tuple(found.values())

    @cached_property
    def _schema(self) -> dict[str, Any]:
        return schema(self.reference.properties)

    def about(self, path: Path, verb: str = "") -> str:
        """What a key of the file means, as its schema says it; verb: of the step it stands in. "" for an unknown one."""
        nodes = [self._schema]
        for step in path:
            nodes = [inner for node in nodes for inner in _inside(node, step)]
            if verb and isinstance(step, int):
                nodes = [node for node in nodes if verb in node.get("properties", {})]
        return next((str(node["description"]) for node in nodes if "description" in node), "")


def _inside(node: dict[str, Any], step: str | int) -> Iterator[dict[str, Any]]:
    """The schemas of what stands under a key, or in a list."""
    for each in _alternatives(node):
        if isinstance(step, int):
            inner = each.get("items")
        else:
            inner = each.get("properties", {}).get(step) or each.get("additionalProperties")
        if isinstance(inner, dict):
            yield from _alternatives(inner)


def _alternatives(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for other in node.get("anyOf", ()):
        yield from _alternatives(other)
