"""Where something stands, as an editor counts."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.reading import files
from formcheck.reading.document import Unreadable
from formcheck.reports.editor.positions import Position, Positions

ENCODINGS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}
texts = st.text(st.sampled_from("ab:é€𐐀😋\n\r\x85\u2028 \t"), max_size=40)


def test_the_example_of_the_specification() -> None:
    """LSP 3.17, «Text Documents»: in «a𐐀b» the character offsets are a 0, 𐐀 1, b 3, counted in UTF-16 code units."""
    positions = Positions("a𐐀b")
    assert [positions.position(at).column for at in range(3)] == [0, 1, 3]
    assert [positions.offset(Position(0, column)) for column in (0, 1, 3)] == [0, 1, 2]


def test_ends_of_lines_are_those_of_the_specification() -> None:
    """LSP 3.17, «Text Documents»: EOL is one of \\n, \\r\\n, \\r, and nothing else."""
    positions = Positions("a\nb\r\nc\rd\u2028e")
    assert [positions.position(at) for at in (2, 5, 7)] == [Position(1, 0), Position(2, 0), Position(3, 0)]
    assert positions.position(9) == Position(3, 2)


def test_past_the_end_is_the_end() -> None:
    """LSP 3.17, «Position»: a character beyond the line's length defaults back to the line length."""
    positions = Positions("ab\r\ncd")
    assert positions.offset(Position(0, 99)) == 2
    assert positions.offset(Position(1, 99)) == 6
    assert positions.offset(Position(9, 0)) == 6


@pytest.mark.parametrize("units", ENCODINGS)
@settings(deadline=None)
@given(text=texts)
def test_columns_agree_with_the_codecs_of_python(units: str, text: str) -> None:
    """Python's own codecs say how many code units stand before a character."""
    codec, size = ENCODINGS[units]
    positions = Positions(text, "yaml", units)
    for at in range(len(text) + 1):
        if text[at - 1 : at + 1] == "\r\n" and at:
            continue
        start = max((found.end() for found in re.finditer("\r\n|\n|\r", text) if found.end() <= at), default=0)
        assert positions.position(at).column == len(text[start:at].encode(codec)) // size
        assert positions.offset(positions.position(at)) == at


@settings(deadline=None)
@given(text=texts)
def test_columns_agree_with_another_implementation(text: str) -> None:
    codec = pytest.importorskip("pygls.workspace.position_codec")
    types = pytest.importorskip("lsprotocol.types")
    line = "".join(text.split())
    theirs = codec.PositionCodec(types.PositionEncodingKind.Utf16)
    for at in range(len(line) + 1):
        told = theirs.position_to_client_units([line], types.Position(0, at))
        assert Positions(line).position(at) == (told.line, told.character)


@pytest.mark.parametrize("kind", ["yaml", "json", "toml"])
@pytest.mark.parametrize("gap", ["\n", "\r\n", "\n\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_readers_place_is_the_character_it_means(kind: str, gap: str, mark: str) -> None:
    written = {"yaml": '"a😋": 1{}b: 2', "json": '{{"a😋": 1,{}"b": 2}}', "toml": '"a😋" = 1{}b = 2'}[kind]
    text = mark + written.format(gap)
    root = files.read(f"x.{kind}", text.encode()).root
    positions = Positions(text, kind)
    for entry in root.entries:
        start = positions.of_place(entry.key.place)
        assert text[start:].lstrip('"').startswith(entry.key.text)


@pytest.mark.parametrize("line_break", ["\n", "\r", "\r\n", "\x85", "\u2028", "\u2029"])
def test_lines_of_yaml_end_where_libyaml_says(line_break: str) -> None:
    """YAML 1.1, section 5.4, has NEL, LS and PS among the line breaks, and the parser counts its lines by them."""
    text = f"a: 1{line_break}b: 2"
    try:
        root = files.read("x.yaml", text.encode()).root
    except Unreadable:
        pytest.skip("this build of the parser takes it for text")
    last = root.entries[-1].key
    assert last.text == "b"
    assert text[Positions(text).of_place(last.place)] == "b"
