"""Where everything stands in YAML text, from the parser's own marks, and how YAML spells a value."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import yaml

from .document import Document, Node, Scalar
from .document import Mapping as MappingNode
from .document import Sequence as SequenceNode
from .editing import CannotEdit, Spot, below, plain_control_free
from .yaml_reader import events

_DASH = re.compile(r"[ ]*-[ ]+")
_PLAIN = re.compile(r"[^\W_](?:[\w ./()%°+,’-]*[\w.)%])?")
"""Text that needs no quotes anywhere; what is not surely so is quoted."""
_ALIASED = "the value is shared with another part of the file by an alias; change it by hand"
_MARKED = "the value carries an anchor or a tag; change it by hand"


class Yaml:
    """YAML as an Editor's language."""

    def spots(self, document: Document) -> dict[str, Spot]:
        return _Finder(document).run()

    def spelled(self, text: str, spot: Spot, raw: str) -> str:
        if raw[:1] in ("|", ">"):
            raise CannotEdit("the value is a text of several lines")
        return spelled_text(text, spot.inside, raw[:1])

    def spelled_key(self, text: str, spot: Spot, raw: str) -> str:
        return spelled_text(text, spot.inside, raw[:1])

    def item(self, entries: Sequence[tuple[str, str]], lead: str | None, newline: str) -> str:
        inside = lead is None
        pairs = [f"{spelled_text(key, inside)}: {spelled_text(value, inside)}" for key, value in entries]
        return "{" + ", ".join(pairs) + "}" if lead is None else lead + (newline + " " * len(lead)).join(pairs)

    def lead(self, text: str, spot: Spot) -> str:
        start = spot.value[0]
        lead = text[text.rfind("\n", 0, start) + 1 : start]
        if not _DASH.fullmatch(lead):
            raise CannotEdit("the steps are not laid out one below another")
        return lead

    def gap(self, between: str | None, newline: str) -> str:
        return newline


def spelled_text(text: str, inside: bool, quote: str = "") -> str:
    """A text as YAML reads it back: in the quotes it had, else without any where that is surely right.

    inside: it stands within brackets. Raises CannotEdit for a text that holds control characters.
    """
    plain_control_free(text)
    plain = text if quote not in ('"', "'") and _PLAIN.fullmatch(text) else ""
    single = "'" + text.replace("'", "''") + "'"
    double = '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    for spelling in (plain, double if quote == '"' else single, single, double):
        if spelling and _reads_back(spelling, text, inside):
            return spelling
    raise CannotEdit("the new text cannot be written in one line of YAML")


def _reads_back(spelling: str, text: str, inside: bool) -> bool:
    """Whether YAML reads it as this one text, and as no null, truth value or the like."""
    source = f"[{spelling}, 1]" if inside else f"- {spelling}"
    try:
        values = [event for event in events(source) if isinstance(event, yaml.ScalarEvent)]
    except yaml.YAMLError:
        return False
    word = text.lower() in ("", "~", "null", "true", "false", "yes", "no", "on", "off")
    return len(values) == (2 if inside else 1) and values[0].value == text and not (word and not values[0].style)


class _Open:
    """A collection whose end has not come yet."""

    def __init__(self, path: str, start: int, is_mapping: bool, bracketed: bool, key: tuple[int, int] | None) -> None:
        self.path = path
        self.start = self.end = start
        self.is_mapping = is_mapping
        self.bracketed = bracketed
        self.key = key
        self.name: str | None = None
        self.name_span = (0, 0)
        self.count = 0


class _Finder:
    """Goes through the parser's events and notes from where up to where every value reaches."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.stack: list[_Open] = []
        self.found: dict[str, Spot] = {}
        self.nodes: dict[str, Node] = {}
        self.anchors: dict[str, str] = {}
        self.shared: list[str] = []

    def run(self) -> dict[str, Spot]:
        self._collect("", self.document.root)
        for event in events(self.document.text):
            if isinstance(event, yaml.ScalarEvent):
                self._scalar(event)
            elif isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
                self._opens(event)
            elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
                self._closes(event)
            elif isinstance(event, yaml.AliasEvent):
                self._alias(event)
        for path in self.shared:
            for name in [name for name in self.found if name == path or name.startswith(path + "/")]:
                self.found[name] = self.found[name]._replace(closed=_ALIASED)
        return self.found

    def _collect(self, path: str, node: Node) -> None:
        self.nodes[path] = node
        if isinstance(node, MappingNode):
            for entry in node.entries:
                self._collect(below(path, entry.key.text), entry.value)
        elif isinstance(node, SequenceNode):
            for index, item in enumerate(node.items):
                self._collect(below(path, index), item)

    def _scalar(self, event: Any) -> None:
        start, end = event.start_mark.index, event.end_mark.index
        top = self.stack[-1] if self.stack else None
        if top is not None and top.is_mapping and top.name is None:
            top.name, top.name_span = event.value, (start, end)
            top.end = max(top.end, end)
            return
        raw = self.document.text[start:end]
        end = start + len(raw.rstrip()) if event.style in ("|", ">") else end
        path, key = self._place(end)
        node = self.nodes.get(path)
        if isinstance(node, Scalar) and node.text == event.value:
            closed = _MARKED if event.anchor or event.tag else ""
            self.found[path] = Spot(node, key, (start, end), False, self._inside(), closed)
            if event.anchor:
                self.anchors[event.anchor] = path

    def _alias(self, event: Any) -> None:
        self.shared.append(self.anchors.get(event.anchor, ""))
        self._place(event.end_mark.index)

    def _opens(self, event: Any) -> None:
        path, key = self._place(event.start_mark.index)
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        self.stack.append(_Open(path, event.start_mark.index, is_mapping, bool(event.flow_style), key))
        if event.anchor:
            self.anchors[event.anchor] = path

    def _closes(self, event: Any) -> None:
        ended = self.stack.pop()
        end = event.end_mark.index if ended.bracketed else ended.end
        if self.stack:
            self.stack[-1].end = max(self.stack[-1].end, end)
        node = self.nodes.get(ended.path)
        if node is not None and not isinstance(node, Scalar):
            self.found[ended.path] = Spot(node, ended.key, (ended.start, end), ended.bracketed, self._inside())

    def _inside(self) -> bool:
        return any(each.bracketed for each in self.stack)

    def _place(self, end: int) -> tuple[str, tuple[int, int] | None]:
        """The pointer of the value that comes now, and where its key stands. end: how far what holds it now reaches."""
        if not self.stack:
            return "", None
        top = self.stack[-1]
        top.end = max(top.end, end)
        if top.is_mapping:
            path, key = below(top.path, top.name or ""), top.name_span
            top.name = None
            return path, key
        top.count += 1
        return below(top.path, top.count - 1), None
