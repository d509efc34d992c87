"""Spreadsheets become formula files and formula files spreadsheets; nothing is lost and nothing guessed in silence."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from formcheck.commands.main import main
from formcheck.reference.store import open_reference
from formcheck.review.run import Reviewer

openpyxl = pytest.importorskip("openpyxl")
from formcheck.reports import spreadsheet  # noqa: E402

HOME = Path(__file__).resolve().parents[2]
SOUND = sorted((HOME / "examples" / "sound").glob("*.formula.*"))


class Result(NamedTuple):
    returncode: int
    stdout: str
    stderr: str


def run(*arguments: str, folder: Path) -> Result:
    """Runs the command in a folder, within this process: a hundred new ones would take their time."""
    out, err = io.StringIO(), io.StringIO()
    with _within(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            status = main(["convert", *arguments])
        except SystemExit as stopped:
            status = int(str(stopped.code))
    return Result(status, out.getvalue(), err.getvalue())


@contextlib.contextmanager
def _within(folder: Path) -> Iterator[None]:
    before = os.getcwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def book(folder: Path, rows: list[list[Any]], name: str = "in.xlsx", title: str = "Sheet1") -> Path:
    made = openpyxl.Workbook()
    made.active.title = title
    for row in rows:
        made.active.append(row)
    made.save(folder / name)
    return folder / name


def text(folder: Path, content: str, name: str = "in.csv", encoding: str = "utf-8") -> Path:
    (folder / name).write_bytes(content.encode(encoding))
    return folder / name


def lines(path: Path) -> list[tuple[str, str, Decimal | None]]:
    """(phase, name, percent as written) of a formula file."""
    sheet = Reviewer().sheet(str(path))
    return [(item.phase.letter, item.name, item.line.percent) for item in sheet.items]


def converted(folder: Path, *more: str, source: str, status: int = 0) -> str:
    result = run(source, "out.formula.yaml", *more, folder=folder)
    assert result.returncode == status, result.stdout + result.stderr
    review = Reviewer().review(str(folder / "out.formula.yaml"))
    assert not review.errors
    assert not review.faults
    return (folder / "out.formula.yaml").read_text(encoding="utf-8")


EXPECTED = [
    ("A", "Aqua", None),
    ("A", "Glycerin", Decimal("4.5")),
    ("B", "Panthenol", Decimal(1)),
    ("B", "Phenoxyethanol", Decimal("0.9")),
]
ROWS = [
    ["A", "Aqua", "q.s."],
    ["A", "Glycerin", 4.5],
    ["B", "Panthenol", 1],
    ["B", "Phenoxyethanol", 0.9],
]


# --- there and back


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.name)
def test_a_formula_keeps_percents_phases_and_order_through_a_spreadsheet(
    path: Path, ending: str, tmp_path: Path
) -> None:
    made = run(str(path), f"middle.{ending}", folder=tmp_path)
    assert made.returncode == 0, made.stderr
    converted(tmp_path, source=f"middle.{ending}")
    assert lines(tmp_path / "out.formula.yaml") == lines(path)


NAMES = [name for name in open_reference().headings if len(name) > 3]
PERCENTS = st.decimals(Decimal("0.000001"), Decimal(100), places=6)
PHASES = st.dictionaries(
    st.sampled_from(["A", "B", "C", "D1", "Water phase", "3"]),
    st.dictionaries(st.sampled_from(NAMES), PERCENTS, min_size=1, max_size=5),
    min_size=1,
    max_size=4,
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(phases=PHASES, open_=st.booleans(), ending=st.sampled_from(["xlsx", "csv"]))
def test_any_formula_comes_back_as_it_went(phases: dict[str, dict[str, Decimal]], open_: bool, ending: str) -> None:
    from formcheck.formula.from_table import understand
    from formcheck.reading.tables import read_sheets

    shares = [share for inner in phases.values() for share in inner.values()]
    assume(sum(shares) > 2)  # a column that adds to 1 would be taken for fractions
    texts = ["q.s." if open_ and number == 0 else str(share) for number, share in enumerate(shares)]
    source = "formcheck: 1\nname: any\nphases:\n"
    for phase, inner in phases.items():
        source += f"  {phase}:\n" + "".join(f"    {json.dumps(name)}: {texts.pop(0)}\n" for name in inner)
    sheet = REVIEWER.sheet("any.formula.yaml", source.encode())
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"any.{ending}"
        path.write_bytes(spreadsheet.xlsx_bytes(sheet) if ending == "xlsx" else spreadsheet.csv_text(sheet).encode())
        table = understand(read_sheets(str(path)))
    there = [(phase, line.name, line.percent) for phase, found in table.phases.items() for line in found]
    assert there == [(item.phase.letter, item.name, item.line.percent) for item in sheet.items]
    assert not table.unclear


REVIEWER = Reviewer()
GEL = """\
formcheck: 1
name: Garden gel
code: HG-03
batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Glycerin: {percent: 4.5, lot: G-17, note: from the cellar}}
  B: {Panthenol: 1, Gentle preserver: {percent: 0.9, grams: 2}}
