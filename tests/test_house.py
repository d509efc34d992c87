"""The house plan, as tests: layers, start-up, package list, what the engine may not know."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest
import tomli

HOME = Path(__file__).resolve().parent.parent
LAYERS = ["reading", "formula", "reference", "bench", "review", "reports", "commands"]


def modules() -> list[Path]:
    return sorted((HOME / "formcheck").rglob("*.py"))


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(HOME)))
def test_no_module_imports_a_later_layer(path: Path) -> None:
    """reading -> formula -> reference -> bench -> review -> reports -> commands, and nobody looks back."""
    parts = path.relative_to(HOME / "formcheck").parts
    if parts[0] not in LAYERS:
        return
    own = LAYERS.index(parts[0])
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level == 2 and node.module:
            other = node.module.split(".")[0]
            assert other not in LAYERS or LAYERS.index(other) <= own, f"{path.name} imports {node.module}"


def test_rules_import_neither_commands_nor_reports() -> None:
    for path in (HOME / "rules").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"formcheck\.(commands|reports|reading\.\w+_reader)", text), path


START = """\
import sys
sys.argv = {argv!r}
before = set(sys.modules)  # an editable install has imports of its own
from formcheck.commands.main import main
try:
    main()
except SystemExit:
    pass
print("\\n".join(sorted(set(sys.modules) - before)), file=sys.stderr)
"""
HEAVY = {
    "jsonschema",
    "importlib.metadata",
    "asyncio",
    "logging",
    "http",
    "email",
    "tomli",
    "jinja2",
    "multiprocessing",
    "ssl",
}


UNUSED = {
    "argparse",
    "ast",
    "concurrent.futures",
    "difflib",
    "fsspec",
    "gettext",
    "inspect",
    "locale",
    "pathlib",
    "pluggy",
    "shutil",
    "socket",
    "subprocess",
    "tempfile",
    "textwrap",
    "threading",
    "tokenize",
    "urllib",
}
"""What a plain review, all of whose names are known, has no use for, and takes longer to import than its share of 80 ms."""


@pytest.mark.parametrize(
    ("argv", "forbidden"),
    [
        (["formcheck", "--version"], HEAVY | {"yaml", "pluggy", "formcheck.bench", "formcheck_rules"}),
        (["formcheck", "review", "examples/sound/allotment-hand-gel.formula.yaml"], HEAVY | UNUSED),
    ],
    ids=["version", "review"],
)
def test_start_up_loads_no_more_than_it_needs(argv: list[str], forbidden: set[str]) -> None:
    code = START.format(argv=argv)
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=HOME, timeout=60)
    loaded = set(result.stderr.split())
    assert "formcheck.commands.main" in loaded
    assert not loaded & forbidden, "import it in the function that needs it"


def test_the_package_list_is_complete() -> None:
    declared = set(tomli.loads((HOME / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"])
    there = set()
    for name, folder in (("formcheck", "formcheck"), ("formcheck_rules", "rules")):
        there.add(name)
        for init in (HOME / folder).rglob("__init__.py"):
            there.add(".".join((name, *init.parent.relative_to(HOME / folder).parts)))
    there.add("formcheck_shared")
    assert declared == there


def test_the_engine_names_no_ingredient() -> None:
    """Headings of the reference may stand in the engine only in prose: docstrings, comments and examples in messages."""
    from formcheck.reference.store import open_reference

    names = {name for name in open_reference().headings if len(name) > 5}
    most = max(len(name.split()) for name in names)
    allowed = {"Glycerin", "Phenoxyethanol"}  # in messages that show how a value is written
    for path in modules():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        prose = {
            id(node.value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in prose:
                words = re.findall(r"[^\s,;:.()\[\]{}«»\"'|]+", node.value)
                runs = {" ".join(words[i : i + n]) for n in range(1, most + 1) for i in range(len(words) - n + 1)}
                found = (runs & names) - allowed
                assert not found, f"{path.relative_to(HOME)} line {node.lineno} names {found}"


def test_top_level_is_as_planned() -> None:
    plan = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "formcheck",
        "rules",
        "tests",
        "examples",
        "shared",
        "LICENSE",
        "CHANGELOG.md",
    }
    listing = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=HOME)
    if listing.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listing.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == plan
