"""The public suites of YAML, TOML and JSON through our readers: nothing but a document or a clear refusal at its place.

Where our readers differ from a suite it is said below, by name and with the reason; everything else has to agree, values
included. Sources and licences of the cases: README.md beside this file.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest

from formcheck.reading import yaml_reader
from formcheck.reading.document import Mapping, Node, Place, Problem, Scalar, Unreadable
from formcheck.reading.json_reader import read_json
from formcheck.reading.text import decode
from formcheck.reading.toml_reader import read_toml
from formcheck.reading.yaml_reader import read_yaml

HERE = Path(__file__).parent


def cases(name: str) -> list[Any]:
    return list(json.loads((HERE / name).read_text("utf-8")))


def outcome(read: Any, text: str) -> tuple[Node | None, Problem | None]:
    """What a reader gives: a node, or its refusal, which has to have words and a place in the text or right behind it."""
    try:
        return read(text), None
    except Unreadable as error:
        (problem,) = error.problems
        lines = text.split("\n")
        assert problem.message.strip()
        assert 1 <= problem.place.line <= len(lines) + 1
        assert 1 <= problem.place.column <= max(map(len, lines)) + 1
        return None, problem


def value(node: Node | None) -> Any:
    """Plain data, typed as the file's own format types it."""
    if isinstance(node, Mapping):
        return {entry.key.text: value(entry.value) for entry in node.entries}
    if isinstance(node, Scalar):
        if node.kind == "number":
            return number(node.text)
        return {"null": None, "true/false": node.text.lower() == "true"}.get(node.kind, node.text)
    return [value(item) for item in node.items] if node else None


def number(text: str) -> Any:
    for prefix, base in (("0x", 16), ("0o", 8), ("0b", 2)):
        if text.startswith(prefix):
            return int(text[2:], base)
    plain = text.lower().lstrip("+").replace(".inf", "inf").replace(".nan", "nan")
    return float(plain)


# --- JSON (RFC 8259)

NOT_READ = {
    "n_structure_no_data": "an empty file is a file without a formula, and told so where files are read",
    "n_single_space": "the same",
}
"""n_ cases of which our reader says that there is nothing, rather than that it is no JSON."""
DOUBLED = {"y_object_duplicated_key", "y_object_duplicated_key_and_value"}
"""y_ cases that we refuse: of a key that stands twice nobody could tell which one counts (RFC 8259, section 4)."""


@pytest.mark.parametrize(("name", "text"), cases("json_test_suite.json"), ids=lambda part: str(part)[:60])
def test_json(name: str, text: str) -> None:
    node, problem = outcome(read_json, text)
    if name in NOT_READ:
        assert (node, problem) == (None, None)
    elif name.startswith("n_") or name in DOUBLED:
        assert problem is not None
    elif name.startswith("y_"):
        assert problem is None
        assert node is not None
        assert places_of_scalars_are_right(text, node)
        assert value(node) == json.loads(text, parse_int=float)
    else:  # implementations may do as they like
        assert (node is None) != (problem is None)


# --- TOML 1.0

SINCE_1_1 = (
    "invalid/datetime/no-secs", "invalid/local-datetime/no-secs", "invalid/local-time/no-secs",
    "invalid/string/basic-byte-escapes", "invalid/inline-table/trailing-comma", "invalid/inline-table/linebreak-",
)  # fmt: skip
"""What TOML 1.1 allows; whether it is read depends on how new tomli is."""


def toml_text(case: list[Any]) -> str | None:
    """The text of a case; None where it is not UTF-8, which is told before any TOML is read."""
    if len(case) < 4:
        return str(case[1])
    data = base64.b64decode(case[1])
    with pytest.raises(Unreadable):
        decode(data)
    return None


def toml_value(tagged: Any) -> Any:
    """What the suite's tagged JSON means."""
    if isinstance(tagged, list):
        return [toml_value(each) for each in tagged]
    if not (set(tagged) == {"type", "value"} and isinstance(tagged["type"], str)):
        return {key: toml_value(each) for key, each in tagged.items()}
    kind, text = tagged["type"], tagged["value"]
    if kind in ("integer", "float"):
        return float(text) if text != "nan" else "nan"
    if kind == "bool":
        return text == "true"
    if kind == "datetime":
        return datetime.fromisoformat(text.replace("Z", "+00:00"))
    if kind == "string":
        return text
    return {"datetime-local": datetime, "date-local": date, "time-local": time}[kind].fromisoformat(text)


