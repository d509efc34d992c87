"""Workflow commands, read back as GitHub's runner reads them.

The grammar `::command key=value,key=value::message`, and %25, %0D, %0A everywhere and %3A, %2C in values, are those of
GitHub's documentation of workflow commands and its toolkit (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from hostile_reviews import NAMES, SHORT, hostile_review, hostile_unread
from hypothesis import given
from hypothesis import strategies as st

from formcheck.reports.safe_text import one_line
from formcheck.review.model import Review
from formcheck.review.run import Reviewer

Render = Callable[..., str]
COMMAND = re.compile(r"::(error|warning|notice) ([^:]*)::(.*)")


def decode(text: str) -> str:
    for code, sign in (("%3A", ":"), ("%2C", ","), ("%0A", "\n"), ("%0D", "\r"), ("%25", "%")):
        text = text.replace(code, sign)
    return text


def commands(text: str) -> list[tuple[str, dict[str, str], str]]:
    *lines, figures = text.split("\n")[:-1]
    assert re.fullmatch(
        r"formulas: \d+; ready: \d+; on hold: \d+; not reviewed: \d+(; findings silenced by the configuration: \d+)?",
        figures,
    )
    found = []
    for line in lines:
        match = COMMAND.fullmatch(line)
        assert match, line
        pairs = dict(pair.split("=", 1) for pair in match[2].split(","))
        found.append((match[1], {key: decode(value) for key, value in pairs.items()}, decode(match[3])))
    return found


def test_every_finding_is_an_annotation(render: Render, reviewer: Reviewer) -> None:
    (found,) = [
        command
        for command in commands(render("github", [reviewer.review("x.formula.yaml", SHORT.encode())]))
        if "total-not-100" in command[1]["title"]
    ]
    name, properties, message = found
    assert name == "error"
    assert properties == {"file": "x.formula.yaml", "line": "4", "col": "1", "title": "major: total-not-100"}
    assert message.startswith("the percents add to 95.5 %, 4.5 % short of 100 %.\n")


def test_severities_and_unread_files(render: Render, real: list[Review]) -> None:
    found = commands(render("github", real))
    kinds = {(title["title"].split(":")[0], name) for name, title, _ in found}
    assert kinds == {
        ("critical", "error"),
        ("major", "error"),
        ("minor", "warning"),
        ("note", "notice"),
        ("file not read", "error"),
    }
    assert len(found) == sum(len(review.findings) + len(review.errors) for review in real)


def check(render: Render, text: str) -> None:
    report = render("github", [hostile_review(text), hostile_unread(text)])
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]", report)
    fault, finding, light, unread = commands(report)
    assert set(finding[1]) <= {"file", "line", "col", "title"}
    assert finding[1]["title"] == "major: total-not-100"
    assert finding[2].endswith("\n" + one_line(text))
    assert unread[2] == one_line(text)
    assert (fault[0], light[0]) == ("error", "notice")


@pytest.mark.parametrize("name", NAMES)
def test_hostile_text_stays_text(render: Render, name: str) -> None:
    check(render, name)


@given(text=st.text(st.characters(), max_size=40))
def test_any_text_comes_back(render: Render, text: str) -> None:
    check(render, text)
