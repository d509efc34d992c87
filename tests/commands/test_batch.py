"""The batch command as a maker runs it: the sheet in four forms, at other sizes, on hold, and bad input in one line."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
import sys
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest

SOUND = """\
formcheck: 1
name: Garden hand gel
code: G-1
product: {use: leave-on, form: gel, area: [hands], users: [adults], markets: [EU]}
batch: {size: 200 g, balance: 0.01 g}
phases:
  A:
    Aqua: q.s.
    Glycerin: {percent: 5, lot: GL-17, note: the thick one}
    Xanthan Gum: 0.6
    Sodium Phytate: 0.1
  B: {Phenoxyethanol: 0.9, Panthenol: 1}
procedure:
  - {disperse: Xanthan Gum, in: Glycerin}
  - {add: Aqua, into: A}
  - {hydrate: A, for: 40 min}
  - {add: B, into: A}
  - {adjust pH: A, to: 5.5, with: Citric Acid, strength: 20 %}
  - {measure pH: A}
  - {rest: A, for: 12 h}
  - {fill: A}
finished: {pH: 5.5 ± 0.3}
packaging: {container: airless bottle, material: PP, wall: opaque}
"""
HELD = SOUND.replace("Phenoxyethanol: 0.9", "Phenoxyethanol: 1.9")
SHORT = SOUND.replace("q.s.", "90")
HOSTILE = SOUND.replace("Garden hand gel", '"<script>x</script>]]> \\u202E\'gel"').replace(
    "Panthenol: 1", "'=1+1': {percent: 1, lot: '@SUM(1)', note: '</td><img src=x>'}"
)


def run(*arguments: str, folder: Path, stdin: bytes = b"") -> subprocess.CompletedProcess[str]:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", *arguments], input=stdin, capture_output=True, cwd=folder, timeout=120
    )
    out, err = result.stdout.decode(), result.stderr.decode()
    assert "Traceback" not in out + err
    return subprocess.CompletedProcess(result.args, result.returncode, out, err)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in (("sound", SOUND), ("held", HELD), ("short", SHORT), ("hostile", HOSTILE)):
        (tmp_path / f"{name}.formula.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def test_a_sheet_has_what_a_maker_needs(folder: Path) -> None:
    result = run("batch", "sound.formula.yaml", folder=folder)
    assert result.returncode == 0
    assert result.stderr == ""
    for words in (
        "Garden hand gel", "G-1", "200.00 g in all", "0.01 g", "GL-17", "the thick one", "[ ] Glycerin", "10.00",
        "Wet out Xanthan Gum (1.20 g) in Glycerin (10.00 g)", "for 40 min", "Fill vessel A", "PH PLAN", "Citric Acid",
        "safety data sheet", "Weighing checked by", "What went otherwise than written", "Batch number",
    ):  # fmt: skip
        assert words in result.stdout, words
    assert "HOLD" not in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 96


def test_on_hold_is_said_large_and_by_the_status(folder: Path) -> None:
    for form, large in (("text", " ###   #   #       #   #   ###   #      ####"), ("html", "<strong>ON HOLD</strong>")):
        result = run("batch", "held.formula.yaml", "--format", form, folder=folder)
        assert result.returncode == 1
        assert large in result.stdout
        assert "1 critical" in result.stdout
        assert "1.9 %" in result.stdout
    data = json.loads(run("batch", "held.formula.yaml", "--format", "json", folder=folder).stdout)
    assert [banner["words"] for banner in data["banners"]] == ["ON HOLD"]
    rows = list(csv.DictReader(io.StringIO(run("batch", "held.formula.yaml", "--format", "csv", folder=folder).stdout)))
    assert {row["status"] for row in rows} == {"ON HOLD"}


@pytest.mark.parametrize(
    ("arguments", "total"),
    [
        ((), "200.00"),
        (("--size", "750 g"), "750.00"),
        (("--size", "750", "g", "--loss", "3", "%"), "773.20"),  # 750 / 0.97
        (("--size", "1 lb", "--balance", "0.1 g"), "453.6"),  # 453.59237 g, NIST SP 811
        (("--units", "4", "x", "30", "g", "--loss", "4 %"), "125.00"),
        (("--units", "12 x 50 ml", "--density", "1.01"), "606.00"),
    ],
)
def test_the_weights_of_other_sizes(folder: Path, arguments: tuple[str, ...], total: str) -> None:
    result = run("batch", "sound.formula.yaml", *arguments, "--format", "csv", folder=folder)
    assert result.returncode == 0, result.stderr
    rows = [row for row in csv.DictReader(io.StringIO(result.stdout)) if row["vessel"]]
    weights = {row["material"]: Decimal(row["grams"]) for row in rows}
    assert abs(sum(weights.values()) - Decimal(total)) <= Decimal("0.03") * len(rows)
    assert weights["Glycerin"] == pytest.approx(Decimal(total) / 20, abs=Decimal("0.06"))
    json_result = run("batch", "sound.formula.yaml", *arguments, "--format", "json", folder=folder)
    assert json.loads(json_result.stdout)["facts"]["To be weighed"] == f"{total} g in all"


def test_the_file_may_stand_after_a_quantity(folder: Path) -> None:
    before = run("batch", "sound.formula.yaml", "--size", "1 kg", folder=folder)
    for words in (("--size", "1", "kg", "sound.formula.yaml"), ("--size", "1kg", "sound.formula.yaml")):
        assert run("batch", *words, folder=folder).stdout == before.stdout


def test_the_review_is_that_of_the_size_made(folder: Path) -> None:
    """A gram of xanthan gum is weighed well on 0.01 g, six milligrams are not."""
    assert "too small for a balance" not in run("batch", "sound.formula.yaml", folder=folder).stdout
    assert "too small for a balance" in run("batch", "sound.formula.yaml", "--size", "10 g", folder=folder).stdout


BAD = [
    (("--size", "0 g"), "«0 g» as the batch size; it has to be more than nothing"),
    (("--size", "-5", "g"), "«-5 g» as the batch size; it has to be more than nothing"),
    (("--size", "750"), "«750» has no unit; the batch size needs g, kg, mg, oz or lb"),
    (("--size", "1,5 kg"), "write 1.5 kg"),
    (("--size", "1e9 kg"), "allowed is up to 100 t"),
    (("--units", "12"), "write them as 12 x 50 ml"),
    (("--units", "0 x 50 ml"), "whole number from 1"),
    (("--units", "12 x 50"), "it is a number with ml, l, g"),
    (("--units", "12 x 0 ml"), "more than nothing"),
    (("--size", "1 kg", "--units", "2 x 50 g"), "give one of them"),
    (("--loss", "100 %"), "from 0 to below 100"),
    (("--balance", "200 g"), "step of the balance is 200 g for a batch of 200 g"),
    (("--balance", "0 g"), "more than nothing"),
    (("--density", "9"), "between 0.5 and 5 g/ml"),
]


@pytest.mark.parametrize(
    ("arguments", "words"), BAD, ids=lambda value: " ".join(value) if isinstance(value, tuple) else ""
)
def test_bad_input_gets_one_clear_line(folder: Path, arguments: tuple[str, ...], words: str) -> None:
    result = run("batch", "sound.formula.yaml", *arguments, folder=folder)
    assert result.returncode == 2
    assert result.stdout == ""
    assert words in result.stderr
    assert result.stderr.count("\n") == 1


def test_no_size_no_sheet(folder: Path) -> None:
    text = SOUND.replace("batch: {size: 200 g, balance: 0.01 g}\n", "")
    result = run("batch", "-", stdin=text.encode(), folder=folder)
    assert (result.returncode, result.stdout) == (2, "")
    assert "--size 200 g" in result.stderr
    assert (
        "0.01 g (none given, so this is assumed)"
        in run("batch", "-", "--size", "1 kg", stdin=text.encode(), folder=folder).stdout
    )


def test_what_does_not_add_up_gets_a_sheet_only_when_told(folder: Path) -> None:
    result = run("batch", "short.formula.yaml", folder=folder)
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.startswith("short.formula.yaml:6:1: the percents add to 97.6, 2.4 short of 100;")
    assert "--as-written" in result.stderr
    told = run("batch", "short.formula.yaml", "--as-written", "--format", "json", folder=folder)
    assert told.returncode == 1
    data = json.loads(told.stdout)
    assert "DOES NOT ADD UP" in [banner["words"] for banner in data["banners"]]
    assert data["phases"][0]["rows"][0]["grams"] == "180.00"
    open_lines = SOUND.replace("Panthenol: 1", "Panthenol: q.s.").encode()
    assert "2 lines are q.s." in run("batch", "-", stdin=open_lines, folder=folder).stderr
    left_open = run("batch", "-", "--as-written", "--format", "json", stdin=open_lines, folder=folder)
    assert json.loads(left_open.stdout)["phases"][0]["rows"][0]["grams"] == ""


def test_files_are_left_whole_and_formulas_alone(folder: Path) -> None:
    before = (folder / "sound.formula.yaml").read_bytes()
    assert run("batch", "sound.formula.yaml", "--output", "sound.formula.yaml", folder=folder).returncode == 2
    assert run("batch", "sound.formula.yaml", "--output", "no/such/sheet", folder=folder).returncode == 2
    assert (folder / "sound.formula.yaml").read_bytes() == before
    assert run("batch", "sound.formula.yaml", "--output", "sheet.txt", folder=folder).stdout == ""
    assert "Garden hand gel" in (folder / "sheet.txt").read_text(encoding="utf-8")
    assert not list(folder.glob("*.part"))


def test_unreadable_and_absent_files(folder: Path) -> None:
    assert "absent.yaml:1:1: cannot be opened" in run("batch", "absent.yaml", folder=folder).stderr
    assert "one formula file" in run("batch", folder=folder).stderr
    (folder / "bad.formula.yaml").write_text("formcheck: 1\nname: [\n")
    result = run("batch", "bad.formula.yaml", folder=folder)
    assert (result.returncode, result.stdout) == (2, "")
    assert "bad.formula.yaml:3:1:" in result.stderr


# --- the printed page


class Balance(HTMLParser):
    """Counts open tags, and keeps the text and every attribute that could fetch something."""

    VOID = frozenset(("meta", "br", "img", "link", "input", "hr"))

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.fetched: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.fetched += [name for name, _ in attrs if name in ("src", "href", "srcset", "action", "style")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_is_well_formed_and_self_contained(folder: Path) -> None:
    for name in ("sound", "held", "hostile"):
        page = run("batch", f"{name}.formula.yaml", "--format", "html", folder=folder).stdout
        parser = Balance()
        parser.feed(page)
        assert parser.open == []
        assert not parser.tags & {"script", "img", "link", "iframe"}
        assert parser.fetched == []
        assert not re.search(r"https?:|@import|url\(", page)
        assert page.count("<style>") == page.count("</style>") == 1
        for words in ("Weigh out", "Signed", "Before you start", "lot", "weighed g"):
            assert words in parser.text
    assert (
        "size: letter"
        in run("batch", "sound.formula.yaml", "--format", "html", "--paper", "letter", folder=folder).stdout
    )


def test_hostile_texts_are_shown_and_not_obeyed(folder: Path) -> None:
    page = run("batch", "hostile.formula.yaml", "--format", "html", folder=folder).stdout
    assert "<script>" not in page
    assert "\u202e" not in page
    assert "&lt;script&gt;" in page
    text = run("batch", "hostile.formula.yaml", folder=folder).stdout
    assert "\u202e" not in text
    assert "<U+202E>" in text
    table = run("batch", "hostile.formula.yaml", "--format", "csv", folder=folder).stdout
    cells = [cell for row in csv.reader(io.StringIO(table)) for cell in row]
    assert "'=1+1" in cells
    assert "'@SUM(1)" in cells
    assert not [cell for cell in cells if cell.startswith(("=", "@", "+", "-"))]


CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
PDFTOTEXT = shutil.which("pdftotext")


@pytest.mark.skipif(not (CHROMIUM and PDFTOTEXT), reason="needs chromium and pdftotext")
@pytest.mark.parametrize(("paper", "size"), [("a4", "595 x 842"), ("letter", "612 x 792")])
def test_it_prints(folder: Path, paper: str, size: str) -> None:
    """ISO 216 A4 is 210 by 297 mm, ANSI Letter 8.5 by 11 inches; in points as the page box of the PDF has them."""
    run("batch", "held.formula.yaml", "--format", "html", "--paper", paper, "--output", "sheet.html", folder=folder)
    assert CHROMIUM
    assert PDFTOTEXT
    subprocess.run(
        [
            CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            f"--user-data-dir={folder / 'profile'}", "--no-pdf-header-footer",
            f"--print-to-pdf={folder / 'sheet.pdf'}", f"file://{folder / 'sheet.html'}",
        ],
        capture_output=True, timeout=120, check=True,
    )  # fmt: skip
    pdf = (folder / "sheet.pdf").read_bytes()
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert box
    assert f"{float(box[1]):.0f} x {float(box[2]):.0f}" == size
    text = subprocess.run([PDFTOTEXT, "sheet.pdf", "-"], capture_output=True, cwd=folder, check=True).stdout.decode()
    pages = [page for page in text.split("\f") if page.strip()]
    assert len(pages) > 1
    for page in pages:  # the words stand on every page, so that a loose one cannot be mistaken
        assert "ON HOLD" in page
