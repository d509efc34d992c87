"""Git runs programs that a repository's settings name (git-config(1), gitattributes(5)); a review must start none of them."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from bath_oil import OIL
from checkout import bare_world

from formcheck.commands.main import main

if shutil.which("git") is None or os.name == "nt":
    pytest.skip("needs git and a POSIX shell", allow_module_level=True)

Git = Callable[..., str]


class Trap:
    """A program that leaves a mark when somebody starts it. command: how a setting names it."""

    def __init__(self, folder: Path) -> None:
        self.marks = folder / "marks"
        self.marks.mkdir()
        self.script = folder / "trap.sh"
        self.script.write_text(f'#!/bin/sh\ntouch "{self.marks}/$1"\nexit 1\n')
        self.script.chmod(0o755)

    def command(self, name: str) -> str:
        return f"{self.script} {name}"

    def reset(self) -> None:
        for path in self.marks.iterdir():
            path.unlink()

    @property
    def sprung(self) -> list[str]:
        return sorted(path.name for path in self.marks.iterdir())


@pytest.fixture
def trap(tmp_path: Path) -> Trap:
    return Trap(tmp_path)


@pytest.fixture
def git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Git:
    """Runs git in the hostile repository, which the test finds itself in."""
    world = bare_world(tmp_path)
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    for name in ("GIT_CONFIG_GLOBAL", "GIT_CONFIG_NOSYSTEM"):
        monkeypatch.setenv(name, world[name])
    repository = tmp_path / "theirs"
    repository.mkdir()
    monkeypatch.chdir(repository)

    def call(*arguments: str, given: str = "") -> str:
        result = subprocess.run(
            ["git", *arguments], cwd=repository, env=world, input=given, capture_output=True, text=True
        )
        assert result.returncode == 0, result.stderr
        return result.stdout

    call("init", "--quiet")
    return call


def hostile_settings(git: Git, trap: Trap) -> None:
    """Every setting we know of by which git starts a program while it only looks."""
    for setting, value in {
        "core.fsmonitor": trap.command("fsmonitor"),
        "core.pager": trap.command("pager"),
        "pager.ls-files": trap.command("pager"),
        "pager.cat-file": trap.command("pager"),
        "diff.external": trap.command("external-diff"),
        "diff.theirs.textconv": trap.command("textconv"),
        "diff.theirs.command": trap.command("diff-command"),
        "filter.theirs.smudge": trap.command("smudge"),
        "filter.theirs.clean": trap.command("clean"),
        "filter.theirs.process": trap.command("filter-process"),
        "filter.theirs.required": "true",
        "log.showSignature": "true",
        "gpg.program": str(trap.script),
        "core.sshCommand": trap.command("ssh"),
        "core.askPass": trap.command("askpass"),
        "credential.helper": trap.command("credential"),
        "core.editor": trap.command("editor"),
        "alias.ls-files": "!" + trap.command("alias"),
        "alias.cat-file": "!" + trap.command("alias"),
        "core.hooksPath": str(hooks(trap)),
    }.items():
        git("config", setting, value)


def hooks(trap: Trap) -> Path:
    folder = trap.script.parent / "hooks"
    folder.mkdir()
    for name in ("post-index-change", "post-checkout", "reference-transaction", "fsmonitor-watchman"):
        (folder / name).write_text(f"#!/bin/sh\n{trap.command('hook-' + name)}\n")
        (folder / name).chmod(0o755)
    return folder


@pytest.fixture
def repository(git: Git, trap: Trap, tmp_path: Path) -> Path:
    """Two formulas and a materials file, all followed; settings laid as traps afterwards."""
    folder = tmp_path / "theirs"
    (folder / "oil.formula.yaml").write_text(OIL)
    (folder / "more.formula.yaml").write_text(OIL)
    (folder / "materials.yaml").write_text("materials:\n  Plum blend: {contains: {Tocopherol: 90, Aqua: 10}}\n")
    (folder / ".gitattributes").write_text("*.yaml diff=theirs filter=theirs\n")
    git("add", ".")
    git("commit", "--quiet", "--message", "theirs")
    hostile_settings(git, trap)
    return folder


def test_the_traps_are_live(repository: Path, git: Git, trap: Trap) -> None:
    """Else the tests below could not fail: plain git springs them."""
    subprocess.run(["git", "ls-files", "--others"], capture_output=True)
    assert "fsmonitor" in trap.sprung


def test_changed_files_of_a_hostile_repository(
    repository: Path, trap: Trap, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["changed", "oil.formula.yaml", "materials.yaml"]) in (0, 1)
    assert "formulas reviewed: 2" in capsys.readouterr().out
    assert trap.sprung == []


@pytest.mark.parametrize(
    "versions", [["oil.formula.yaml"], ["HEAD:oil.formula.yaml", "more.formula.yaml"], ["HEAD", "oil.formula.yaml"]]
)
def test_versions_of_a_hostile_repository(repository: Path, trap: Trap, versions: list[str]) -> None:
    (repository / "oil.formula.yaml").write_text(OIL.replace("0.5", "0.4"))
    assert main(["compare", *versions]) == (2 if versions[0] == "HEAD" else 0)
    assert trap.sprung == []


def test_a_version_that_is_no_file_but_a_signed_commit(repository: Path, git: Git, trap: Trap) -> None:
    """A submodule's entry points to a commit; showing one checks its signature by gpg.program."""
    commit = git("rev-parse", "HEAD").strip()
    tree = git("rev-parse", "HEAD^{tree}").strip()
    signed = f"tree {tree}\nparent {commit}\nauthor A <a@example.org> 1 +0000\ncommitter A <a@example.org> 1 +0000\n"
    signed += "gpgsig -----BEGIN PGP SIGNATURE-----\n \n abc\n -----END PGP SIGNATURE-----\n\nsigned\n"
    signed_commit = git("hash-object", "-t", "commit", "-w", "--stdin", given=signed).strip()
    nested = git("mktree", "--missing", given=f"160000 commit {signed_commit}\tsub.formula.yaml\n").strip()
    tip = git("commit-tree", nested, "-p", commit, "-m", "nested").strip()
    subprocess.run(["git", "show", f"{tip}:./sub.formula.yaml"], capture_output=True)
    assert trap.sprung, "the trap is live"
    trap.reset()
    assert main(["compare", f"{tip}:sub.formula.yaml", "oil.formula.yaml"]) == 2
    assert trap.sprung == []


