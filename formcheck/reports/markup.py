"""HTML and SVG put together from small pieces, in which no text of a formula can become markup.

tag() escapes whatever is not Markup, so that forgetting to escape is not possible; control and direction characters are
shown, not obeyed.
"""

from __future__ import annotations

import html
from collections.abc import Iterable
from typing import TypeAlias

from .safe_text import visible

VOID = frozenset(("meta", "br", "hr", "link"))


class Markup(str):
    """Text that is markup already."""

    __slots__ = ()


Content: TypeAlias = "str | Iterable[Content] | None"
Value: TypeAlias = "str | float | bool | None"


def text(content: Content) -> Markup:
    """The content as markup: strings escaped, pieces of markup as they are, sequences joined, None left out."""
    if content is None:
        return Markup("")
    if isinstance(content, Markup):
        return content
    if isinstance(content, str):
        return Markup(html.escape(visible(content)))
    return Markup("".join(text(each) for each in content))


def tag(name: str, /, *content: Content, **attributes: Value) -> Markup:
    """One element. In attributes an underscore stands for a hyphen, and one at the end for nothing (`class_`).

    None and False leave an attribute out, True gives its bare name, numbers get at most two decimals.
    """
    start = "".join(_attribute(key, value) for key, value in attributes.items())
    if name in VOID:
        return Markup(f"<{name}{start}>")
    return Markup(f"<{name}{start}>{text(content)}</{name}>")


def rounded(value: float) -> str:
    """At most two decimals, without trailing zeros."""
    shown = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def _attribute(key: str, value: Value) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    if value is True:
        return f" {name}"
    shown = value if isinstance(value, str) else rounded(value)
    return f' {name}="{text(shown)}"'
