"""The label command as a maker runs it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

FORMULA = """\
formcheck: 1
name: Hedge balm lotion
product: {use: leave-on, form: lotion, area: [hands], users: [adults], markets: [EU, US]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.3, CI 77491: 1.2}
  B: {Simmondsia Chinensis Seed Oil: 10, Lavandula Angustifolia Oil: 0.4, Secret: 0.5}
packaging: {container: bottle, size: 50 ml}
"""


def run(*arguments: str, folder: Path, stdin: bytes = b"") -> subprocess.CompletedProcess[str]:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", *arguments], input=stdin, capture_output=True, cwd=folder, timeout=120
    )
    out, err = result.stdout.decode(), result.stderr.decode()
    assert "Traceback" not in out + err
    return subprocess.CompletedProcess(result.args, result.returncode, out, err)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "hedge.formula.yaml").write_text(FORMULA, encoding="utf-8")
    return tmp_path


def test_every_market_of_the_formula_has_its_list(folder: Path) -> None:
    result = run("label", "hedge.formula.yaml", folder=folder)
    assert (result.returncode, result.stderr) == (0, "")
    union, states = result.stdout.split("--- US ")
    flat = " ".join(union.split())
    assert "Ingredients: Aqua, Simmondsia Chinensis Seed Oil, Glycerin," in flat
    assert "Lavandula Oil/Extract" in flat
    assert "Linalool" in flat
    assert "period after opening" in flat
    assert "responsible person" in flat
    assert "Secret: not in the reference" in flat
    flat = " ".join(states.split())
    assert "Ingredients: Water, Simmondsia Chinensis (Jojoba) Seed Oil, Glycerin," in flat
    assert "Linalool" not in flat
    assert "Iron Oxides." in flat
    assert max(map(len, result.stdout.splitlines())) <= 96


def test_markets_may_be_named(folder: Path) -> None:
    result = run("label", "hedge.formula.yaml", "--market", "uk", "--market", "CA", folder=folder)
    assert "--- UK" in result.stdout
    assert "--- CA" in result.stdout
    assert "--- EU" not in result.stdout
    wrong = run("label", "hedge.formula.yaml", "--market", "Mars", folder=folder)
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert "known are EU, UK, US and CA" in wrong.stderr


def test_oils_for_their_scent(folder: Path) -> None:
    result = run("label", "hedge.formula.yaml", "--oils-as-perfume", "--market", "US", folder=folder)
    assert "Fragrance" in result.stdout
    assert "Lavandula" not in result.stdout.split("\n\n")[1]


SHAPE = {
    "type": "object",
    "required": ["format", "file", "name", "labels"],
    "properties": {
        "format": {"const": 1},
        "labels": {
            "type": "array",
            "items": {
                "required": [
                    "market", "law", "tables", "list", "ingredients", "wordings", "given", "missing", "keeps", "checks",
                ],
                "properties": {
                    "ingredients": {
                        "items": {
                            "required": ["name", "percent", "part", "materials", "raw materials", "about"],
                            "properties": {
                                "part": {"enum": ["by weight", "any order", "allergen", "colourant"]},
                                "percent": {"anyOf": [{"type": "null"}, {"pattern": r"^\d+(\.\d+)?$"}]},
                            },
                        }
                    }
                },
            },
        },
    },
}  # fmt: skip


def test_json_has_the_documented_shape(folder: Path) -> None:
    result = run("label", "hedge.formula.yaml", "--format", "json", "--output", "label.json", folder=folder)
    assert (result.returncode, result.stdout) == (0, "")
    data = json.loads((folder / "label.json").read_text(encoding="utf-8"))
    jsonschema.validate(data, SHAPE)
    assert [label["market"] for label in data["labels"]] == ["EU", "US"]
    assert data["labels"][0]["given"][0]["answer"] == "50 ml"


def test_bad_input(folder: Path) -> None:
    two = run("label", "-", stdin=FORMULA.replace("Glycerin: 4", "Glycerin: q.s.").encode(), folder=folder)
    assert (two.returncode, two.stdout) == (2, "")
    assert two.stderr.startswith("-:4:1:")
    assert two.stderr.count("\n") == 1
    assert run("label", "absent.yaml", folder=folder).returncode == 2
    assert run("label", "hedge.formula.yaml", "--output", "hedge.formula.yaml", folder=folder).returncode == 2


def test_a_market_without_labels_is_left_out_aloud(folder: Path) -> None:
    text = FORMULA.replace("[EU, US]", "[EU, JP]").encode()
    result = run("label", "-", stdin=text, folder=folder)
    assert result.returncode == 0
    assert "JP" in result.stderr
    assert "--- EU" in result.stdout


def test_hostile_names_are_shown_and_not_obeyed(folder: Path) -> None:
    text = FORMULA.replace("Secret", '"\\e[2J\\u202Ex"').encode()
    result = run("label", "-", stdin=text, folder=folder)
    assert "\x1b" not in result.stdout
    assert "<U+202E>" in result.stdout
