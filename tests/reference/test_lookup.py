"""Materials are found by the names that makers, labels and pharmacopoeias use, and the house's own come first."""

from __future__ import annotations

from pathlib import Path

import pytest

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.names import fold, nearest
from formcheck.review.model import UNREAD
from formcheck.review.run import Reviewer

FORMULA = """\
formcheck: 1
name: Potting shed gel
phases:
  A: {%s}
"""


def worksheet(reviewer: Reviewer, lines: str, folder: Path | None = None, more: str = "") -> Worksheet:
    path = (folder or Path("nowhere")) / "test.formula.yaml"
    return reviewer.sheet(str(path), (FORMULA % lines + more).encode())


def part(sheet: Worksheet, name: str) -> Part:
    return next(part for part in sheet.parts if part.item.name == name and part.blend is None)


@pytest.mark.parametrize(
    ("name", "heading"),
    [
        # what stands on bags and bottles (common practice, no source)
        ("Organic cold-pressed Jojoba oil", "Simmondsia Chinensis Seed Oil"),
        ("Glycerin USP", "Glycerin"),
        ("Glycerine BP", "Glycerin"),
        ("Lanolin, Ph. Eur.", "Lanolin"),
        ("Non-nano zinc oxide", "Zinc Oxide"),
        ("Fine sea salt", "Maris Sal"),
        ("Citric acid, anhydrous", "Citric Acid"),
        ("Niacinamide (vitamin B3)", "Niacinamide"),
        ("Titanium dioxide (CI 77891)", "Titanium Dioxide"),
        ("Vitamin E (mixed tocopherols 70%)", "Tocopherol"),
        # colour names of 21 CFR part 74, with the number sign that the law writes
        ("FD&C Blue No. 1", "CI 42090"),
        ("FD&C Yellow No. 5 Aluminum Lake", "CI 19140"),
        ("D&C Red No. 7 Calcium Lake", "CI 15850"),
        ("CI 15850:1", "CI 15850"),
        ("Water", "Aqua"),
        ("Deionised Water", "Aqua"),
        ("De-ionized water", "Aqua"),
        ("Vegetable Glycerine", "Glycerin"),
        ("Vitamin E", "Tocopherol"),
        ("Vitamin E acetate", "Tocopheryl Acetate"),
        ("Vitamin B3", "Niacinamide"),
        ("Pro-Vitamin B5", "Panthenol"),
        ("Shea Butter", "Butyrospermum Parkii Butter"),
        ("Cocoa butter", "Theobroma Cacao Seed Butter"),
        ("beeswax", "Cera Alba"),
        ("Fractionated Coconut Oil", "Caprylic/Capric Triglyceride"),
        ("sweet almond oil", "Prunus Amygdalus Dulcis Oil"),
        ("Rosehip seed oil", "Rosa Canina Seed Oil"),
        ("lavender essential oil", "Lavandula Angustifolia Oil"),
        ("Xanthan", "Xanthan Gum"),
        ("HEC", "Hydroxyethylcellulose"),
        ("Hydroxyethyl Cellulose", "Hydroxyethylcellulose"),
        ("hyaluronic acid", "Hyaluronic Acid"),
        ("baking soda", "Sodium Bicarbonate"),
        ("lye", "Sodium Hydroxide"),
        ("Epsom salts", "Magnesium Sulfate"),
        ("corn starch", "Zea Mays Starch"),
        ("Fragrance", "Parfum"),
        ("Lactic acid 80%", "Lactic Acid Solution 80 Percent"),
        # British and European Pharmacopoeia, titles of monographs
        ("Purified Water", "Aqua"),
        ("Glycerol", "Glycerin"),
        ("Glycerol (85 per cent)", "Glycerin 86.5 Percent"),
        ("White Soft Paraffin", "Petrolatum"),
        ("Liquid Paraffin", "Paraffinum Liquidum"),
        ("Hard Paraffin", "Paraffin"),
        ("Cetostearyl Alcohol", "Cetearyl Alcohol"),
        ("Wool Fat", "Lanolin"),
        ("Macrogol 400", "PEG-8"),
        ("Methyl Hydroxybenzoate", "Methylparaben"),
        ("Propyl Parahydroxybenzoate", "Propylparaben"),
        ("Chlorocresol", "p-Chloro-m-Cresol"),
        ("Disodium Edetate", "Disodium EDTA"),
        ("Hypromellose", "Hydroxypropyl Methylcellulose"),
        ("Carmellose Sodium", "Cellulose Gum"),
        ("Trometamol", "Tromethamine"),
        ("Sodium Laurilsulfate", "Sodium Lauryl Sulfate"),
        ("Arachis Oil", "Arachis Hypogaea Oil"),
        # names on labels of the United States, with the English plant name in brackets
        ("Butyrospermum Parkii (Shea) Butter", "Butyrospermum Parkii Butter"),
        ("Helianthus Annuus (Sunflower) Seed Oil", "Helianthus Annuus Seed Oil"),
        ("Tocopherol (Vitamin E)", "Tocopherol"),
        ("Zinc Oxide (non-nano)", "Zinc Oxide"),
        # food additives, Regulation (EC) No 1333/2008
        ("E415", "Xanthan Gum"),
        ("E211", "Sodium Benzoate"),
        ("e 422", None),
    ],
)
def test_names(reviewer: Reviewer, name: str, heading: str | None) -> None:
    found = reviewer.reference.find(name)
    assert (found.name if found else None) == heading


