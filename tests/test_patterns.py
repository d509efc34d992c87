"""A pattern compiled late finds what re finds."""

from __future__ import annotations

import re

import pytest

from formcheck.patterns import pattern

TEXT = "Glycerin (86 %), aqua 5"
CALLS = [
    ("match", TEXT),
    ("fullmatch", TEXT),
    ("search", TEXT, 3),
    ("findall", TEXT),
    ("sub", "#", TEXT),
    ("split", TEXT),
]


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call[0])
def test_it_finds_what_re_finds(call: tuple[str, ...]) -> None:
    name, *rest = call
    ours, theirs = pattern(r"(?i)[a-z]+\s*", re.A), re.compile(r"(?i)[a-z]+\s*", re.A)
    for _ in range(2):
        assert repr(getattr(ours, name)(*rest)) == repr(getattr(theirs, name)(*rest))
    assert (ours.pattern, [match.span() for match in ours.finditer(TEXT)]) == (
        theirs.pattern,
        [match.span() for match in theirs.finditer(TEXT)],
    )


def test_a_pattern_is_compiled_when_it_is_first_used() -> None:
    wrong = pattern("(")
    with pytest.raises(re.error):
        wrong.search("text")
