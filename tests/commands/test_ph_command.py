"""The ph command: what it shows, in both formats, and what it asks for where something is missing."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from formcheck.commands.main import main

GEL = """\
formcheck: 1
name: Cold-frame gel
code: CF-1
product: {use: leave-on, form: gel, area: [hands]}
batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1, Sodium Benzoate: 0.3, Plum bark liquor: 1}
  B: {3-O-Ethyl Ascorbic Acid: 2, Panthenol: 1}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - add: B
    into: A
  - adjust pH: A
    to: 4.5
    with: Citric Acid
    strength: 20 %
  - measure pH: A
finished: {pH: 4.5 ± 0.2}
"""


def written(folder: Path, text: str, name: str = "gel.formula.yaml") -> str:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def as_json(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert main(["ph", *arguments, "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == 1
    assert (data["plan"] is None) != (data["plan missing"] is None)
    return dict(data)


def as_text(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["ph", *arguments]) == 0
    return capsys.readouterr().out


# --- JSON


def test_the_whole_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, GEL)
    data = as_json(capsys, path)
    assert data["file"] == path
    assert data["name"] == "Cold-frame gel"
    assert data["target"] == pytest.approx([4.3, 4.7])
    low, high = data["band"]
    assert low < data["predicted pH"] < high
    assert data["left out"] == ["Plum bark liquor"]
    assert data["left out because"]["Plum bark liquor"]
    windows = {each["name"]: each for each in data["windows"]}
    assert (windows["3-O-Ethyl Ascorbic Acid"]["low"], windows["3-O-Ethyl Ascorbic Acid"]["high"]) == (4, 5)
    assert windows["Sodium Benzoate"]["low"] is None
    assert windows["Panthenol"]["says"] == "stable pH"
    assert data["common range"] == [4, 5]
    assert data["clash"] is None
    assert data["cautions"]


def test_the_plan_adds_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = as_json(capsys, written(tmp_path, GEL))["plan"]
    assert plan["reagent"] == "Citric Acid"
    assert plan["strength"] == 20
    assert plan["step"] == 3
    assert plan["start"] == "predicted"
    assert sum(step["grams"] for step in plan["steps"]) == pytest.approx(plan["grams"], rel=0.01)
    assert plan["grams range"][0] <= plan["grams"] <= plan["grams range"][1]
    assert plan["percent of batch"] == pytest.approx(plan["grams"] / 200 * 100, rel=0.01)
    assert plan["drops"] == pytest.approx(plan["grams"] / plan["drop"], abs=1)
    expected = [step["expected pH"] for step in plan["steps"]]
    assert expected == sorted(expected, reverse=True)
    assert expected[-1] == pytest.approx(4.5, abs=0.02)


# Common practice, no source: a lightly buffered gel that came out near pH 6 takes well under 2 % of a 20 % citric acid
# solution to come down to 4.5, and most of it goes in first.
def test_from_a_measured_pH(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = as_json(capsys, written(tmp_path, GEL), "--measured", "5.9")["plan"]
    assert plan["start"] == "measured"
    assert plan["start pH"] == 5.9
    assert 0.1 < plan["grams"] < 4.0
    assert plan["steps"][0]["grams"] >= plan["steps"][1]["grams"]


def test_another_reagent_and_target(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, GEL)
    lactic = as_json(capsys, path, "--with", "lactic acid", "--strength", "10 %", "--measured", "6")["plan"]
    assert (lactic["reagent"], lactic["strength"]) == ("Lactic Acid", 10)
    up = as_json(capsys, path, "--with", "Sodium Hydroxide Solution 10 Percent", "--to", "6.2", "--measured", "5")
    assert up["target"] == [6.2, 6.2]
    assert up["plan"]["strength"] == 10
    assert any("burns" in caution for caution in up["cautions"])


def test_pure_powder_is_not_counted_in_drops(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = as_json(capsys, written(tmp_path, GEL), "--with", "Citric Acid", "--strength", "100")["plan"]
    assert plan["drops"] is None
    assert plan["drop"] is None
    assert "drop" not in json.dumps([plan["steps"], plan["assumed"]]).replace('"drops"', "")


def test_a_clash_says_what_to_replace(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, GEL.replace("Panthenol: 1", "Sodium Ascorbyl Phosphate: 3"))
    data = as_json(capsys, path)
    assert data["common range"] is None
    assert [each["name"] for each in data["clash"]["replace"]] == ["Sodium Ascorbyl Phosphate"]
    assert data["clash"]["replace"][0]["alternatives"]
    assert "3-O-Ethyl Ascorbic Acid" in data["clash"]["agree"]


def test_the_amount_does_not_depend_on_how_the_batch_is_scaled(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    small = as_json(capsys, written(tmp_path, GEL))["plan"]
    large = as_json(capsys, written(tmp_path, GEL.replace("200 g", "2 kg")))["plan"]
    assert large["grams"] == pytest.approx(10 * small["grams"], rel=0.01)
    assert large["percent of batch"] == pytest.approx(small["percent of batch"], rel=0.01)


# --- what is missing


@pytest.mark.parametrize(
    ("change", "arguments", "words"),
    [
        (("batch: {size: 200 g}\n", ""), [], "batch size is not given"),
        (("    strength: 20 %\n", ""), [], "strength of the Citric Acid solution is not given"),
        (("    to: 4.5\n", ""), ["--to", "0.4"], "allowed is down to"),
        (("4.5 ± 0.2", "9"), ["--to", "9"], "a base is needed"),
        (("with: Citric Acid", "with: Plum bark liquor"), [], "Plum bark liquor"),
        (("Citric Acid", "Citric Acid"), ["--with", "Citrik Acid"], "did you mean «citric acid»"),
        (("    with: Citric Acid\n    strength: 20 %\n", ""), [], "an acid is needed"),
        (("Aqua: q.s.", "Aqua: 5, Helianthus Annuus Seed Oil: q.s."), [], "less than 10 % of water"),
        (("Aqua: q.s., Glycerin: 4", "Aqua: q.s., Glycerin: q.s."), [], "percents cannot be worked out"),
        (("Citric Acid", "Citric Acid"), ["--measured", "4.55"], "nothing to add"),
    ],
)
def test_one_clear_answer_where_there_is_no_plan(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    change: tuple[str, str],
    arguments: list[str],
    words: str,
) -> None:
    assert change[0] in GEL
    path = written(tmp_path, GEL.replace(*change))
    data = as_json(capsys, path, *arguments)
    assert data["plan"] is None
    assert words in data["plan missing"]
    if "water" not in words and "percents" not in words:
        assert data["predicted pH"] is not None
        assert data["windows"]
    text = as_text(capsys, path, *arguments)
    assert "No plan" in text
    assert words.lower() in re.sub(r"\s+", " ", text).lower()


def test_without_a_target_everything_else_is_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = GEL.replace("finished: {pH: 4.5 ± 0.2}\n", "").replace("    to: 4.5\n", "")
    data = as_json(capsys, written(tmp_path, text))
    assert data["target"] is None
    assert data["predicted pH"]
    assert "finished" in data["plan missing"]


def test_no_prediction_says_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    soap = "formcheck: 1\nname: Soap\nphases:\n  A: {Aqua: q.s., Potassium Cocoate: 20}\nfinished: {pH: 9.6}\n"
    data = as_json(capsys, written(tmp_path, soap))
    assert data["predicted pH"] is None
    assert data["band"] is None
    assert "soap" in data["not predicted"]


# --- the page


def test_the_page_fits_eighty_columns_without_colour(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("formcheck.reports.terminal.width_of", lambda stream: 80)
    clash = GEL.replace("Panthenol: 1", "Sodium Ascorbyl Phosphate: 3")
    for text in (GEL, clash):
        page = as_text(capsys, written(tmp_path, text), "--measured", "5.9")
        assert "\x1b" not in page
        path = str(tmp_path)
        assert max(len(line) for line in page.splitlines() if path not in line) <= 80


def test_every_bar_stands_where_its_window_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = as_text(capsys, written(tmp_path, GEL)).splitlines()
    scale = next(line for line in lines if re.fullmatch(r" +2 +3 +4 +5 .*12", line))
    at = {pH: scale.index(f" {pH}") + 1 for pH in range(2, 10)}
    bar = next(line for line in lines if line.startswith("3-O-Ethyl"))
    assert bar[at[4]] == "["
    assert bar[at[5]] == "]"
    keeps = next(line for line in lines if line.startswith("Panthenol"))
    assert (keeps[at[3]], keeps[at[5]], keeps[at[7]]) == ("[", "-", "]")
    benzoate = next(line for line in lines if line.startswith("Sodium Benzoate"))
    assert benzoate[at[2]] == "<"
    skin = next(line for line in lines if line.startswith("skin"))
    assert skin.endswith("3.5 to 8")


def test_a_target_outside_a_window_is_marked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = as_text(capsys, written(tmp_path, GEL), "--to", "6")
    assert re.search(r"^3-O-Ethyl Ascorbic Acid .* 4 to 5 !$", page, re.M)
    assert not re.search(r"^Panthenol .*!$", page, re.M)


def test_the_page_says_how_to_go_about_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = re.sub(r"\s+", " ", as_text(capsys, written(tmp_path, GEL), "--measured", "5.9"))
    for words in (
        "Plan, step 3: from 5.9 (measured) to 4.5",
        "stir until even, then measure",
        "one drop is 0.05 ml",
        "data sheet of Citric Acid",
        "Gloves and goggles",
        "Never go back and forth",
        "Plum bark liquor, 1 %: nothing is known of it",
        "All agree at pH 4 to 5",
    ):
        assert words in page, words


def test_earlier_steps_have_their_own_plans(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = GEL.replace("Hydroxyethylcellulose: 1", "Carbomer: 0.4").replace(
        "  - sprinkle: Hydroxyethylcellulose\n    into: A\n",
        "  - sprinkle: Carbomer\n    into: A\n  - neutralise: A\n    with: Sodium Hydroxide\n    strength: 10 %\n    to: 6.5\n",
    )
    data = as_json(capsys, written(tmp_path, text))
    (earlier,) = data["earlier plans"]
    assert (earlier["step"], earlier["plan"]["reagent"]) == (2, "Sodium Hydroxide")
    assert data["plan"]["start pH"] == pytest.approx(6.5, abs=0.1)


def test_control_characters_of_a_name_are_shown_not_obeyed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = GEL.replace("name: Cold-frame gel", 'name: "Cold \\x1b[31mframe"')
    assert "\x1b" not in as_text(capsys, written(tmp_path, text))


# --- bad input


def test_an_unreadable_file_ends_with_2_and_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, "formcheck: 1\nname: T\nphases:\n  A:\n    Aqua: 3,5\n")
    assert main(["ph", path]) == 2
    error = capsys.readouterr().err
    assert error.startswith(f"{path}:5:")
    assert main(["ph", str(tmp_path / "absent.yaml")]) == 2
    assert "absent.yaml:1:1: " in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments",
    [["--measured", "15"], ["--measured", "sour"], ["--strength", "0"], ["--strength", "120"], ["--to", "-1"]],
)
def test_numbers_that_cannot_be(tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["ph", written(tmp_path, GEL), *arguments])
    assert stop.value.code == 2
    assert "Traceback" not in capsys.readouterr().err


def test_it_reads_standard_input_and_other_formats(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "formcheck", "ph", "-", "--format", "json"],
        input=GEL.encode(),
        capture_output=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["plan"]["reagent"] == "Citric Acid"


def test_control_characters_of_a_file_are_shown_and_not_obeyed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ph", written(tmp_path, GEL.replace("code: CF-1", '"co\\e[31mde": CF-1'))]) == 2
    said = capsys.readouterr().err
    assert "co<U+001B>[31mde" in said
    assert "\x1b" not in said


def test_a_measured_pH_in_the_file_is_offered_as_a_start(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, GEL.replace("4.5 ± 0.2}", "4.5 ± 0.2, measured pH: 6.1}"))
    assert "plan from it: --measured 6.1." in " ".join(as_text(capsys, path).split())
    assert "plan from it" not in as_text(capsys, path, "--measured", "6.1")
