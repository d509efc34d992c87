"""The help of every command: it fits a screen, it says what a maker needs, and its examples are ones that work."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from formcheck.commands.described import page_of
from formcheck.commands.main import COMMANDS, main
from formcheck.commands.parser import parser_of
from formcheck.commands.plain import plain_options
from formcheck.reports.command_page import CommandPage, Taken, help_text

HOME = Path(__file__).resolve().parent.parent.parent
LINES, COLUMNS = 40, 80
# words of the craft of programming that a maker need not know
JARGON = re.compile(
    r"\b(arguments?|argv|booleans?|flags?|integers?|stdin|stdout|std(out|err)|standard (input|output|error)|positional|parse[rds]?"
    r"|strings?|paths? object|regex|exit code|UTF-8)\b"
)


def page(name: str) -> CommandPage:
    return page_of(parser_of(name))


TAKEN = [(name, taken) for name in COMMANDS for taken in (*page(name).operands, *page(name).options)]


@pytest.mark.parametrize("name", COMMANDS)
def test_help_fits_a_screen(name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    with pytest.raises(SystemExit) as stop:
        main([name, "--help"])
    assert stop.value.code == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= LINES, f"{len(lines)} lines; shorten the docstring or the clauses of the options"
    assert max(map(len, lines)) <= COLUMNS
    assert not any(line != line.rstrip() for line in lines)


@pytest.mark.parametrize("name", COMMANDS)
def test_help_begins_with_one_sentence(name: str) -> None:
    described = page(name)
    assert described.title[0].isupper()
    assert described.title.endswith(".")
    assert all(paragraph.endswith(".") for paragraph in described.paragraphs)
    assert not described.status or described.status.endswith(".")
    assert described.usage.startswith(f"formcheck {name}")


@pytest.mark.parametrize("name", COMMANDS)
def test_examples_are_command_lines_that_are_understood(name: str) -> None:
    examples = page(name).examples
    assert examples, "a command shows an example"
    for line, _ in examples:
        assert f"formcheck {name}" in line
        for words in _commands(line):
            # an option that does not exist, or a value that does not do, ends the program here
            parser_of(words[1]).parse_args(words[2:])


def _commands(line: str) -> list[list[str]]:
    """The calls of formcheck in a line of shell, without pipes and redirections."""
    parts = re.split(r"\s*(?:\||<\(|>|&&)\s*", line.replace(")", ""))
    return [shlex.split(part) for part in parts if part.startswith("formcheck ")]


@pytest.mark.parametrize(
    ("name", "taken"), TAKEN, ids=lambda value: value.written if isinstance(value, Taken) else value
)
def test_every_explanation_is_a_clause_that_a_maker_understands(name: str, taken: Taken) -> None:
    about = taken.explained
    assert len(about.split()) >= 3
    assert about[0].islower() or about.split()[0].isupper()
    assert not about.endswith(".")
    assert not JARGON.search(about), f"«{JARGON.search(about)}» is no word of a maker"
    assert all(choice in about for choice in taken.choices)
    assert about.count("(") == about.count(")")


@pytest.mark.parametrize("name", COMMANDS)
def test_what_holds_where_nothing_is_said_is_told(name: str) -> None:
    for action in parser_of(name).arguments:
        if isinstance(action.default, str) and action.help and action.default not in ("", "==SUPPRESS=="):
            assert "default" in action.help or "working folder" in action.help, action.dest


def test_the_list_of_commands_fits_a_screen(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= LINES
    assert max(map(len, lines)) <= COLUMNS
    for name, about in COMMANDS.items():
        assert any(line.split()[:1] == [name] and line.endswith(about) for line in lines)


def test_help_is_laid_out_for_narrow_and_wide_screens() -> None:
    for width in (20, 60, 80, 200):
        text = help_text(page("review"), width)
        assert max(map(len, text.splitlines())) < max(60, min(width, 96))
        assert "0 nothing at or above" in " ".join(text.split())


def test_help_of_a_command_is_had_in_two_ways(capsys: pytest.CaptureFixture[str]) -> None:
    shown = []
    for words in (["help", "ph"], ["ph", "--help"], ["ph", "-h"]):
        with pytest.raises(SystemExit):
            main(words)
        shown.append(capsys.readouterr().out)
    assert len(set(shown)) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["review"], "PATH is missing: a formula file"),
        (["review", "x", "--treshold", "minor"], "did you mean «--threshold»?"),
        (["review", "x", "--threshold", "critcal"], "did you mean «critical»?"),
        (["review", "x", "--threshold", "7"], "critical, major, minor"),
        (["review", "x", "--output"], "a value is missing after --output"),
        (["compare", "a", "b", "c"], "«c» is one word too many"),
        (["ph", "x", "--to", "15"], "a pH is a number from 0 to 14"),
        (["new", "Gel"], "--kind is missing"),
    ],
)
def test_what_does_not_fit_is_told_in_one_line(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(words)
    assert stop.value.code == 2
    shown = capsys.readouterr().err
    assert shown.count("\n") == 1
    assert said in shown
    assert f"formcheck {words[0]} --help" in shown


@pytest.mark.parametrize("name", ["review", "changed"])
@pytest.mark.parametrize("given", [["a.formula.yaml"], ["-"], ["a", "-", "", "b c"]])
def test_a_call_without_options_is_read_as_argparse_reads_it(name: str, given: list[str]) -> None:
    command = import_module(f"formcheck.commands.{name}")
    assert vars(plain_options(command, given)) == vars(parser_of(name).parse_args(given))


@pytest.mark.parametrize("given", [[], ["--help"], ["a", "--format", "json"], ["-h"], ["a", "--"], ["-3"]])
def test_a_call_with_options_is_left_to_argparse(given: list[str]) -> None:
    assert plain_options(import_module("formcheck.commands.review"), given) is None


def test_a_review_starts_without_the_words_of_the_help() -> None:
    code = (
        "import sys\nfrom formcheck.commands.main import main\n"
        "main(['review', 'examples/sound/allotment-hand-gel.formula.yaml'])\nprint(*sys.modules, file=sys.stderr)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=HOME, timeout=60)
    loaded = set(result.stderr.split())
    assert "formcheck.commands.review" in loaded
    for name in (
        "commands.described",
        "reports.command_page",
        "reports.completion",
        "reports.manual",
        "reports.handbook",
    ):
        assert f"formcheck.{name}" not in loaded
