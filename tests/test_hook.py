"""A commit with a flawed formula is refused, the mended one goes through: with pre-commit, without it, and offline."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from checkout import HOME, bare_world, copy_of_project, skip_without_index

pytest.importorskip("pre_commit", reason="the package pre-commit is not installed; pip install formcheck[hooks]")
if shutil.which("git") is None:
    pytest.skip("git is not installed", allow_module_level=True)

HOOKS = HOME / "examples" / "hooks"
SOUND = """\
formcheck: 1
name: Watercress toner
product: {use: leave-on, form: toner, area: [face], users: [adults], markets: [EU]}
phases:
  A: {Aqua: q.s., Glycerin: 3, Plum preserver: 1}
finished: {pH: 5.5}
"""
MATERIALS = """\
materials:
  Plum preserver: {contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}, class: preservative}
"""
UNPRESERVED = SOUND.replace(", Plum preserver: 1", "")
ACCEPTED = UNPRESERVED + "deviations:\n  - {rule: preservative-missing, reason: made and used up within the day}\n"
TONER, SERUM = "toner.formula.yaml", "serums/serum.formula.yaml"


class Workshop:
    """A repository with formulas, as a maker keeps it."""

    def __init__(self, folder: Path, world: dict[str, str], before: tuple[str, ...] = ()) -> None:
        self.folder = folder
        self.world = world
        self.before = before
        folder.mkdir()
        self.run("git", "init", "--quiet")
        self.write("materials.yaml", MATERIALS)
        self.write(TONER, SOUND)
        self.write(SERUM, SOUND)

    def run(self, *command: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*self.before, *command], cwd=self.folder, env=self.world, capture_output=True, text=True, timeout=120
        )

    def write(self, name: str, text: str) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)

    def commit(self, **files: str) -> tuple[bool, str]:
        """Writes files, adds all and commits; whether that went through, and what was said."""
        for name, text in files.items():
            self.write(name, text)
        self.run("git", "add", "--all")
        before = self.head()
        result = self.run("git", "commit", "--message", "a change")
        said = result.stdout + result.stderr
        assert "Traceback" not in said
        assert (result.returncode == 0) == (self.head() != before), said
        return result.returncode == 0, said

    def head(self) -> str:
        return self.run("git", "rev-parse", "--verify", "--quiet", "HEAD").stdout.strip()


@pytest.fixture
def world(tmp_path: Path) -> dict[str, str]:
    """Our own commands come first on the path, so that a hook finds them as an installed program."""
    path = os.pathsep.join((str(Path(sys.executable).parent), os.environ.get("PATH", "")))
    return bare_world(tmp_path, PATH=path, PRE_COMMIT_HOME=str(tmp_path / "pre-commit-home"))


@pytest.fixture
def offline() -> tuple[str, ...]:
    """What to write before a command so that it has no network; nothing where that cannot be had."""
    unshare = ("unshare", "--map-root-user", "--net")
    able = shutil.which("unshare") and subprocess.run([*unshare, "true"], capture_output=True).returncode == 0
    return unshare if able else ()


@pytest.fixture
def with_installed(tmp_path: Path, world: dict[str, str], offline: tuple[str, ...]) -> Workshop:
    """pre-commit with the formcheck that is installed already; without a network from the start."""
    workshop = Workshop(tmp_path / "workshop", world, offline)
    shutil.copy(HOOKS / "pre-commit-config-installed.yaml", workshop.folder / ".pre-commit-config.yaml")
    assert workshop.run("pre-commit", "install").returncode == 0
    return workshop


@pytest.fixture
def with_git_alone(tmp_path: Path, world: dict[str, str], offline: tuple[str, ...]) -> Workshop:
    """The shell script for git's own hooks."""
    workshop = Workshop(tmp_path / "workshop", world, offline)
    hooks = workshop.folder / ".git" / "hooks"
    hooks.mkdir(exist_ok=True)
    shutil.copy(HOOKS / "pre-commit", hooks)
    return workshop


@pytest.fixture
def with_repository(tmp_path: Path, world: dict[str, str], offline: tuple[str, ...]) -> Workshop:
    """pre-commit with this project as hook repository, by the four lines; once installed, all it came from is gone."""
    source = tmp_path / "formcheck-repository"
    revision = copy_of_project(source, world)
    workshop = Workshop(tmp_path / "workshop", world)
    lines = (HOOKS / "pre-commit-config.yaml").read_text()
    lines = lines.replace("https://example.org/formcheck.git", str(source)).replace("v0.1.0", revision)
    workshop.write(".pre-commit-config.yaml", lines)
    skip_without_index(workshop.run("pre-commit", "install", "--install-hooks"))
    source.rename(tmp_path / "out of reach")
    workshop.world |= {"PIP_NO_INDEX": "1", "https_proxy": "http://127.0.0.1:9", "http_proxy": "http://127.0.0.1:9"}
    workshop.before = offline
    return workshop


