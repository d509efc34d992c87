"""SARIF against the schema that OASIS publishes with the standard (schemas/README.md), and what the schema cannot say."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import jsonschema
import pytest
from hostile_reviews import NAMES, SHORT, hostile_review, hostile_unread
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.reports.identity import fingerprints, uri
from formcheck.review.model import Review
from formcheck.review.run import Reviewer

Render = Callable[..., str]
SCHEMA = json.loads((Path(__file__).parent / "schemas" / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft4Validator(SCHEMA)


def run_of(text: str) -> dict[str, Any]:
    """The one run of a log that is valid by the official schema."""
    log = json.loads(text)
    VALIDATOR.validate(log)
    (run,) = log["runs"]
    return run


def strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for item in value.values():
            yield from strings(item)
    elif isinstance(value, list):
        for item in value:
            yield from strings(item)


def test_the_yardstick_refuses_what_is_wrong(render: Render, real: list[Review]) -> None:
    log = json.loads(render("sarif", real))
    log["runs"][0]["results"][0]["level"] = "fatal"
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate(log)


def test_real_reviews_are_valid(render: Render, real: list[Review]) -> None:
    run = run_of(render("sarif", real))
    assert len(run["results"]) == sum(len(review.findings) + len(review.settled) for review in real)


def test_no_reviews_are_valid(render: Render) -> None:
    assert run_of(render("sarif", []))["results"] == []


def test_severity_gives_the_level_and_is_kept(render: Render, real: list[Review]) -> None:
    run = run_of(render("sarif", real))
    pairs = {(result["properties"]["severity"], result["level"]) for result in run["results"]}
    assert pairs == {("critical", "error"), ("major", "error"), ("minor", "warning"), ("note", "note")}


def test_every_result_points_to_its_rule_which_explains_itself(render: Render, real: list[Review]) -> None:
    run = run_of(render("sarif", real))
    rules = run["tool"]["driver"]["rules"]
    assert len({rule["id"] for rule in rules}) == len(rules)
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
    for rule in rules:
        assert "## How to mend it" in rule["help"]["markdown"]
        assert rule["help"]["text"]
        assert rule["defaultConfiguration"]["level"] in ("error", "warning", "note")


def test_a_finding_stands_at_its_line_and_column(render: Render, reviewer: Reviewer) -> None:
    review = reviewer.review("x.formula.yaml", SHORT.encode())
    run = run_of(render("sarif", [review]))
    (result,) = [result for result in run["results"] if result["ruleId"] == "total-not-100"]
    place = result["locations"][0]["physicalLocation"]
    assert place["region"] == {"startLine": 4, "startColumn": 1}
    assert place["artifactLocation"] == {"uri": "x.formula.yaml", "uriBaseId": "%SRCROOT%"}
    assert "%SRCROOT%" in run["originalUriBaseIds"]


def test_an_accepted_deviation_is_a_suppression_with_its_reason(render: Render, real: list[Review]) -> None:
    (accepted,) = [review for review in real if review.accepted]
    results = run_of(render("sarif", [accepted]))["results"]
    (result,) = [result for result in results if "suppressions" in result]
    (suppression,) = result["suppressions"]
    assert result["ruleId"] == "total-not-100"
    assert (suppression["kind"], suppression["status"]) == ("inSource", "accepted")
    for words in ("a pilot only", "R. Quill", "2027-03-31"):
        assert words in suppression["justification"]
    assert suppression["location"]["physicalLocation"]["region"]["startLine"] == 7


def test_what_could_not_be_read_is_a_notification_and_the_run_no_success(render: Render, real: list[Review]) -> None:
    (invocation,) = run_of(render("sarif", real))["invocations"]
    assert invocation["executionSuccessful"] is False
    unread = [n for n in invocation["toolExecutionNotifications"] if n["descriptor"]["id"] == "file-not-read"]
    files = {n["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for n in unread}
    assert files == {"broken.formula.yaml", "absent.formula.yaml"}
    whole = [review for review in real if not review.incomplete]
    assert run_of(render("sarif", whole))["invocations"][0]["executionSuccessful"] is True


def test_the_same_reviews_give_the_same_bytes(render: Render, real: list[Review]) -> None:
    assert render("sarif", real) == render("sarif", real)


# RFC 3986, appendix A: a reference without a scheme; its first segment holds no colon
REFERENCE = re.compile(
    r"(?:[A-Za-z0-9\-._~!$&'()*+,;=@]|%[0-9A-F]{2})+(?:/(?:[A-Za-z0-9\-._~!$&'()*+,;=:@]|%[0-9A-F]{2})*)*"
)


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("a.formula.yaml", "a.formula.yaml"),
        ("./b/../a b.formula.yaml", "a%20b.formula.yaml"),
        ("100%#?.formula.yaml", "100%25%23%3F.formula.yaml"),
        ("a:b/é.formula.yaml", "a%3Ab/%C3%A9.formula.yaml"),
        ("../up.formula.yaml", "../up.formula.yaml"),
        ("/nowhere/ü.formula.yaml", "file:///nowhere/%C3%BC.formula.yaml"),
        ("-", "-"),
    ],
)
def test_uris_are_relative_and_escaped(path: str, expected: str) -> None:
    assert uri(path) == expected


@given(st.text(st.characters(exclude_characters="/\0", exclude_categories=("Cs",)), min_size=1))
def test_any_name_is_a_uri_reference_and_comes_back(name: str) -> None:
    address = uri(f"formulas/{name}.formula.yaml")
    assert REFERENCE.fullmatch(address)
    assert unquote(address) == f"formulas/{name}.formula.yaml"


STEPS = """\
formcheck: 1
name: Bean hand gel
phases:
  A: {Aqua: q.s., Hydroxyethylcellulose: 1}
  B: {Phenoxyethanol: 0.9}
