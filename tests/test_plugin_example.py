"""The plug-in of examples/plugin, installed and used as anybody would; and what becomes of plug-ins that fail."""

from __future__ import annotations

import importlib
import inspect
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pluggy
import pytest
from checkout import HOME, bare_world, copy_of_project, skip_without_index

from formcheck import testing
from formcheck.plugins import Hooks, gather, implements
from formcheck.review.needs import NEEDS
from formcheck.review.rule import HARMS

PLUGIN = HOME / "examples" / "plugin"
SCENTED = """\
formcheck: 1
name: Garden shed body oil
product: {use: leave-on, form: oil, area: [body]}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5, Parfum: 1.2}
"""
SHORT = SCENTED.replace("q.s.", "90")


def run(*command: str, folder: Path, world: dict[str, str]) -> subprocess.CompletedProcess[str]:
    result = subprocess.run(command, cwd=folder, env=world, capture_output=True, text=True, timeout=300)
    assert "Traceback" not in result.stdout + result.stderr, result.stdout + result.stderr
    return result


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A formula with more perfume than the invented house likes, and one that does not add up."""
    path = tmp_path / "formulas"
    path.mkdir()
    (path / "oil.formula.yaml").write_text(SCENTED)
    (path / "short.formula.yaml").write_text(SHORT)
    return path


# --- as it lies


def test_its_own_tests_pass_as_it_lies(tmp_path: Path) -> None:
    world = bare_world(tmp_path, PYTHONPATH=str(PLUGIN), PYTEST_DISABLE_PLUGIN_AUTOLOAD="1")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(PLUGIN)]
    result = run(*command, folder=tmp_path, world=world)
    assert result.returncode == 0, result.stdout
    assert re.search(r"\d+ passed", result.stdout)


def test_it_can_be_tried_without_an_install(folder: Path, tmp_path: Path) -> None:
    command = ["-m", "formcheck", "review", ".", "--pack", str(PLUGIN / "nettle_row"), "--format", "slate"]
    result = run(sys.executable, *command, folder=folder, world=bare_world(tmp_path))
    assert (result.returncode, result.stderr) == (1, "")
    lines = result.stdout.splitlines()
    assert [line.split(" (")[0] for line in lines] == [
        "May be made",
        "  Garden shed body oil",
        "On hold",
        lines[3][:22],
    ]
    assert "1 minor" in lines[1], "the house rule"


# --- installed


def test_it_is_installed_beside_the_project_and_used(folder: Path, tmp_path: Path) -> None:
    """In an environment of its own, from copies, as CI does it; its own tests run there."""
    world = bare_world(tmp_path)
    project = tmp_path / "project"
    copy_of_project(project, world)
    environment = tmp_path / "environment"
    subprocess.run([sys.executable, "-m", "venv", str(environment)], check=True, capture_output=True)
    bin = environment / ("Scripts" if os.name == "nt" else "bin")
    plugin = project / "examples" / "plugin"
    install = [str(bin / "python"), "-m", "pip", "--disable-pip-version-check", "install", "--quiet"]
    skip_without_index(run(*install, str(project), f"{plugin}[test]", folder=tmp_path, world=world))

    tests = run(str(bin / "python"), "-m", "pytest", "-q", str(plugin / "tests"), folder=tmp_path, world=world)
    assert tests.returncode == 0, tests.stdout

    formcheck = str(bin / "formcheck")
    slate = run(formcheck, "review", ".", "--format", "slate", folder=folder, world=world)
    assert (slate.returncode, slate.stderr) == (1, "")
    assert slate.stdout.splitlines()[2] == "On hold"
    text = run(formcheck, "review", "oil.formula.yaml", folder=folder, world=world)
    assert "perfume-above-house-limit" in text.stdout
    assert "Bench book of Nettle Row" in text.stdout
    (folder / "formcheck.toml").write_text('[rules.perfume-above-house-limit]\nmost = "1.5 %"\n')
    assert "perfume" not in run(formcheck, "review", "oil.formula.yaml", folder=folder, world=world).stdout
    material = run(formcheck, "explain", "shed rose water", folder=folder, world=world)
    assert material.stdout.startswith("Nettle Row rose water")
    page = run(formcheck, "explain", "garden-distillate-not-held-hot", folder=folder, world=world)
    assert "it takes 20 min at 75 °C" in page.stdout
    assert "perfume-above-house-limit" in run(formcheck, "rules", folder=folder, world=world).stdout


# --- what it promises


def test_its_table_names_what_there_is() -> None:
    text = (PLUGIN / "README.md").read_text(encoding="utf-8")
    names = re.findall(r"^\| `([\w.]+)` \|", text, re.MULTILINE)
    hooks = {name for name in names if name.startswith("formcheck_")}
    assert hooks == {name for name, _ in inspect.getmembers(Hooks, inspect.isfunction)}
    for name in set(names) - hooks:
        module, _, attribute = name.rpartition(".")
        assert hasattr(importlib.import_module(module), attribute) or importlib.import_module(name)
    helpers = re.findall(r"`(\w+)`", next(line for line in text.splitlines() if "`formcheck.testing`" in line))
    assert all(callable(getattr(testing, name)) for name in helpers)
    assert all(f"`{need}`" in text for need in NEEDS)
    assert all(f"`{harm}`" in text for harm in HARMS)


SIGNATURES = {
    "review": "text, plugin, name, today, threshold",
    "reviewer_with": "plugin, today, threshold",
    "rules_of": "plugin",
    "check_plugin": "plugin",
    "check_rule": "rule, plugin",
    "check_declaration": "rule, plugin",
    "check_examples": "rule, plugin",
    "findings_of": "review, rule",
    "assert_found": "review, rule, severity, line, material, says",
    "assert_not_found": "review, rule",
}
"""What people's tests call; arguments are added at the end and never taken away."""


