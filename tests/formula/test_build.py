"""A document becomes a formula; everything wrong with it is reported in one go, each at its place."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from formcheck.commands.schema import text as schema_text
from formcheck.formula import build as builder
from formcheck.formula.model import Formula
from formcheck.reading import files
from formcheck.reading.document import Unreadable
from formcheck.reference.store import open_reference
from formcheck.review.run import Reviewer

WHOLE = """\
formcheck: 1
name: Allotment hand gel
code: HG-03
version: 2
product: {use: leave-on, form: gel, area: [hands], users: [adults], markets: [EU, UK]}
batch: {size: 200 g, balance: 0.01 g}
room: 20 °C
phases:
  A:
    Aqua: q.s.
    Glycerin: {percent: 4 %, grams: 8, lot: G-17, note: warm first}
    Xanthan Gum: 0.6
  B: {Panthenol: 1, Gentle preserver: 1}
materials:
  Gentle preserver:
    contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}
    maximum temperature: 104 °F
    pH window: [null, 8]
    dose: 0.5 to 1
procedure:
  - disperse: Xanthan Gum
    in: Glycerin
  - heat: A
    to: 60 °C
    hold: 15 min
  - add: [B, Panthenol]
    into: A
    at: room
  - neutralize: A
    with: Sodium Hydroxide
    strength: 20 %
    amount: 1.2 g
    to: 5.5
  - measure pH: A
  - fill: A
finished: {pH: 5.5 ± 0.3, measured pH: 5.46}
packaging: {container: airless bottle, material: PP, wall: opaque, carton: yes, size: 50 ml}
claims: [moisturises]
deviations:
  - {rule: balance-too-coarse, reason: pilot batch only, accepted by: R. Quill, until: 2027-03-31}
"""


def build(text: str, name: str = "x.formula.yaml") -> Formula:
    return builder.build(files.read(name, text.encode()), lambda: open_reference().properties)


def problems(text: str) -> list[tuple[int, int, str]]:
    with pytest.raises(Unreadable) as caught:
        build(text)
    return [(*problem.place, problem.message) for problem in caught.value.problems]


def test_the_whole_format() -> None:
    formula = build(WHOLE)
    assert formula.room_celsius == 20
    assert formula.batch.size_g == 200
    line = formula.phases[0].lines[1]
    assert (line.percent, line.grams, line.lot, line.place.line) == (Decimal(4), 8, "G-17", 11)
    assert formula.phases[0].lines[0].is_remainder
    facts = {fact.property: fact.value for fact in formula.materials[0].facts}
    assert facts["maximum temperature"] == pytest.approx(40)
    assert facts["pH window"] == (None, 8)
    assert facts["dose"] == (0.5, 1)
    heat, add, neutralise = formula.procedure[1:4]
    assert heat.to is not None
    assert (heat.to.celsius, heat.hold_seconds) == (60, 900)
    assert add.at is not None
    assert (add.objects, add.at.celsius, add.at.room) == (("B", "Panthenol"), 20, True)
    assert (neutralise.verb, neutralise.amount_g, neutralise.strength_percent) == ("neutralise", Decimal("1.2"), 20)
    assert formula.finished.pH == (pytest.approx(5.2), pytest.approx(5.8))
    assert formula.packaging is not None
    assert (formula.packaging.carton, formula.packaging.size_ml) == (True, 50)
    assert formula.deviations[0].until is not None
    assert formula.deviations[0].until.isoformat() == "2027-03-31"


def test_all_mistakes_in_one_go() -> None:
    found = problems(
        "formcheck: 2\nnam: x\nphases:\n  A: {Aqua: '0,5', Glycerin: .nan}\nbatch: {size: 5}\n"
        "procedure:\n  - heet: A\n  - heat: A\n    to: 75\n    cool: B\ndeviations:\n  - {rule: x}\npackaging: {wall: ambre}\n"
    )
    expected = [
        (1, 1, "«name» is missing"), (1, 12, "format 1"), (2, 1, "did you mean «name»"), (4, 13, "write 0.5"),
        (4, 30, "not a number one can weigh"), (5, 15, "has no unit"), (7, 5, "did you mean «heat»"), (9, 9, "°C, °F or K"),
        (10, 5, "not a key of the step «heat»"), (12, 5, "a reason is required"), (13, 19, "did you mean «amber»"),
    ]  # fmt: skip
    assert [(line, column) for line, column, _ in found] == [(line, column) for line, column, _ in expected]
    for (_, _, message), (_, _, words) in zip(found, expected):
        assert words in message


def test_yaml_toml_and_json_are_the_same_formula() -> None:
    toml = """