materials:
  Gentle preserver: {contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}}
procedure:
  - {add: B, into: A}
finished: {pH: 5.5}
"""


def evaluated(sheet: Any, cell: str) -> float:
    """A small spreadsheet: numbers, references, SUM over ranges, + - * / (ECMA-376, part 1, 18.17)."""
    value = sheet[cell].value
    if not isinstance(value, str) or not value.startswith("="):
        return float(value or 0)

    def range_sum(match: re.Match[str]) -> str:
        cells = [each for area in match.group(1).split(",") for row in sheet[area] for each in row]
        return str(sum(evaluated(sheet, each.coordinate) for each in cells))

    formula = re.sub(r"SUM\(([^()]*)\)", range_sum, value[1:].replace("$", ""))
    formula = re.sub(r"\b([A-Z]+[0-9]+)\b", lambda match: str(evaluated(sheet, match.group(1))), formula)
    assert re.fullmatch(r"[0-9.e+*/ -]+", formula), formula
    return float(eval(formula))


def test_sums_the_open_line_and_grams_are_live_formulas(tmp_path: Path) -> None:
    text(tmp_path, GEL, "gel.formula.yaml")
    assert run("gel.formula.yaml", "gel.xlsx", folder=tmp_path).returncode == 0
    sheet = openpyxl.load_workbook(tmp_path / "gel.xlsx")["Formula"]
    row = {sheet.cell(number, 2).value or sheet.cell(number, 1).value: number for number in range(1, sheet.max_row + 1)}
    total = row["Total"]
    assert sheet[f"D{row['Aqua']}"].value.startswith("=100-SUM(")
    assert evaluated(sheet, f"D{row['Aqua']}") == pytest.approx(93.6)
    assert evaluated(sheet, f"D{total}") == pytest.approx(100)
    assert evaluated(sheet, f"E{row['Glycerin']}") == pytest.approx(9)
    assert evaluated(sheet, f"E{total}") == pytest.approx(200.2)  # 2 g are written beside 0.9 %, which are 1.8 g
    size = next(number for number in range(1, 8) if sheet.cell(number, 1).value == "Batch size (g)")
    sheet.cell(size, 2).value = 400
    assert evaluated(sheet, f"E{row['Glycerin']}") == pytest.approx(18)


def test_lots_notes_odd_grams_and_own_names_come_back(tmp_path: Path) -> None:
    text(tmp_path, GEL, "gel.formula.yaml")
    run("gel.formula.yaml", "gel.xlsx", folder=tmp_path)
    back = converted(tmp_path, source="gel.xlsx")
    assert "name: Garden gel\ncode: HG-03\nbatch: {size: 200 g}\n" in back
    assert "Glycerin: {percent: 4.5, lot: G-17, note: from the cellar}" in back
    assert "Gentle preserver: {percent: 0.9, grams: 2}" in back
    assert "Gentle preserver: {INCI: 'Phenoxyethanol, Ethylhexylglycerin'}" in back
    assert "finished: {pH: 5.5}" in back


EVIL = """\
formcheck: 1
name: "=1+1"
phases:
  "=A": {Aqua: q.s., "@SUM(1)": {percent: 1, lot: "+49 1", note: "=HYPERLINK(\\"http://x\\")"}, "-2+3": 2, "\\ttab": 1}
"""


def test_no_text_of_a_formula_becomes_a_formula_of_a_spreadsheet(tmp_path: Path) -> None:
    """OWASP, CSV injection: cells that begin with = + - @, a tab or a carriage return."""
    text(tmp_path, EVIL, "evil.formula.yaml")
    assert run("evil.formula.yaml", "evil.csv", folder=tmp_path).returncode == 0
    for row in csv.reader(io.StringIO((tmp_path / "evil.csv").read_text(encoding="utf-8-sig"))):
        assert not [cell for cell in row if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]
    assert run("evil.formula.yaml", "evil.xlsx", folder=tmp_path).returncode == 0
    sheet = openpyxl.load_workbook(tmp_path / "evil.xlsx")["Formula"]
    texts = [cell for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
    formulas = [cell.value for cell in texts if cell.data_type == "f"]
    assert all(re.fullmatch(r"=(100-SUM|SUM|D\d+/100)[A-Z0-9:(),$*]*", value) for value in formulas), formulas
    assert "=1+1" in [cell.value for cell in texts if cell.data_type == "s"]
    for source in ("evil.csv", "evil.xlsx"):
        result = run(source, "back.formula.yaml", "--replace", folder=tmp_path)
        assert result.returncode == 0
        assert lines(tmp_path / "back.formula.yaml") == lines(tmp_path / "evil.formula.yaml")


# --- what people's tables look like


@pytest.mark.parametrize(
    "heads",
    [
        ["Phase", "Ingredient", "%"],
        ["Phase", "Raw material", "% w/w"],
        ["Part", "Name", "Percent (w/w)"],
        ["Phase", "Rohstoff", "Gew.-%"],
        ["Phase", "Bezeichnung", "Anteil"],
        ["Phasen", "Inhaltsstoffe", "Konzentration (%)"],
        ["Phase", "Matière première", "% m/m"],
        ["Phase", "Ingrédients", "Teneur (%)"],
        ["Partie", "Nom", "Pourcentage"],
        ["Fase", "Ingrediente", "% p/p"],
        ["Fase", "Materia prima", "Porcentaje"],
        ["FASE", "COMPONENTES", "Cantidad %"],
        ["phase", "INCI name", "amount"],
        ["Phase", "Zutat", "Menge"],
    ],
)
def test_headings_in_four_languages(heads: list[str], tmp_path: Path) -> None:
    book(tmp_path, [heads, *ROWS])
    converted(tmp_path, source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED


@pytest.mark.parametrize(
    "open_",
    [
        "q.s.",
        "qs",
        "q.s. to 100",
        "ad 100",
        "ad 100,0",
        "qsp 100",
        "q.s.p. 100 %",
        "c.s.p. 100",
        "Rest",
        "to 100",
        "balance",
    ],
)
def test_what_is_missing_to_the_whole_is_q_s(open_: str, tmp_path: Path) -> None:
    book(tmp_path, [["Phase", "Ingredient", "%"], ["A", "Aqua", open_], *ROWS[1:]])
    converted(tmp_path, source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED


@pytest.mark.parametrize("formula", ["=100-SUM(C3:C5)", "=100%-SUM(C3:C5)", "=(100-C3-C4-C5)"])
def test_a_formula_for_the_rest_is_q_s(formula: str, tmp_path: Path) -> None:
    book(tmp_path, [["Phase", "Ingredient", "%"], ["A", "Aqua", formula], *ROWS[1:]])
    converted(tmp_path, source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED


@pytest.mark.parametrize(
    ("written", "delimiter"),
    [("4,5", ";"), ("4.5", ","), ("4,50", "\t"), ("4,5 %", ";"), (" 4.500 ", ","), ('"4,5"', ",")],
)
def test_numbers_as_people_write_them(written: str, delimiter: str, tmp_path: Path) -> None:
    other = "0,9" if "," in written else "0.9"
    quoted = f'"{other}"' if delimiter == "," else other
    rows = [["Phase", "Ingredient", "%"], ["A", "Aqua", "ad 100"], ["A", "Glycerin", written], ["B", "Panthenol", "1"]]
    content = "\n".join(delimiter.join(row) for row in [*rows, ["B", "Phenoxyethanol", quoted]])
    name = "in.tsv" if delimiter == "\t" else "in.csv"
    text(tmp_path, content, name)
    converted(tmp_path, source=name)
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_text_in_the_usual_encodings(encoding: str, tmp_path: Path) -> None:
    text(tmp_path, "Phase;Bezeichnung;%\r\nA;Öl der Nachtkerze;50\r\nA;Squalane;50\r\n", encoding=encoding)
    converted(tmp_path, source="in.csv")
    assert [name for _, name, _ in lines(tmp_path / "out.formula.yaml")] == ["Öl der Nachtkerze", "Squalane"]


def test_cells_shown_as_percents_and_fractions_of_one(tmp_path: Path) -> None:
    path = book(tmp_path, [["Phase", "Ingredient", "%"], ["A", "Squalane", 0.955], ["A", "Tocopherol", 0.045]])
    assert "fractions of one" in run("in.xlsx", folder=tmp_path).stderr
    made = openpyxl.load_workbook(path)
    for row in (2, 3):
        made.active.cell(row, 3).number_format = "0.0%"
    made.save(path)
    converted(tmp_path, source="in.xlsx")
    assert [percent for _, _, percent in lines(tmp_path / "out.formula.yaml")] == [Decimal("95.5"), Decimal("4.5")]


def test_grams_alone_give_percents_and_the_batch(tmp_path: Path) -> None:
    text(tmp_path, "Ingredient,Weight (kg)\nSqualane,0.3\nTocopherol,0.003\nCera Alba,0.03\n")
    made = converted(tmp_path, source="in.csv")
    assert "batch: {size: 333 g}" in made
    found = [percent for _, _, percent in lines(tmp_path / "out.formula.yaml")]
    assert sum(share or 0 for share in found) == 100
    assert [float(share or 0) for share in found] == pytest.approx(
        [100 * part / 333 for part in (300, 3, 30)], abs=1e-5
    )


def test_grams_with_an_open_line_take_the_whole_from_where_it_stands(tmp_path: Path) -> None:
    for rest, below in (("ad 200", ""), ("q.s.", "Total,200\n")):
        text(tmp_path, f"Ingredient,g\nAqua,{rest}\nGlycerin,8\n{below}")
        converted(tmp_path, "--replace", source="in.csv")
        assert [percent for _, _, percent in lines(tmp_path / "out.formula.yaml")] == [None, Decimal(4)]


def test_grams_beside_percents_are_kept_where_they_disagree(tmp_path: Path) -> None:
    text(tmp_path, "Ingredient,%,g\nAqua,90,180\nGlycerin,9,18\nPanthenol,1,3\n")
    made = converted(tmp_path, source="in.csv")
    assert "batch: {size: 200 g}" in made
    assert "Panthenol: {percent: 1, grams: 3}" in made
    assert "Glycerin: 9\n" in made


def test_merged_and_blank_phase_cells_and_headings_of_phases(tmp_path: Path) -> None:
    path = book(tmp_path, [["Phase", "Ingredient", "%"], ["A", "Aqua", "q.s."], [None, "Glycerin", 4.5], *ROWS[2:]])
    made = openpyxl.load_workbook(path)
    made.active.merge_cells("A2:A3")
    made.active.cell(5, 1).value = None
    made.save(path)
    converted(tmp_path, source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED
    headed = "Rohstoff;%\nPhase A: Wasserphase;\nAqua;ad 100\nGlycerin;4,5\nPhase B;\nPanthenol;1\nPhenoxyethanol;0,9\n"
    text(tmp_path, headed)
    assert "# A2: phase A: Wasserphase" in converted(tmp_path, "--replace", source="in.csv")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED


def test_totals_are_no_materials_and_are_held_against_the_lines(tmp_path: Path) -> None:
    rows = [["Phase", "Ingredient", "%"], ["A", "Squalane", 99], ["A", "Tocopherol", 0.5], [None, "Total", 100]]
    book(tmp_path, rows)
    result = run("in.xlsx", "out.formula.yaml", folder=tmp_path)
    assert "the total in row 4 says 100 %; the lines are 99.5 %" in result.stdout
    assert len(lines(tmp_path / "out.formula.yaml")) == 2
    for label in ("Summe", "Gesamt", "TOTAL", "Somme", "Suma", ""):
        book(tmp_path, [*rows[:3], [None, label, 99.5]])
        converted(tmp_path, "--replace", source="in.xlsx")
        assert len(lines(tmp_path / "out.formula.yaml")) == 2, label


def test_subtotals_of_phases_are_passed_over(tmp_path: Path) -> None:
    text(tmp_path, "Phase,Ingredient,%\nA,Squalane,90\n,Total phase A,90\nB,Tocopherol,10\n,Subtotal,10\nTotal,,100\n")
    converted(tmp_path, source="in.csv")
    assert lines(tmp_path / "out.formula.yaml") == [("A", "Squalane", Decimal(90)), ("B", "Tocopherol", Decimal(10))]


def test_nothing_is_lost(tmp_path: Path) -> None:
    """Every filled cell is a line's name, amount, lot or note, or stands in a comment, or is named in the report."""
    rows: list[list[Any]] = [
        ["Hedge gel"],
        ["Code:", "HG-1", None, "drawn up", "R. Quill"],
        ["Batch size: 200 g"],
        ["pH", "5.2 - 5.6"],
        [],
        ["No.", "Phase", "Trade name", "INCI", "%", "Supplier", "Function", "Lot", "Remarks", None],
        [1, "A", "Spring water", "Aqua", "q.s.", "own well", "solvent", None, None, "odd cell"],
        [2, None, "Sweet", "Glycerin", 4, "Moor & Co", None, "G-17", "from: the cellar #2", None],
        [3, "B", "Plum extract", "Prunus Domestica Odd Extract", 1, None, "active", None, None, None],
        [4, "C", "Perfume", None, "a few drops", None, None, None, None, None],
        [None, None, "Total", None, 100],
        [],
        ["Heat A to 60 °C, then add B."],
    ]
    path = book(tmp_path, rows)
    made = openpyxl.load_workbook(path)
    made.active["E8"].comment = openpyxl.comments.Comment("was 3", "Q")
    made.save(path)
    found = converted(tmp_path, source="in.xlsx", status=1)
    for cell in (
        "name: Hedge gel", "code: HG-1", "batch: {size: 200 g}", "finished: {pH: 5.2 to 5.6}", "drawn up", "R. Quill",
        "Supplier: own well", "Function: solvent", "column J: odd cell", "Supplier: Moor & Co", "lot: G-17",
        "from: the cellar #2", "comment on E8: was 3", "INCI: Prunus Domestica Odd Extract", "a few drops", "Perfume",
        "Heat A to 60 °C, then add B.", "Spring water: {INCI: Aqua}", "Sweet: {INCI: Glycerin}",
    ):  # fmt: skip
        assert cell in found, cell


def test_what_is_not_understood_is_said_cell_by_cell(tmp_path: Path) -> None:
    rows = [
        ["Phase", "Ingredient", "%"], ["A", "Aqua", "q.s."], ["A", "Glycerin", "3 - 5"], ["A", "Panthenol", None],
        ["B", "Parfum", "3 drops"], ["B", "Tocopherol", "<1"], [None, None, 7], ["B", "Betaine", "=Z9*2"],
        ["B", "=Z10", 1],
    ]  # fmt: skip
    book(tmp_path, rows)
    result = run("in.xlsx", "out.formula.yaml", folder=tmp_path)
    assert result.returncode == 1
    for cell, why in (
        ("C3", "«3 - 5»: a range"),
        ("B4", "«Panthenol»: a name without an amount"),
        ("C5", "«3 drops»"),
        ("C6", "«<1»: no definite amount"),
        ("C7", "«7»: an amount without a name"),
        ("C8", "«=Z9*2»: a formula whose value is not stored"),
        ("B9", "«=Z10»: a formula whose value is not stored"),
    ):
        assert re.search(rf"{cell}\s+{re.escape(why)}", result.stdout), (cell, result.stdout)
    assert lines(tmp_path / "out.formula.yaml") == [("A", "Aqua", None)]


def test_beside_a_line_that_takes_the_rest_a_bare_q_s_is_as_much_as_it_takes(tmp_path: Path) -> None:
    text(tmp_path, "Ingredient;%\nAqua;q.s. to 100\nGlycerin;4\nCitric Acid;q.s.\n")
    made = converted(tmp_path, source="in.csv", status=1)
    assert "# B4, as much as it takes is no percent" in made
    assert lines(tmp_path / "out.formula.yaml") == [("A", "Aqua", None), ("A", "Glycerin", Decimal(4))]


def test_a_percent_is_never_read_as_thousands(tmp_path: Path) -> None:
    text(tmp_path, "Ingredient;%\nAqua;ad 100\nGlycerin;4,5\nTocopherol;1.234\nSqualane;2,345\n")
    converted(tmp_path, source="in.csv")
    assert [share for _, _, share in lines(tmp_path / "out.formula.yaml")][2:] == [Decimal("1.234"), Decimal("2.345")]


def test_one_name_twice_in_a_phase_is_one_line_and_said(tmp_path: Path) -> None:
    text(tmp_path, "Phase,Ingredient,%\nA,Squalane,50\nA,Cera Alba,20\nA,squalane,30\n")
    made = converted(tmp_path, source="in.csv")
    assert "Squalane: {percent: 80, note: 'rows 2 and 4: 50 % and 30 %'}" in made


def test_two_rows_of_headings_are_one(tmp_path: Path) -> None:
    book(
        tmp_path,
        [
            ["Phase", "Ingredient", "Amount", None],
            [None, None, "%", "g"],
            ["A", "Aqua", "q.s.", None],
            ["A", "Glycerin", 4, 8],
        ],
    )
    converted(tmp_path, source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == [("A", "Aqua", None), ("A", "Glycerin", Decimal(4))]


def test_columns_may_be_named_by_hand(tmp_path: Path) -> None:
    text(tmp_path, "A,Aqua,ad 100,1\nA,Glycerin,4.5,2\nB,Panthenol,1,3\nB,Phenoxyethanol,0.9,4\n")
    assert run("in.csv", "out.formula.yaml", folder=tmp_path).returncode == 2
    converted(tmp_path, "--column", "phase=A", "--column", "ingredient=B", "--column", "percent=C", source="in.csv")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED


# --- what cannot be used


TWO = [
    ["Phase", "Ingredient", "%"],
    *ROWS,
    ["Total", None, 100],
    [],
    ["Phase", "Rohstoff", "%"],
    ["A", "Squalane", 100],
]


def test_two_tables_are_refused_with_the_range_that_names_one(tmp_path: Path) -> None:
    book(tmp_path, TWO)
    result = run("in.xlsx", "out.formula.yaml", folder=tmp_path)
    assert result.returncode == 2
    assert "two tables: one begins in row 1, another in row 8" in result.stderr
    assert not (tmp_path / "out.formula.yaml").exists()
    area = re.search(r"--range (\S+:\S+)", result.stderr)
    assert area is not None
    converted(tmp_path, "--range", area.group(1), source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == EXPECTED
    converted(tmp_path, "--range", "A8:C20", "--replace", source="in.xlsx")
    assert lines(tmp_path / "out.formula.yaml") == [("A", "Squalane", Decimal(100))]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (["Ingredient", "g", None, "Ingredient", "g"], "side by side"),
        (["Ingredient", "Version 1 (%)", "Version 2 (%)", None, None], "2 columns of percents: B «Version 1 (%)»"),
    ],
)
def test_tables_side_by_side_are_refused(row: list[str | None], said: str, tmp_path: Path) -> None:
    book(tmp_path, [row, ["Squalane", 5, 6, "Cera Alba", 5]])
    result = run("in.xlsx", "out.formula.yaml", folder=tmp_path)
    assert result.returncode == 2
    assert said in result.stderr


def test_several_sheets_with_a_table_want_a_name(tmp_path: Path) -> None:
    path = book(tmp_path, [["Ingredient", "%"], ["Squalane", 100]], title="Oil")
    made = openpyxl.load_workbook(path)
    made.create_sheet("Notes").append(["only words"])
    made.save(path)
    assert "left unread: sheet «Notes»" in run("in.xlsx", folder=tmp_path).stderr
    sheet = made.create_sheet("Wax")
    sheet.append(["Ingredient", "%"])
    sheet.append(["Cera Alba", 100])
    made.save(path)
    refused = run("in.xlsx", "out.formula.yaml", folder=tmp_path)
    assert (refused.returncode, "«Oil» and «Wax»; name one with --sheet" in refused.stderr) == (2, True)
    assert "name: Wax" in converted(tmp_path, "--sheet", "wax", source="in.xlsx")
    unknown = run("in.xlsx", "other.formula.yaml", "--sheet", "Butter", folder=tmp_path)
    assert (unknown.returncode, "«Oil», «Notes», «Wax»" in unknown.stderr) == (2, True)


def test_a_sheet_of_a_hundred_thousand_rows_is_refused_soon(tmp_path: Path) -> None:
    made = openpyxl.Workbook(write_only=True)
    sheet = made.create_sheet("Stock")
    sheet.append(["Ingredient", "%"])
    for number in range(100_000):
        sheet.append([f"material {number}", 1])
    made.save(tmp_path / "in.xlsx")
    result = run("in.xlsx", "out.formula.yaml", folder=tmp_path)
    assert (result.returncode, "more than 2000 filled rows" in result.stderr) == (2, True)
    text(tmp_path, "Ingredient;%\n" + "x;1\n" * 100_000, "long.csv")
    result = run("long.csv", "out.formula.yaml", folder=tmp_path)
    assert (result.returncode, "more than 2000 filled rows" in result.stderr) == (2, True)


ENCRYPTED = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2040) + "EncryptedPackage".encode("utf-16-le") + bytes(2000)
"""How a workbook with a password begins and what it holds (MS-CFB 2.2; MS-OFFCRYPTO 2.3.4.4)."""
OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2040) + "Workbook".encode("utf-16-le") + bytes(2000)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("in.xlsx", ENCRYPTED, "password"),
        ("in.xlsx", OLD, ".xls"),
        ("in.xlsx", b"", "empty"),
        ("in.xlsx", b"PK\x03\x04 broken", "damaged"),
        ("in.xlsx", b"Ingredient;%\n", "no xlsx workbook"),
        ("in.csv", b"", "empty"),
        ("in.csv", b"\n \n;;\n", "empty"),
        ("in.csv", b"a\0b;c\n", "bytes that no text has"),
        ("in.csv", b"PK\x03\x04", "workbook"),
        ("in.csv", b"Dear all,\nhere is the formula\n", "no row of headings"),
        ("in.csv", b"Ingredient;%\n", "no row has a name and an amount"),
        ("in.csv", b"Ingredient;g\nAqua;q.s.\nGlycerin;4\n", "nothing says how many grams"),
        ("in.csv", b"Ingredient;%\nAqua;900000000000\n", "out of all proportion"),
        ("in.csv", b"Ingredient;%\nAqua;" + b"1" * 200_000 + b"\n", "cannot be read as a table"),
    ],
)
def test_bad_input_gets_one_clear_line(name: str, content: bytes, said: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(content)
    result = run(name, "out.formula.yaml", folder=tmp_path)
    assert result.returncode == 2
    assert said in result.stderr
    assert result.stderr.count("\n") == 1
    assert not (tmp_path / "out.formula.yaml").exists()


def test_an_empty_workbook_and_one_that_is_not_there(tmp_path: Path) -> None:
    book(tmp_path, [])
    assert "the sheet «Sheet1» is empty" in run("in.xlsx", "out.formula.yaml", folder=tmp_path).stderr
    missing = run("nowhere.xlsx", "out.formula.yaml", folder=tmp_path)
    assert (missing.returncode, "cannot be opened" in missing.stderr) == (2, True)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["in.ods", "out.formula.yaml"], "save it as .xlsx"),
        (["in.csv", "out.toml"], "ends in .formula.yaml"),
        (["in.csv", "there.formula.yaml"], "already there"),
        (["in.csv", "out.formula.yaml", "--column", "percnt=B"], "did you mean «percent»"),
        (["in.csv", "out.formula.yaml", "--column", "percent=12"], "percent=D"),
        (["in.csv", "out.formula.yaml", "--range", "A1"], "write it as A3:F20"),
        (["in.csv", "out.formula.yaml", "--range", "X50:Z60"], "nothing in that range"),
        (["in.csv", "out.formula.yaml", "--sheet", "One"], "no sheets"),
        (["gel.formula.yaml", "out.pdf"], ".xlsx or .csv"),
        (["gel.formula.yaml", "out.xlsx", "--sheet", "One"], "IN is a formula file"),
        (["bad.formula.yaml", "out.xlsx"], "bad.formula.yaml:1:"),
        (["gel.formula.yaml", "no/where.xlsx"], "cannot be written"),
    ],
)
def test_arguments_that_do_not_fit(arguments: list[str], said: str, tmp_path: Path) -> None:
    text(tmp_path, "Ingredient,%\nSqualane,100\n")
    text(tmp_path, GEL, "gel.formula.yaml")
    text(tmp_path, "name: x\n", "bad.formula.yaml")
    text(tmp_path, "mine\n", "there.formula.yaml")
    result = run(*arguments, folder=tmp_path)
    assert result.returncode == 2
    assert said in result.stderr
    assert (tmp_path / "there.formula.yaml").read_text() == "mine\n"


