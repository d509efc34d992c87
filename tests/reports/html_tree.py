"""A page as a tree, read by the parser of the standard library, which forgives nothing here."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser

VOID = {"meta", "br", "hr", "link", "img", "input"}


class Node:
    def __init__(self, name: str, attributes: dict[str, str], parent: Node | None) -> None:
        self.name = name
        self.attributes = attributes
        self.parent = parent
        self.children: list[Node | str] = []

    def all(self, *names: str) -> Iterator[Node]:
        """All elements below this one of these names; of any name where none is given."""
        for child in self.children:
            if isinstance(child, Node):
                if not names or child.name in names:
                    yield child
                yield from child.all(*names)

    def of_class(self, word: str) -> Iterator[Node]:
        return (node for node in self.all() if word in node.attributes.get("class", "").split())

    @property
    def text(self) -> str:
        return "".join(child if isinstance(child, str) else child.text for child in self.children)

    def inside(self, name: str) -> bool:
        node = self.parent
        while node is not None and node.name != name:
            node = node.parent
        return node is not None


class _Builder(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = self.here = Node("", {}, None)
        self.declarations: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"<{tag}> has an attribute twice: {names}"
        node = Node(tag, {name: value or "" for name, value in attrs}, self.here)
        self.here.children.append(node)
        if tag not in VOID:
            self.here = node

    def handle_endtag(self, tag: str) -> None:
        assert self.here.name == tag, f"</{tag}> closes <{self.here.name}>"
        assert self.here.parent is not None
        self.here = self.here.parent

    def handle_data(self, data: str) -> None:
        self.here.children.append(data)

    def handle_decl(self, decl: str) -> None:
        self.declarations.append(decl)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def unknown_decl(self, data: str) -> None:
        raise AssertionError(f"a declaration: {data}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"a processing instruction: {data}")


def parsed(page: str) -> Node:
    """The tree of a page; tags that are not balanced, attributes given twice and comments are failures."""
    builder = _Builder()
    builder.feed(page)
    builder.close()
    assert builder.here is builder.root, f"<{builder.here.name}> is never closed"
    assert builder.declarations == ["doctype html"]
    return builder.root


def shape(node: Node) -> list[tuple[str, tuple[str, ...]]]:
    """Every element with the names of its attributes, in order: what text must not change."""
    return [(each.name, tuple(each.attributes)) for each in node.all()]