@pytest.mark.parametrize("name", ["XANTHAN GUM", "xanthan-gum", " Xanthan   gum ", "Xanthan\u2011Gum", "xanthan_gum"])
def test_case_hyphens_and_spaces_do_not_count(reviewer: Reviewer, name: str) -> None:
    found = reviewer.reference.find(name)
    assert found is not None
    assert found.name == "Xanthan Gum"


def test_the_shape_of_an_apostrophe_does_not_count(reviewer: Reviewer) -> None:
    assert fold("St John’s Wort") == fold("st john's wort")
    assert reviewer.reference.find("Fuller’s earth") is reviewer.reference.find("Fuller's Earth") is not None


@pytest.mark.parametrize(
    "name",
    [
        "Phenoxyethanol and Ethylhexylglycerin",
        "Phenoxyethanol (and) Ethylhexylglycerin",
        "Ethylhexylglycerin & Phenoxyethanol",
        "phenoxyethanol, ethylhexylglycerin",
        "2-Phenoxyethanol + Ethylhexylglycerin",
    ],
)
def test_a_blend_is_found_by_its_parts_in_any_order(reviewer: Reviewer, name: str) -> None:
    found = reviewer.reference.find(name)
    assert found is not None
    assert found.name == "Phenoxyethanol and Ethylhexylglycerin"


def test_a_blend_with_a_name_of_its_own_is_found_by_its_parts(reviewer: Reviewer) -> None:
    """Emulsifying Wax NF: cetostearyl alcohol with a polysorbate (United States Pharmacopeia, National Formulary)."""
    found = reviewer.reference.find("Cetostearyl Alcohol (and) Polysorbate 60")
    assert found is not None
    assert found.name == "Emulsifying Wax NF"


@pytest.mark.parametrize(
    "name",
    ["Xanthan Gum, Moon Dust", "Citric Acid and Aqua", "1,2-Pentanol", "(Shea)", ""],
)
def test_what_is_something_else_is_not_found(reviewer: Reviewer, name: str) -> None:
    assert reviewer.reference.find(name) is None


# A strength on the bottle is that of a solution in water where the material is sold so (common practice, no source).
@pytest.mark.parametrize(
    ("name", "substance", "percent"),
    [
        ("Sodium Laureth Sulfate (70 %)", "Sodium Laureth Sulfate", 70),
        ("Sodium Laureth Sulfate, 28% active", "Sodium Laureth Sulfate", 28),
        ("Cocamidopropyl Betaine [30%]", "Cocamidopropyl Betaine", 30),
        ("Lactic Acid (80 per cent)", "Lactic Acid", 80),
        ("10 % Sodium Hydroxide", "Sodium Hydroxide", 10),
        ("25 % citric acid solution", "Citric Acid", 25),
        ("Isopropanol (70%)", "Isopropyl Alcohol", 63),  # by volume, as it is sold
        ("Sodium Hyaluronate 1 %", "Sodium Hyaluronate", 1),
        ("Xanthan Gum (1 % solution)", "Xanthan Gum", 1),
        ("Hydrogen Peroxide 6%", "Hydrogen Peroxide", 6),
        ("Sodium lactate solution 50 %", "Sodium Lactate", 50),
        ("Benzalkonium chloride solution 50%", "Benzalkonium Chloride", 50),
    ],
)
def test_a_strength_makes_it_a_solution(reviewer: Reviewer, name: str, substance: str, percent: float) -> None:
    material = reviewer.reference.find(name)
    assert material is not None
    assert dict(material.contains) == {substance: percent, "Aqua": 100 - percent}
    assert not reviewer.reference.strength_passed_over(name)


