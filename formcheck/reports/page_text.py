"""Markdown of the handbook and the documentation: text stays text, and the source stays as readable as the page."""

from __future__ import annotations

import html
import inspect
import itertools
import re
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence

from .safe_text import one_line, visible
from .wrapping import wrap

_SIGNS = re.compile(r"[\\`*_\[\]|]")
_MARKUP = re.compile(r"<|&(?=#?\w+;)")
_ENTITIES = {"<": "&lt;", "&": "&amp;"}
_ESCAPE = re.compile(r"\\([\\`*_\[\]|#>+=~.)-])|(&lt;|&amp;)")
_LINK = re.compile(r"(?<!\\)\[([^\]\n]+)\]\([^)\s]+\)")
_BAR, _ESCAPED_BAR = re.compile(r"(?<!\\)\|"), r"\\|"
_FENCE = re.compile(r"`{3,}")
_OPENING = re.compile(r"[#>+=~-]")
_NUMBERED = re.compile(r"\d+(?=[.)](\s|$))")


def prose(text: str) -> str:
    """Text on one line, of which nothing becomes markup but what stands between a pair of backticks."""
    parts = one_line(text).split("`")
    if len(parts) % 2 == 0:
        parts = [one_line(text)]
    shown = "".join(code(part) if inside else _escaped(part) for inside, part in _marked(parts) if part)
    number = _NUMBERED.match(shown)
    if number:
        return f"{number.group()}\\{shown[number.end() :]}"
    return f"\\{shown}" if _OPENING.match(shown) else shown


def _escaped(text: str) -> str:
    return _MARKUP.sub(lambda match: _ENTITIES[match.group()], _SIGNS.sub(r"\\\g<0>", text))


def _marked(parts: list[str]) -> Iterator[tuple[bool, str]]:
    """Every other part is one that stands between backticks."""
    return ((bool(number % 2), part) for number, part in enumerate(parts))


def code(text: str) -> str:
    """Text on one line as code."""
    line = one_line(text)
    longest = max((len(run) for run in re.findall("`+", line)), default=0)
    fence = "`" * (longest + 1)
    gap = " " if line.startswith("`") or line.endswith("`") else ""
    return f"{fence}{gap}{line}{gap}{fence}"


def fenced(text: str, language: str) -> list[str]:
    """The lines of a block of code, its fence longer than any run of backticks in it."""
    shown = visible(text.strip("\n"))
    longest = max((len(run) for run in re.findall("`+", shown)), default=0)
    fence = "`" * max(3, longest + 1)
    return [fence + language, *shown.split("\n"), fence, ""]


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """The lines of a table; cells are markup already. Nothing where there are no rows."""
    lines = [f"| {' | '.join(_BAR.sub(_ESCAPED_BAR, cell) for cell in row)} |" for row in rows]
    return [f"| {' | '.join(heads)} |", "|" + "---|" * len(heads), *lines, ""] if lines else []


def bullets(items: Iterable[str]) -> list[str]:
    """The lines of a list; items are markup already. Nothing where there are none."""
    lines = [f"- {item}" for item in items]
    return [*lines, ""] if lines else []


def docstring(text: str) -> list[str]:
    """The lines of a docstring as Markdown: paragraphs, lists, and what is set in as blocks of code."""
    lines: list[str] = []
    blocks = re.split(r"\n\s*\n", inspect.cleandoc(text))
    for inside, group in itertools.groupby(blocks, lambda block: block.startswith("    ")):
        if inside:
            lines.extend(fenced(textwrap.dedent("\n\n".join(group)), "text"))
        else:
            lines.extend(itertools.chain.from_iterable(map(_paragraph, group)))
    return lines


def _paragraph(block: str) -> list[str]:
    if block.startswith("- "):
        return bullets(prose(item) for item in re.split(r"\n- ", block[2:]))
    return [prose(block), ""]


def slug(name: str) -> str:
    """A name as the address of a page or of a place on one."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "-"


def as_read(page: str) -> str:
    """A page for the terminal: links are their words, and nothing is escaped."""
    shown: list[str] = []
    fence = ""
    for line in page.split("\n"):
        opening = _FENCE.match(line)
        if fence or opening:
            shown.append(line)
            fence = "" if line == fence else fence or (opening.group() if opening else "")
        else:
            shown.append(_ESCAPE.sub(_unescaped, _LINK.sub(r"\1", line)))
    return "\n".join(shown)


def filled(text: str, width: int) -> str:
    """What as_read gives with its prose filled to so many columns; headings, tables and code stay as they are."""
    shown: list[str] = []
    fence = ""
    for line in text.split("\n"):
        opening = _FENCE.match(line)
        if fence or opening or len(line) <= width or line.startswith(("|", "#")):
            shown.append(line)
        else:
            shown.extend(wrap(line, width, "", "  " if line.startswith("- ") else ""))
        if fence or opening:
            fence = "" if line == fence else fence or (opening.group() if opening else "")
    return "\n".join(shown)


def _unescaped(match: re.Match[str]) -> str:
    return match[1] or html.unescape(match[2])
