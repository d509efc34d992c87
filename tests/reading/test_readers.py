"""YAML, TOML and JSON become the same tree, with the right places; broken files get one clear line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import tomli
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.reading import files
from formcheck.reading.document import Mapping, Place, Scalar, Unreadable, plain
from formcheck.reading.json_reader import read_json
from formcheck.reading.text import decode
from formcheck.reading.toml_reader import read_toml
from formcheck.reading.yaml_reader import read_yaml

YAML = """\
formcheck: 1
name: Garden toner   # a comment
phases:
  A:
    Aqua: q.s.
    Glycerin: 4.50
  "B #2": {Panthenol: 1 %, 'Sodium Chloride': "0.5"}
claims: [soothes, no]
"""


def test_yaml_keeps_text_and_places() -> None:
    root = read_yaml(YAML)
    assert isinstance(root, Mapping)
    phases = root.get("phases")
    assert isinstance(phases, Mapping)
    first, second = phases.entries
    assert (first.key.place, second.key.place) == (Place(4, 3), Place(7, 3))
    assert isinstance(first.value, Mapping)
    assert isinstance(second.value, Mapping)
    assert first.value.entries[1].value == Scalar("4.50", "number", Place(6, 15))
    assert second.value.entries[1].value == Scalar(
        "0.5", "text", Place(7, YAML.splitlines()[6].index('"0.5"') + 1), True
    )


@pytest.mark.parametrize(
    ("text", "kind"),
    # YAML 1.2.2, section 10.3.2: what the core schema resolves, and what earlier versions made of plain words
    [
        ("no", "text"), ("yes", "text"), ("on", "text"), ("12:30", "text"), ("2027-03-31", "text"), ("1_000", "text"),
        ("true", "true/false"), ("False", "true/false"), ("~", "null"), ("null", "null"), ("", "null"),
        ("0", "number"), ("-19", "number"), ("0o14", "number"), ("0xC", "number"), ("012", "number"), ("1e3", "number"),
        ("+12e03", "number"), (".5", "number"), ("5.", "number"), (".inf", "number"), ("-.INF", "number"), (".NaN", "number"),
        ("1.2.3", "text"), ("4 to 5", "text"), ("5 %", "text"), ("q.s.", "text"), ("-", "text"),
    ],
)  # fmt: skip
def test_core_schema(text: str, kind: str) -> None:
    if text == "-":
        root = read_yaml("a: '-'")
    else:
        root = read_yaml(f"a: {text}\n")
    assert isinstance(root, Mapping)
    value = root.entries[0].value
    assert isinstance(value, Scalar)
    assert (value.text, value.kind) == (text, kind)


TOML = """\
formcheck = 1
name = "Garden \\u00e9 toner"
phases.A.Aqua = "q.s."
[phases.B]
Glycerin = 4.50
"Sodium Chloride" = 0.5 # salt
[[procedure]]
heat = "A"
to = '75 °C'
[[procedure]]
add = ["B",
  "C"]
[product]
when = 1979-05-27T07:32:00Z
note = \"\"\"
two \\
   lines\"\"\"
