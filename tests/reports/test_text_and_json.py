"""Hostile text in the two plain reports; and a hostile file through the whole program into every format."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hostile_reviews import NAMES, SHORT, hostile_review, hostile_unread

from formcheck.reports import terminal
from formcheck.reports.report import BUILT_IN, Context
from formcheck.review.run import Reviewer

Render = Callable[..., str]
UNSEEN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("colour", [False, True])
def test_text_shows_what_a_terminal_would_obey(reviewer: Reviewer, name: str, colour: bool) -> None:
    context = Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite)
    report = terminal.Text(context, terminal.Page(80, colour))
    text = report.add(hostile_review(name)) + report.add(hostile_unread(name)) + report.end()
    if name.startswith("\x00"):
        assert "<U+001B>[31m" in text
    ours = COLOUR.sub("", text) if colour else text
    assert not UNSEEN.search(ours)


@pytest.mark.parametrize("name", NAMES)
def test_json_holds_the_text_as_it_is(render: Render, name: str) -> None:
    text = render("json", [hostile_review(name), hostile_unread(name)])
    assert text.isascii()
    first, second = json.loads(text)["reviews"]
    assert (first["name"], first["findings"][0]["message"], second["errors"][0]["message"]) == (name, name, name)


def test_a_hostile_file_through_the_whole_program(tmp_path: Path) -> None:
    file = tmp_path / "::error::a,b %0A `x` @y.formula.yaml"
    name = r"\u202E]]></x>\n::stop-commands::z | [a](b) {0} \e[31m"
    file.write_text(SHORT.replace("Garden bath oil", f'"{name}"').replace("Tocopherol", f'"{name}"'))
    formats = [part for format in BUILT_IN for part in ("--format", f"{format}={format}.out")]
    command = [sys.executable, "-m", "formcheck", "review", ".", *formats]
    result = subprocess.run(command, cwd=tmp_path, capture_output=True, encoding="utf-8", timeout=60)
    assert (result.returncode, result.stdout, result.stderr) == (1, "", "")
    out = {format: (tmp_path / f"{format}.out").read_text("utf-8") for format in BUILT_IN}
    for text in out.values():
        assert not UNSEEN.search(text)
    for format in ("json", "sarif", "gitlab"):
        json.loads(out[format])
    ElementTree.fromstring(out["junit"])
    assert all(
        line.startswith(("::error ", "::warning ", "::notice ", "formulas: ")) for line in out["github"].splitlines()
    )
