"""A reference of this size opens at once, and nothing that happens to its cache stops a review."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

from formcheck.reference.kept import kept
from formcheck.reference.store import compiled, open_reference, shared_folder
from formcheck.reference.tables import written

FIND = "from formcheck.reference.store import open_reference; print(open_reference().find('xanthan gum').name)"
TIME = """
import time
from formcheck.reference.store import open_reference
start = time.process_time()
reference = open_reference()
material = reference.find("xanthan gum")
print(1000 * (time.process_time() - start), len(list(reference.headings)), material.name)
"""


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setenv("FORMCHECK_CACHE", str(folder))
    return folder


def start(code: str = FIND) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=dict(os.environ)
    )


def files(cache: Path) -> list[Path]:
    return sorted(cache.glob("reference-*.tables"))


def test_it_opens_from_the_cache_in_under_10_ms(cache: Path) -> None:
    """The middle of five starts, each in a process of its own; time of the processor, for others use the machine too."""
    open_reference()
    times = []
    for _ in range(5):
        out, err = start(TIME).communicate(timeout=60)
        assert not err
        milliseconds, materials, name = out.split(maxsplit=2)
        assert int(materials) > 1500
        assert name.strip() == "Xanthan Gum"
        times.append(float(milliseconds))
    assert statistics.median(times) < 10, f"{times} ms"


def test_opening_reads_no_yaml(cache: Path) -> None:
    """The source files are for people; a start with a fresh cache does not even load the YAML parser."""
    open_reference()
    code = FIND + "; import sys; print('yaml' in sys.modules, 'formcheck.reference.sources' in sys.modules)"
    out, err = start(code).communicate(timeout=60)
    assert out.splitlines()[-1] == "False False", err


def test_two_processes_start_at_once_with_an_empty_cache(cache: Path) -> None:
    both = [start(), start()]
    for process in both:
        out, err = process.communicate(timeout=120)
        assert (process.returncode, out.strip(), err) == (0, "Xanthan Gum", "")
    assert len(files(cache)) == 1
    assert not [path for path in cache.iterdir() if not path.name.endswith(".tables")], "nothing half written is left"


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(lambda data: b"", id="empty"),
        pytest.param(lambda data: data[: len(data) // 2], id="torn"),
        pytest.param(lambda data: data[:1000] + b"\x00" * 50 + data[1050:], id="a bad block"),
        pytest.param(lambda data: b"{}\n" + data[-12:], id="other contents with the same end"),
        pytest.param(lambda data: data + b"more", id="longer"),
    ],
)
def test_a_corrupt_cache_file_is_made_anew(cache: Path, spoil: object) -> None:
    whole = open_reference().find("xanthan gum")
    (path,) = files(cache)
    good = path.read_bytes()
    path.write_bytes(spoil(good))  # type: ignore[operator]
    again = open_reference().find("xanthan gum")
    assert whole is not None
    assert again is not None
    assert again.facts == whole.facts
    assert path.read_bytes() == good, "the file is whole again"


def test_a_cache_that_cannot_be_written_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder", encoding="utf-8")
    monkeypatch.setenv("FORMCHECK_CACHE", str(in_the_way / "cache"))
    out, err = start().communicate(timeout=120)
    assert (out.strip(), err) == ("Xanthan Gum", "")
    assert in_the_way.read_text(encoding="utf-8") == "not a folder"


def test_a_folder_where_the_cache_file_should_be_is_no_error(cache: Path) -> None:
    open_reference()
    (path,) = files(cache)
    path.unlink()
    path.mkdir()
    found = open_reference().find("xanthan gum")
    assert found is not None


def made(word: str) -> bytes:
    return written({"word": word})


def test_a_changed_source_file_makes_it_anew(cache: Path, tmp_path: Path) -> None:
    file = tmp_path / "some.yaml"
    file.write_text("one", encoding="utf-8")
    assert kept("some", [str(file)], lambda: made("first"))["word"] == "first"
    assert kept("some", [str(file)], lambda: made("second"))["word"] == "first"
    file.write_text("one more", encoding="utf-8")
    assert kept("some", [str(file)], lambda: made("third"))["word"] == "third"


def test_old_states_are_swept_away(cache: Path, tmp_path: Path) -> None:
    file = tmp_path / "some.yaml"
    for number in range(8):
        file.write_text("x" * number, encoding="utf-8")
        kept("some", [str(file)], lambda: made("word"))
    assert len(list(cache.glob("some-*.tables"))) <= 4


def test_the_compiled_form_is_the_same_every_time() -> None:
    """So that a cache can be shared, and a build repeated."""
    assert compiled(shared_folder()) == compiled(shared_folder())