@pytest.mark.parametrize("name", ["Niacinamide 99%", "Glycerin (99.5 %)", "Sodium Hydroxide 98 %"])
def test_a_high_strength_is_a_purity(reviewer: Reviewer, name: str) -> None:
    material = reviewer.reference.find(name)
    assert material is not None
    assert not material.contains
    assert not reviewer.reference.strength_passed_over(name)


def test_where_the_rest_is_a_guess_it_is_said(reviewer: Reviewer) -> None:
    result = reviewer.review("t.formula.yaml", (FORMULA % "Squalane: q.s., Tocopherol (70 %): 1").encode())
    assert not [finding for finding in result.findings if finding.rule == "ingredient-unknown"]
    (said,) = [each.needs for each in result.unchecked if each.rule == "ingredient-unknown"]
    assert "Tocopherol (70 %)" in said


@pytest.mark.parametrize("name", ["Retinol 10% in oil", "Wonder weed 50 %", "Tocopherol (70 % in squalane)"])
def test_a_strength_of_something_else_is_not_read(reviewer: Reviewer, name: str) -> None:
    assert reviewer.reference.find(name) is None


def test_a_solution_counts_by_what_it_holds(reviewer: Reviewer) -> None:
    """Arithmetic: 20 % of a paste of 70 % brings 14 % of surfactant and 6 % of water."""
    sheet = worksheet(reviewer, "Aqua: 70, Glycerin: 10, Sodium Laureth Sulfate (70 %): 20")
    assert float(sheet.percent_of("anionic surfactant")) == 14
    assert sheet.water_percent == 76


def test_every_heading_and_every_other_name_leads_to_its_material(reviewer: Reviewer) -> None:
    reference = reviewer.reference
    for material in reference.all():
        for name in (material.name, *(material.value("also") or ())):
            assert reference.find(name) is material, f"{name} leads elsewhere than to {material.name}"


@pytest.mark.parametrize(
    ("written", "heading"),
    [("Xantan gum", "Xanthan Gum"), ("Niacinamid", "Niacinamide"), ("Phenoxyethanole", "Phenoxyethanol")],
)
def test_near_names_are_proposed(reviewer: Reviewer, written: str, heading: str) -> None:
    near = nearest(written, [*reviewer.reference.headings, *reviewer.reference.names], 3)
    assert heading in near


def test_nothing_is_proposed_for_what_is_like_nothing(reviewer: Reviewer) -> None:
    assert nearest("qqqqqqqqqq", reviewer.reference.headings, 3) == []


def test_a_material_of_the_formula_comes_before_the_reference(reviewer: Reviewer) -> None:
    more = "materials:\n  Xanthan Gum: {maximum temperature: 60 °C}\n"
    sheet = worksheet(reviewer, "Aqua: q.s., xanthan gum: 1", more=more)
    material = part(sheet, "xanthan gum").material
    assert material.house
    assert material.value("maximum temperature") == 60
    assert material.is_a("gum"), "what the house does not say stays that of the reference"
    assert material.value("charge") == "anionic"


def test_a_blend_of_the_house_is_looked_into(reviewer: Reviewer) -> None:
    more = "materials:\n  Gentle preserver: {contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}}\n"
    sheet = worksheet(reviewer, "Aqua: q.s., Gentle preserver: 1", more=more)
    phenoxyethanol = sheet.component("Phenoxyethanol")
    assert phenoxyethanol is not None
    assert phenoxyethanol.amount == pytest.approx(0.9)
    assert sheet.holds("aromatic alcohol preservative")


def test_a_house_name_for_a_material_of_the_reference(reviewer: Reviewer) -> None:
    more = "materials:\n  Bin 14: {INCI: Niacinamide}\n"
    material = part(worksheet(reviewer, "Aqua: q.s., Bin 14: 4", more=more), "Bin 14").material
    assert material.name == "Niacinamide"
    assert material.value("pH window") == reviewer.reference.find("Niacinamide").value("pH window")  # type: ignore[union-attr]


