"""Comparing names as people write them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

_RUNS = re.compile(r"[\s_\-‐‑–]+")


@lru_cache(maxsize=65536)
def fold(name: str) -> str:
    """A name without regard to case, hyphens, runs of spaces, a space before %, and the shape of apostrophes.

    Two names that fold alike are one name.
    """
    return _RUNS.sub(" ", name.replace("%", " %").replace("’", "'")).strip().casefold()


def nearest(name: str, known: Iterable[str], most: int = 1) -> list[str]:
    """Those of the known names that look most like name, best first; empty when none is near."""
    from difflib import get_close_matches

    folded: dict[str, str] = {}
    for candidate in known:
        folded.setdefault(fold(candidate), candidate)
    return [folded[match] for match in get_close_matches(fold(name)[:80], folded, n=most, cutoff=0.7)]


class NameIndex:
    """Many folded names, indexed by runs of three letters, so that near names are found without comparing each of them.

    runs: what runs_of_three gives for the names.
    """

    def __init__(self, names: Sequence[str], runs: Mapping[str, Iterable[int]]) -> None:
        self._names = names
        self._runs = runs

    def nearest(self, name: str, most: int = 1) -> list[str]:
        """Those of the names that look most like name, best first; empty when none is near."""
        from collections import Counter
        from difflib import get_close_matches

        folded = fold(name)[:80]
        shared: Counter[int] = Counter()
        for run in _runs_in(folded):
            shared.update(self._runs.get(run, ()))
        likely = sorted(shared, key=lambda number: (-shared[number], number))[:_CANDIDATES]
        return get_close_matches(folded, [self._names[number] for number in likely], n=most, cutoff=0.7)


_CANDIDATES = 40


def runs_of_three(names: Iterable[str]) -> dict[str, list[int]]:
    """Run of three letters -> the numbers of the names in which it stands."""
    found: dict[str, list[int]] = {}
    for number, name in enumerate(names):
        for run in sorted(_runs_in(name)):
            found.setdefault(run, []).append(number)
    return found


def _runs_in(name: str) -> set[str]:
    padded = f"  {name} "
    return {padded[at : at + 3] for at in range(len(padded) - 2)}


def suggestion(name: str, known: Iterable[str]) -> str:
    """`; did you mean «x»?` for the end of a message, or nothing."""
    found = nearest(name, known)
    return f"; did you mean «{found[0]}»?" if found else ""


def listed(names: Iterable[str], joint: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    items = list(names)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joint} {items[-1]}"


@lru_cache(maxsize=65536)
def pointer(*parts: str | int) -> str:
    """A JSON Pointer (RFC 6901) to a value of the file."""
    return "".join(["/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts])
