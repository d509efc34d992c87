"""Two builds of one commit give the same bytes, and hold what belongs. Needs git and the package index."""

from __future__ import annotations

import csv
import gzip
import io
import os
import subprocess
import tarfile
import zipfile
from base64 import urlsafe_b64encode
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import release_build as build
from checkout import HOME

if TYPE_CHECKING:
    from conftest import Built

pytestmark = pytest.mark.skipif(os.name == "nt", reason="modes and umask are POSIX's")


@pytest.mark.parametrize("number", [0, 1], ids=["sdist", "wheel"])
def test_two_builds_of_a_commit_are_the_same_bytes(built: Built, number: int) -> None:
    one, two = built.one[number], built.two[number]
    assert one.name == two.name
    assert build.contents(one) == build.contents(two)
    assert one.read_bytes() == two.read_bytes()


def test_the_wheel_holds_what_belongs_and_nothing_else(built: Built) -> None:
    """Every file of the three folders that is code, data or text of theirs, and the metadata of a wheel (PEP 427)."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=HOME,
        capture_output=True,
        check=True,
    )
    followed = {name for name in os.fsdecode(listed.stdout).split("\0") if name and (HOME / name).is_file()}
    endings = {"formcheck": (".py", ".json", "py.typed"), "rules": (".py",), "shared": (".py", ".yaml", ".csv", ".md")}
    wanted = set()
    for name in followed:
        top, _, rest = name.partition("/")
        if rest and name.endswith(endings.get(top, ("\0",))):
            wanted.add(f"{ {'formcheck': top}.get(top, 'formcheck_' + top) }/{rest}")
    names = build.contents(built.one[1])
    about = {name for name in names if name.split("/")[0].endswith(".dist-info")}
    assert {name.split("/", 1)[1] for name in about} == {
        "METADATA", "RECORD", "WHEEL", "entry_points.txt", "top_level.txt", "licenses/LICENSE",
    }  # fmt: skip
    assert set(names) - about == wanted
    assert not [name for name in names if "test" in name.split("/") or "__pycache__" in name or name.endswith(".pyc")]


def test_modes_and_times_are_nobodys(built: Built) -> None:
    with zipfile.ZipFile(built.one[1]) as wheel:
        assert {info.external_attr >> 16 & 0o777 for info in wheel.infolist()} <= {0o644, 0o664}
        assert len({info.date_time for info in wheel.infolist()}) == 1
    with tarfile.open(built.one[0]) as sdist:
        assert {(m.mode, m.mtime, m.uid, m.gid, m.uname, m.gname) for m in sdist} == {
            (0o644, built.epoch, 0, 0, "", "")
        }


def test_the_record_of_the_wheel_is_true(built: Built) -> None:
    """PEP 427 and the specification of RECORD: every file with its SHA-256 and size."""
    with zipfile.ZipFile(built.one[1]) as wheel:
        (name,) = (each for each in wheel.namelist() if each.endswith("/RECORD"))
        rows = {path: (digest, size) for path, digest, size in csv.reader(io.StringIO(wheel.read(name).decode()))}
        assert set(rows) == set(wheel.namelist())
        for path, (digest, size) in rows.items():
            if path != name:
                data = wheel.read(path)
                assert digest == "sha256=" + urlsafe_b64encode(sha256(data).digest()).rstrip(b"=").decode()
                assert int(size) == len(data)


def test_a_wheel_made_of_the_sdist_by_the_backend_alone_holds_the_same(
    built: Built, python: str, tmp_path: Path
) -> None:
    """As `pip wheel formcheck-….tar.gz` makes it: the contents are those of our wheel, file by file."""
    with tarfile.open(fileobj=io.BytesIO(gzip.decompress(built.one[0].read_bytes()))) as tar:
        for member in tar:
            target = tmp_path / member.name
            target.parent.mkdir(parents=True, exist_ok=True)
            content = tar.extractfile(member)
            assert content is not None
            target.write_bytes(content.read())
    (root,) = tmp_path.iterdir()
    made = subprocess.run(
        [python, "-c", build.BUILD, "build_wheel", str(tmp_path / "out")], cwd=root, capture_output=True
    )
    assert made.returncode == 0, made.stderr.decode()
    (wheel,) = (tmp_path / "out").iterdir()
    with zipfile.ZipFile(wheel) as other, zipfile.ZipFile(built.one[1]) as ours:
        assert {name: other.read(name) for name in other.namelist()} == {
            name: ours.read(name) for name in ours.namelist()
        }
