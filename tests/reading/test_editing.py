"""Edits of source text: the one value changes, and nothing else of the file, in YAML, TOML and JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.reading import files
from formcheck.reading.document import Document, Mapping, Node, plain
from formcheck.reading.editing import CannotEdit, Edit, Editor, applied, below, editor, scalars

HOME = Path(__file__).resolve().parents[2]
FILES = sorted(
    path
    for folder in ("examples/sound", "examples/flawed", "tests/corpus/flawed", "shared/starters")
    for path in (HOME / folder).glob("*.formula.*")
)


def edits_of(text: str, name: str = "x.formula.yaml") -> Editor:
    document = files.read(name, text.encode())
    return editor(document, files.kind_of(name, text, {}))


def data(text: str, name: str = "x.formula.yaml") -> object:
    return plain(files.read(name, text.encode()).root)


def changed(text: str, edits: tuple[Edit, ...] | Edit) -> str:
    return applied(text, [edits] if isinstance(edits, Edit) else edits)


def with_value(node: object, path: str, value: str) -> object:
    """The plain data with one value replaced."""
    here, _, rest = path[1:].partition("/")
    name = here.replace("~1", "/").replace("~0", "~")
    if not path:
        return value
    if isinstance(node, list):
        return [
            with_value(each, f"/{rest}" if rest else "", value) if str(i) == name else each
            for i, each in enumerate(node)
        ]
    assert isinstance(node, dict)
    return {
        key: with_value(each, f"/{rest}" if rest else "", value) if key == name else each for key, each in node.items()
    }


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_single_value_of_a_file_can_be_replaced_by_itself(path: Path) -> None:
    """Standard: YAML 1.2, TOML 1.0 and JSON readers must see the new value there and no other difference."""
    text = path.read_bytes().decode()
    document = files.read(str(path), text.encode())
    edits = editor(document, files.kind_of(str(path), text, {}))
    for pointer, scalar in scalars(document.root):
        new = changed(text, edits.value(pointer, "changed, by: hand"))
        assert data(new, path.name) == with_value(plain(document.root), pointer, "changed, by: hand"), pointer
        assert scalar.text in text


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_key_of_a_phase_can_be_renamed(path: Path) -> None:
    text = path.read_bytes().decode()
    document = files.read(str(path), text.encode())
    edits = editor(document, files.kind_of(str(path), text, {}))
    phases = document.root.get("phases")
    assert isinstance(phases, Mapping)
    for phase in phases.entries:
        assert isinstance(phase.value, Mapping)
        for line in phase.value.entries:
            pointer = below(below("/phases", phase.key.text), line.key.text)
            new = files.read(path.name, changed(text, edits.key(pointer, "1,2-Odd: #name")).encode())
            names = _names(new, phase.key.text)
            expected = [each.key.text for each in phase.value.entries]
            assert names == ["1,2-Odd: #name" if name == line.key.text else name for name in expected]


def _names(document: Document, phase: str) -> list[str]:
    phases = document.root.get("phases")
    assert isinstance(phases, Mapping)
    node = phases.get(phase)
    assert isinstance(node, Mapping)
    return [entry.key.text for entry in node.entries]


WORDS = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=12)
LAYOUTS = {
    "x.formula.yaml": "formcheck: 1\nname: old   # kept\nphases: {A: {Aqua: q.s.}}\n",
    "y.formula.yaml": "formcheck: 1\n'name': \"old\"\nphases:\n  A:\n    Aqua: q.s. # all of it\n",
    "x.formula.toml": 'formcheck = 1\nname = "old" # kept\n[phases.A]\nAqua = "q.s."\n',
    "y.formula.toml": "formcheck = 1\nname = 'old'\n[phases]\nA = {Aqua = \"q.s.\"}\n",
    "x.formula.json": '{"formcheck": 1, "name": "old", "phases": {"A": {"Aqua": "q.s."}}}',
}


@settings(max_examples=150, deadline=None)
@given(word=WORDS, name=st.sampled_from(sorted(LAYOUTS)))
def test_any_text_is_spelled_so_that_it_reads_back(word: str, name: str) -> None:
    text = LAYOUTS[name]
    edits = edits_of(text, name)
    try:
        new = changed(text, (edits.value("/name", word), edits.key("/phases/A/Aqua", word)))
    except CannotEdit:
        assert not word.isprintable()
        return
    found = data(new, name)
    assert found == {"formcheck": "1", "name": word, "phases": {"A": {word: "q.s."}}}
    assert ("# kept" in new) == ("# kept" in text)


# --- steps

STEPS = [{"add": "B", "into": "A"}, {"mix": "A", "for": "5 min"}, {"fill": "A"}]
YAML_BLOCK = (
    "procedure:\n  - add: B\n    into: A   # slowly\n  - mix: A\n    for: 5 min\n  - fill: A # bottles\nend: x\n"
)
YAML_FLOW = "procedure:\n- {add: B, into: A}   # slowly\n- {mix: A, for: 5 min}\n\n- {fill: A} # bottles\nend: x\n"
YAML_INLINE = "procedure: [{add: B, into: A}, {mix: A, for: 5 min},\n  {fill: A}]\nend: x\n"
TOML_TABLES = '[[procedure]]\nadd = "B"\ninto = "A" # slowly\n\n[[procedure]]\nmix = "A"\nfor = "5 min"\n\n[[procedure]]\nfill = "A"\n'
TOML_INLINE = 'procedure = [\n  {add = "B", into = "A"},\n  {mix = "A", for = "5 min"},\n  {fill = "A"},\n]\n'
JSON = json.dumps({"procedure": STEPS, "end": "x"}, indent=2)
PLACES = [
    ("x.formula.yaml", YAML_BLOCK),
    ("x.formula.yaml", YAML_BLOCK.replace("\n", "\r\n")),
    ("x.formula.yaml", YAML_BLOCK.replace("end: x\n", "").rstrip("\n")),
    ("x.formula.yaml", YAML_FLOW),
    ("x.formula.yaml", YAML_INLINE),
    ("x.formula.toml", TOML_TABLES),
    ("x.formula.toml", TOML_TABLES.replace("\n", "\r\n")),
    ("x.formula.toml", TOML_INLINE),
    ("x.formula.json", JSON),
    ("x.formula.json", JSON.replace("\n", "\r\n")),
]


def steps_of(text: str, name: str) -> object:
    found = data(text, name)
    assert isinstance(found, dict)
    return found["procedure"]


@pytest.mark.parametrize(("name", "text"), PLACES)
@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_step_is_inserted_as_its_neighbour_is_laid_out(name: str, text: str, after: int) -> None:
    edit = edits_of(text, name).insert_after(f"/procedure/{after}", [("measure pH", "A"), ("note", "cool")])
    new = changed(text, edit)
    expected = [*STEPS[: after + 1], {"measure pH": "A", "note": "cool"}, *STEPS[after + 1 :]]
    assert steps_of(new, name) == expected
    assert new.replace(edit.text, "", 1) == text
    assert ("\r\n" in text) == ("\r\n" in new)
    if "\r\n" in text:
        assert new.count("\n") == new.count("\r\n")


@pytest.mark.parametrize(("name", "text"), PLACES)
def test_a_step_is_moved_with_the_comment_of_its_last_line(name: str, text: str) -> None:
    new = changed(text, edits_of(text, name).move_behind("/procedure/0", "/procedure/1"))
    assert steps_of(new, name) == [STEPS[1], STEPS[0], STEPS[2]]
    assert sorted(new) == sorted(text), "characters were lost or made"
    line = next((line for line in new.splitlines() if "# slowly" in line), "into")
    assert "into" in line


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("procedure:\n  - add: B\n  # now stir\n  - mix: A\n  - fill: A\n", "comment"),
        ("procedure:\n  - add: B\n  - {mix: A}\n    # sic\n  - fill: A\n", None),
        ("a: &one 5\nprocedure:\n  - add: *one\n  - mix: A\n", None),
        ("procedure:\n  - add: B\n  -   mix: A\n", "different ways"),
    ],
)
def test_steps_with_something_between_them_are_left_alone(text: str, why: str | None) -> None:
    edits = edits_of(text)
    if why is None:
        changed(text, edits.move_behind("/procedure/0", "/procedure/1"))
        return
    with pytest.raises(CannotEdit, match=why):
        edits.move_behind("/procedure/0", "/procedure/1")


@pytest.mark.parametrize(
    ("text", "pointer"),
    [
        ("one: &a 4\ntwo: *a\n", "/one"),
        ("one: &a 4\ntwo: *a\n", "/two"),
        ("one: &a {x: 4}\ntwo: *a\n", "/one/x"),
        ("one: !odd 4\n", "/one"),
        ("one: |\n  a\n  b\n", "/one"),
        ("one: {x: 4}\n", "/one"),
    ],
)
def test_what_is_shared_tagged_or_not_single_is_not_edited(text: str, pointer: str) -> None:
    with pytest.raises(CannotEdit):
        edits_of(text).value(pointer, "5")


def test_a_name_in_a_toml_heading_is_not_renamed() -> None:
    edits = edits_of("[phases.A]\nAqua = 1\n", "x.formula.toml")
    with pytest.raises(CannotEdit, match="heading"):
        edits.key("/phases/A", "B")


def test_edits_that_overlap_are_refused() -> None:
    with pytest.raises(CannotEdit):
        applied("abcdef", [Edit(1, 4, "x"), Edit(3, 5, "y")])


def test_a_format_of_a_plug_in_is_not_edited() -> None:
    def read_odd(text: str) -> Node | None:
        return files.read("x.yaml", text.encode()).root

    assert files.kind_of("x.formula.csv", "a: 1", {".csv": read_odd}) == ""
    with pytest.raises(CannotEdit, match="plug-in"):
        editor(files.read("x.yaml", b"a: 1"), "")


def test_places_are_the_same_without_libyaml(monkeypatch: pytest.MonkeyPatch) -> None:
    from formcheck.reading import yaml_reader

    text = YAML_BLOCK.replace("slowly", "é𝄞 langsam").replace("\n", "\r\n") + "more: {a: [1, 'é ü', ü]}\r\n"
    fast = edits_of(text).spots
    monkeypatch.setattr(yaml_reader, "_CParser", None)
    slow = edits_of(text).spots
    assert {path: spot.value for path, spot in slow.items()} == {path: spot.value for path, spot in fast.items()}


@pytest.mark.parametrize("text", ["a: 1\nb:\n", "{a: 1, b: }", "{a: 1, b}", "a: 1\n? b\n", "[{b: }]"])
def test_a_value_that_is_not_there_is_not_replaced(text: str) -> None:
    """Put where it would stand, it would become part of the key."""
    document = files.read("x.formula.yaml", f"top: {text}".encode() if text[0] in "[{" else text.encode())
    edits = editor(document, "yaml")
    (pointer,) = [path for path, scalar in scalars(document.root) if not scalar.text]
    with pytest.raises(CannotEdit, match="nothing stands here"):
        edits.value(pointer, "new")
