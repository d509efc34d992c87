"""The check command finds every kind of mistake that a chemist can make in the reference's files, and the place of it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from formcheck.commands.main import main
from formcheck.reference.sources import Compiled, compile_folder

SHARED = Path(__file__).parents[2] / "shared"
SOURCES = """sources:
  a-handbook:
    title: A handbook
    issuer: A press
    year: 2001
    kind: handbook
  practice:
    title: Practice
    kind: common practice
"""
SOUND = """materials:
  Pear Acid:
    also: [pear sour]
    CAS: 64-19-7
    EC: 200-580-7
    formula: C2H4O2
    class: [acid]
    pKa: {is: [4.76], from: a-handbook}
  Sodium Pearate:
    formula: C2H3NaO2
    class: [organic acid preservative, electrolyte]
    counter-ions: {Na+: 1}
    pKa: {is: [4.76], from: a-handbook}
    releases: {is: {Pear Acid: 1}, from: a-handbook}
"""

Check = Callable[..., Compiled]


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """Checks a small folder like shared/, with the real properties and classes."""

    def run(materials: str = SOUND, sources: str = SOURCES, limits: str = "", classes: str = "") -> Compiled:
        for part in ("materials", "sources", "limits"):
            (tmp_path / part).mkdir(exist_ok=True)
        shutil.copy(SHARED / "properties.yaml", tmp_path)
        shutil.copy(SHARED / "classes.yaml", tmp_path)
        if classes:
            (tmp_path / "classes.yaml").write_text(classes, encoding="utf-8")
        if limits:
            (tmp_path / "limits" / "some.yaml").write_text(limits, encoding="utf-8")
        (tmp_path / "sources" / "some.yaml").write_text(sources, encoding="utf-8")
        (tmp_path / "materials" / "some.yaml").write_text(materials, encoding="utf-8")
        return compile_folder(str(tmp_path))

    return run


def material(line: str, name: str = "Plum") -> str:
    return f"materials:\n  {name}:\n    class: [humectant]\n    {line}\n"


def test_the_real_reference_has_no_mistakes() -> None:
    found = compile_folder(str(SHARED)).mistakes
    assert not found, "\n".join(f"{m.file}:{m.place.line}:{m.place.column}: {m.message}" for m in found)


def test_a_sound_folder_has_none(check: Check) -> None:
    assert check().mistakes == ()


@pytest.mark.parametrize(
    ("line", "words"),
    [
        pytest.param("maximum temperature: {is: 60, from: practice}", "needs °C, °F or K", id="missing unit"),
        pytest.param("hydration time: {is: 30, from: practice}", "needs s, min, h or d", id="missing unit of time"),
        pytest.param("density: {is: 1.2 kg, from: practice}", "has the unit «kg»", id="wrong unit"),
        pytest.param("dose: {is: 2 to, from: practice}", "is no range", id="half a range"),
        pytest.param("dose: {is: 0.5 bis 1, from: practice}", "is no range", id="a range in other words"),
        pytest.param('density: {is: "1,2", from: practice}', "write 1.2", id="decimal comma"),
        pytest.param("pH window: {is: 6 to 4, from: practice}", "the lower end comes first", id="window upside down"),
        pytest.param("pH window: {is: [6, 4], from: practice}", "the lower end comes first", id="list upside down"),
        pytest.param("dose: {is: 3 to 1, from: practice}", "the lower end comes first", id="dose upside down"),
        pytest.param("melting point: {is: 64 to 62 °C, from: practice}", "the lower end comes first", id="melting"),
        pytest.param("pH window: {is: 4 to 15, from: practice}", "a pH lies between 0 and 14", id="pH off the scale"),
        pytest.param("maximum temperature: {is: 900 °C, from: practice}", "lies between", id="temperature too high"),
        pytest.param("density: {is: 12, from: practice}", "out of range", id="density out of range"),
        pytest.param("pH window: {is: 4 to 6, from: no-such-work}", "«no-such-work» is no known source", id="source"),
        pytest.param("pH window: {is: 4 to 6, from: a-handbok}", "did you mean «a-handbook»?", id="near source"),
        pytest.param("pH window: {is: 4 to 6}", "has no source; write «from:»", id="no source"),
        pytest.param("pH window: 4 to 6", "a fact is {is: ..., from: a source}", id="bare value"),
        pytest.param("pH windows: {is: 4 to 6, from: practice}", "did you mean «pH window»?", id="unknown property"),
        pytest.param("pH window: {is: 4 to 6, from: practice, wen: mask}", "«wen» is not a key", id="unknown key"),
        pytest.param("charge: {is: positive, from: practice}", "it is one of anionic, cationic", id="unknown word"),
        pytest.param(
            "hazards: {is: [dust, spicy], from: practice}", "«spicy» where hazards", id="unknown word in list"
        ),
        pytest.param("spectrum: {is: {yeast: mighty}, from: practice}", "«mighty»", id="unknown grade"),
        pytest.param("spectrum: {is: {virus: weak}, from: practice}", "«virus»", id="unknown microbe"),
        pytest.param("dose: {is: 1 to 2, when: leaveon, from: practice}", "did you mean «leave-on»?", id="condition"),
        pytest.param("dose: {is: 1 to 2, from: practice, certainty: sure}", "«sure» as certainty", id="certainty"),
        pytest.param("needs neutralising: {is: maybe, from: practice}", "it is yes or no", id="neither yes nor no"),
        pytest.param("CAS: 56-81-6", "the CAS number 56-81-6 has a wrong check digit", id="CAS digit"),
        pytest.param("CAS: 56815", "has a wrong check digit", id="CAS form"),
        pytest.param("EC: 200-289-6", "the EC number 200-289-6 has a wrong check digit", id="EC digit"),
        pytest.param("formula: C3H8Q3", "Plum: «Q» in «C3H8Q3» is not an element", id="no element"),
        pytest.param("formula: Ca(OH2", "is not a formula", id="open bracket"),
        pytest.param("formula: CaOH)2", "closes a bracket", id="closing bracket"),
        pytest.param("pKa: {is: [9.2, 4.1], from: practice}", "the pKa values do not ascend", id="pKa order"),
        pytest.param("contains: {Plum: 80, Water: 10}", "contains speaks of «Water»", id="contains a stranger"),
        pytest.param("inactivated by: {is: [plumb], from: practice}", "did you mean «Plum»?", id="inactivated by"),
        pytest.param("quarrels with: {is: [{with: soaps, effect: curdles}], from: practice}", "«soap»?", id="quarrels"),
        pytest.param("quarrels with: {is: [soap], from: practice}", "each is {with: ..., effect: ...}", id="effect"),
        pytest.param("releases: {is: {Plum Acid: 1}, from: practice}", "releases speaks of «Plum Acid»", id="acid"),
        pytest.param("releases: {is: {Plum: 1}, from: practice}", "but Plum has no formula here", id="no formula"),
        pytest.param("allergens: {is: {Linolool: 1}, from: practice}", "allergens speaks of", id="allergen"),
    ],
)
def test_a_mistake_in_a_material(check: Check, line: str, words: str) -> None:
    found = check(material(line)).mistakes
    assert len(found) == 1, [m.message for m in found]
    assert words in found[0].message
    assert Path(found[0].file).name == "some.yaml"
    assert found[0].place.line in (2, 4), "the material's heading or the line itself"


def test_contents_of_more_than_all(check: Check) -> None:
    text = (
        "materials:\n  Pear: {class: [humectant]}\n  Sloe: {class: [humectant]}\n"
        "  Blend: {class: [humectant], contains: {Pear: 60, Sloe: 44}}\n"
    )
    (found,) = check(text).mistakes
    assert found.message == "Blend: what it contains adds to 104 %"


def test_a_name_that_two_materials_claim(check: Check) -> None:
    text = SOUND + "  Quince:\n    also: [Pear-Sour]\n    class: [acid]\n    pKa: {is: [3.1], from: practice}\n"
    (found,) = check(text).mistakes
    assert found.message == "Quince is called «Pear-Sour», and so is Pear Acid in some.yaml"
    assert found.place.line == 15


def test_a_heading_that_is_another_material_s_name(check: Check) -> None:
    (found,) = check(SOUND + "  Pear sour: {class: [humectant]}\n").mistakes
    assert "Pear sour is called «Pear sour», and so is Pear Acid" in found.message


def test_a_material_that_stands_twice_in_two_files(check: Check, tmp_path: Path) -> None:
    check()
    (tmp_path / "materials" / "zzz.yaml").write_text("materials:\n  Pear Acid: {class: [acid]}\n", encoding="utf-8")
    (found,) = compile_folder(str(tmp_path)).mistakes
    assert found.message == "the material «Pear Acid» stands twice; the other is in some.yaml"


def test_a_material_without_a_class(check: Check) -> None:
    (found,) = check("materials:\n  Plum: {form: powder}\n").mistakes
    assert found.message == "Plum has no class, so that no rule looks at it"


def test_an_unknown_class(check: Check) -> None:
    (found,) = check("materials:\n  Plum: {class: [humectants]}\n").mistakes
    assert found.message == "Plum: «humectants» is no class; did you mean «humectant»?"


@pytest.mark.parametrize(
    ("lines", "lacking"),
    [
        ("class: [organic acid preservative]", "pKa and releases missing"),
        ("class: [benzoate]\n    pKa: {is: [4.2], from: a-handbook}", "releases missing"),
        ("class: [buffer]", "pKa missing"),
        ("class: [paraben]", "releases missing"),
    ],
)
def test_a_salt_without_its_acid(check: Check, lines: str, lacking: str) -> None:
    """The EU counts preservative salts as their acid (Regulation 1223/2009, annex V), so each has to say which."""
    (found,) = check(f"materials:\n  Potassium Plumate:\n    counter-ions: {{K+: 1}}\n    {lines}\n").mistakes
    assert "is a salt" in found.message
    assert found.message.endswith(f"without its acid: {lacking}")


def test_a_salt_of_a_strong_acid_needs_none(check: Check) -> None:
    text = "materials:\n  Plum Salt: {class: [electrolyte], counter-ions: {Na+: 1, Cl-: 1}}\n"
    assert check(text).mistakes == ()


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("{issuer: A press, year: 2001, kind: handbook}", "has no title"),
        ("{title: A work, issuer: A press, year: 2001, kind: hearsay}", "«hearsay» as kind of source"),
        ("{title: A work, year: 2001, kind: paper}", "needs an issuer and a year"),
        ("{title: A work, issuer: A journal, kind: paper}", "needs an issuer and a year"),
    ],
)
def test_a_source_that_cannot_be_cited(check: Check, source: str, words: str) -> None:
    (found,) = check(sources=f"{SOURCES}  third: {source}\n").mistakes
    assert words in found.message
    assert found.place.line == 10


def test_a_source_that_stands_twice(check: Check, tmp_path: Path) -> None:
    check()
    (tmp_path / "sources" / "more.yaml").write_text(SOURCES, encoding="utf-8")
    messages = [m.message for m in compile_folder(str(tmp_path)).mistakes]
    assert messages == ["the source «a-handbook» stands twice", "the source «practice» stands twice"]


def test_a_serial_work_is_dated_by_its_first_and_last_year(check: Check) -> None:
    assert check(sources=SOURCES.replace("2001", '"1970-2005"')).mistakes == ()


def test_a_limit_is_a_fact_with_a_source(check: Check) -> None:
    (found,) = check(limits="limits:\n  skin, low pH: {is: 4, about: of skin}\n").mistakes
    assert found.message == "skin, low pH has no source; write «from:»"


def test_a_class_that_widens_to_nothing(check: Check) -> None:
    classes = (SHARED / "classes.yaml").read_text(encoding="utf-8")
    broken = classes.replace("volatile silicone: {is: silicone,", "volatile silicone: {is: silicones,")
    assert broken != classes
    (found,) = check(classes=broken).mistakes
    assert "volatile silicone is a «silicones», which is no class" in found.message


def test_a_class_that_needs_what_no_material_can_have(check: Check) -> None:
    classes = (SHARED / "classes.yaml").read_text(encoding="utf-8")
    broken = classes.replace("butter: {is: oil, needs: [melting point]", "butter: {is: oil, needs: [melting pint]")
    assert broken != classes
    (found,) = check(classes=broken).mistakes
    assert "needs «melting pint», which is no property" in found.message


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("materials:\n  Plum: {class: [humectant\n", "not valid YAML"),
        ("materials:\n\tPlum: 1\n", "not valid YAML"),
        ("stuff:\n  Plum: 1\n", "a mapping under «materials:» was expected"),
        ("- Plum\n", "a mapping under «materials:» was expected"),
        ("materials:\n  Plum: humectant\n", "its properties were expected"),
        ("materials:\n  Plum: {class: [humectant]}\n  Plum: {class: [humectant]}\n", "Plum"),
    ],
)
def test_a_file_that_is_no_list_of_materials(check: Check, text: str, words: str) -> None:
    found = check(text).mistakes
    assert found
    assert words in found[0].message


def test_one_broken_file_does_not_hide_the_mistakes_of_the_others(check: Check, tmp_path: Path) -> None:
    check(material("density: {is: 40, from: practice}"))
    (tmp_path / "materials" / "broken.yaml").write_text("materials: [", encoding="utf-8")
    files = {Path(m.file).name for m in compile_folder(str(tmp_path)).mistakes}
    assert files == {"some.yaml", "broken.yaml"}


def test_the_command_points_at_the_line_and_ends_with_1(
    check: Check, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check(material("pH window: {is: 6 to 4, from: practice}"))
    assert main(["reference", str(tmp_path)]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith(f"{tmp_path / 'materials' / 'some.yaml'}:4:21: pH window runs from 6 to 4")
    assert lines[-1].endswith("1 mistake")


def test_the_command_is_content_with_a_sound_folder(
    check: Check, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check()
    assert main(["reference", str(tmp_path), "--coverage"]) == 0
    out = capsys.readouterr().out
    assert "| organic acid preservative | 1 |" in out
    assert "pKa: 2 of 2 facts have a published source (100 %), 2 rest on it alone" in out
    assert out.endswith("2 materials, 2 sources, no mistakes\n")


def test_the_command_writes_the_coverage_beside_the_files(check: Check, tmp_path: Path) -> None:
    check()
    assert main(["reference", str(tmp_path), "--coverage", "--write"]) == 0
    written = (tmp_path / "COVERAGE.md").read_text(encoding="utf-8")
    assert "2 materials in 1 files" in written
    assert "| all together | 2 | 2 | 100 % | 2 | 0 |" in written
