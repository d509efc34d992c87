"""The code-quality report, against the fields that GitLab's documentation of the format lists."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from hostile_reviews import NAMES, hostile_review, hostile_unread

from formcheck.review.model import Review

Render = Callable[..., str]
# GitLab documentation, "Code Quality report format": these fields, these five severities, no «./» before a path
FORMAT = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["description", "check_name", "fingerprint", "severity", "location"],
        "additionalProperties": False,
        "properties": {
            "description": {"type": "string", "minLength": 1},
            "check_name": {"type": "string", "minLength": 1},
            "fingerprint": {"type": "string", "pattern": "^[0-9a-f]{32}$"},
            "severity": {"enum": ["info", "minor", "major", "critical", "blocker"]},
            "location": {
                "type": "object",
                "required": ["path", "lines"],
                "properties": {
                    "path": {"type": "string", "pattern": "^(?!\\./)"},
                    "lines": {"properties": {"begin": {"type": "integer", "minimum": 1}}, "required": ["begin"]},
                },
            },
        },
    },
}


def entries(text: str) -> list[dict[str, Any]]:
    data: list[dict[str, Any]] = json.loads(text)
    jsonschema.validate(data, FORMAT)
    return data


def test_real_reviews_have_the_documented_shape(render: Render, real: list[Review]) -> None:
    data = entries(render("gitlab", real))
    assert len(data) == sum(len(review.findings) + len(review.errors) for review in real)
    assert len({entry["fingerprint"] for entry in data}) == len(data)
    assert {entry["severity"] for entry in data} == {"info", "minor", "major", "critical", "blocker"}
    unread = [entry for entry in data if entry["check_name"] == "file-not-read"]
    assert {entry["location"]["path"] for entry in unread} == {"broken.formula.yaml", "absent.formula.yaml"}


def test_nothing_found_is_an_empty_list(render: Render) -> None:
    assert entries(render("gitlab", [])) == []


@pytest.mark.parametrize("name", NAMES)
def test_hostile_text_stays_text(render: Render, name: str) -> None:
    text = render("gitlab", [hostile_review(name), hostile_unread(f"{name}2")])
    assert text.isascii()
    data = entries(text)
    assert [entry["severity"] for entry in data] == ["blocker", "major", "info", "blocker"]
    for entry in data:
        for shown in (entry["description"], entry["location"]["path"]):
            assert not re.search("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]", shown)
