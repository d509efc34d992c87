"""Where everything stands in JSON text, and how JSON spells a value."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from .document import Document, Node, Scalar
from .document import Mapping as MappingNode
from .editing import CannotEdit, Finder, Spot, below, plain_control_free

NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?")
_SPACE = re.compile(r"[ \t\r\n]*")
_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[^\s,\]}"][^\s,\]}]*')


class Json:
    """JSON as an Editor's language."""

    def spots(self, document: Document) -> dict[str, Spot]:
        return _Finder(document).run()

    def spelled(self, text: str, spot: Spot, raw: str) -> str:
        if NUMBER.fullmatch(text) and not raw.startswith('"'):
            return text
        return json.dumps(plain_control_free(text), ensure_ascii=False)

    def spelled_key(self, text: str, spot: Spot, raw: str) -> str:
        return json.dumps(plain_control_free(text), ensure_ascii=False)

    def item(self, entries: Sequence[tuple[str, str]], lead: str | None, newline: str) -> str:
        pairs = (f"{json.dumps(key, ensure_ascii=False)}: {_value(value)}" for key, value in entries)
        return "{" + ", ".join(pairs) + "}"

    def lead(self, text: str, spot: Spot) -> str:
        raise CannotEdit("this is not laid out as JSON is")

    def gap(self, between: str | None, newline: str) -> str:
        raise CannotEdit("this is not laid out as JSON is")


def _value(text: str) -> str:
    return text if NUMBER.fullmatch(text) else json.dumps(text, ensure_ascii=False)


class _Finder(Finder):
    """The document knows where everything begins; this finds where it ends."""

    def run(self) -> dict[str, Spot]:
        self.node("", self.root, None, False)
        return self.found

    def node(self, path: str, node: Node, key: tuple[int, int] | None, inside: bool) -> int:
        """Notes a value and all below it; gives where it ends."""
        start = self.at(node.place)
        if isinstance(node, Scalar):
            end = self.token(_TOKEN, start)
        elif isinstance(node, MappingNode):
            end = self.closing(start + 1, [self.entry(path, *entry) for entry in node.entries])
        else:
            ends = [self.node(below(path, index), item, None, True) for index, item in enumerate(node.items)]
            end = self.closing(start + 1, ends)
        self.found[path] = Spot(node, key, (start, end), not isinstance(node, Scalar), inside)
        return end

    def entry(self, path: str, key: Scalar, value: Node) -> int:
        start = self.at(key.place)
        return self.node(below(path, key.text), value, (start, self.token(_TOKEN, start)), True)

    def closing(self, at: int, ends: list[int]) -> int:
        match = _SPACE.match(self.text, ends[-1] if ends else at)
        assert match is not None
        return match.end() + 1
