"""The manual page: read by the programs that show manual pages, where they are installed."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from formcheck import __version__
from formcheck.commands.described import pages
from formcheck.commands.main import COMMANDS, main
from formcheck.reports.command_page import CommandPage, Taken
from formcheck.reports.manual import manual

HOME = Path(__file__).resolve().parent.parent.parent


@pytest.fixture(scope="module")
def page() -> str:
    return manual(list(pages()), __version__)


def _through(*command: str, text: str) -> subprocess.CompletedProcess[str]:
    if not shutil.which(command[0]):
        pytest.skip(f"{command[0]} is not installed")
    return subprocess.run(command, input=text, capture_output=True, text=True, encoding="utf-8", timeout=60)


def _plain(shown: str) -> str:
    """What a reader sees, without overstriking, line ends and hyphenation."""
    return " ".join(re.sub(r".\x08|\x1b\[[\d;]*m", "", shown).replace("\u2010\n", "").split())


def test_mandoc_finds_nothing_wrong(page: str) -> None:
    """mandoc -Tlint; the page bears no date, as a page that is made anew has none."""
    found = _through("mandoc", "-Tlint", text=page).stdout.splitlines()
    assert [line for line in found if "missing date" not in line] == []


def test_groff_finds_nothing_wrong(page: str) -> None:
    result = _through("groff", "-man", "-ww", "-z", "-Tutf8", text=page)
    assert result.returncode == 0
    assert result.stderr == ""


@pytest.mark.parametrize(
    "reader", [("mandoc", "-Tutf8", "-Owidth=400"), ("groff", "-man", "-Tutf8", "-rLL=400n", "-P-c")]
)
def test_a_reader_shows_every_command_option_and_example(reader: tuple[str, ...], page: str) -> None:
    shown = _plain(_through(*reader, text=page).stdout)
    for each in pages():
        assert each.title in shown
        for taken in (*each.operands, *each.options):
            assert taken.written in shown
            assert taken.explained in shown
        for command, remark in each.examples:
            assert " ".join(command.split()) in shown
            assert remark in shown


def test_it_is_plain_and_the_same_every_time(page: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert page.isascii()
    assert max(map(len, page.splitlines())) <= 200
    assert main(["manual"]) == 0
    assert capsys.readouterr().out == page
    assert all(f"\n.SS {name}" in page.replace("\\-", "-") for name in COMMANDS)


def test_text_cannot_become_a_request() -> None:
    """A line that begins with a dot or an apostrophe is a request (groff, man(7)); a backslash begins an escape."""
    hostile = ".so /etc/passwd"
    taken = Taken(("--x",), "'br", "\\fBbold 'and' ~ 20 °C « »")
    hostile_page = CommandPage(
        "x", hostile, "formcheck x", hostile, (hostile,), hostile, (), (taken,), ((hostile, hostile),)
    )
    made = manual([hostile_page], "1")
    assert "\n.so" not in made
    assert "\\efBbold" in made
    shown = _plain(_through("mandoc", "-Tutf8", text=made).stdout)
    assert "\\fBbold 'and' ~ 20 °C « »" in shown


def test_every_variable_of_the_environment_is_told(page: str) -> None:
    code = "".join(path.read_text(encoding="utf-8") for path in (HOME / "formcheck").rglob("*.py"))
    ours = set(re.findall(r"\"(FORMCHECK_[A-Z]+|NO_COLOR)\"", code))
    assert len(ours) > 2
    assert all(name in page for name in ours)
