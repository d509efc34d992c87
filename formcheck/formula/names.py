"""Comparing names as people write them."""

from __future__ import annotations

import re
from collections.abc import Iterable
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
    """Many names, indexed by runs of three letters, so that near names are found without comparing each of them."""

    def __init__(self, names: Iterable[str]) -> None:
        self._names = [fold(name) for name in names]
        self._at: dict[str, list[int]] = {}
        for number, name in enumerate(self._names):
            for run in _runs_of_three(name):
                self._at.setdefault(run, []).append(number)

    def nearest(self, name: str, most: int = 1) -> list[str]:
        """Those of the names, folded, that look most like name, best first; empty when none is near."""
        from collections import Counter
        from difflib import get_close_matches

        folded = fold(name)[:80]
        shared = Counter(number for run in _runs_of_three(folded) for number in self._at.get(run, ()))
        candidates = [self._names[number] for number, _ in shared.most_common(_CANDIDATES)]
        return get_close_matches(folded, candidates, n=most, cutoff=0.7)


_CANDIDATES = 40


def _runs_of_three(name: str) -> set[str]:
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


def pointer(*parts: str | int) -> str:
    """A JSON Pointer (RFC 6901) to a value of the file."""
    return "".join(["/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts])
