"""The comment, read by a Markdown parser with tables, strike-through and links from bare addresses, as the hosts do."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from hostile_reviews import NAMES, hostile_review, hostile_unread
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from markdown_it.token import Token

from formcheck.reports.markdown import MOST
from formcheck.reports.safe_text import one_line
from formcheck.review.model import Review

Render = Callable[..., str]
PARSER = MarkdownIt("gfm-like")
# what GitHub and GitLab make links of in running text: names, references by number or name, emoji, mathematics
TALKATIVE = re.compile(r"@\w|[#!&$]\d|[~%]\w|:\w+:|GH-\d|\$.*\$|https?:|www\.|^[0-9a-f]{7,40}$")


def flat(tokens: list[Token]) -> Iterator[Token]:
    for token in tokens:
        yield token
        yield from flat(token.children or [])


def frame(text: str) -> list[tuple[str, str]]:
    """What the parser sees but text: blocks, emphasis, and HTML as it stands."""
    passing = ("text", "code_inline", "text_special")
    return [
        (token.type, token.content if token.type.startswith("html") else "")
        for token in flat(PARSER.parse(text))
        if token.type not in passing
    ]


def running(text: str) -> list[str]:
    """Running text, code left out, by inline run."""
    return [
        "".join(child.content for child in token.children or [] if child.type in ("text", "text_special"))
        for token in PARSER.parse(text)
        if token.type == "inline"
    ]


def comment(render: Render, text: str) -> str:
    return render("markdown", [hostile_review(text), hostile_unread(text)])


def check(render: Render, text: str) -> None:
    shown = comment(render, text)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]", shown)
    assert frame(shown) == frame(comment(render, "Rose"))
    for line in shown.splitlines():
        assert not line.lstrip().startswith("/")  # a command of GitLab's
    for word in " ".join(running(shown)).split(" "):
        assert not TALKATIVE.search(word), word


def test_a_comment_has_a_table_and_folds(render: Render, real: list[Review]) -> None:
    text = render("markdown", real)
    kinds = {kind for kind, _ in frame(text)}
    assert {"table_open", "heading_open", "bullet_list_open", "html_block"} <= kinds
    assert "link_open" not in kinds
    assert len(re.findall("<details>", text)) == len(re.findall("</details>", text)) > 0
    assert re.search(r"\| \*\*hold\*\* \| Bean flower hand gel \|", text)
    assert "R. Quill" in text
    assert "not valid YAML" in text


def test_formulas_on_hold_come_first(render: Render, real: list[Review]) -> None:
    table = [line for line in render("markdown", list(reversed(real))).splitlines() if line.startswith("| ")][1:]
    verdicts = [line.split(" | ")[0].strip("| *") for line in table]
    assert verdicts == sorted(verdicts, key=["hold", "not reviewed", "ready"].index)
    assert len(verdicts) == len(real)


@pytest.mark.parametrize("name", NAMES)
def test_hostile_text_stays_text(render: Render, name: str) -> None:
    check(render, name)


@settings(max_examples=100, deadline=None)
@given(text=st.text(st.characters(), min_size=1, max_size=30).filter(lambda text: one_line(text)))
def test_any_text_stays_text(render: Render, text: str) -> None:
    check(render, text)


@settings(max_examples=100, deadline=None)
@given(text=st.text("`*_[]()<>|\\~#!&$@:/.aw1- \n", min_size=1, max_size=30).filter(lambda text: one_line(text)))
def test_any_mark_up_stays_text(render: Render, text: str) -> None:
    check(render, text)


def test_the_reader_sees_what_the_formula_says(render: Render) -> None:
    text = "Bean *gel* [v2] <5 %> @ 60 °C | a_b"
    seen = "".join(token.content for token in flat(PARSER.parse(comment(render, text))) if token.type == "text")
    assert text in seen


@pytest.mark.parametrize("copies", [40, 400])
def test_a_long_comment_is_cut_and_says_so(render: Render, real: list[Review], copies: int) -> None:
    """GitHub refuses a comment of more than 65536 characters (from memory)."""
    text = render("markdown", real * copies)
    assert len(text) < MOST + 500 < 65536
    assert re.search(r"\d+ more formulas", text)
    assert len(re.findall("<details>", text)) == len(re.findall("</details>", text))


def test_one_huge_formula_still_shows_what_stops_it(render: Render) -> None:
    review = hostile_review("Rose")
    many = [review.findings[0]._replace(message=f"finding {n}", why="why " * 200) for n in range(100)]
    text = render("markdown", [review._replace(findings=tuple(many))])
    assert len(text) < 65536
    assert "finding 99" in text
    assert "it does not fit here" in text
