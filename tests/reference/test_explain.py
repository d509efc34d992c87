"""`formcheck explain`: a material as a page and as data, other names, near names, the list of all."""

from __future__ import annotations

import json
from typing import Any

import pytest

from formcheck.commands.main import main
from formcheck.reference.store import open_reference

Capture = pytest.CaptureFixture[str]


def page(capsys: Capture, *arguments: str) -> str:
    assert main(["explain", *arguments]) == 0
    return capsys.readouterr().out


def data(capsys: Capture, *arguments: str) -> Any:
    return json.loads(page(capsys, *arguments, "--format", "json"))


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_a_page_says_who_it_is_and_what_it_does(capsys: Capture) -> None:
    text = page(capsys, "potassium sorbate")
    assert text.startswith("Potassium Sorbate\n")
    flat = one_line(text)
    for words in (
        "CAS 24634-61-5",
        "class organic acid preservative, electrolyte",
        "pKa 4.76",
        "molar mass 150.2 g/mol; from the formula",
        "58 % (in water, at 20 °C)",
        "rules that look",
    ):
        assert words in flat


def test_every_fact_of_the_page_has_a_mark_that_leads_to_its_source(capsys: Capture) -> None:
    text = page(capsys, "Potassium Sorbate")
    body, sources = text.split("\nSources\n")
    listed = {line.split("]")[0].strip(" [") for line in sources.splitlines() if line.strip().startswith("[")}
    used = {mark.split("]")[0] for mark in body.split("[")[1:]}
    assert used == listed
    assert "Regulation (EC) No 1223/2009" in one_line(sources)
    assert "Common practice of the trade, no source" in one_line(sources)


def test_sources_that_disagree_are_both_shown(capsys: Capture) -> None:
    flat = one_line(page(capsys, "Sodium Benzoate"))
    assert "pH window up to 5.5" in flat
    assert "2 to 5, on record but not used" in flat


def test_doubt_is_shown(capsys: Capture) -> None:
    assert "(low certainty)" in one_line(page(capsys, "Sodium Ascorbyl Phosphate"))


def test_it_defers_to_the_supplier_s_sheet(capsys: Capture) -> None:
    assert "your supplier's data sheets and local rules come first" in one_line(page(capsys, "glycerin"))


@pytest.mark.parametrize("name", ["GLYCERIN", "glycerine", "Glycerol", "vegetable glycerine", "E422"])
def test_other_names_lead_to_the_same_page(capsys: Capture, name: str) -> None:
    assert page(capsys, name) == page(capsys, "Glycerin")


def test_the_page_keeps_to_a_readable_width(capsys: Capture) -> None:
    assert max(len(line) for line in page(capsys, "Phenoxyethanol").splitlines()) <= 100


def test_facts_as_data(capsys: Capture) -> None:
    """The form that is promised: property, value, unit, condition, source, certainty."""
    found = data(capsys, "sodium benzoate")
    assert found["material"] == "Sodium Benzoate"
    assert found["format"] == 1
    for fact in found["facts"]:
        assert list(fact)[:6] == ["property", "value", "unit", "condition", "source", "certainty"]
        assert fact["certainty"] in ("high", "medium", "low")
        assert set(fact["source"]) <= set(found["sources"])
    by_property = {fact["property"]: fact for fact in found["facts"]}
    assert by_property["pKa"]["value"] == [4.2]
    assert by_property["releases"]["value"] == {"Benzoic Acid": 1.0}
    assert by_property["solubility"]["unit"] == "%"
    doses = {fact["condition"]: fact["value"] for fact in found["facts"] if fact["property"] == "dose"}
    assert doses == {"leave-on": [0.2, 0.5], "rinse-off": [0.2, 1.0]}
    windows = [(fact["value"], fact.get("used", True)) for fact in found["facts"] if fact["property"] == "pH window"]
    assert windows == [([None, 5.5], True), ([2.0, 5.0], False)]


def test_units_of_data(capsys: Capture) -> None:
    facts = {fact["property"]: fact for fact in data(capsys, "xanthan gum")["facts"]}
    assert (facts["hydration time"]["value"], facts["hydration time"]["unit"]) == (1800.0, "s")
    (melting,) = [fact for fact in data(capsys, "candelilla wax")["facts"] if fact["property"] == "melting point"]
    assert melting["unit"] == "°C"
    assert 60 < melting["value"][0] < melting["value"][1] < 80


def test_every_material_has_a_page_and_data_in_json(capsys: Capture) -> None:
    """One of each class: nothing in any file breaks the page."""
    reference = open_reference()
    shown: set[str] = set()
    for material in reference.all():
        if material.classes - shown:
            shown |= material.classes
            assert page(capsys, material.name).startswith(material.name)
            json.loads(json.dumps(data(capsys, material.name)))
    assert len(shown) > 100


@pytest.mark.parametrize(
    ("name", "proposal"),
    [("niacinamid", "Niacinamide"), ("Xantan gum", "Xanthan Gum"), ("active-to-hot", "active-too-hot")],
)
def test_an_unknown_name_proposes_others_and_gives_status_2(capsys: Capture, name: str, proposal: str) -> None:
    assert main(["explain", name]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert f"«{name}» is neither a material of the reference nor a rule; near names are" in captured.err
    assert proposal in captured.err


def test_a_name_like_no_other_points_at_the_list(capsys: Capture) -> None:
    assert main(["explain", "qqqqqqqqq"]) == 2
    assert "formcheck explain --materials lists all" in capsys.readouterr().err


def test_no_name_is_an_error(capsys: Capture) -> None:
    assert main(["explain"]) == 2
    assert "name a material or a rule" in capsys.readouterr().err


def test_the_list_of_all(capsys: Capture) -> None:
    lines = page(capsys, "--materials").splitlines()
    assert len(lines) == len(list(open_reference().headings)) > 600
    assert "Xanthan Gum: gum" in lines
    names = [line.split(": ")[0].casefold() for line in lines]
    assert names.index("aqua") < names.index("glycerin") < names.index("zinc oxide")


def test_the_list_of_all_as_data(capsys: Capture) -> None:
    found = data(capsys, "--materials")["materials"]
    aqua = next(material for material in found if material["name"] == "Aqua")
    assert aqua["class"] == ["water"]
    assert "water" in aqua["also"]


def test_a_rule_has_a_page_too(capsys: Capture) -> None:
    text = page(capsys, "active too hot")
    assert "active-too-hot" in text
    assert data(capsys, "active-too-hot")["format"] == 1
