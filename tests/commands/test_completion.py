"""Completion as it happens: keys are typed into real shells, and what they then run is looked at."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

from formcheck.commands import completion
from formcheck.commands.described import pages
from formcheck.commands.main import COMMANDS
from formcheck.plugins import BUILT_IN, Plugins, builtin_package
from formcheck.reports.completion import ASKED, SHELLS, matching, script, source_of

HOME = Path(__file__).resolve().parent.parent.parent
STARTED_BY = {"bash": ["--norc", "--noprofile", "-i"], "zsh": ["-f", "-i"], "fish": ["--no-config", "-i"]}
READ_IN = {
    "bash": "bind 'set bell-style none'; source {}",
    "zsh": "autoload -Uz compinit; compinit -D -u; source {}",
    "fish": "source {}",
}
PATIENCE_S = 20
# A stand-in called formcheck: it answers what the scripts ask, and of anything else writes down how it was called.
STAND_IN = """#!/bin/sh
case "$1 $2" in "completion --words") exec {python} -m formcheck "$@" ;; esac
: > {out}.part
for each; do printf '%s\\n' "$each" >> {out}.part; done
mv {out}.part {out}
"""


class Shell:
    """A shell on a terminal of its own, in a folder with a few files."""

    def __init__(self, shell: str, folder: Path) -> None:
        import pty

        self.out = folder / "called"
        binaries = folder / "bin"
        binaries.mkdir()
        stand_in = binaries / "formcheck"
        stand_in.write_text(STAND_IN.format(python=sys.executable, out=self.out))
        stand_in.chmod(0o755)
        made = folder / f"completion.{shell}"
        made.write_text(script(shell, list(pages())), encoding="utf-8")
        environment = {
            **os.environ,
            "PATH": f"{binaries}{os.pathsep}{os.environ['PATH']}",
            "HOME": str(folder),
            "XDG_CONFIG_HOME": str(folder / ".config"),
            "TERM": "xterm" if shell == "fish" else "dumb",
            "INPUTRC": os.devnull,
            "LC_ALL": "C.UTF-8",
        }
        program = shutil.which(shell)
        assert program
        with warnings.catch_warnings():
            # of threads that other tests left; the child becomes a shell at once
            warnings.simplefilter("ignore", DeprecationWarning)
            self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execve(program, [program, *STARTED_BY[shell]], environment)
        self._type(READ_IN[shell].format(made) + "\n")
        self.runs("formcheck begin\n")

    def runs(self, keys: str) -> list[str]:
        """The words that formcheck is called with once these keys were typed."""
        self.out.unlink(missing_ok=True)
        self._type(keys)
        end = time.monotonic() + PATIENCE_S
        shown = b""
        while not self.out.exists():
            shown += self._read()
            assert time.monotonic() < end, f"nothing was run; the terminal shows {shown!r}"
        return self.out.read_text(encoding="utf-8").splitlines()

    def close(self) -> None:
        import signal

        os.kill(self.pid, signal.SIGKILL)
        os.close(self.terminal)
        os.waitpid(self.pid, 0)

    def _type(self, keys: str) -> None:
        os.write(self.terminal, keys.encode())

    def _read(self) -> bytes:
        import select

        ready, _, _ = select.select([self.terminal], [], [], 0.05)
        return os.read(self.terminal, 65536) if ready else b""


@pytest.fixture(scope="module", params=SHELLS)
def shell(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    name: str = request.param
    if os.name == "nt" or not shutil.which(name):
        pytest.skip(f"{name} is not installed")
    folder = tmp_path_factory.mktemp(name)
    (folder / "formulas").mkdir()
    for file in ("hand-gel.formula.yaml", "notes.txt", "nettle.house.yaml", "formulas/one two.formula.toml"):
        (folder / file).write_text("")
    running = Shell(name, folder)
    yield running
    running.close()


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("formcheck revi\t hand\t", ["review", "hand-gel.formula.yaml"]),
        ("formcheck review fo\to\t", ["review", "formulas/one two.formula.toml"]),
        ("formcheck batch h\t --loss 3 --out\t not\t", ["batch", "hand-gel.formula.yaml", "--loss", "3", "--output", "notes.txt"]),
        ("formcheck batch --for\t ht\t", ["batch", "--format", "html"]),
        ("formcheck review --threshold=cr\t", ["review", "--threshold=critical"]),
        ("formcheck review --format mark\t", ["review", "--format", "markdown"]),
        ("formcheck review --format sarif=not\t", ["review", "--format", "sarif=notes.txt"]),
        ("formcheck house-test n\t", ["house-test", "nettle.house.yaml"]),
        ("formcheck rules --pages form\tx", ["rules", "--pages", "formulas/x"]),
        ("formcheck new Gel --kind sham\t", ["new", "Gel", "--kind", "shampoo"]),
        ("formcheck label --market C\t", ["label", "--market", "CA"]),
        ("formcheck completion z\t", ["completion", "zsh"]),
        ("formcheck help expl\t", ["help", "explain"]),
        ("formcheck explain preservative-t\t", ["explain", "preservative-too-hot"]),
        ("formcheck explain hydroxyethylce\t", ["explain", "hydroxyethylcellulose"]),
        ("formcheck explain Hydroxyethylce\t", ["explain", "Hydroxyethylcellulose"]),
        ("formcheck explain xanthan\\ g\t", ["explain", "xanthan gum"]),
        ('formcheck explain "Xanthan G\t', ["explain", "Xanthan Gum"]),
        ("formcheck explain 'xanthan g\t", ["explain", "xanthan gum"]),
        ("formcheck explain st\\ john\\'s\\ wort\\ w\t", ["explain", "st john's wort water"]),
    ],
    ids=lambda value: value.replace("\t", "⇥") if isinstance(value, str) else "",
)  # fmt: skip
def test_a_key_completes(shell: Shell, keys: str, words: list[str]) -> None:
    # the shells disagree on a space or slash after the word, so both are passed over
    assert [word.strip() for word in shell.runs(f"{keys}\n")] == words


@pytest.mark.parametrize("name", SHELLS)
def test_every_command_and_option_is_in_the_script(name: str) -> None:
    text = script(name, list(pages()))
    for page in pages():
        assert page.name in text
        for taken in page.options:
            long = next(flag for flag in taken.flags if flag.startswith("--"))
            assert (f"-l {long[2:]}" if name == "fish" else long) in text
    assert "--words" not in text.replace("completion --words", "")


def test_values_are_completed_by_what_they_are_called() -> None:
    found = {
        (page.name, each.value): source_of(each).kind for page in pages() for each in (*page.operands, *page.options)
    }
    assert found["review", "PATH"] == "formulas"
    assert found["review", "NAME[=FILE]"] == "ask"
    assert found["rules", "DIR"] == "folders"
    assert set(ASKED.values()) == set(completion._WORDS)


def test_words_come_as_they_were_begun() -> None:
    names = ["Xanthan Gum", "xanthan gum", "xanthan", "Xylitol"]
    assert matching(names, "xan") == ["xanthan gum", "xanthan"]
    assert matching(names, "Xan") == ["Xanthan Gum", "Xanthan"]
    assert matching(names, "XYL") == ["XYLitol"]
    assert matching(names, "y") == []


def _ask(words: str, begin: str, folder: Path, **environment: str) -> tuple[list[str], set[str]]:
    """What is answered, and the modules that were loaded for it."""
    code = (
        "import sys\nfrom formcheck.commands.main import main\n"
        f"main(['completion', '--words', {words!r}, '--begin', {begin!r}])\n"
        "print(*sys.modules, sep='\\n', file=sys.stderr)"
    )
    result = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, encoding="utf-8", cwd=folder,
        env={**os.environ, "FORMCHECK_OWN": str(folder / "own.toml"), "PYTHONPATH": str(HOME), **environment},
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    return result.stdout.splitlines(), set(result.stderr.split())


def test_rules_are_named_without_loading_them(tmp_path: Path) -> None:
    plugins = Plugins()
    plugins.add(builtin_package(), BUILT_IN)
    (tmp_path / ".git").mkdir()
    named, loaded = _ask("rules", "", tmp_path)
    if "formcheck_rules" in loaded:
        pytest.skip("a plug-in is installed here, and its rules have to be asked for")
    assert named == [rule.id for rule in plugins.rules()]
    assert not {name for name in loaded if name.startswith(("yaml", "formcheck.bench", "formcheck_rules."))}


def test_materials_are_named_without_loading_rules(tmp_path: Path) -> None:
    named, loaded = _ask("materials", "Panth", tmp_path)
    assert "Panthenol" in named
    assert not {name for name in loaded if name.startswith(("formcheck.bench", "formcheck_rules."))}


def test_rules_of_the_house_are_named_where_they_serve(tmp_path: Path) -> None:
    named, _ = _ask("rules", "", HOME / "examples" / "house")
    house = set(named) - {rule for rule in completion._built_in_rules()}
    assert house
    elsewhere, _ = _ask("rules", "", tmp_path)
    assert not house & set(elsewhere)


def test_rules_of_the_users_own_packs_are_named(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(f'packs = ["{(tmp_path / "mine.py").as_posix()}"]\n')
    (tmp_path / "mine.py").write_text(
        "from formcheck.plugins import implements\nfrom formcheck.review.rule import Rule\n\n"
        "@implements\ndef formcheck_rules():\n"
        "    rule = Rule('x', 'untidy', 'Why.', 'Mend.')\n    rule.id = 'zz-of-my-own'\n    return [rule]\n"
    )
    assert _ask("rules", "zz", tmp_path)[0] == ["zz-of-my-own"]


def test_the_short_look_for_a_configuration_looks_for_the_right_things() -> None:
    from formcheck.review import settings

    assert (completion.CONFIGURATION, completion.PROJECT, completion.MARK) == (
        settings.FILE,
        settings.PROJECT_FILE,
        settings._MARK,
    )


def test_a_shell_must_be_named(capsys: pytest.CaptureFixture[str]) -> None:
    from formcheck.commands.main import main

    assert main(["completion"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert "completion" in COMMANDS