@pytest.mark.parametrize("name", SIGNATURES)
def test_a_helper_takes_what_it_took(name: str) -> None:
    taken = list(inspect.signature(getattr(testing, name)).parameters)
    promised = SIGNATURES[name].split(", ")
    assert taken[: len(promised)] == promised


# --- plug-ins that fail


HEAD = "from formcheck.plugins import implements\n@implements\n"
RULE = """
from formcheck.review.rule import declare
def made(id, check):
    rule = declare(finds="x", harm="fails", why="X.", remedy="X.", flawed="", mended="")
    rule.id, rule.family, rule.pack, rule.check = id, "garden", "garden.rules", check
    return rule
def raises(sheet):
    raise ValueError("no pen")
    yield
"""
FAILING = {
    "import": ("import no_such_thing\n", "garden: cannot be loaded: ModuleNotFoundError: No module named 'no_such_thing'"),
    "syntax": ("def :\n", "garden: cannot be loaded: SyntaxError"),
    "exit": ("import sys\nsys.exit('licence ended')\n", "garden: cannot be loaded: SystemExit: licence ended"),
    "no hook": ("def formcheck_rules():\n    return []\n", "garden: answers no hook; mark its functions"),
    "unknown hook": (HEAD + "def formcheck_rule():\n    return []\n", "did you mean «formcheck_rules»"),
    "unknown argument": (HEAD + "def formcheck_rules(sheet):\n    return []\n", "garden: cannot be used: PluginValid"),
    "raises": (HEAD + "def formcheck_rules():\n    raise ValueError('no ink')\n",
               "garden: formcheck_rules failed: ValueError: no ink"),
    "no rules": (HEAD + "def formcheck_rules():\n    return ['a rule']\n",
                 "garden: formcheck_rules gave 'a rule', where a rule is expected"),
    "taken name": (RULE + HEAD + "def formcheck_rules():\n    return [made('total-not-100', raises)]\n",
                   "garden: brings a second rule called total-not-100"),
    "no such file": (HEAD + "def formcheck_materials():\n    return ['/no/such/file.yaml']\n",
                     "garden: /no/such/file.yaml:1:1: cannot be opened: no such file"),
    "no readers": (HEAD + "def formcheck_readers():\n    return {'.csv': None}\n", "where a file ending with its reader"),
    "taken format": (HEAD + "def formcheck_reports():\n    return {'json': print}\n",
                     "garden: brings a second report called json"),
}  # fmt: skip


def installed(tmp_path: Path, module: str, name: str = "garden") -> dict[str, str]:
    """A world in which this module is installed as a plug-in."""
    site = tmp_path / "site"
    (site / f"{name}-1.0.dist-info").mkdir(parents=True)
    (site / f"{name}-1.0.dist-info" / "entry_points.txt").write_text(f"[formcheck]\n{name} = {name}\n")
    (site / f"{name}.py").write_text(module)
    return bare_world(tmp_path, PYTHONPATH=str(site))


