"""What a shell may complete, from the pages of the commands; the shells' own languages are in completion_bash, _zsh and _fish.

What a value is called on the page decides what it is completed with, so a command needs to do nothing for its completion.
Words that depend on the installation are asked of formcheck when the user presses the key: see ASKED.
"""

from __future__ import annotations

import importlib
from collections.abc import Iterable, Sequence

from ..formula.names import fold
from ..reading.files import ENDINGS
from ..records import NamedTuple
from .command_page import CommandPage, Taken

SHELLS = ("bash", "zsh", "fish")
FORMULAS, HOUSE_RULES, FILES, FOLDERS, WORDS, ASK, NOTHING = (
    "formulas", "house rules", "files", "folders", "words", "ask", "nothing",
)  # fmt: skip
ASKED = {
    "MATERIAL": "materials",
    "RULE": "rules",
    "MATERIAL|RULE": "materials-and-rules",
    "KIND": "kinds",
    "MARKET": "markets",
    "NAME[=FILE]": "formats",
}
"""What a value is called -> the word after `formcheck completion --words` that lists what it may be."""
_FILES = {
    "DIR": FOLDERS,
    "HOUSE-FILE": HOUSE_RULES,
    "OLD": FORMULAS,
    "NEW": FORMULAS,
    "PACK": FILES,
    "IN": FILES,
    "OUT": FILES,
}
_HOUSE_ENDINGS = (".house.yaml", ".house.yml", ".house.toml", ".house.json")
PATTERNS = {FORMULAS: ENDINGS, HOUSE_RULES: _HOUSE_ENDINGS}
"""The endings of files that are proposed, folders aside."""


class Source(NamedTuple):
    """Where the words for a value come from. words: the words themselves, or the one to ask by."""

    kind: str
    words: tuple[str, ...] = ()


def source_of(taken: Taken) -> Source:
    """What completes a value. A FILE that is an operand is a formula; one after an option is any file."""
    if taken.choices:
        return Source(WORDS, taken.choices)
    if taken.value in ASKED:
        return Source(ASK, (ASKED[taken.value],))
    if taken.value in ("FILE", "PATH"):
        return Source(FILES if taken.flags else FORMULAS)
    return Source(_FILES.get(taken.value, NOTHING))


def script(shell: str, pages: Sequence[CommandPage]) -> str:
    """The completion script for one of SHELLS."""
    made: str = importlib.import_module(f".completion_{shell}", __package__).script(pages)
    return made


def flags(page: CommandPage) -> list[str]:
    """How the options of a command are written, long forms only."""
    return [flag for taken in page.options for flag in taken.flags if flag.startswith("--")]


def matching(names: Iterable[str], begun: str) -> list[str]:
    """The names that go on from what was begun, in its own capitals or small letters, so that every shell accepts them.

    Of names that differ in capitals and hyphens alone the first is given.
    """
    size, small = len(begun), begun.casefold()
    found: dict[str, str] = {}
    for name in names:
        if name[:size].casefold() == small:
            found.setdefault(fold(name), _as_begun(name, begun))
    return list(found.values())


def _as_begun(name: str, begun: str) -> str:
    if name.startswith(begun):
        return name
    rest = name[len(begun) :]
    return begun + (rest.lower() if begun.islower() else rest)
