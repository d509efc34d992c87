"""Tables in a file give back what was written, read little of it, and mend themselves where they can."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.reference.tables import BadTables, Table, Tables, written

LARGE = {f"name {number}": {"number": number, "text": "é" * (number % 90)} for number in range(2000)}
LONG = [f"row {number}" for number in range(4000)]
SMALL = {"b": 1, "a": [1, 2, None, True, 0.5]}


def opened() -> Tables:
    return Tables(written({"large": LARGE, "long": LONG, "small": SMALL, "one": "word"}))


def test_what_was_written_is_read() -> None:
    tables = opened()
    assert list(tables) == ["large", "long", "small", "one"]
    assert {key: tables["large"][key] for key in reversed(LARGE)} == LARGE
    assert list(tables["large"]) == list(LARGE), "in their order"
    assert (len(tables["large"]), len(tables["long"]), tables["small"], tables["one"]) == (2000, 4000, SMALL, "word")
    assert list(tables["long"]) == LONG
    assert (tables["long"][-1], tables["long"][1234]) == (LONG[-1], LONG[1234])


def test_what_is_not_there_is_missing_as_in_a_dict() -> None:
    large = opened()["large"]
    assert ("name 7" in large, "name -7" in large, 7 in large, large.get("name -7"), large.get("x", 3)) == (
        True, False, False, None, 3,
    )  # fmt: skip
    with pytest.raises(KeyError):
        large["name -7"]
    with pytest.raises(IndexError):
        opened()["long"][4000]
    with pytest.raises(KeyError):
        opened()["no table"]
    assert "\udc80" not in large, "half a character, as a broken file may give it"


def test_a_look_up_reads_little() -> None:
    read = []

    class Watched(Tables):
        def page(self, name: str, number: int) -> Any:
            page = super().page(name, number)
            read.append(len(json.dumps(page)))
            return page

    tables = Watched(written({"large": LARGE}))
    assert tables["large"]["name 77"]["number"] == 77
    assert sum(read) < 5000 < len(json.dumps(LARGE)) / 10


def spoilt(data: bytes, words: str) -> bytes:
    """One letter of the data is another, where the words stand."""
    at = data.index(words.encode())
    return data[:at] + b"?" + data[at + 1 :]


def test_a_spoilt_page_is_made_anew() -> None:
    good = written({"large": LARGE, "long": LONG})
    made = []

    def make() -> bytes:
        made.append(1)
        return good

    tables = Tables(spoilt(good, "row 1234"), make)
    assert tables["large"]["name 77"]["number"] == 77
    assert (tables["long"][5], made) == ("row 5", [])
    assert (tables["long"][1234], made) == ("row 1234", [1])
    assert (list(tables["long"]), made) == (LONG, [1])


def test_a_spoilt_page_is_never_believed() -> None:
    tables = Tables(spoilt(written({"long": LONG}), "row 1234"))
    with pytest.raises(BadTables):
        tables["long"][1234]


@pytest.mark.parametrize("cut", [0, 5, 30, 200, -1])
def test_a_torn_file_is_refused(cut: int) -> None:
    with pytest.raises(BadTables):
        Tables(written({"large": LARGE})[:cut])


@given(st.dictionaries(st.text(), st.lists(st.text(max_size=300), max_size=5), max_size=60))
@settings(max_examples=50, deadline=None)
def test_any_mapping_comes_back(mapping: dict[str, list[str]]) -> None:
    table = Tables(written({"it": mapping}))["it"]
    assert dict(table) == mapping
    assert list(table) == list(mapping)


@given(st.lists(st.text(max_size=200), max_size=20).map(lambda rows: [row * 40 for row in rows * 5]))
@settings(max_examples=50, deadline=None)
def test_any_list_comes_back(rows: list[str]) -> None:
    assert list(Tables(written({"it": rows}))["it"]) == rows


def test_a_large_mapping_is_a_table() -> None:
    assert isinstance(opened()["large"], Table)
