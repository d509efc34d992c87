"""JUnit XML against the schema of the xUnit plug-in of Jenkins (schemas/README.md), and against an XML parser."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
import xmlschema
from hostile_reviews import NAMES, SHORT, hostile_review, hostile_unread
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.review.model import READY, Review
from formcheck.review.run import Reviewer

Render = Callable[..., str]
SCHEMA = xmlschema.XMLSchema(Path(__file__).parent / "schemas" / "junit-10.xsd")
# XML 1.0, section 2.2: the characters a document may hold
FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def suites_of(text: str) -> list[ElementTree.Element]:
    """The suites of a valid report."""
    SCHEMA.validate(text)
    return list(ElementTree.fromstring(text))


def test_the_yardstick_refuses_what_is_wrong(render: Render, real: list[Review]) -> None:
    text = render("junit", real).replace("<testcase ", "<testcase line='1' ", 1)
    with pytest.raises(xmlschema.XMLSchemaValidationError):
        SCHEMA.validate(text)


def test_real_reviews_are_valid_and_counted(render: Render, real: list[Review]) -> None:
    suites = suites_of(render("junit", real))
    assert len(suites) == len(real)
    for suite in suites:
        for attribute, tag in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
            assert int(suite.get(attribute, "")) == len(suite.findall(f"testcase/{tag}"))
        names = [case.get("name") for case in suite.findall("testcase")]
        assert int(suite.get("tests", "")) == len(names) == len(set(names)) > 0


def test_no_reviews_are_valid(render: Render) -> None:
    assert suites_of(render("junit", [])) == []


@pytest.mark.parametrize(("threshold", "fails"), [("critical", False), ("major", True), ("note", True)])
def test_a_case_fails_at_the_threshold(render: Render, threshold: str, fails: bool) -> None:
    review = Reviewer(threshold).review("x.formula.yaml", SHORT.encode())
    (suite,) = suites_of(render("junit", [review]))
    (case,) = [case for case in suite.findall("testcase") if case.get("name") == "total-not-100"]
    assert (case.find("failure") is not None) == fails
    assert "4.5 %" in "".join(case.itertext())


def test_a_ready_formula_passes_and_says_so(render: Render, real: list[Review]) -> None:
    ready = [review for review in real if review.verdict == READY]
    for suite in suites_of(render("junit", ready)):
        assert (suite.get("failures"), suite.get("errors")) == ("0", "0")
        assert [list(case) for case in suite.findall("testcase") if case.get("name") == "ready"] == [[]]


def test_a_file_that_could_not_be_read_is_an_error_with_its_place(render: Render, real: list[Review]) -> None:
    (broken,) = [review for review in real if review.file == "broken.formula.yaml"]
    (suite,) = suites_of(render("junit", [broken]))
    (error,) = suite.findall("testcase/error")
    assert (error.text or "").startswith("3:1: not valid YAML")


def test_an_accepted_deviation_is_skipped_with_its_reason(render: Render, real: list[Review]) -> None:
    (accepted,) = [review for review in real if review.accepted]
    (suite,) = suites_of(render("junit", [accepted]))
    messages = [skipped.get("message", "") for skipped in suite.findall("testcase/skipped")]
    assert any("R. Quill" in message and "a pilot only" in message for message in messages)


def check(render: Render, text: str) -> None:
    report = render("junit", [hostile_review(text), hostile_unread(text)])
    assert report.isascii()
    first, second = suites_of(report)
    # the whole structure is ours: nothing of the text became an element
    assert [case.find("*") is not None and case[0].tag for case in first.findall("testcase")] == [
        "error",
        "failure",
        "skipped",
    ]
    assert [case[0].tag for case in second.findall("testcase")] == ["error"]
    for element in ElementTree.fromstring(report).iter():
        for value in (element.text or "", *element.attrib.values()):
            assert not FORBIDDEN.search(value)
            assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", value)


@pytest.mark.parametrize("name", NAMES)
def test_hostile_text_stays_text(render: Render, name: str) -> None:
    check(render, name)


@settings(max_examples=50, deadline=None)
@given(text=st.text(st.characters(), max_size=40))
def test_any_text_is_valid(render: Render, text: str) -> None:
    check(render, text)


def test_plain_text_survives(render: Render) -> None:
    text = "Rosa «Zoë» <5 % & 75 °C> \U0001f339"
    (suite, _) = suites_of(render("junit", [hostile_review(text), hostile_unread(text)]))
    assert suite.findall("testcase")[1][0].get("message") == text
