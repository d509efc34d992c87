"""Reading the keys of a file that people write: everything that is wrong is noted at its place, and reading goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from ..reading.document import Entry, Mapping, Node, Place, Problem, Scalar, Sequence, Unreadable, describe
from .names import suggestion
from .units import Misread

T = TypeVar("T")

MOST_PROBLEMS = 100
"""Mistakes that are told at a time; each looks for the nearest known word, and nobody mends more at once."""
MOST_TEXTS = 100
"""Words in one list, such as areas or markets."""


class Fields:
    """Collects problems while keys and values are read. place: where the file's top-level mapping stands."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self.problems: list[Problem] = []

    def done(self) -> None:
        """Raises Unreadable where anything was wrong."""
        if self.problems:
            raise Unreadable(*self.problems)

    def problem(self, place: Place, message: str) -> None:
        """Notes a mistake; done() raises it. Raises Unreadable where there are too many of them."""
        self.problems.append(Problem(place, message))
        if len(self.problems) >= MOST_PROBLEMS:
            more = Problem(place, f"{MOST_PROBLEMS} mistakes so far; what comes behind them was not read")
            raise Unreadable(*self.problems, more)

    def keys(self, node: Mapping, known: Iterable[str], where: str) -> dict[str, Entry]:
        """The entries by key; an unknown key is a problem that names the nearest known one."""
        return self.known(node.entries, tuple(known), where)

    def known(self, entries: Iterable[Entry], names: tuple[str, ...], where: str) -> dict[str, Entry]:
        """As keys(), of some entries of a mapping."""
        result = {}
        for entry in entries:
            name = entry.key.text
            if name not in names:
                same = [key for key in names if key.lower() == name.strip().lower()]
                hint = f"; write «{same[0]}»" if same else suggestion(name, names)
                hint = hint or f"; known are {', '.join(names)}"
                self.problem(entry.key.place, f"«{name}» is not a key of {where}{hint}")
                continue
            result[name] = entry
        return result

    def mapping(self, entry: Entry | None, known: Iterable[str], where: str) -> dict[str, Entry]:
        """The entries under a key; none where it is missing."""
        if entry is None:
            return {}
        if isinstance(entry.value, Mapping):
            return self.keys(entry.value, known, where)
        names = tuple(known)
        self.problem(
            entry.value.place,
            f"{describe(entry.value)} under «{entry.key.text}»; it takes names with values, "
            f"such as «{entry.key.text}: {{{names[0]}: ...}}»; known are {', '.join(names)}",
        )
        return {}

    def value(self, entry: Entry | None, read: Callable[[Node], T]) -> T | None:
        """What read makes of the value, or None (after noting the problem)."""
        if entry is None:
            return None
        try:
            return read(entry.value)
        except Misread as error:
            self.problem(entry.value.place, str(error))
            return None

    def text(self, entry: Entry | None) -> str | None:
        """A text; None where the key is missing or holds something else."""
        return None if entry is None else self.text_in(entry.value, entry.key)

    def text_in(self, node: Node, key: Scalar) -> str | None:
        """The text that a node under a key is; None, after noting the problem, where it is something else."""
        text = node.text.strip() if isinstance(node, Scalar) and node.kind != "null" else ""
        if not text:
            self.problem(node.place, f"{describe(node)} under «{key.text}»; a text was expected")
            return None
        return text

    def texts(self, entry: Entry | None) -> tuple[str, ...]:
        """A list of texts; one text alone is a list of one."""
        if entry is None:
            return ()
        node = entry.value
        items = node.items if isinstance(node, Sequence) else (node,)
        if len(items) > MOST_TEXTS:
            self.problem(
                node.place, f"{len(items)} words under «{entry.key.text}»; {MOST_TEXTS} are the most that are read"
            )
            return ()
        return tuple([text for item in items if (text := self.text_in(item, entry.key)) is not None])

    def one_of(self, entry: Entry | None, words: tuple[str, ...]) -> str | None:
        """One of a list of words, in lower case."""
        text = self.text(entry)
        if text is None or entry is None:
            return None
        lowered = text.lower()
        if lowered not in words:
            self.problem(
                entry.value.place,
                f"«{text}» under «{entry.key.text}»; it is one of {', '.join(words)}{suggestion(text, words)}",
            )
            return None
        return lowered
