"""Reading YAML that may be half written: where it is whole, as the YAML parser reads it; where it is not, by its layout."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.plugins import gather
from formcheck.reading import files
from formcheck.reading.document import Mapping, Node, Scalar
from formcheck.reading.yaml_reader import read_yaml
from formcheck.reports.editor import sketch
from formcheck.reports.editor.positions import Positions

HOME = Path(__file__).resolve().parent.parent.parent
FOLDERS = ("examples", "shared", "tests/corpus")
EXAMPLE = (HOME / "examples/flawed/bean-flower-gel.formula.yaml").read_text(encoding="utf-8")


def texts() -> dict[str, str]:
    """Every YAML file of the project, and the examples of all rules."""
    found = {
        str(path.relative_to(HOME)): path.read_text(encoding="utf-8")
        for folder in FOLDERS
        for path in sorted((HOME / folder).rglob("*.yaml"))
    }
    for rule in gather().rules():
        found[f"{rule.id}, flawed"], found[f"{rule.id}, mended"] = rule.flawed, rule.mended
    return found


def parsed(node: Node, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str, tuple[str | int, ...], Scalar]]:
    if isinstance(node, Scalar):
        if node.text or node.quoted:
            yield "value", path, node
    elif isinstance(node, Mapping):
        for entry in node.entries:
            yield "key", (*path, entry.key.text), entry.key
            yield from parsed(entry.value, (*path, entry.key.text))
    else:
        for number, item in enumerate(node.items):
            yield from parsed(item, (*path, number))


def check(text: str) -> int:
    """Compares the sketch of a text with what libyaml makes of it, through the project's reader."""
    positions = Positions(text)
    root = files.read("x.yaml", text.encode()).root
    there = {(role, path, each.text, positions.of_place(each.place)) for role, path, each in parsed(root)}
    # a text of several lines is no single value that could be pointed at
    there = {each for each in there if text[each[3]] not in "|>"}
    assert {(each.role, each.path, each.text, each.start) for each in sketch.pieces(text)} == there
    return len(there)


def test_whole_files_are_read_as_the_yaml_parser_reads_them() -> None:
    counts = {name: check(text) for name, text in texts().items()}
    assert len(counts) > 100
    assert min(counts.values()) > 2


ODD = {
    "list at the margin": "a:\n- b: 1\n  c: 2\n- d\ne: 3\n",
    "lists in lists": "- - a\n  - b: 1\n-\n  c\n",
    "brackets over lines": "a: {b: [1, 2,\n     3], # no\n  'c d': 'it''s', e: }\nf: []\n",
    "quotes over lines": 'a: "one\n  two \\" \\u00e9"\nb: \'x\n  y\'\n',
    "text of several lines": "a: |\n  b: 1\n  # c\n\n  d\ne: >-\n  f\n\ng: 1\n",
    "a value that goes on": "a: b\n  c d\ne: f # g\n",
    "value on the next line": "a:\n  b c\nd:\n  'e'\n",
    "colons and signs inside": "a:b: c:d\n'e: f': g#h\nurl: a//b:c\n",
    "anchors and tags": "a: &x {b: !t 1}\nc: &y d\n",
    "documents": "%YAML 1.2\n---\na: 1\n...\n",
    "carriage returns": "a:\r\n  b: 1\r\n  c:\r\n    - d\r\n",
    "quoted keys": '"a" : 1\n\'b\':\n  "c": {\'d\':2, "e": 3}\n',
    "no value": "a:\nb: ~\nc: {e: , f: 1}\n",
    "byte order mark": "\ufeffa: 1\nb: 2\n",
    "nothing": "# only a comment\na: 1",
}


OF_SEVERAL_LINES = {("text of several lines", ("a",)), ("text of several lines", ("e",))}


@pytest.mark.parametrize("name", ODD)
def test_odd_layouts_are_read_as_the_yaml_parser_reads_them(name: str) -> None:
    """All but where a value with an anchor or tag begins: the parser counts those in."""
    text = ODD[name]
    node = read_yaml(text)
    assert node is not None
    there = [(role, path, each.text) for role, path, each in parsed(node)]
    found = [(each.role, each.path, each.text) for each in sketch.pieces(text)]
    assert found == [each for each in there if (name, each[1]) not in OF_SEVERAL_LINES or each[0] == "key"]