def same_toml(node: Node | None, wanted: Any) -> bool:
    if isinstance(wanted, dict):
        found = {entry.key.text: entry.value for entry in node.entries} if isinstance(node, Mapping) else None
        return (
            found is not None and found.keys() == wanted.keys() and all(same_toml(found[k], wanted[k]) for k in wanted)
        )
    if isinstance(wanted, list):
        items = getattr(node, "items", None)
        return items is not None and len(items) == len(wanted) and all(map(same_toml, items, wanted))
    assert isinstance(node, Scalar)
    if wanted == "nan" and node.kind == "number":
        return number(node.text) != number(node.text)
    if isinstance(wanted, (date, time)):
        return node.kind == "text" and moment(node.text, type(wanted)) == wanted
    return bool(value(node) == wanted)


def moment(text: str, kind: Any) -> Any:
    """A date or time as written, more than six digits of a second cut off as the suite cuts them."""
    plain = text.replace("t", "T").replace("z", "Z").replace(" ", "T").replace("Z", "+00:00")
    head, point, rest = plain.partition(".")
    digits = rest[: len(rest) - len(rest.lstrip("0123456789"))]
    return kind.fromisoformat(head + (f".{digits[:6]:0<6}" + rest[len(digits) :] if point else ""))


@pytest.mark.parametrize("case", cases("toml_test.json"), ids=lambda case: case[0])
def test_toml(case: list[Any]) -> None:
    name, wanted = case[0], case[2]
    text = toml_text(case)
    if text is None:
        assert name.startswith("invalid/")
        return
    node, problem = outcome(read_toml, text)
    if name.startswith("invalid/"):
        assert problem is not None or name.startswith(SINCE_1_1)
    else:
        assert problem is None
        assert node is None or places_of_scalars_are_right(text, node)
        assert same_toml(node, toml_value(wanted)) or (node is None and not wanted)


# --- YAML 1.2

ON_PURPOSE = ("a second YAML document begins here", "a key has to be a plain word")
"""What a formula file may not have though YAML may."""
NARROWER = frozenset(
    [
        "2JQS",
        "2LFX",
        "2SXE",
        "4ABK",
        "4MUZ-0",
        "4MUZ-1",
        "4MUZ-2",
        "58MP",
        "5MUD",
        "5T43",
        "6BCT",
        "6CA3",
        "6LVF",
        "6M2F",
        "7Z25",
        "8XYN",
        "96NN-0",
        "96NN-1",
        "9SA2",
        "A2M4",
        "BEC7",
        "CFD4",
        "DBG4",
        "DK3J",
        "DK95-0",
        "DK95-3",
        "DK95-4",
        "FP8R",
        "FRK4",
        "HM87-0",
        "HWV9",
        "K3WX",
        "M2N8-0",
        "M7A3",
        "MUS6-5",
        "MUS6-6",
        "NHX8",
        "NJ66",
        "NKF9",
        "Q5MG",
        "QT73",
        "R4YG",
        "S3PD",
        "SM9W-1",
        "UKK6-0",
        "UT92",
        "VJP3-1",
        "W4TN",
        "W5VH",
        "Y79Y-1",
        "Y79Y-10",
    ]
)
"""Valid, and refused by libyaml: empty keys, tabs, directives, adjacent colons, what follows a bare document."""
WIDER = frozenset(
    ["9C9N", "9JBA", "CVW2", "DK95-1", "G5U8", "MUS6-0", "QB6E", "S98Z", "SU5Z", "X4QW", "Y79Y-3", "YJV2"]
)
"""Not valid, and read by libyaml: comments without a space before them, wrong indentation within quotes and brackets."""
OTHERWISE = {
    "652Z": "libyaml takes the ? before a key for the sign of a key",
    "HM87-1": "the same",
    "L24T-1": "libyaml drops the last line of spaces",
    "LE5A": "tags are not obeyed: !!str makes no text of nothing",
    "WZ62": "the same",
    "S4JQ": "the same of the tag !",
    "Y2GN": "libyaml ends the name of an anchor at a colon",
}
"""Read, and not as the suite reads it."""


