"""Finding, in the words of a label, claims that make a cosmetic something else."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from ..patterns import pattern
from ..records import NamedTuple

_WORD = pattern(r"[\w'’-]+", re.UNICODE)
_BEFORE = 3
"""How many words back a `not` is looked for: `does not claim to` is within it, the last sentence mostly not."""


class Claim(NamedTuple):
    """A kind of claim that a market reads as more than cosmetic.

    kind and why: for the reader; sun: protection from the sun is meant; source: the id of the guidance.
    """

    market: str
    kind: str
    why: str
    sun: bool
    source: str
    wording: Mapping[str, Any]


class ClaimFound(NamedTuple):
    """words: the words of the text that make the claim, as written; start: where they begin in the text."""

    claim: Claim
    words: str
    start: int


def find(claims: Iterable[Claim], not_after: Iterable[str], text: str) -> tuple[ClaimFound, ...]:
    """The claims that the text makes, each kind once, in the order of the claims."""
    negations = frozenset(not_after)
    words = [(m.group().casefold().replace("’", "'"), m.start(), m.end()) for m in _WORD.finditer(text)]
    found = []
    for claim in claims:
        span = _find_one(claim.wording, negations, [word for word, _, _ in words])
        if span is not None:
            start, end = words[span[0]][1], words[span[1]][2]
            found.append(ClaimFound(claim, text[start:end], start))
    return tuple(found)


def _find_one(wording: Mapping[str, Any], negations: frozenset[str], words: list[str]) -> tuple[int, int] | None:
    spans = list(_spans(wording, words))
    if not spans or any(True for _ in _places(wording.get("unless", ()), words)):
        return None
    for span in spans:
        if not negations & set(words[max(0, span[0] - _BEFORE) : span[0]]):
            return span
    return None


def _spans(wording: Mapping[str, Any], words: list[str]) -> Iterable[tuple[int, int]]:
    yield from _places(wording.get("phrases", ()), words)
    lists = wording.get("all of", ())
    if lists:
        yield from _near(lists, int(wording.get("within", 3)), words)


def _near(lists: list[list[str]], within: int, words: list[str]) -> Iterable[tuple[int, int]]:
    """Two lists of phrases of which one each stands in the text with at most `within` words between."""
    first = list(_places(lists[0], words))
    second = list(_places(lists[1], words)) if first else []
    for a in first:
        for b in second:
            gap = max(a[0], b[0]) - min(a[1], b[1]) - 1
            if 0 <= gap <= within:
                yield min(a[0], b[0]), max(a[1], b[1])


def _places(phrases: Iterable[str], words: list[str]) -> Iterable[tuple[int, int]]:
    """Where the phrases stand, one phrase after the other. Most texts hold no word that any of them begins with."""
    known = tuple(phrases)
    begins = _beginning(known).fullmatch
    starts = [at for at, word in enumerate(words) if begins(word)]
    if not starts:
        return
    for phrase in known:
        parts = _parts(phrase)
        for at in starts:
            if at + len(parts) <= len(words) and all(part.fullmatch(words[at + i]) for i, part in enumerate(parts)):
                yield at, at + len(parts) - 1


@lru_cache(maxsize=64)
def _beginning(phrases: tuple[str, ...]) -> re.Pattern[str]:
    """One pattern for the first words of many phrases."""
    return re.compile("|".join(_parts(phrase)[0].pattern for phrase in phrases) or r"(?!)")


@lru_cache(maxsize=1024)
def _parts(phrase: str) -> tuple[re.Pattern[str], ...]:
    """One pattern a word: a star ends a stem, # stands for digits."""
    return tuple(
        re.compile(re.escape(part).replace(r"\*", r"[\w'-]*").replace(r"\#", r"\d+"))
        for part in phrase.casefold().split()
    )