formcheck = 1
name = "Allotment hand gel"
[product]
use = "leave-on"
[phases.A]
Aqua = "q.s."
Glycerin = 4
"Xanthan Gum" = 0.60
[[procedure]]
disperse = "Xanthan Gum"
in = "Glycerin"
[[procedure]]
"adjust pH" = "A"
to = 5.5
with = "Citric Acid"
"""
    yaml = """
formcheck: 1
name: Allotment hand gel
product: {use: leave-on}
phases: {A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.60}}
procedure:
  - {disperse: Xanthan Gum, in: Glycerin}
  - {adjust pH: A, to: 5.5, with: Citric Acid}
"""
    data = {
        "formcheck": 1, "name": "Allotment hand gel", "product": {"use": "leave-on"},
        "phases": {"A": {"Aqua": "q.s.", "Glycerin": 4, "Xanthan Gum": 0.6}},
        "procedure": [{"disperse": "Xanthan Gum", "in": "Glycerin"}, {"adjust pH": "A", "to": 5.5, "with": "Citric Acid"}],
    }  # fmt: skip
    formulas = [build(yaml), build(toml, "x.formula.toml"), build(json.dumps(data), "x.formula.json")]
    for formula in formulas[1:]:
        assert [(line.name, line.percent) for line in formula.lines] == [
            (line.name, line.percent) for line in formulas[0].lines
        ]
        assert [(s.verb, s.objects, s.in_, s.with_, s.to_pH) for s in formula.procedure] == [
            (s.verb, s.objects, s.in_, s.with_, s.to_pH) for s in formulas[0].procedure
        ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("formcheck: 1\nname: x\nphases: []\n", "a phase letter with its materials"),
        ("formcheck: 1\nname: x\nphases: {A: 5}\n", "in phase A"),
        ("formcheck: 1\nname: x\nphases: {A: {Aqua: }}\n", "a percent or q.s. for Aqua"),
        ("formcheck: 1\nname: x\nphases: {A: {Aqua: {grams: 5}}}\n", "has no percent"),
        ("formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\nprocedure: {heat: A}\n", "a list of steps"),
        ("formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\nbatch: {size: 0 g}\n", "more than nothing"),
        ("formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\nproduct: {use: leaveon}\n", "did you mean «leave-on»"),
        (
            "formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\ndeviations: [{rule: x, reason: y, until: soon}]\n",
            "2027-03-31",
        ),
        (
            "formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\nmaterials: {Plum: {pH windw: 5}}\n",
            "did you mean «pH window»",
        ),
        ("formcheck: 1\nname: x\nphases: {A: {Aqua: q.s.}}\nproduct: {Use: leave-on}\n", "write «use»"),
    ],
)
def test_single_mistakes(text: str, words: str) -> None:
    (found,) = problems(text)
    assert words in found[2]


def test_the_published_schema_is_current_and_valid() -> None:
    published = Path(builder.__file__).with_name("formula.schema.json").read_text(encoding="utf-8")
    assert published.rstrip("\n") == schema_text(), "run: formcheck schema > formcheck/formula/formula.schema.json"
    jsonschema.Draft202012Validator.check_schema(json.loads(published))


def _without_description(node: object, path: str = "") -> list[str]:
    found = []
    if isinstance(node, dict):
        for name, inner in node.get("properties", {}).items():
            if isinstance(inner, dict) and not inner.get("description"):
                found.append(f"{path}/{name}")
        for key, inner in node.items():
            found.extend(_without_description(inner, f"{path}/{key}"))
    elif isinstance(node, list):
        for index, inner in enumerate(node):
            found.extend(_without_description(inner, f"{path}/{index}"))
    return found


def test_every_property_of_the_schema_has_a_description() -> None:
    assert _without_description(json.loads(schema_text())) == []


def test_schema_and_builder_agree(tmp_path: Path) -> None:
    """What the builder takes the schema takes, and the other way round, on a whole file and on flawed copies of it."""
    import yaml

    validator = jsonschema.Draft202012Validator(json.loads(schema_text()))
    changes = {
        None: True, "use: leave-on": "use: sometimes", "balance: 0.01 g": "balance: 0.01", "to: 60 °C": "to: 60",
        "hold: 15 min": "hold: a while", "into: A": "onto: A", "wall: opaque": "wall: thick", "reason: pilot": "because: pilot",
        "Xanthan Gum: 0.6": "Xanthan Gum: much", "measure pH: A": "taste: A",
    }  # fmt: skip
    for old, new in changes.items():
        text = WHOLE if old is None else WHOLE.replace(old, str(new))
        data = yaml.load(text, Loader=yaml.BaseLoader)
        try:
            build(text)
            read = True
        except Unreadable:
            read = False
        assert validator.is_valid(data) == read == (old is None), old


def test_what_narrows_a_fact_of_the_file_is_kept(reviewer: Reviewer) -> None:
    """FORMULA_FILE: a material of the file has any property that the reference has, written as there."""
    text = (
        "formcheck: 1\nname: x\nphases: {A: {Aqua: 97, Sol: 3}}\nmaterials:\n  Sol:\n    class: active\n    solubility:\n"
        "    - {is: 1, in: water, at: 20 °C, certainty: low}\n    - {is: 30, in: ethanol, at: 20 °C, note: slowly}\n"
    )
    material = reviewer.sheet("x.formula.yaml", text.encode()).items[1].material
    water, ethanol = (material.fact("solubility", None, in_=medium, at="20 °C") for medium in ("water", "ethanol"))
    assert water is not None
    assert ethanol is not None
    assert (water.value.low, water.certainty, water.note) == (1, "low", "")
    assert (ethanol.value.low, ethanol.certainty, ethanol.note) == (30, "high", "slowly")


@pytest.mark.parametrize(
    ("released", "share"),
    [("releases: {Citric Acid: 80 %}", 0.8), ("releases: {Citric Acid: 1}, formula: C6H7NaO7", 0.8973), ("releases: {Citric Acid: 1}", None)],
)  # fmt: skip
def test_what_a_material_of_the_file_releases(reviewer: Reviewer, released: str, share: float | None) -> None:
    """A weight share as it is written; moles by molar masses: citric acid 192.12, its sodium salt 214.11 g/mol."""
    text = f"formcheck: 1\nname: x\nphases: {{A: {{Aqua: 97, House salt: 3}}}}\nmaterials:\n  House salt: {{class: acid, {released}}}\n"
    material = reviewer.sheet("x.formula.yaml", text.encode()).items[1].material
    assert material.releases == ({} if share is None else {"citric acid": pytest.approx(share, rel=2e-4)})


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("1", True),
        ("1 %", True),
        ("{is: 1}", True),
        ("{is: 1, at: room}", True),
        ("{is: 1, in: water, at: 68 °F}", True),
        ("{is: 1, at: 22 °C}", True),
        ("{is: 1, in: ethanol}", False),
        ("{is: 1, at: 80 °C}", False),
        ("[{is: 30, in: ethanol}, {is: 1, in: water}]", True),
    ],
)
def test_a_solubility_is_in_water_near_room_temperature_where_nothing_else_is_said(
    reviewer: Reviewer, written: str, told: bool
) -> None:
    """As pharmacopoeias and suppliers' sheets mean a bare solubility (common practice, no source); 68 °F is 20 °C."""
    text = f"formcheck: 1\nname: x\nphases: {{A: {{Aqua: 97, Sol: 3}}}}\nmaterials: {{Sol: {{class: active, solubility: {written}}}}}\n"
    result = reviewer.review("x.formula.yaml", text.encode())
    assert not result.errors
    assert any(finding.rule == "over-solubility" for finding in result.findings) == told


def test_a_solubility_at_no_temperature_is_a_mistake(reviewer: Reviewer) -> None:
    text = "formcheck: 1\nname: x\nphases: {A: {Aqua: 97, Sol: 3}}\nmaterials: {Sol: {solubility: {is: 1, at: warm}}}\n"
    (problem,) = reviewer.review("x.formula.yaml", text.encode()).errors
    assert "at" in problem.message
    assert "°C" in problem.message
