"""Commands over a hostile repository, watched by an audit hook: no network, no program but git, no foreign code, no stray file."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from bath_oil import OIL
from checkout import bare_world

HOME = Path(__file__).resolve().parents[2]
WATCHED = Path(__file__).with_name("watched.py")
PLANTED = "open('stolen', 'w').close()\n"
PLANTED_MODULES = (
    "formcheck.py", "yaml.py", "json.py", "tomli.py", "pluggy.py", "jsonschema.py", "openpyxl.py", "sitecustomize.py",
    "usercustomize.py", "conftest.py", "formcheck_rules/__init__.py", "formcheck_shared/__init__.py",
    "rules/__init__.py", "rules/totals/total_not_100.py", "evil.py",
)  # fmt: skip
FILES = {
    "oil.formula.yaml": OIL,
    "mend.formula.yaml": OIL.replace("q.s.", "95"),
    "object.formula.yaml": OIL + "note: !!python/object/apply:os.system ['touch stolen']\n",
    "name.formula.yaml": OIL + "note: !!python/name:os.system\n",
    "module.formula.yaml": OIL + "note: !!python/module:evil\n",
    "names.formula.yaml": OIL.replace(
        "Tocopherol", "\"{0.__class__.__mro__} %s%n $(touch stolen) `touch stolen` ${7*7} {{7*7}} __import__('os')\""
    ),
    "materials.yaml": "materials:\n  Plum blend: {contains: {Tocopherol: 90, Aqua: 10}}\n",
    "theirs/materials.yaml": "materials: !!python/object/new:os._wrap_close [{}]\n",
    "theirs/oil.formula.yaml": OIL,
    "packs/formcheck.toml": 'packs = ["./evil.py"]\n',
    "packs/oil.formula.yaml": OIL,
    "far/formcheck.toml": 'builds-on = "http://127.0.0.1:9/formcheck.toml"\nhouse-rules = ["https://127.0.0.1:9/a.house.yaml"]\n',
    "far/oil.formula.yaml": OIL,
    "own/own.toml": 'packs = ["./evil.py"]\n',
    "lines.csv": 'Phase,Ingredient,%\nA,"=cmd|\' /C calc\'!A0",95\nA,=HYPERLINK("http://127.0.0.1:9"),5\n',
    "evil-1.0.dist-info/entry_points.txt": "[formcheck]\nevil = evil\n",
    "evil-1.0.dist-info/METADATA": "Metadata-Version: 2.1\nName: evil\nVersion: 1.0\n",
    "pyvenv.cfg": "home = /nonexistent\n",
    "exercises.answers.yaml": "lesson: 1\ncourse: !!python/object/apply:os.system ['touch stolen']\nexercises: []\n",
}


@pytest.fixture
def hostile(tmp_path: Path) -> Path:
    """A git repository with everything in it that we could think of."""
    folder = tmp_path / "theirs"
    for name, text in {**FILES, **dict.fromkeys(PLANTED_MODULES, PLANTED)}.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)
    for example in ("sound", "flawed", "house"):
        shutil.copytree(HOME / "examples" / example, folder / example)
    (folder / "link.formula.yaml").symlink_to("/etc/passwd")
    (folder / "loop").symlink_to(".")
    entities(folder / "entities.xlsx")
    world = bare_world(tmp_path)
    for command in (["init", "--quiet"], ["add", "--all"], ["commit", "--quiet", "-m", "theirs"]):
        subprocess.run(["git", *command], cwd=folder, env=world, check=True, capture_output=True)
    return folder


def entities(path: Path) -> None:
    """A workbook whose sheet declares an entity that names a file, and ten that blow each other up (XML 1.0, 4.2)."""
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["Ingredient", "%"])
    book.save(path)
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    more = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
    declared = f'<!DOCTYPE x [<!ENTITY f SYSTEM "file:///etc/passwd"><!ENTITY e0 "xxxxxxxxxx">{more}]>'.encode()
    sheet = parts["xl/worksheets/sheet1.xml"]
    sheet = sheet.replace(b"<worksheet", declared + b"<worksheet", 1)
    sheet = sheet.replace(
        b"</sheetData>", b'<row r="2"><c r="A2" t="inlineStr"><is><t>&f;&e9;</t></is></c></row></sheetData>'
    )
    parts["xl/worksheets/sheet1.xml"] = sheet
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)


COMMANDS = [
    ["review", ".", "--processes", "1"],
    *(["review", ".", "--processes", "1", "--afresh", "--format", f"{each}=out/report.{each}"]
      for each in ("json", "sarif", "junit", "github", "gitlab", "markdown", "html")),
    ["review", "sound", "flawed", "--format", "html=out/pages"],
    ["changed", "oil.formula.yaml", "materials.yaml", "house/formcheck.toml"],
    ["batch", "oil.formula.yaml", "--size", "1 kg"],
    ["batch", "oil.formula.yaml", "--size", "1 kg", "--format", "html", "--output", "out/batch.html"],
    ["label", "names.formula.yaml"],
    ["ph", "sound/elder-toner.formula.toml"],
    ["compare", "oil.formula.yaml"],
    ["compare", "HEAD:oil.formula.yaml", "names.formula.yaml"],
    ["correct", "mend.formula.yaml"],
    ["convert", "names.formula.yaml", "out/names.csv"],
    ["convert", "oil.formula.yaml", "out/oil.xlsx"],
    ["convert", "lines.csv", "out/lines.formula.yaml"],
    ["convert", "entities.xlsx", "out/entities.formula.yaml"],
    ["new", "Lotion", "--kind", "lotion", "--output", "out/new.formula.yaml"],
    ["explain", "xanthan gum"],
    ["explain", "__import__('os')"],
    ["rules"],
    ["settings", "house"],
    ["house-test", "house/nettle-row.house.yaml"],
    ["lesson", "--exercises", ".", "--list"],
    ["schema"],
    ["completion", "bash"],
    ["completion", "--words", "rules"],
    ["completion", "--words", "materials", "--begin", "x"],
    ["manual"],
]  # fmt: skip


def clean(tmp_path: Path, **more: str) -> dict[str, str]:
    """No PYTHON variables but what keeps byte code away, and the user's folders in the test's."""
    world = bare_world(tmp_path, FORMCHECK_CACHE=str(tmp_path / "cache"), FORMCHECK_DATA=str(tmp_path / "data"), **more)
    kept = {name: value for name, value in world.items() if not name.startswith(("PYTHON", "FORMCHECK_OWN", "XDG"))}
    (tmp_path / "temporary").mkdir(exist_ok=True)
    own = {"HOME": str(tmp_path / "home"), "TMPDIR": str(tmp_path / "temporary")}
    return {**kept, **own, "PYTHONDONTWRITEBYTECODE": "1"}


def watched(folder: Path, tmp_path: Path, commands: list[list[str]], *allowed: Path) -> dict[str, list[object]]:
    given, report = tmp_path / "commands.json", tmp_path / "report.json"
    given.write_text(json.dumps(commands))
    result = subprocess.run(
        [sys.executable, str(WATCHED), str(report), str(folder), str(given), *map(str, allowed)],
        cwd=folder, env=clean(tmp_path), capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    found: dict[str, list[object]] = json.loads(report.read_text())
    return found


def test_commands_over_a_hostile_repository_do_nothing_else(hostile: Path, tmp_path: Path) -> None:
    (tmp_path / "cache").mkdir(mode=0o700)
    (hostile / "out").mkdir()
    for name in ("far", "packs"):  # a configuration that cannot be used stops the run, and would hide the rest
        shutil.rmtree(hostile / name)
    # openpyxl writes the parts of a workbook to the system's folder for temporary files
    allowed = tmp_path / "cache", tmp_path / "temporary", hostile / "out"
    found = watched(hostile, tmp_path, COMMANDS, *allowed)
    assert found["seen"] == []
    assert not (hostile / "stolen").exists()
    statuses = {str(words): (status, said) for words, status, said in found["statuses"]}  # type: ignore[misc]
    assert all(status in (0, 1, 2) for status, _ in statuses.values()), statuses
    did_something = [words for words, (status, _) in statuses.items() if status in (0, 1)]
    assert len(did_something) > len(COMMANDS) / 2, statuses
    assert len(json.loads((hostile / "out" / "report.json").read_text())["reviews"]) > 20
    status, said = statuses["convert entities.xlsx out/entities.formula.yaml"]
    assert (status, "declares a document type" in said) == (2, True)
    assert found["starts"], "git is asked, so the hook hears of programs"
    assert list((hostile / "out").iterdir())
    assert list((tmp_path / "cache").iterdir())


def test_processes_that_share_the_work_are_copies_of_this_one(hostile: Path, tmp_path: Path) -> None:
    """What they send back comes through a pipe of their own; only records of ours and dates are made of it."""
    for name in ("far", "packs"):
        shutil.rmtree(hostile / name)
    commands = [["review", ".", "--processes", "2", "--afresh"]]
    found = watched(hostile, tmp_path, commands, tmp_path / "cache")
    made = re.compile(r"pickle.find_class \('(formcheck\.review\.\w+|concurrent\.futures\.process|datetime)', '\w+'\)")
    kinds = {made.sub("record", str(line).split(": ", 1)[1]) for line in found["seen"]}
    assert kinds <= {"os.fork ()", "record"}
    assert not (hostile / "stolen").exists()


def test_a_configuration_that_names_addresses_or_packs_is_not_followed(hostile: Path, tmp_path: Path) -> None:
    commands = [[command, folder] for command in ("review", "settings") for folder in ("far", "packs")]
    found = watched(hostile, tmp_path, commands, tmp_path / "cache")
    assert found["seen"] == []
    for _, status, said in found["statuses"]:  # type: ignore[misc]
        assert status == 2
        assert "lies on another machine" in said or "«packs» is not a key of a configuration" in said


def test_the_hook_hears_what_it_should(hostile: Path, tmp_path: Path) -> None:
    """Else the test above could not fail: a pack of the user's own does all that nothing of a repository may do."""
    pack = hostile / "pack.py"
    pack.write_text(
        "import socket, subprocess, os, pickle\n"
        "from formcheck.plugins import implements\n"
        "@implements\n"
        "def formcheck_rules():\n"
        "    socket.socket().close()\n"
        "    subprocess.run(['true'])\n"
        "    os.system('true')\n"
        "    open('stolen', 'w').close()\n"
        "    os.mkdir('more')\n"
        "    pickle.loads(pickle.dumps(print))\n"
        "    return []\n"
    )
    seen = watched(hostile, tmp_path, [["review", "oil.formula.yaml", "--pack", "./pack.py"]], tmp_path / "cache")[
        "seen"
    ]
    heard = {str(line).split(": ", 1)[1].split(" (")[0] for line in seen}
    assert heard >= {
        "socket.__new__", "subprocess.Popen", "os.system", "open", "os.mkdir", "pickle.find_class",
        "read Python of the repository", "ran Python of the repository",
    }  # fmt: skip