def test_without_openpyxl_it_says_how_to_install_it(tmp_path: Path) -> None:
    book(tmp_path, [["Ingredient", "%"], ["Squalane", 100]])
    text(tmp_path, GEL, "gel.formula.yaml")
    code = (
        "import sys; sys.modules['openpyxl'] = None\nfrom formcheck.commands.main import main\n"
        "print(main(['convert', 'in.xlsx']), main(['convert', 'gel.formula.yaml', 'out.xlsx']))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path)
    assert result.stdout.strip() == "2 2"
    assert result.stderr.count("pip install openpyxl") == 2


def test_control_characters_of_a_table_are_shown_and_not_obeyed(tmp_path: Path) -> None:
    text(tmp_path, "Ingredient,%,Remarks\nSqua\u202elane,100,\x1b[31mred\n\u202eodd,some,x\n")
    result = run("in.csv", "out.formula.yaml", folder=tmp_path)
    assert result.returncode == 1
    for shown in (result.stdout, (tmp_path / "out.formula.yaml").read_text(encoding="utf-8")):
        assert "\u202e" not in shown
        assert "\x1b" not in shown


def test_the_review_of_what_was_written_goes_on(tmp_path: Path) -> None:
    book(tmp_path, [["Phase", "Ingredient", "%"], *ROWS])
    converted(tmp_path, "--name", "Bean: row gel", source="in.xlsx")
    review = Reviewer().review(str(tmp_path / "out.formula.yaml"))
    assert review.name == "Bean: row gel"