@pytest.mark.parametrize("knows_lazy_fetch", [True, False])
def test_missing_objects_are_not_fetched(
    repository: Path, git: Git, trap: Trap, monkeypatch: pytest.MonkeyPatch, knows_lazy_fetch: bool
) -> None:
    """A partial clone fetches what it lacks, through a program that its settings name (gitremote-helpers(7), ext)."""
    if not knows_lazy_fetch:  # as before git 2.39.4, where only the protocol stands in the way
        monkeypatch.setattr(
            "formcheck.git._ENVIRONMENT",
            {"GIT_ALLOW_PROTOCOL": "none", "GIT_NO_LAZY_FETCH": "0", "GIT_TERMINAL_PROMPT": "0"},
        )
    blob = git("rev-parse", "HEAD:oil.formula.yaml").strip()
    (repository / ".git" / "objects" / blob[:2] / blob[2:]).unlink()
    for setting, value in {
        "core.repositoryFormatVersion": "1",
        "extensions.partialClone": "origin",
        "remote.origin.url": f"ext::{trap.command('ext')} %S",
        "remote.origin.promisor": "true",
        "remote.origin.partialCloneFilter": "blob:none",
        "protocol.ext.allow": "always",
    }.items():
        git("config", setting, value)
    environment = {**os.environ, "GIT_NO_LAZY_FETCH": "0"}
    subprocess.run(["git", "cat-file", "blob", blob], capture_output=True, env=environment)
    assert "ext" in trap.sprung, "the trap is live"
    trap.reset()
    assert main(["compare", "HEAD:oil.formula.yaml", "more.formula.yaml"]) == 2
    assert trap.sprung == []


def test_a_bare_repository_among_the_files(repository: Path, git: Git, trap: Trap) -> None:
    """Unlike .git, a bare repository can be part of what is cloned, with its settings."""
    inner = repository / "archive"
    git("init", "--quiet", "--bare", str(inner))
    (inner / "config").write_text(
        f"[core]\n\trepositoryformatversion = 0\n\tbare = false\n\tworktree = .\n\tfsmonitor = {trap.command('bare')}\n"
    )
    (inner / "old.formula.yaml").write_text(OIL)
    subprocess.run(["git", "ls-files", "--others"], cwd=inner, capture_output=True)
    assert "bare" in trap.sprung, "the trap is live"
    trap.reset()
    assert main(["compare", "HEAD:archive/old.formula.yaml", "oil.formula.yaml"]) == 2
    assert trap.sprung == []


@pytest.mark.parametrize(
    "version",
    [
        "--output=stolen:oil.formula.yaml",
        "--ext-diff:oil.formula.yaml",
        "--textconv:oil.formula.yaml",
        "-p:oil.formula.yaml",
        "HEAD:--output=stolen",
        "HEAD:-p.formula.yaml",
        "HEAD:a\nb.formula.yaml",
        "HEAD:sub/../oil.formula.yaml",
        "--upload-pack=touch stolen:x/oil.formula.yaml",
    ],
)
def test_names_that_look_like_options(
    repository: Path, trap: Trap, version: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {path.name for path in repository.iterdir()}
    status = main(["compare", "--", version, "oil.formula.yaml"])
    assert {path.name for path in repository.iterdir()} == before
    assert status in (0, 2)
    assert trap.sprung == []


def test_files_with_hostile_names(repository: Path, trap: Trap, capsys: pytest.CaptureFixture[str]) -> None:
    """Names are paths to us wherever they come from; none becomes an option, a pattern or a command of git."""
    names = ["-x.formula.yaml", ":(exclude)a.formula.yaml", "$(touch stolen).formula.yaml", "a\nb.formula.yaml"]
    for name in names:
        (repository / name).write_text(OIL)
    before = {path.name for path in repository.iterdir()}
    main(["changed", "--", *names, "materials.yaml"])
    assert {path.name for path in repository.iterdir()} == before
    assert trap.sprung == []


def test_no_git_of_the_working_folder(
    repository: Path, trap: Trap, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An empty part of PATH, or a dot in it, means the working folder (POSIX, Base Definitions 8.3)."""
    planted = repository / "git"
    planted.write_text(f"#!/bin/sh\n{trap.command('planted')}\n")
    planted.chmod(0o755)
    monkeypatch.setenv("PATH", os.pathsep.join(("", ".", os.environ["PATH"])))
    assert main(["changed", "materials.yaml"]) in (0, 1)
    assert trap.sprung == []
    monkeypatch.setenv("PATH", os.pathsep.join(("", ".")))
    assert main(["changed", "materials.yaml"]) in (0, 1)
    assert trap.sprung == []