@pytest.mark.parametrize("case", cases("yaml_test_suite.json"), ids=lambda case: case[0])
def test_yaml(case: list[Any]) -> None:
    name, text, wanted, fails = case
    node, problem = outcome(read_yaml, text)
    if problem is not None:
        assert fails or name in NARROWER or problem.message.startswith(ON_PURPOSE), problem
        return
    assert not fails or name in WIDER
    assert node is None or places_of_scalars_are_right(text, node)
    if wanted and not fails and name not in OTHERWISE:
        assert value(node) == json.loads(wanted)


@pytest.mark.parametrize("case", cases("yaml_test_suite.json"), ids=lambda case: case[0])
def test_yaml_without_libyaml_is_read_or_refused_too(case: list[Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """PyYAML's own parser, where libyaml is not there: what both read they read alike."""
    with_it, _ = outcome(read_yaml, case[1])
    monkeypatch.setattr(yaml_reader, "_CParser", None)
    without, _ = outcome(read_yaml, case[1])
    if with_it is not None and without is not None and case[0] not in OTHERWISE:
        assert value(without) == value(with_it)


# --- places


def scalars(node: Node) -> Iterator[Scalar]:
    if isinstance(node, Scalar):
        yield node
    elif isinstance(node, Mapping):
        for entry in node.entries:
            yield entry.key
            yield from scalars(entry.value)
    else:
        for item in node.items:
            yield from scalars(item)


def places_of_scalars_are_right(text: str, root: Node) -> bool:
    """Where a value is said to stand there stand its quotes, or its first word; for YAML also what it is marked with."""
    lines = text.split("\n")
    for scalar in scalars(root):
        written = lines[scalar.place.line - 1][scalar.place.column - 1 :] if scalar.place.line <= len(lines) else ""
        first = scalar.text.split()[:1]
        if written[:1] in ("&", "!") or (not scalar.quoted and not first):
            continue
        if scalar.quoted:
            right = written[:1] in ('"', "'", "|", ">")
        else:
            right = written.startswith(first[0]) or written.replace("_", "").startswith(first[0])
        assert right, (scalar, written)
    return True


def test_places_that_are_wrong_are_seen() -> None:
    root = read_yaml("a: 1\nb: 'x'\n")
    assert root is not None
    assert places_of_scalars_are_right("a: 1\nb: 'x'\n", root)
    with pytest.raises(AssertionError):
        places_of_scalars_are_right("a:  1\nb: 'x'\n", root)


@pytest.mark.parametrize(
    ("read", "text", "place"),
    [  # counted by hand
        (read_json, '{"a": [1,\n 2,]}', Place(2, 4)),
        (read_json, '{"a": 1\n"b": 2}', Place(2, 1)),
        (read_json, '["a\nb"]', Place(1, 4)),
        (read_toml, "a = 1\nb = [1,, 2]\n", Place(2, 8)),
        (read_toml, "a = 1\n[b]\n[b]\n", Place(3, 3)),
        (read_yaml, "a: 1\nb: [1, 2\nc: 3\n", Place(3, 2)),
        (read_yaml, "é: 1\n\té: 2\n", Place(2, 1)),
    ],
)
def test_places_of_refusals(read: Any, text: str, place: Place) -> None:
    _, problem = outcome(read, text)
    assert problem is not None
    assert problem.place == place


def test_what_is_named_is_in_the_suites() -> None:
    yaml_names = {case[0]: case[3] for case in cases("yaml_test_suite.json")}
    assert all(not yaml_names[name] for name in (*NARROWER, *OTHERWISE))
    assert all(yaml_names[name] for name in WIDER)
    assert set(NOT_READ) | DOUBLED <= {name for name, _ in cases("json_test_suite.json")}
    toml_names = [case[0] for case in cases("toml_test.json")]
    assert all(any(name.startswith(start) for name in toml_names) for start in SINCE_1_1)
