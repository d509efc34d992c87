"""What no line of ours does: run text as code, load objects, open connections, start programs. Read from the syntax tree.

Every exception stands below with its reason; one that is no longer needed fails as well.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parents[2]
FILES = sorted([*(HOME / "formcheck").rglob("*.py"), *(HOME / "rules").rglob("*.py"), *(HOME / "shared").rglob("*.py")])

RUNS_CODE = {"eval", "exec", "compile", "__import__", "breakpoint", "input", "open_code", "execfile"}
LOADS_OBJECTS = {"pickle", "cPickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "copyreg", "dbm"}
IS_CODE = {"code", "codeop", "runpy", "imp", "pty", "ctypes", "cffi", "zipimport"}
NETWORK = {
    "socket", "ssl", "http", "urllib", "urllib3", "requests", "httpx", "aiohttp", "ftplib", "smtplib", "telnetlib",
    "imaplib", "poplib", "nntplib", "xmlrpc", "socketserver", "wsgiref", "webbrowser", "antigravity", "asyncore",
    "asyncio", "fsspec", "distributed", "dask",
}  # fmt: skip
PROGRAMS = {"subprocess", "multiprocessing", "concurrent", "commands", "popen2"}
XML = {"xml", "lxml", "defusedxml"}
TEMPORARY = {"tempfile", "tarfile", "zipfile", "shutil"}
LOADS_MODULES = {"importlib"}
WATCHED = LOADS_OBJECTS | IS_CODE | NETWORK | PROGRAMS | XML | TEMPORARY | LOADS_MODULES

ALLOWED_IMPORTS = {
    ("formcheck/fresh.py", "subprocess"): "makes an environment for people who work on a checkout of ours",
    ("formcheck/git.py", "subprocess"): "git, with the settings that start programs switched off",
    ("formcheck/plugins.py", "importlib"): "our own package of rules, and plug-ins installed in the environment",
    ("formcheck/packs.py", "importlib"): "packs that the user names on the command line or in a file of her own",
    ("formcheck/review/rule.py", "importlib"): "modules of an installed package, by the names of its own files",
    ("formcheck/review/lesson_sheet.py", "importlib"): "a schema of ours, by importlib.resources",
    ("formcheck/review/grounds.py", "importlib"): "our own package, to see whether it changed",
    ("formcheck/reports/report.py", "importlib"): "reports, by a table of ours",
    ("formcheck/reports/completion.py", "importlib"): "shells, by a table of ours",
    ("formcheck/commands/parser.py", "importlib"): "commands, by a table of ours",
    ("formcheck/commands/main.py", "importlib"): "commands, by a table of ours",
    ("formcheck/commands/site.py", "importlib"): "whether mkdocs is installed",
    ("formcheck/commands/editor.py", "importlib"): "whether pygls is installed",
    ("formcheck/commands/completion.py", "importlib"): "where our own rules are",
    ("formcheck/reports/identity.py", "urllib"): "urllib.parse: quoting, no connection",
    ("formcheck/reports/editor/server.py", "urllib"): "urllib.parse: paths of an editor's files",
    ("formcheck/reports/editor/server.py", "asyncio"): "waits for the editor on standard input and output",
    ("formcheck/reading/places.py", "fsspec"): "addresses that the user names on the command line",
    ("formcheck/review/pool.py", "multiprocessing"): "copies of this process that share out its files",
    ("formcheck/review/pool.py", "concurrent"): "copies of this process that share out its files",
    ("formcheck/review/many.py", "concurrent"): "the type of what a caller brings",
    ("formcheck/own_modules.py", "importlib"): "our own modules, beside their own sources",
    ("formcheck/own_modules.py", "marshal"): "byte code beside our own modules, where Python itself would load it from",
    ("formcheck/reports/spool.py", "tempfile"): "a nameless file for reports too long for memory",
    ("formcheck/reading/tables_xlsx.py", "xml"): "xml.parsers.expat: looks at a workbook before openpyxl does",
    ("formcheck/reading/tables_xlsx.py", "zipfile"): "looks at a workbook's listing before it is unpacked in memory",
    ("formcheck/commands/site.py", "shutil"): "puts a site in its place",
    ("formcheck/commands/site.py", "tempfile"): "a private folder to build a site in",
    ("formcheck/commands/saving.py", "shutil"): "a file keeps its mode",
    ("formcheck/commands/parser.py", "shutil"): "the width of the terminal",
    ("formcheck/commands/main.py", "shutil"): "the width of the terminal",
    ("formcheck/commands/progress.py", "shutil"): "the width of the terminal",
    ("formcheck/reports/terminal.py", "shutil"): "the width of the terminal",
}
ALLOWED_CALLS = {
    ("formcheck/plugins.py", "__import__"): "what an entry point of an installed package names",
    ("formcheck/packs.py", "exec_module"): "the pack that the user names",
}
FORBIDDEN_OF_OS = {"system", "popen", "startfile", "fork", "forkpty", "posix_spawn", "posix_spawnp", "putenv"}
SAFE_LOADERS = {"BaseLoader", "CBaseLoader", "SafeLoader", "CSafeLoader"}


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def name_of(path: Path) -> str:
    return path.relative_to(HOME).as_posix()


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            yield node.module
            yield from (f"{node.module}.{each.name}" for each in node.names)


def calls(path: Path) -> Iterator[tuple[str, ast.Call]]:
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                yield node.func.id, node
            elif isinstance(node.func, ast.Attribute):
                yield f".{node.func.attr}", node


def test_modules_that_could_do_harm_are_imported_only_where_there_is_a_reason() -> None:
    used = {(name_of(path), name.split(".")[0]) for path in FILES for name in imports(path)}
    watched = {(file, name) for file, name in used if name in WATCHED}
    unexpected = watched - set(ALLOWED_IMPORTS)
    assert not unexpected, f"{sorted(unexpected)}: if it is needed, give its reason in ALLOWED_IMPORTS"
    stale = {each for each in set(ALLOWED_IMPORTS) - watched if "main.py" not in each[0] and "parser.py" not in each[0]}
    assert not stale, f"{sorted(stale)}: no longer imported; take it out of ALLOWED_IMPORTS"


def test_of_urllib_only_the_parsing_of_addresses_is_used() -> None:
    names = {name for path in FILES for name in imports(path) if name.split(".")[0] == "urllib"}
    assert {name for name in names if not name.startswith("urllib.parse")} == set()


def test_no_text_is_run_as_code() -> None:
    found = {(name_of(path), name.lstrip(".")) for path in FILES for name, node in calls(path)
             if (name in RUNS_CODE or name in (".exec_module", ".load_module", ".run_path"))}  # fmt: skip
    assert found == set(ALLOWED_CALLS)


def test_no_program_is_started_by_the_operating_system_or_a_shell() -> None:
    for path in FILES:
        for name, node in calls(path):
            where = f"{name_of(path)}:{node.lineno}"
            assert not any(keyword.arg == "shell" for keyword in node.keywords), where
            func = node.func
            if isinstance(func, ast.Attribute) and isinstance(func.value, ast.Name) and func.value.id == "os":
                bare = name.lstrip(".")
                assert bare not in FORBIDDEN_OF_OS, where
                assert not bare.startswith(("exec", "spawn")), where


def test_yaml_makes_plain_data_only() -> None:
    """PyYAML documentation, «Loading YAML»: yaml.load() with another loader can construct any Python object."""
    for path in FILES:
        for node in ast.walk(tree_of(path)):
            if not (isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "yaml"):
                continue
            where = f"{name_of(path)}:{node.lineno} yaml.{node.attr}"
            assert not node.attr.endswith("Loader") or node.attr in SAFE_LOADERS, where
            assert node.attr not in ("load_all", "full_load", "full_load_all", "unsafe_load", "unsafe_load_all"), where
        text = path.read_text(encoding="utf-8")
        assert not {"UnsafeLoader", "FullLoader"} & set(ast.dump(tree_of(path)).split("'")), path
        for name, node in calls(path):
            if name == ".load" and isinstance(node.func, ast.Attribute) and ast.unparse(node.func.value) == "yaml":
                (loader,) = [ast.unparse(each.value) for each in node.keywords if each.arg == "Loader"]
                given = [line.split("=", 1)[1] for line in text.splitlines() if line.strip().startswith(f"{loader} =")]
                assert loader.removeprefix("yaml.") in SAFE_LOADERS or (
                    given and all("BaseLoader" in each or "SafeLoader" in each for each in given)
                ), f"{name_of(path)}:{node.lineno}"


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_modules_are_imported_by_names_of_ours(path: Path) -> None:
    """import_module is given a constant, a name from a table of constants, or a name below a package."""
    for name, node in calls(path):
        if name != ".import_module":
            continue
        target = node.args[0]
        below_us = isinstance(target, ast.JoinedStr) and len(node.args) == 2
        constant = isinstance(target, ast.Constant)
        assert below_us or constant or name_of(path) == "formcheck/review/rule.py", f"{name_of(path)}:{node.lineno}"


def test_the_test_sees_what_it_looks_for(tmp_path: Path) -> None:
    """Else it could not fail."""
    path = tmp_path / "bad.py"
    path.write_text("import pickle, os\nfrom urllib import request\nos.system(eval('1'))\n")
    assert {"pickle", "os", "urllib", "urllib.request"} == set(imports(path))
    assert {"eval", ".system"} == {name for name, _ in calls(path)}
