"""What is the user's own is not taken from, nor written to, where somebody else has a hand in it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from bath_oil import OIL

from formcheck import folders
from formcheck.commands.main import main
from formcheck.folders import private, users_folder
from formcheck.packs import own_file
from formcheck.reference.kept import kept
from formcheck.reference.store import open_reference
from formcheck.reference.tables import written

pytestmark = pytest.mark.skipif(not hasattr(os, "geteuid"), reason="owners and modes are POSIX's")



def test_a_cache_folder_is_made_for_the_user_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification, Referencing this specification: missing folders are made with mode 0700."""
    folder = tmp_path / "cache" / "formcheck"
    monkeypatch.setenv("FORMCHECK_CACHE", str(folder))
    old = os.umask(0o002)
    try:
        open_reference()
    finally:
        os.umask(old)
    assert folder.stat().st_mode & 0o777 == 0o700
    assert list(folder.glob("reference-*"))


def others_may_write(folder: Path) -> None:
    folder.chmod(0o777)


def a_group_may_write(folder: Path) -> None:
    folder.chmod(0o770)


def the_parent_is_open(folder: Path) -> None:
    folder.parent.chmod(0o777)


def a_stranger_owns_it(folder: Path) -> None:
    if os.geteuid() != 0:
        pytest.skip("only root can give a folder away")
    os.chown(folder, 12345, 12345)


def a_stranger_laid_a_link(folder: Path) -> None:
    if os.geteuid() != 0:
        pytest.skip("only root can give a link away")
    (folder.parent / "elsewhere").mkdir(mode=0o700)
    shutil.rmtree(folder)
    folder.symlink_to("elsewhere")
    os.chown(folder, 12345, 12345, follow_symlinks=False)


def it_is_a_file(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.write_text("")


@pytest.mark.parametrize(
    "spoil",
    [others_may_write, a_group_may_write, the_parent_is_open, a_stranger_owns_it, a_stranger_laid_a_link, it_is_a_file],
)
def test_a_cache_that_others_reach_is_neither_believed_nor_filled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, spoil: Callable[[Path], None]
) -> None:
    folder = tmp_path / "cache" / "formcheck"
    folder.mkdir(parents=True, mode=0o700)
    monkeypatch.setenv("FORMCHECK_CACHE", str(folder))
    source = tmp_path / "source.yaml"
    source.write_text("")

    def word(made: str) -> str:
        return str(kept("some", [str(source)], lambda: written({"word": made}))["word"])

    assert (word("first"), word("second")) == ("first", "first"), "it is used while nobody else reaches it"
    there = sorted(folder.iterdir())
    spoil(folder)
    assert not private(str(folder))
    assert word("third") == "third"
    assert not folder.is_dir() or sorted(folder.iterdir()) in (there, [])


def test_a_link_of_the_users_own_is_followed(tmp_path: Path) -> None:
    (tmp_path / "large disk").mkdir(mode=0o700)
    (tmp_path / "formcheck").symlink_to("large disk")
    assert private(str(tmp_path / "formcheck"))


def test_a_sticky_parent_such_as_tmp_will_do(tmp_path: Path) -> None:
    tmp_path.chmod(0o1777)
    assert private(str(tmp_path / "formcheck"))


@pytest.mark.parametrize("value", ["", "cache", "./cache", "~/cache"])
def test_a_relative_folder_counts_for_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, value: str) -> None:
    """XDG Base Directory Specification, Environment variables: a relative path is invalid and ignored."""
    monkeypatch.setenv("XDG_CONFIG_HOME", value)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr(folders.sys, "platform", "linux")
    assert users_folder("", "", "", "XDG_CONFIG_HOME", "~/.config") == str(tmp_path / ".config" / "formcheck")


def test_a_user_without_a_home_has_no_folder_below_the_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As in containers run under a number that no passwd file knows: «~» then stays as it is."""
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    monkeypatch.delenv("FORMCHECK_OWN", raising=False)
    monkeypatch.setattr(folders.sys, "platform", "linux")
    monkeypatch.setattr(os.path, "expanduser", lambda path: path)
    monkeypatch.chdir(tmp_path)
    planted = tmp_path / "~" / ".config" / "formcheck"
    planted.mkdir(parents=True)
    (planted / "own.toml").write_text('packs = ["./theirs.py"]\n')
    assert not os.path.exists(own_file())
    assert not private(os.path.dirname(own_file()))


OUTPUTS = {
    "a report": (["review", "oil.formula.yaml", "--output", "out.txt"], "out.txt.part"),
    "a page of a folder": (["review", "oil.formula.yaml", "--format", "html=pages"], "pages/oil.html.part"),
    "a making sheet": (["batch", "oil.formula.yaml", "--size", "1 kg", "--output", "out.txt"], "out.txt.part"),
    "a label": (["label", "oil.formula.yaml", "--output", "out.txt"], "out.txt.part"),
    "a mended formula": (["correct", "mend.formula.yaml", "--save"], "mend.formula.yaml.part"),
    "a spreadsheet": (["convert", "oil.formula.yaml", "out.csv"], "out.csv.part"),
    "pages of rules": (["rules", "--built-in", "--pages", "pages"], "pages/README.md.part"),
}


@pytest.mark.parametrize("what", OUTPUTS)
def test_nothing_is_written_through_a_link_laid_beside_an_output(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A report is written beside its place under a name that anybody can foretell."""
    arguments, beside = OUTPUTS[what]
    (tmp_path / "hers").write_text("hers")
    theirs = tmp_path / "theirs"
    (theirs / "pages").mkdir(parents=True)
    (theirs / "oil.formula.yaml").write_text(OIL)
    (theirs / "mend.formula.yaml").write_text(OIL.replace("q.s.", "95"))
    (theirs / beside).symlink_to(tmp_path / "hers")
    monkeypatch.chdir(theirs)
    assert main(arguments) in (0, 1), capsys.readouterr().err
    assert (tmp_path / "hers").read_text() == "hers"


def test_a_planted_own_file_is_not_read(tmp_path: Path) -> None:
    """The same without monkeypatching, in a process of its own: no home, no variables, a hostile working folder."""
    planted = tmp_path / "~" / ".config" / "formcheck"
    planted.mkdir(parents=True)
    (planted / "own.toml").write_text('packs = ["./theirs.py"]\n')
    (planted / "theirs.py").write_text("open('stolen', 'w')\n")
    code = "import os, pwd\npwd.getpwuid = lambda number: {}[number]\nfrom formcheck.plugins import gather\ngather()\n"
    kept = {
        name: value for name, value in os.environ.items() if name != "HOME" and not name.startswith(("XDG", "FORM"))
    }
    result = subprocess.run([sys.executable, "-P" if sys.version_info > (3, 11) else "-s", "-c", code],
                            cwd=tmp_path, env=kept, capture_output=True, text=True)  # fmt: skip
    assert result.returncode == 0, result.stderr
    assert not (tmp_path / "stolen").exists()
