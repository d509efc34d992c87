"""Whatever the texts of a formula are, every report shows them and none obeys them.

Each text stands in every field of a real formula at once, from names and notes to claims and keys; what a report has to be
then is what the fuzzer asks of it (tests/fuzz/targets.py): well formed for its format's own parser, no sign that a
terminal, a page or a log would act on, no cell that a spreadsheet would compute.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).parents[1] / folder) for folder in ("fuzz", "reports")]

from hostile_reviews import NAMES  # noqa: E402
from targets import SHOWN_NOT_OBEYED, all_reports, check_report, formula_of, parsed, reviewer  # noqa: E402

from formcheck.commands.main import main  # noqa: E402

SPREADSHEETS = (
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    " =1",
    "=cmd|' /C calc'!A0",
    '=HYPERLINK("x")',
    "'=1",
)
"""What spreadsheets compute (OWASP, CSV injection; CWE-1236)."""
DIRECTIONS = "".join(map(chr, (*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x61C)))
"""The signs of the Unicode bidirectional algorithm (UAX #9), with which text is made to look like other text (CVE-2021-42574)."""
CONTROLS = "".join(map(chr, (*range(1, 9), 11, 12, *range(14, 32), *range(127, 160))))
TEXTS = [
    *NAMES,
    *SPREADSHEETS,
    DIRECTIONS,
    CONTROLS,
    "a\x00b",
    "\ud800",
    "x\udfffy\U0010ffff",
    "\ufeffx",
    "\x1b]8;;https://example.org\x07link\x1b]8;;\x07",
    "\x9b31m",
    "\r\nContent-Type: text/html",
    "e\u0301" * 40 + "\u0300" * 200,
    "<U+001B>",
    "${jndi:ldap://x} {{7*7}} #{1} %s %(x)s {0.__class__}",
    "\U000e0041\U000e0042",
    "a" * 3990,
]
EVERYWHERE = "".join(f"{text[:60]} " for text in TEXTS)


@pytest.mark.parametrize("text", TEXTS, ids=range(len(TEXTS)))
def test_every_report_of_a_formula_is_well_formed(text: str) -> None:
    # the bar parts one field's text from the next in formula_of
    shown = dict(all_reports(formula_of(text.replace("|", "/"))))
    assert "csv" in shown, "the formula was not read"
    for name, report in shown.items():
        check_report(name, report)


@pytest.mark.parametrize("text", TEXTS, ids=range(len(TEXTS)))
def test_every_report_of_a_file_that_cannot_be_read_is_well_formed(text: str) -> None:
    """Keys that are none, and values that mean nothing, are told in the refusals."""
    made = {
        "formcheck": 1,
        "name": "x",
        "phases": {"A": {text: text}},
        text: text,
        "product": {"use": text},
        "room": text,
    }
    shown = dict(all_reports(json.dumps(made).encode()))
    assert "csv" not in shown
    for name, report in shown.items():
        check_report(name, report)


@pytest.mark.parametrize("ending", ["yaml", "json", "toml"])
def test_a_hostile_name_of_the_file_itself(ending: str) -> None:
    path = f"/nowhere/{DIRECTIONS}\x1b[31m\n::error::x</script>|=1.formula.{ending}"
    for name, report in all_reports(b"formcheck: [", path):
        check_report(name, report)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("any-text")
    (folder / "a.formula.json").write_bytes(formula_of(EVERYWHERE.replace("|", "/")[:3000]))
    (folder / "b.formula.json").write_bytes(formula_of("plain"))
    table = [["Phase", "Ingredient", "%", "Lot", "Note"], *([text, f"{text} oil", "5", text, text] for text in TEXTS)]
    stream = io.StringIO()
    csv.writer(stream).writerows(table)
    (folder / "in.csv").write_bytes(stream.getvalue().encode("utf-8", "replace").replace(b"\0", b""))
    return folder


COMMANDS: dict[str, Callable[[str], None]] = {
    "batch a.formula.json --as-written": lambda text: check_report("terminal", text),
    "batch a.formula.json --as-written --format html": lambda text: check_report("html", text),
    "batch a.formula.json --as-written --format csv": lambda text: check_report("csv", text),
    "batch a.formula.json --as-written --format json": lambda text: check_report("json", text),
    "label a.formula.json": lambda text: check_report("terminal", text),
    "label a.formula.json --format json": lambda text: check_report("json", text),
    "ph a.formula.json": lambda text: check_report("terminal", text),
    "ph a.formula.json --format json": lambda text: check_report("json", text),
    "compare a.formula.json b.formula.json": lambda text: check_report("terminal", text),
    "compare b.formula.json a.formula.json --format json": lambda text: check_report("json", text),
    "correct a.formula.json --also rescale": lambda text: check_report("terminal", text),
    "correct a.formula.json --format json": lambda text: check_report("json", text),
    "changed a.formula.json": lambda text: check_report("terminal", text),
    "convert a.formula.json": lambda text: check_report("csv", text),
    "convert in.csv": lambda text: check_report("terminal", text),
    "settings a.formula.json": lambda text: check_report("terminal", text),
    "explain a.formula.json": lambda text: check_report("terminal", text),
}


@pytest.mark.parametrize("asked", COMMANDS)
def test_what_commands_print_is_shown_and_not_obeyed(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, asked: str
) -> None:
    monkeypatch.chdir(folder)
    status = main(asked.split())
    out, err = capsys.readouterr()
    assert status in (0, 1, 2)
    assert out or err
    check_report("terminal", err)
    if out:
        COMMANDS[asked](out)


@pytest.mark.parametrize("text", ["\ufffe", "\ue000", "\U0010ffff x", "\u0378", "a\u00a0b\u3000c", "|", "''"])
def test_a_table_of_any_signs_becomes_a_formula_that_reads_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    (tmp_path / "in.csv").write_text(
        f"Phase;Ingredient;%;Note\n{text};{text} oil;5;{text}\n;;x {text};\n", encoding="utf-8"
    )
    assert main(["convert", str(tmp_path / "in.csv"), str(tmp_path / "out.formula.yaml")]) in (0, 1)
    assert "oil" in (tmp_path / "out.formula.yaml").read_text("utf-8")
    check_report("terminal", "".join(capsys.readouterr()))


def test_a_workbook_computes_nothing_of_a_formula_s_texts(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    monkeypatch.chdir(folder)
    for number, text in enumerate(SPREADSHEETS):
        source, target = f"s{number}.formula.json", f"s{number}.xlsx"
        Path(source).write_bytes(formula_of(text.replace("|", "/")))
        assert main(["convert", source, target, "--replace"]) == 0
        for sheet in openpyxl.load_workbook(target).worksheets:
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.data_type == "f":
                        assert cell.value.startswith(("=SUM(", "=100-SUM(", f"=D{cell.row}/100*")), cell.value


@pytest.mark.parametrize("text", SPREADSHEETS)
def test_no_cell_of_a_table_computes(text: str) -> None:
    """OWASP's advice is kept for every cell: one that begins with = + - @, a tab or a line end is no longer the first sign."""
    from formcheck.reports.csv_text import table

    (row,) = csv.reader(io.StringIO(table([[text, "-4", "+0.5"]]), newline=""))
    assert not row[0].startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert row[1:] == ["-4", "+0.5"]


def test_the_signs_themselves_are_what_the_oracle_looks_for() -> None:
    """So that no test here can pass because nothing is looked for."""
    assert set(DIRECTIONS) - {"\u061c"} <= SHOWN_NOT_OBEYED
    with pytest.raises(AssertionError):
        check_report("terminal", "\u202e")
    with pytest.raises(AssertionError):
        check_report("csv", "=1+1\r\n")
    with pytest.raises(AssertionError):
        check_report("github", "::error ::x\n::add-mask::y\nend\n")
    with pytest.raises(AssertionError):
        parsed("<!doctype html><p><b></p>")
    assert reviewer().rules