inline = {a.b = 1, c = [1, 2.0, true]}
"""


def test_toml_matches_an_independent_parser_and_has_places() -> None:
    root = read_toml(TOML)
    assert isinstance(root, Mapping)
    expected = tomli.loads(TOML)
    assert _as_text(plain(root)) == _as_text(expected)
    procedure = root.get("procedure")
    assert procedure is not None
    assert procedure.place == Place(7, 1)
    phases = root.get("phases")
    assert isinstance(phases, Mapping)
    b = phases.get("B")
    assert isinstance(b, Mapping)
    assert b.entries[1].key.place == Place(6, 1)
    assert b.entries[0].value == Scalar("4.50", "number", Place(5, 12))


def _as_text(value: object) -> object:
    if isinstance(value, dict):
        return {key: _as_text(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_text(inner) for inner in value]
    if isinstance(value, bool):
        return str(value).lower()
    if hasattr(value, "isoformat"):
        return value.isoformat().replace("+00:00", "Z")
    try:
        return float(value)  # type: ignore[arg-type]
    except ValueError:
        return value


JSON_DATA = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(JSON_DATA, st.sampled_from([None, 1, "\t"]))
@settings(max_examples=150, deadline=None)
def test_json_matches_the_standard_library(data: object, indent: int | str | None) -> None:
    text = json.dumps(data, indent=indent)
    assert _json_text(plain(read_json(text))) == _json_text(data)  # type: ignore[arg-type]


def _json_text(value: object) -> object:
    if isinstance(value, dict):
        return {key: _json_text(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_json_text(inner) for inner in value]
    if isinstance(value, str):
        return value
    return "" if value is None else json.dumps(value)


PRINTABLE = st.text(st.characters(categories=("L", "N", "P", "S", "Zs")))


@given(st.dictionaries(st.text(st.characters(codec="ascii", categories=("L", "N")), min_size=1), PRINTABLE, max_size=5))
@settings(max_examples=100, deadline=None)
def test_yaml_reads_json(data: dict[str, str]) -> None:
    """Every JSON text is YAML 1.2 (section 1.3 of the specification)."""
    text = json.dumps(data, ensure_ascii=False)
    assert plain(read_yaml(text)) == data  # type: ignore[arg-type]


@given(st.text(max_size=200))
@settings(max_examples=300, deadline=None)
@pytest.mark.parametrize("read", [read_yaml, read_toml, read_json])
def test_any_text_is_read_or_refused(read: object, text: str) -> None:
    try:
        read(text)  # type: ignore[operator]
    except Unreadable as error:
        assert all(problem.message and problem.place.line >= 1 for problem in error.problems)


BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"{new}: &{new} [{','.join(['*' + old] * 9)}]\n" for old, new in zip("abcdefgh", "bcdefghi")
)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("a: 1\nb: 2\na: 3\n", (3, 1), "«a» stands twice; the first is at 1:1"),
        ("a: &x [*x]\n", (1, 8), "refers to the value it stands in"),
        ("a: *y\n", (1, 4), "has no anchor before it"),
        ("a:\n\tb: 1\n", (2, 1), "tab"),
        ("a: b: c\n", (1, 5), "a second «: » in one line"),
        ("a: 1\n---\nb: 2\n", (2, 1), "a second YAML document"),
        ("? [a]\n: b\n", (1, 3), "a key has to be a plain word"),
        (BOMB, None, "more than 100000 values"),
        ("[" * 200 + "]" * 200, (1, 61), "nested more than 60 levels"),
        ("a: " + "[" * 100_000, None, "nest"),
        ('a: "\x01"', (1, 5), "U+0001"),
    ],
)
def test_yaml_refusals(text: str, place: tuple[int, int] | None, words: str) -> None:
    with pytest.raises(Unreadable) as caught:
        read_yaml(text)
    (problem,) = caught.value.problems
    assert words in problem.message
    if place:
        assert problem.place == place


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ('{"a": 1,\n "a": 2}', (2, 2), "stands twice"),
        ('{"a": NaN}', (1, 7), "a value was expected"),
        ("[1,]", (1, 4), "a value was expected"),
        ("[01]", (1, 3), "a comma or the closing bracket"),
        ('{"a" 1}', (1, 6), "a colon"),
        ("{a: 1}", (1, 2), "double quotes"),
        ('["\\q"]', None, "escape"),
        ("[1] 2", (1, 5), "after the end"),
        ("[" * 100_000, (1, 61), "nested more than 60 levels"),
    ],
)
def test_json_refusals(text: str, place: tuple[int, int] | None, words: str) -> None:
    with pytest.raises(Unreadable) as caught:
        read_json(text)
    (problem,) = caught.value.problems
    assert words in problem.message
    if place:
        assert problem.place == place


@pytest.mark.parametrize("text", ["a = 1\na = 2", "a = ", "[a]\n[a]\n", "x = " + "[" * 5000, "a = {b = 1", "= 1"])
def test_toml_refusals(text: str) -> None:
    with pytest.raises(Unreadable):
        read_toml(text)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("name: x".encode("utf-16"), "UTF-16"),
        ("name: x".encode("utf-32"), "UTF-32"),
        ("name: x".encode("utf-16-le"), "UTF-16"),
        ("name: crème".encode("latin-1"), "0xE8"),
        (b"a" * (5 * 1024 * 1024), "more than 1.0 MB"),
    ],
)
def test_other_encodings_are_named(data: bytes, words: str) -> None:
    if words == "UTF-16" and not data.startswith(b"\xff\xfe"):
        data += b"\xff"
    with pytest.raises(Unreadable) as caught:
        decode(data)
    assert words in caught.value.problems[0].message


def test_utf8_with_a_mark_is_utf8() -> None:
    assert decode(b"\xef\xbb\xbfname: x") == "name: x"


def test_a_folder_is_searched_and_the_rest_left_out(tmp_path: Path) -> None:
    wanted = ["a.formula.yaml", "b/c.formula.toml", "b/d.formula.json", "z.formula.yml"]
    left_out = [
        ".git/x.formula.yaml",
        "node_modules/x.formula.yaml",
        "env/x.formula.yaml",
        "notes.yaml",
        ".hidden/x.formula.yml",
    ]
    for name in [*wanted, *left_out]:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("formcheck: 1\n")
    (tmp_path / "env" / "pyvenv.cfg").write_text("")
    (tmp_path / "b" / "loop").symlink_to(tmp_path, target_is_directory=True)
    found = [str(Path(path).relative_to(tmp_path)) for path in files.find(str(tmp_path))]
    assert found == wanted


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("# only a comment\n", "empty"),
        ("- a\n- b\n", "a list at the top"),
        ("just words\n", "«just words» at the top"),
    ],
)
def test_a_file_without_a_mapping(text: str, words: str) -> None:
    with pytest.raises(Unreadable) as caught:
        files.read("x.formula.yaml", text.encode())
    assert words in caught.value.problems[0].message


def test_a_missing_file() -> None:
    with pytest.raises(Unreadable) as caught:
        files.read("no/such.formula.yaml")
    assert "no such file" in caught.value.problems[0].message


@pytest.mark.parametrize(
    "text",
    [
        "formcheck: 1\nname: x\n",
        '{"formcheck": 1,\n "name": "x"}',
        'formcheck = 1\nname = "x"\n',
        '# x: y\n[product]\nuse = "x: y"\n',
    ],
)
def test_standard_input_is_recognised(text: str) -> None:
    assert files.read("-", text.encode()).root.entries