procedure:
  - {sprinkle: Hydroxyethylcellulose, into: A}
  - {heat: A, to: 75 °C}
  - {add: B, into: A}
  - {add: C, into: A}
"""


def prints(reviewer: Reviewer, text: str) -> dict[str, set[str]]:
    review = reviewer.review("x.formula.yaml", text.encode())
    found: dict[str, set[str]] = {}
    for finding, print_ in fingerprints(review).items():
        found.setdefault(finding.rule, set()).add(print_)
    return found


def test_fingerprints_stay_when_lines_and_steps_move(reviewer: Reviewer) -> None:
    before = prints(reviewer, STEPS)
    assert {"preservative-too-hot", "step-names-unknown"} <= set(before)
    moved = STEPS.replace("phases:", "# a remark\n\nphases:").replace("procedure:\n", "procedure:\n  - {mix: A}\n")
    hotter = STEPS.replace("75", "80")
    for rule in ("preservative-too-hot", "step-names-unknown"):
        assert prints(reviewer, moved)[rule] == before[rule]
        assert prints(reviewer, hotter)[rule] == before[rule]


def test_fingerprints_tell_findings_and_files_apart(reviewer: Reviewer, real: list[Review]) -> None:
    every = [print_ for review in real for print_ in fingerprints(review).values()]
    assert len(set(every)) == len(every) > 20
    two = STEPS.replace("  - {add: C, into: A}\n", "  - {add: C, into: A}\n  - {add: D, into: A}\n")
    assert len(prints(reviewer, two)["step-names-unknown"]) == 2


@pytest.mark.parametrize("name", NAMES)
def test_hostile_text_stays_text(render: Render, name: str) -> None:
    run = run_of(render("sarif", [hostile_review(name), hostile_unread(name)]))
    for text in strings(run):
        assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]", text)
    texts = [result["message"]["text"] for result in run["results"]]
    texts += [notice["message"]["text"] for notice in run["invocations"][0]["toolExecutionNotifications"]]
    for text in texts:
        assert "](" not in text  # section 3.11.6: [text](destination) is a link
        plain = text.replace("{{", "").replace("}}", "")  # 3.11.5: doubled braces stand for themselves
        assert "{" not in plain
        assert "}" not in plain


@settings(max_examples=25, deadline=None)
@given(text=st.text(st.characters(), max_size=40))
def test_any_text_is_valid(render: Render, text: str) -> None:
    run_of(render("sarif", [hostile_review(text), hostile_unread(text)]))