@pytest.mark.parametrize("way", ["with_installed", "with_git_alone", "with_repository"])
def test_a_season_of_commits(request: pytest.FixtureRequest, way: str) -> None:
    workshop: Workshop = request.getfixturevalue(way)
    went, said = workshop.commit()
    assert went, said

    went, said = workshop.commit(**{TONER: UNPRESERVED})
    assert not went
    assert "HOLD  Watercress toner: 1 critical" in said
    assert re.search(rf"^{TONER}:\d+:\d+: critical, preservative-missing: .+\.$", said, re.MULTILINE)
    assert f"formcheck review {TONER}" in said
    assert SERUM not in said

    went, said = workshop.commit(**{TONER: SOUND + "# mended\n"})
    assert went, said

    went, said = workshop.commit(**{TONER: ACCEPTED})
    assert went, said

    # a materials file serves all formulas below it: the serum is refused though nobody touched it
    went, said = workshop.commit(**{"materials.yaml": MATERIALS.replace("90", "95").replace("10}", "5}")})
    assert went, said
    went, said = workshop.commit(**{"materials.yaml": MATERIALS.replace("Phenoxyethanol: 90", "Aqua: 90")})
    assert not went
    assert f"{SERUM}:" in said

    went, said = workshop.commit(**{"materials.yaml": MATERIALS.replace("contains", "contians")})
    assert not went
    assert re.search(r"^materials\.yaml:2:20: .*did you mean «contains»", said, re.MULTILINE)

    # what is no business of a review is not held up by it
    workshop.run("git", "checkout", "HEAD", "--", "materials.yaml")
    went, said = workshop.commit(**{"notes.md": "no formula"})
    assert went, said


def test_git_alone_reviews_what_is_committed_and_not_what_lies_beside(with_git_alone: Workshop) -> None:
    workshop = with_git_alone
    workshop.commit()
    workshop.write(TONER, UNPRESERVED)
    workshop.run("git", "add", TONER)
    workshop.write(TONER, SOUND)
    result = workshop.run("git", "commit", "--message", "the flawed one is staged")
    assert result.returncode == 1
    assert "preservative-missing" in result.stdout + result.stderr
    workshop.write(TONER, SOUND + "# mended\n")
    workshop.run("git", "add", TONER)
    workshop.write(TONER, UNPRESERVED)
    assert workshop.run("git", "commit", "--message", "the mended one is staged").returncode == 0
    assert workshop.run("git", "status", "--short").stdout == f" M {TONER}\n"


def test_git_alone_minds_materials_that_were_removed(with_git_alone: Workshop) -> None:
    workshop = with_git_alone
    workshop.commit()
    (workshop.folder / "materials.yaml").unlink()
    went, said = workshop.commit()
    assert went, said
    assert "formulas reviewed: 2" in said
    (workshop.folder / TONER).unlink()
    (workshop.folder / SERUM).unlink()
    went, said = workshop.commit()
    assert went, said
    assert "removed: 2" in said


def test_git_alone_says_when_formcheck_is_missing(with_git_alone: Workshop, tmp_path: Path) -> None:
    tools = tmp_path / "tools"
    tools.mkdir()
    for tool in ("git", "sh", "mktemp", "rm", "mkdir", "true", "unshare"):
        found = shutil.which(tool)
        if found:
            (tools / tool).symlink_to(found)
    with_git_alone.world["PATH"] = str(tools)
    went, said = with_git_alone.commit()
    assert not went
    assert "formcheck is not installed here" in said


def test_four_lines_are_enough() -> None:
    lines = [line for line in (HOOKS / "pre-commit-config.yaml").read_text().splitlines() if not line.startswith("#")]
    assert len(lines) == 4
    (hook,) = yaml.safe_load((HOME / ".pre-commit-hooks.yaml").read_text())
    assert yaml.safe_load("\n".join(lines))["repos"][0]["hooks"] == [{"id": hook["id"]}]


def test_the_installed_variant_says_the_same_as_ours() -> None:
    (ours,) = yaml.safe_load((HOME / ".pre-commit-hooks.yaml").read_text())
    (local,) = yaml.safe_load((HOOKS / "pre-commit-config-installed.yaml").read_text())["repos"][0]["hooks"]
    assert {**local, "language": "python", "description": ours["description"]} == ours