CURSORS = [
    # text with | for the cursor; path; role; what is replaced
    ("pro|", (), "key", "pro"),
    ("name: x\n|", (), "key", ""),
    ("phases:\n  A:\n    Gly|", ("phases", "A"), "key", "Gly"),
    ("phases:\n  A:\n    Aqua: q.s.\n    Xanthan G|", ("phases", "A"), "key", "Xanthan G"),
    ("phases:\n  A:\n    |", ("phases", "A"), "key", ""),
    ("phases:\n  A:\n    Aqua: q.s.\n    |\n  B:\n", ("phases", "A"), "key", ""),
    ("phases:\n  A:\n    Aqua: q.s.\n  |", ("phases",), "key", ""),
    ("phases:\n  A: {Aqua: q.s., Gly|", ("phases", "A"), "key", "Gly"),
    ("phases:\n  A: {Aqua: q.s., Gly|cerin: 4, Panthenol: 1}", ("phases", "A"), "key", "Glycerin"),
    ("phases:\n  A: {Aqua: |q.s.}", ("phases", "A", "Aqua"), "value", "q.s."),
    ("phases:\n  A:\n    \"Gly|\n    Aqua: 3", ("phases", "A"), "value", '"Gly'),
    ("phases:\n  A: {Aqua: q.s., Gly\n  B:\n    P|", ("phases", "B"), "key", "P"),
    ("procedure:\n  |", ("procedure",), "key", ""),
    ("procedure:\n  - |", ("procedure", 0), "key", ""),
    ("procedure:\n  - heat: A\n  - co|ol: A", ("procedure", 1), "value", "cool"),
    ("procedure:\n  - heat: A\n    t|", ("procedure", 0), "key", "t"),
    ("procedure:\n  - heat: A\n    |\n  - cool: A", ("procedure", 0), "key", ""),
    ("procedure:\n  - heat: A\n  |", ("procedure",), "key", ""),
    ("procedure:\n- heat: A\n  |", ("procedure", 0), "key", ""),
    ("procedure:\n- heat: A\n|", (), "key", ""),
    ("procedure:\n  - add: [B, |]\n    into: A", ("procedure", 0, "add", 1), "value", ""),
    ("procedure:\n  - add:\n      - G|", ("procedure", 0, "add", 0), "value", "G"),
    ("procedure:\n  - {add: B, in|}", ("procedure", 0), "key", "in"),
    ("product: {use: le|, form: gel}", ("product", "use"), "value", "le"),
    ("product:\n  area: [face, ha|nds]", ("product", "area", 1), "value", "hands"),
    ("deviations:\n  - rule: bal|", ("deviations", 0, "rule"), "value", "bal"),
    ("materials:\n  X:\n    contains: {Ph|: 90}", ("materials", "X", "contains"), "key", "Ph"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "path", "role", "replaced"), CURSORS, ids=[repr(each[0]) for each in CURSORS])
def test_the_cursor_knows_where_it_stands(text: str, path: tuple[object, ...], role: str, replaced: str) -> None:
    offset = text.index("|")
    text = text[:offset] + text[offset + 1 :]
    found = sketch.cursor(text, offset)
    assert found is not None
    assert (found.path, found.role, text[found.start : found.end]) == (path, role, replaced)


@pytest.mark.parametrize(
    "text", ["# com|", "name: x # c|", "note: >\n  some\n  te|xt", "phases:\n  A: {Aqua: 1}|", 'name: "x" |']
)
def test_there_is_nothing_to_say_in_comments_and_after_what_is_whole(text: str) -> None:
    offset = text.index("|")
    assert sketch.cursor(text[:offset] + text[offset + 1 :], offset) is None


@pytest.mark.parametrize("sign", [":", "-"])
def test_a_blank_has_to_come_after_a_colon_or_dash(sign: str) -> None:
    text = {":": "procedure:\n  - heat:", "-": "procedure:\n  -"}[sign]
    found = sketch.cursor(text, len(text))
    assert found is not None
    assert found.glued


def test_a_name_that_is_cut_short_is_one_wherever_it_stands() -> None:
    """Cut after three letters of any key of the example, what follows left away or not, the path is the key's."""
    for piece in sketch.pieces(EXAMPLE):
        if piece.role == "key" and len(piece.text) > 3 and EXAMPLE[piece.start] != "{":
            for text in (EXAMPLE[: piece.start + 3], EXAMPLE):
                found = sketch.cursor(text, piece.start + 3)
                assert found is not None
                own = piece.path[:-1]
                assert (found.path, found.start, found.typed) == (own, piece.start, piece.text[:3])
                assert found.end == (piece.end if text is EXAMPLE else len(text))


def test_every_beginning_of_a_file_has_its_cursor() -> None:
    for text in (EXAMPLE, (HOME / "examples/materials.yaml").read_text(encoding="utf-8")):
        for offset in range(len(text) + 1):
            found = sketch.cursor(text, offset)
            if found is not None:
                assert found.start <= offset <= found.end
                assert "\n" not in text[found.start : found.end]


@settings(deadline=None, max_examples=300)
@given(text=st.text(st.sampled_from(list("ab:-[]{},'\"#|>&*! \n\r\t?%")), max_size=60), at=st.integers(0, 60))
def test_nothing_that_is_typed_upsets_it(text: str, at: int) -> None:
    offset = min(at, len(text))
    for piece in sketch.pieces(text):
        assert 0 <= piece.start <= piece.end <= len(text)
    found = sketch.cursor(text, offset)
    assert found is None or found.start <= offset <= found.end
