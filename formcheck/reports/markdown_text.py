"""Text of a formula inside Markdown for the web: nothing of it becomes markup, a link, a mention, or a command.

Both big hosts turn more into links than Markdown does: @names, #12, !12, addresses, :emoji:. Such words are shown as
code, where no host looks for them; every other sign of Markdown or HTML is written as a character reference, which no
parser takes for structure. The caller never lets such text begin a line, where `/commands` and lists live.
"""

from __future__ import annotations

import re

from .safe_text import one_line, visible

_SIGNS = re.compile(r"[\\`*_{}\[\]#|~<>&^$@]")
_TALKATIVE = re.compile(
    r"@\S|[\\$`]"  # mentions, mathematics
    r"|[#!~%&^]['\"\w]"  # references by number or name
    r"|:[\w+\-/]"  # emoji, schemes of addresses
    r"|\[\w+:"  # references by kind
    r"|\bGH-\d|\w\.[a-zA-Z]{2,}|\bwww\."
    r"|^[0-9a-f]{7,40}$",  # a commit
    re.IGNORECASE,
)
_NOT_IN_CODE = re.compile(r"[`|]")


def inline(text: str) -> str:
    """The text as running text, on one line."""
    return " ".join(_word(word) for word in one_line(text).split(" "))


def code(text: str) -> str:
    """The text as code, on one line; fit for a table too."""
    line = one_line(text)
    pieces = re.split(f"({_NOT_IN_CODE.pattern})", line)
    return "".join(_reference(piece) if _NOT_IN_CODE.fullmatch(piece) else _span(piece) for piece in pieces if piece)


def block(text: str) -> list[str]:
    """The lines of a code block, its fence longer than any run of backticks inside."""
    shown = visible(text)
    longest = max((len(run) for run in re.findall("`+", shown)), default=0)
    fence = "`" * max(3, longest + 1)
    return [fence + "yaml", *shown.split("\n"), fence]


def _word(word: str) -> str:
    if _TALKATIVE.search(word):
        return code(word)
    return _SIGNS.sub(lambda match: _reference(match.group()), word)


def _span(piece: str) -> str:
    return f"`{piece}`" if piece.strip() else piece


def _reference(character: str) -> str:
    return f"&#{ord(character)};"
