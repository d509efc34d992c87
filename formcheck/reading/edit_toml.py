"""Where everything stands in TOML text, and how TOML spells a value."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from .document import Document, Node, Scalar
from .document import Mapping as MappingNode
from .document import Sequence as SequenceNode
from .editing import CannotEdit, Finder, Spot, below, plain_control_free

_NUMBER = re.compile(r"[-+]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\r\n,]|#[^\n]*)*")
_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?!")|' r"'''.*?'''(?!')|" r'"(?:[^"\\\n]|\\.)*"|' r"'[^'\n]*'|" r"[^,\]}#\r\n]*[^,\]}#\s]",
    re.S,
)
_KEY_TOKEN = re.compile(r'"(?:[^"\\\n]|\\.)*"|' r"'[^'\n]*'|[A-Za-z0-9_-]+")
_HEADER = re.compile(r"\[\[[^\n]*?\]\]")
_EQUALS = re.compile(r"[ \t]*=")
_LINE = re.compile(r"[^\r\n]*")


class Toml:
    """TOML as an Editor's language. The items of `[[procedure]]` have lines of their own, headed by it."""

    def spots(self, document: Document) -> dict[str, Spot]:
        return _Finder(document).run()

    def spelled(self, text: str, spot: Spot, raw: str) -> str:
        if raw.startswith(('"""', "'''")):
            raise CannotEdit("the value is a text of several lines")
        return text if _NUMBER.fullmatch(text) and not raw.startswith(('"', "'")) else _quoted(text, raw[:1])

    def spelled_key(self, text: str, spot: Spot, raw: str) -> str:
        bare = _BARE_KEY.fullmatch(text) and not raw.startswith(('"', "'"))
        return text if bare else _quoted(text, raw[:1])

    def item(self, entries: Sequence[tuple[str, str]], lead: str | None, newline: str) -> str:
        pairs = [f"{_key(key)} = {_value(value)}" for key, value in entries]
        return "{" + ", ".join(pairs) + "}" if lead is None else lead + newline + newline.join(pairs)

    def lead(self, text: str, spot: Spot) -> str:
        match = _HEADER.match(text, spot.value[0])
        if match is None:
            raise CannotEdit("the steps are not laid out as a list of tables")
        return match.group()

    def gap(self, between: str | None, newline: str) -> str:
        return between if between is not None and not between.strip() and "\n" in between else newline * 2


def _quoted(text: str, quote: str = '"') -> str:
    plain_control_free(text)
    if quote == "'" and "'" not in text:
        return f"'{text}'"
    return json.dumps(text, ensure_ascii=False)


def _key(text: str) -> str:
    return text if _BARE_KEY.fullmatch(text) else _quoted(text)


def _value(text: str) -> str:
    return text if _NUMBER.fullmatch(text) else _quoted(text)


class _Finder(Finder):
    """The document knows where everything begins; this finds where it ends."""

    def run(self) -> dict[str, Spot]:
        self.node("", self.root, None, False)
        return self.found

    def node(self, path: str, node: Node, key: Scalar | None, inside: bool) -> int:
        """Notes a value and all below it; gives where it ends."""
        start = self.at(node.place)
        if isinstance(node, SequenceNode):
            bracketed = self._is_array(start, inside)
        else:
            bracketed = isinstance(node, MappingNode) and self.text.startswith("{", start)
        within = inside or bracketed
        if isinstance(node, Scalar):
            end = self.token(_TOKEN, start)
        elif isinstance(node, MappingNode):
            ends = [self.node(below(path, k.text), v, k, within) for k, v in node.entries]
            end = self.closing(start, ends) if bracketed else max(ends, default=self._header_end(start))
        else:
            ends = [self.node(below(path, index), item, None, within) for index, item in enumerate(node.items)]
            end = self.closing(start, ends) if bracketed else max(ends)
        self.found[path] = Spot(node, self._key(key), (start, end), bracketed, inside)
        return end

    def _is_array(self, start: int, inside: bool) -> bool:
        """Whether a list is one with brackets; `[[name]]` at the beginning of a line heads an item of the other kind."""
        begins_line = not self.text[self.text.rfind("\n", 0, start) + 1 : start].strip()
        return inside or not (begins_line and self.text.startswith("[[", start))

    def _header_end(self, start: int) -> int:
        match = _LINE.match(self.text, start)
        return match.end() if match else start

    def _key(self, key: Scalar | None) -> tuple[int, int] | None:
        """Where a key stands; None where it is part of a heading or of a dotted name."""
        if key is None:
            return None
        start = self.at(key.place)
        end = self.token(_KEY_TOKEN, start)
        return (start, end) if _EQUALS.match(self.text, end) else None

    def closing(self, start: int, ends: list[int]) -> int:
        match = _BLANK.match(self.text, max(ends, default=start + 1))
        assert match is not None
        return match.end() + 1