@pytest.mark.parametrize("case", FAILING)
def test_a_plug_in_that_fails_is_named_and_the_review_goes_on(folder: Path, tmp_path: Path, case: str) -> None:
    module, words = FAILING[case]
    world = installed(tmp_path, module)
    result = run(sys.executable, "-m", "formcheck", "review", "short.formula.yaml", folder=folder, world=world)
    assert result.returncode == 2
    assert result.stderr.startswith("formcheck: plug-in garden: ")
    assert words in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert "total-not-100" in result.stdout


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("materials: [\n", ":2:1: "),
        ("materials:\n  Plum water: {class: plum}\n", ":2:3: Plum water: «plum» is no class"),
        ("materials:\n  Glycerin: {class: polyol}\n", ":2:3: the material «Glycerin» stands twice"),
        ("classes:\n  water: {about: ours}\n", ":2:3: the class «water» stands twice"),
        ("classes:\n  plum water: water\n", ":2:15: «water» as class plum water"),
        ("limits:\n  plum: {is: 5}\n", ":2:9: plum has no source"),
        (
            "sources:\n  common-practice: {title: ours, kind: from memory}\n",
            "the source «common-practice» stands twice",
        ),
        (
            "material:\n  Plum: {class: water}\n",
            ":1:1: «material» is no part of the reference; did you mean «materials»?",
        ),
    ],
)
def test_a_mistake_in_a_plug_ins_materials_is_told_at_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, words: str
) -> None:
    class Garden:
        @implements
        def formcheck_materials(self) -> list[str]:
            return [str(tmp_path / "plum.yaml")]

    monkeypatch.setenv("FORMCHECK_CACHE", str(tmp_path / "cache"))
    (tmp_path / "plum.yaml").write_text(text)
    plugins = gather([("garden", Garden())])
    assert plugins.reference().find("glycerin") is not None
    assert [(fault.who, words in fault.what) for fault in plugins.faults] == [("garden", True)], plugins.faults
    assert plugins.faults[0].what.startswith(f"{tmp_path / 'plum.yaml'}:")


def test_a_mistake_is_told_again_where_the_reference_comes_from_its_cache(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "plum.yaml").write_text("materials:\n  Plum water: {class: plum}\n")
    module = HEAD + f"def formcheck_materials():\n    return [{str(tmp_path / 'plum.yaml')!r}]\n"
    world = installed(tmp_path, module)
    for _ in ("compiled", "from the cache"):
        result = run(sys.executable, "-m", "formcheck", "review", "short.formula.yaml", folder=folder, world=world)
        assert result.returncode == 2
        assert f"plug-in garden: {tmp_path / 'plum.yaml'}:2:3: Plum water: «plum» is no class" in result.stderr
        assert "total-not-100" in result.stdout


def test_a_rule_that_raises_is_named_with_its_pack(folder: Path, tmp_path: Path) -> None:
    module = (
        RULE + HEAD + "def formcheck_rules():\n    return [made('ink', raises), made('pen', lambda sheet: ['x'])]\n"
    )
    command = [sys.executable, "-m", "formcheck", "review", "short.formula.yaml"]
    result = run(*command, folder=folder, world=installed(tmp_path, module))
    assert result.returncode == 2
    assert "ink of garden.rules: failed on this formula: ValueError: no pen" in result.stdout
    assert "pen of garden.rules: failed on this formula: TypeError: the rule gave 'x'" in result.stdout
    assert "total-not-100" in result.stdout


def test_a_reader_that_raises_makes_its_file_unreadable_and_no_other(folder: Path, tmp_path: Path) -> None:
    module = HEAD + "def formcheck_readers():\n    return {'.formula.csv': lambda text: text[10**6]}\n"
    (folder / "a.formula.csv").write_text("A,Aqua,100")
    command = [sys.executable, "-m", "formcheck", "review", "a.formula.csv", "short.formula.yaml"]
    result = run(*command, folder=folder, world=installed(tmp_path, module))
    assert result.returncode == 2
    assert "a.formula.csv:1:1: the reader of plug-in garden failed: IndexError" in result.stdout
    assert "total-not-100" in result.stdout


def test_the_folder_of_the_formulas_installs_nothing(folder: Path, tmp_path: Path) -> None:
    """Neither a plug-in that lies there, nor a module that stands in for one of ours."""
    (folder / "garden-1.0.dist-info").mkdir()
    (folder / "garden-1.0.dist-info" / "entry_points.txt").write_text("[formcheck]\ngarden = garden\n")
    for name in ("garden", "yaml", "pluggy", "formcheck_rules"):
        (folder / f"{name}.py").write_text("open('it-ran', 'w')\nraise SystemExit(7)\n")
    world = bare_world(tmp_path)
    result = run(sys.executable, "-m", "formcheck", "review", "oil.formula.yaml", folder=folder, world=world)
    assert (result.returncode, result.stderr) == (0, "")
    assert not (folder / "it-ran").exists()


def test_pluggys_own_mark_is_as_good_as_ours() -> None:
    class Garden:
        @pluggy.HookimplMarker("formcheck")
        def formcheck_reports(self) -> dict[str, Callable[[object], str]]:
            return {"slate": str}

    assert set(gather([("garden", Garden())]).reports()) == {"slate"}