def test_a_materials_file_serves_the_formulas_at_and_below_it(tmp_path: Path) -> None:
    below = tmp_path / "gels" / "hands"
    below.mkdir(parents=True)
    (tmp_path / ".git").mkdir()
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  Plum gum: {class: gum, charge: nonionic, dose: [0.5, 1]}\n", encoding="utf-8"
    )
    material = part(worksheet(Reviewer(), "Aqua: q.s., Plum gum: 1", below), "Plum gum").material
    assert material.is_a("thickener")
    assert material.value("dose") == (0.5, 1)


def test_the_nearer_file_wins_and_the_formula_wins_over_both(tmp_path: Path) -> None:
    below = tmp_path / "gels"
    below.mkdir()
    (tmp_path / ".git").mkdir()
    rows = "materials:\n  Xanthan Gum: {maximum temperature: %s, alcohol tolerance: %s}\n"
    (tmp_path / "materials.yaml").write_text(rows % ("50 °C", "10"), encoding="utf-8")
    (below / "materials.toml").write_text(
        '[materials."Xanthan Gum"]\n"maximum temperature" = "55 °C"\n', encoding="utf-8"
    )
    near = part(worksheet(Reviewer(), "Aqua: q.s., Xanthan Gum: 1", below), "Xanthan Gum").material
    assert near.value("maximum temperature") == 55
    assert near.value("alcohol tolerance") == 10
    own = "materials:\n  Xanthan Gum: {maximum temperature: 65 °C}\n"
    nearest_of_all = part(worksheet(Reviewer(), "Aqua: q.s., Xanthan Gum: 1", below, own), "Xanthan Gum").material
    assert nearest_of_all.value("maximum temperature") == 65


def test_a_repository_s_root_ends_the_search(tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    (inner / ".git").mkdir(parents=True)
    (tmp_path / "materials.yaml").write_text("materials:\n  Plum gum: {class: gum}\n", encoding="utf-8")
    material = part(worksheet(Reviewer(), "Aqua: q.s., Plum gum: 1", inner), "Plum gum").material
    assert not material.known


def test_a_mistake_in_a_materials_file_is_shown_with_its_place(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    (tmp_path / "materials.yaml").write_text("materials:\n  Plum gum:\n    pH window: 6 to 4\n", encoding="utf-8")
    path = tmp_path / "test.formula.yaml"
    review = Reviewer().review(str(path), (FORMULA % "Aqua: q.s., Plum gum: 1").encode())
    assert review.verdict == UNREAD
    assert f"in {tmp_path / 'materials.yaml'}:3:16: pH window runs from 6 to 4" in review.errors[0].message


def test_an_unknown_material_is_named_with_its_nearest(reviewer: Reviewer) -> None:
    review = reviewer.review("x.formula.yaml", (FORMULA % "Aqua: q.s., Xantham Gun: 1").encode())
    found = next(finding for finding in review.findings if finding.rule == "ingredient-unknown")
    assert "Xanthan Gum" in f"{found.message} {found.remedy}"


def test_a_formula_in_the_file_gives_a_molar_mass(reviewer: Reviewer) -> None:
    """Hydrochloric acid 36.46, sodium hydroxide 40.00 g/mol (CRC Handbook); what cannot be read as a formula gives none."""
    text = (
        "formcheck: 1\nname: x\nphases: {A: {Aqua: 97, Bench acid: 1, Glycerin: 1, House powder: 1}}\n"
        "materials:\n  Bench acid: {class: [strong acid], formula: HCl}\n  Glycerin: {formula: NaOH}\n"
        "  House powder: {class: [powder], formula: all sorts}\n"
    )
    sheet = reviewer.sheet("x.formula.yaml", text.encode())
    _, acid, replaced, powder = (item.material.molar_mass for item in sheet.items)
    assert acid == pytest.approx(36.46, abs=0.01)
    assert replaced == pytest.approx(40.00, abs=0.01)
    assert powder is None


def test_a_made_up_solution_has_one_name_however_it_was_first_written() -> None:
    """A reference serves many formulas; what the first of them wrote must not show in the next."""
    from formcheck.reference.store import open_reference

    for first, second in (("Lactic Acid 37%", "lactic acid 37 %"), ("lactic acid 37 %", "Lactic Acid 37%")):
        reference = open_reference()
        found = [reference.find(name) for name in (first, second)]
        assert [material.name for material in found if material] == ["Lactic Acid 37 %", "Lactic Acid 37 %"]