def console_script() -> Path:
    script = Path(sys.executable).with_name("formcheck.exe" if os.name == "nt" else "formcheck")
    if not script.exists():
        pytest.skip("formcheck is not installed as a command here")
    return script


@pytest.mark.parametrize("how", ["console script", "python -I -m"])
def test_modules_planted_in_the_working_folder_are_not_imported(hostile: Path, tmp_path: Path, how: str) -> None:
    """`python -m` alone would put the working folder first (Python documentation, sys.path); -I does not."""
    command = [str(console_script())] if how == "console script" else [sys.executable, "-I", "-m", "formcheck"]
    for arguments in (
        ["review", "oil.formula.yaml"],
        ["changed", "oil.formula.yaml"],
        ["completion", "--words", "rules"],
    ):
        result = subprocess.run(
            [*command, *arguments], cwd=hostile, env=clean(tmp_path), capture_output=True, text=True
        )
        assert result.returncode in (0, 1), result.stderr
        assert not (hostile / "stolen").exists()
        assert "evil" not in result.stderr


def test_without_our_name_in_the_working_folder_python_m_is_no_danger_either(hostile: Path, tmp_path: Path) -> None:
    """What we can do about `python -m formcheck`: once it is ours that runs, nothing else comes from there."""
    for name in PLANTED_MODULES:
        if not name.startswith(
            ("yaml.py", "tomli.py", "pluggy.py", "openpyxl.py", "jsonschema.py", "evil.py", "rules/")
        ):
            (hostile / name).unlink()
    command = [sys.executable, "-m", "formcheck", "review", "oil.formula.yaml"]
    result = subprocess.run(command, cwd=hostile, env=clean(tmp_path), capture_output=True, text=True)
    assert result.returncode in (0, 1), result.stderr
    assert not (hostile / "stolen").exists()
    assert "evil" not in result.stderr
