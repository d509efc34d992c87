"""The water phase of whole formulas: published buffers and solutions, what is left out, what steps add."""

from __future__ import annotations

import pytest

from formcheck.bench.acidbase import Prediction, Solute
from formcheck.bench.adjusting import planned
from formcheck.bench.waterphase import chemistry, ion_charge, reasons
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

HEAD = "formcheck: 1\nname: Test plot\n"


def sheet_of(reviewer: Reviewer, text: str) -> Worksheet:
    return reviewer.sheet("test.formula.yaml", (HEAD + text).encode())


def predicted(reviewer: Reviewer, lines: str, more: str = "") -> Prediction:
    sheet = sheet_of(reviewer, f"phases:\n  A: {{Aqua: q.s., {lines}}}\n{more}")
    assert sheet.predicted_pH is not None, sheet.not_predicted
    return sheet.predicted_pH


# T. C. McIlvaine, J. Biol. Chem. 49 (1921) 183: ml of 0.2 mol/L disodium phosphate and of 0.1 mol/L citric acid in
# 20 ml; the table seen in a stored copy. Molar masses 141.96 and 192.12 g/mol; the density is taken as 1.02 g/ml.
@pytest.mark.parametrize(
    ("pH", "phosphate_ml", "citric_ml"),
    [(3.0, 4.11, 15.89), (4.0, 7.71, 12.29), (5.0, 10.30, 9.70), (6.0, 12.63, 7.37), (7.0, 16.47, 3.53)],
)
def test_mcilvaine_buffers(reviewer: Reviewer, pH: float, phosphate_ml: float, citric_ml: float) -> None:
    grams = 20.0 * 1.02
    phosphate = 0.2 * phosphate_ml / 1000 * 141.96 / grams * 100
    citric = 0.1 * citric_ml / 1000 * 192.12 / grams * 100
    found = predicted(reviewer, f"Disodium Phosphate: {phosphate:.4f}, Citric Acid: {citric:.4f}")
    # Sodium pairs with citrate and phosphate, which the model leaves out: worth up to 0.2 at this strength.
    assert found.pH == pytest.approx(pH, abs=0.2)


# Primary pH standards of the NBS/NIST (R. G. Bates, Determination of pH, 2nd edition, 1973), molal at 25 °C: borax
# 0.01 pH 9.18; 0.025 of each phosphate pH 6.865; potassium dihydrogen citrate is not a raw material here.
def test_standard_buffers(reviewer: Reviewer) -> None:
    assert predicted(reviewer, "Sodium Borate: 0.3799").pH == pytest.approx(9.18, abs=0.03)
    phosphate = "Potassium Phosphate: 0.3378, Disodium Phosphate: 0.3523"
    assert predicted(reviewer, phosphate).pH == pytest.approx(6.865, abs=0.03)


# The Merck Index: pH of 0.1 N citric acid 2.2, of 0.1 N acetic acid 2.9, of fresh 0.1 molar sodium bicarbonate 8.3
# (from memory).
@pytest.mark.parametrize(
    ("lines", "pH"), [("Citric Acid: 0.64", 2.2), ("Acetic Acid: 0.6", 2.9), ("Sodium Bicarbonate: 0.84", 8.3)]
)
def test_solutions_of_one_substance(reviewer: Reviewer, lines: str, pH: float) -> None:
    assert predicted(reviewer, lines).pH == pytest.approx(pH, abs=0.2)


# US Pharmacopeia, niacinamide: the pH of a 5 % solution lies between 6.0 and 7.5 (from memory), traces of acid in it
# being enough for that.
def test_the_band_of_a_weak_base_alone_reaches_down_to_what_is_measured(reviewer: Reviewer) -> None:
    found = predicted(reviewer, "Niacinamide: 5")
    assert found.low < 6.75 < found.high


# Handbook of Pharmaceutical Excipients, carbomer: about 0.4 g of sodium hydroxide neutralises one gram; the gel is
# thickest between pH 6 and 11 (from memory).
def test_a_carbomer_gel_neutralised_by_the_book(reviewer: Reviewer) -> None:
    found = predicted(reviewer, "Carbomer: 0.5, Sodium Hydroxide: 0.2")
    assert found.low < 6.5 < found.high
    assert predicted(reviewer, "Carbomer: 0.5").pH < 4.0
    assert predicted(reviewer, "Carbomer: 0.5, Sodium Hydroxide: 0.35").pH > 8.0


def test_a_solution_counts_as_what_it_contains(reviewer: Reviewer) -> None:
    plain = predicted(reviewer, "Carbomer: 0.5, Sodium Hydroxide: 0.2")
    dissolved = predicted(reviewer, "Carbomer: 0.5, Sodium Hydroxide Solution 10 Percent: 2")
    assert dissolved.pH == pytest.approx(plain.pH, abs=0.01)


def test_the_batch_size_changes_no_pH(reviewer: Reviewer) -> None:
    lines = "Lactic Acid: 1, Sodium Lactate: 1"
    small = predicted(reviewer, lines, "batch: {size: 20 g}\n")
    assert small.pH == pytest.approx(predicted(reviewer, lines, "batch: {size: 5 kg}\n").pH, abs=1e-6)


# Arithmetic: 500 g with 20 % of glycerin, the rest water.
def test_water_and_moles_are_those_of_the_batch(reviewer: Reviewer) -> None:
    sheet = sheet_of(
        reviewer, "batch: {size: 500 g}\nphases:\n  A: {Aqua: q.s., Glycerin: 20, Sodium Chloride: 0.5844}\n"
    )
    assert sheet.water_kg == pytest.approx(0.397, abs=0.0005)
    (salt,) = sheet.solutes
    assert salt.mol == pytest.approx(0.05, rel=1e-3)
    assert salt.strong_charge_mol == 0.0


def test_what_is_not_known_is_named_and_widens_the_band(reviewer: Reviewer) -> None:
    known = predicted(reviewer, "Sodium Benzoate: 0.3")
    unknown = predicted(reviewer, "Sodium Benzoate: 0.3, Hedgerow bark liquor: 4")
    assert "Hedgerow bark liquor" in unknown.left_out
    assert known.left_out == ()
    assert unknown.high - unknown.low > known.high - known.low


def test_uncharged_materials_are_not_listed_as_left_out(reviewer: Reviewer) -> None:
    found = predicted(reviewer, "Glycerin: 5, Panthenol: 1, Phenoxyethanol: 0.8, Caprylic/Capric Triglyceride: 5")
    assert found.left_out == ()


def test_a_salt_without_constants_is_left_out_with_its_reason(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "phases:\n  A: {Aqua: q.s., Sodium Ascorbyl Phosphate: 3}\n")
    (left,) = sheet.water_phase.left_out
    assert left.name == "Sodium Ascorbyl Phosphate"
    assert "constants" in left.why
    assert sheet.water_phase.charge_doubt_mol > 0.0


def test_a_surfactant_salt_is_no_strong_base(reviewer: Reviewer) -> None:
    found = predicted(reviewer, "Sodium Lauryl Sulfate: 10")
    assert found.pH < 9.0
    assert "Sodium Lauryl Sulfate" in found.left_out


def test_fatty_acids_stay_in_the_oil_unless_a_base_takes_them(reviewer: Reviewer) -> None:
    without = sheet_of(reviewer, "phases:\n  A: {Aqua: q.s., Stearic Acid: 5}\n")
    assert [each.name for each in without.water_phase.left_out] == ["Stearic Acid"]
    assert without.solutes == ()
    soap = sheet_of(reviewer, "phases:\n  A: {Aqua: q.s., Stearic Acid: 5, Triethanolamine: 1}\n")
    assert {solute.name for solute in soap.solutes} == {"Stearic Acid", "Triethanolamine"}
    assert soap.predicted_pH is not None
    # Stearate creams lie between pH 7 and 9 (common practice, no source): the band has to leave room for that.
    assert soap.predicted_pH.low < 8.5


@pytest.mark.parametrize(
    ("phases", "word"),
    [
        ("{Aqua: q.s., Potassium Cocoate: 20}", "soap"),
        ("{Alcohol: 75, Aqua: q.s.}", "alcohol"),
        ("{Glycerin: 80, Aqua: q.s.}", "solvent"),
        ("{Cera Alba: 20, Olea Europaea Fruit Oil: q.s.}", "water"),
        ("{Aqua: q.s., Glycerin: q.s.}", "percents"),
        ("{Aqua: q.s., Olea Europaea Fruit Oil: 60, Sodium Hydroxide: 8}", "soap"),
    ],
)
def test_where_no_pH_can_be_predicted_it_says_why(reviewer: Reviewer, phases: str, word: str) -> None:
    sheet = sheet_of(reviewer, f"phases:\n  A: {phases}\n")
    assert sheet.predicted_pH is None
    assert word in sheet.not_predicted


def test_twelve_constants_are_no_obstacle(reviewer: Reviewer) -> None:
    found = predicted(reviewer, "Sodium Phytate: 0.1")
    assert "Sodium Phytate" in found.left_out  # taken as the full salt, and said to be doubtful
    phytic = reviewer.reference.find("Phytic Acid")
    assert phytic is not None
    known = chemistry(phytic)
    assert known is not None
    assert len(known.pKa) == 8
    assert known.top_charge == -4


@pytest.mark.parametrize(("name", "charge"), [("Na+", 1), ("Cl-", -1), ("Mg+2", 2), ("SO4-2", -2), ("NO3-", -1)])
def test_the_charge_in_the_name_of_an_ion(name: str, charge: int) -> None:
    assert ion_charge(name) == charge


def test_an_ion_without_a_charge_is_refused() -> None:
    with pytest.raises(ValueError, match="shows no charge"):
        ion_charge("Na")


TO_TASTE = """batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Carbomer: 0.4, Sodium Benzoate: 0.3}
procedure:
  - neutralise: A
    with: Sodium Hydroxide
    strength: 10 %
    %AMOUNT%
  - adjust pH: A
    to: 5.4
    with: Citric Acid
    strength: 20 %
"""


def test_what_is_added_to_taste_is_not_in_and_what_is_weighed_is(reviewer: Reviewer) -> None:
    taste = sheet_of(reviewer, TO_TASTE.replace("%AMOUNT%", "to: 6.5"))
    weighed = sheet_of(reviewer, TO_TASTE.replace("%AMOUNT%", "amount: 4 g"))
    assert taste.predicted_pH is not None
    assert weighed.predicted_pH is not None
    assert taste.predicted_pH.pH < 5.0 < weighed.predicted_pH.pH
    assert "Citric Acid" not in {solute.name for solute in taste.solutes}


def test_a_later_step_starts_where_the_earlier_one_ends(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, TO_TASTE.replace("%AMOUNT%", "to: 6.5"))
    first, second = sheet.pH_stages
    assert second.before.pH() == pytest.approx(6.5, abs=0.01)
    base, acid = planned(sheet, first).plan, planned(sheet, second).plan
    assert base is not None
    assert acid is not None
    assert base.target_pH == 6.5
    assert acid.start_pH == pytest.approx(6.5, abs=0.05)
    assert acid.target_pH == 5.4
    assert acid.grams > 0.0


def test_the_plan_ends_at_the_target(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, TO_TASTE.replace("%AMOUNT%", "amount: 4 g"))
    plan = planned(sheet, sheet.pH_stages[-1]).plan
    assert plan is not None
    assert plan.steps[-1].expected_pH == pytest.approx(5.4, abs=0.02)
    assert plan.low_g <= plan.grams <= plan.high_g


# Common practice, no source: a lightly buffered gel with 3-O-ethyl ascorbic acid that came out near pH 6 is brought to
# 4.5 with a few drops to some grams of a 20 % citric acid solution per 200 g.
def test_a_gel_near_6_is_brought_to_4_5(reviewer: Reviewer) -> None:
    text = """batch: {size: 200 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 0.8, 3-O-Ethyl Ascorbic Acid: 2, Sodium Benzoate: 0.2}
procedure:
  - adjust pH: A
    to: 4.5
    with: Citric Acid
    strength: 20 %
"""
    sheet = sheet_of(reviewer, text)
    plan = planned(sheet, sheet.pH_stages[-1], 5.9).plan
    assert plan is not None
    assert plan.start == "measured"
    assert 0.2 < plan.grams < 3.0
    assert plan.drops is not None
    assert plan.drops == pytest.approx(plan.grams / 0.05, abs=1)


def test_of_an_acid_and_a_base_the_one_that_helps_is_taken(reviewer: Reviewer) -> None:
    text = """batch: {size: 200 g}
phases:
  A: {Aqua: q.s., %LINE%}
procedure:
  - adjust pH: A
    to: 5
    with: [Citric Acid, Sodium Hydroxide]
    strength: 10 %
"""
    for line, reagent in (("Lactic Acid: 2", "Sodium Hydroxide"), ("Sodium Lactate: 2", "Citric Acid")):
        sheet = sheet_of(reviewer, text.replace("%LINE%", line))
        plan = planned(sheet, sheet.pH_stages[0]).plan
        assert plan is not None
        assert plan.reagent == reagent


@pytest.mark.parametrize(
    ("batch", "step", "word"),
    [
        ("", "to: 5\n    with: Citric Acid\n    strength: 20 %", "batch size"),
        ("batch: {size: 200 g}", "to: 5\n    with: Citric Acid", "strength"),
        ("batch: {size: 200 g}", "to: 5\n    with: Hedgerow bark liquor\n    strength: 20 %", "Hedgerow bark liquor"),
        ("batch: {size: 200 g}", "to: 9.5\n    with: Citric Acid\n    strength: 20 %", "a base is needed"),
        ("batch: {size: 200 g}", "to: 1.1\n    with: Lactic Acid\n    strength: 5 %", "allowed"),
        ("batch: {size: 200 g}", "with: Citric Acid\n    strength: 20 %", "names no pH"),
    ],
)
def test_what_a_plan_lacks_is_said(reviewer: Reviewer, batch: str, step: str, word: str) -> None:
    text = f"{batch}\nphases:\n  A: {{Aqua: q.s., Sodium Benzoate: 0.4}}\nprocedure:\n  - adjust pH: A\n    {step}\n"
    sheet = sheet_of(reviewer, text)
    found = planned(sheet, sheet.pH_stages[0])
    assert found.plan is None
    assert word in found.missing


def test_shares_and_kilograms_are_those_of_the_lines(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "phases:\n  A: {Aqua: 96, Hedgerow bark liquor: 4}\nbatch: {size: 2 kg}\n")
    phase = sheet.water_phase
    assert (phase.water_kg, phase.batch_kg) == (pytest.approx(1.92), pytest.approx(2))
    (left,) = phase.left_out
    assert left.percent == pytest.approx(4)
    # 4 % of 2 kg with so much charge a kilogram as the reference gives the unknown
    assert phase.charge_doubt_mol == pytest.approx(0.08 * left.doubt)


def test_a_heavier_salt_brings_less_charge_into_doubt(reviewer: Reviewer) -> None:
    """Charge is counted in moles: of twice the mass a kilogram holds half as many."""
    text = (
        "phases:\n  A: {Aqua: q.s., Light: 1, Heavy: 1}\nmaterials:\n"
        "  Light: {class: electrolyte, formula: C6H11NaO7, counter-ions: {Na+: 1}}\n"
        "  Heavy: {class: electrolyte, formula: C12H22Na2O14, counter-ions: {Na+: 1}}\n"
    )
    light, heavy = sheet_of(reviewer, text).water_phase.left_out
    assert light.doubt == pytest.approx(2 * heavy.doubt)
    # a share of one mole in 218.14 g
    share = float(reviewer.reference.limit("charge doubt, salt without constants").value)
    assert light.doubt == pytest.approx(share / 0.21814, rel=1e-3)


def test_lime_stays_at_its_ceiling_until_lye_joins_it(reviewer: Reviewer) -> None:
    """Saturated calcium hydroxide is pH 12.45 (CRC Handbook); acid takes it down, more lime no higher, sodium hydroxide does."""
    phase = sheet_of(reviewer, "phases:\n  A: {Aqua: 95, Calcium Hydroxide: 5}\n").water_phase
    assert phase.pH() == pytest.approx(12.45, abs=0.15)
    band = phase.predict()
    assert band.low < band.pH - 0.05
    assert band.pH <= band.high
    acid = Solute("acid", 0.001, ions=((-1, 1.0),))
    lye = Solute("lye", 5.0, ions=((1, 1.0),))
    assert phase.plus(acid).pH() == pytest.approx(phase.pH())
    assert phase.plus(acid._replace(mol=2.0)).pH() < 2
    assert phase.plus(lye).pH() > 13.5
    assert phase.plus(lye).water_kg == phase.water_kg
    assert phase.plus(lye, 1.0).water_kg == pytest.approx(phase.water_kg + 1)


def test_what_a_glycol_may_dissolve_widens_the_band_of_a_solid_acid(reviewer: Reviewer) -> None:
    """Ten times the benzoic acid that dissolves: at its solubility it gives pH 2.8 (Merck Index), all of it in solution half
    a unit less, and the band reaches there; where all is dissolved it does not."""
    much, little = (predicted(reviewer, f"Benzoic Acid: {percent}") for percent in (3.4, 0.1))
    assert much.pH == pytest.approx(2.8, abs=0.15)
    assert much.low < much.pH - 0.4
    assert much.high - much.pH < 0.3
    assert little.pH - little.low < 0.3
    for size in ("10 g", "100 kg"):
        again = predicted(reviewer, "Benzoic Acid: 3.4", f"batch: {{size: {size}}}\n")
        assert (again.pH, again.low) == (pytest.approx(much.pH, abs=1e-6), pytest.approx(much.low, abs=1e-6))
        assert predicted(reviewer, "Benzoic Acid: 0.1", f"batch: {{size: {size}}}\n").low == pytest.approx(
            little.low, abs=1e-6
        )


def test_soap_of_the_house_is_no_neutral_salt(reviewer: Reviewer) -> None:
    """Soaps are salts of weak acids, sulfates of a strong one (any textbook of organic chemistry)."""
    text = (
        "phases:\n  A: {Aqua: q.s., House soap: 1, House sulfate: 1}\nmaterials:\n"
        "  House soap: {class: [soap, surfactant], formula: C12H23NaO2, counter-ions: {Na+: 1}}\n"
        "  House sulfate: {class: surfactant, formula: C12H25NaO4S, counter-ions: {Na+: 1}}\n"
    )
    why = {left.name: left.why for left in sheet_of(reviewer, text).water_phase.left_out}
    assert "neutral" in why["House sulfate"]
    assert "neutral" not in why["House soap"]


# Why something is left out is our own sorting; what charge a pH stands for is not: a 1 % solution of pH 2 holds 0.01 mol of
# acid a kilogram, its solid a hundred times that, and so on the other side of the scale (pKw 14).
@pytest.mark.parametrize(
    ("described", "why", "doubt"),
    [
        ("class: acid, as supplied pH: 0.5", "acid or base without known constants", 10**1.5),
        ("class: base, as supplied pH: 13", "acid or base without known constants", 10.0),
        ("class: acid, as supplied pH: [0.5, null]", "acid or base without known constants", 10**1.5),
        ("class: base, as supplied pH: [null, 13]", "acid or base without known constants", 10.0),
        ("class: acid", "acid or base without known constants", None),
        ("class: [powder], as supplied pH: [9.5, 10]", "takes up acid", None),
        ("class: [powder], as supplied pH: [6, 7]", "not dissolved", None),
        ("class: [powder], as supplied pH: [null, 12]", "not dissolved", None),
        ("class: chelator", "salt without known constants", None),
        ("class: surfactant, charge: anionic", "traces of alkali or acid", None),
        ("class: surfactant, as supplied pH: [9, 10]", "traces of alkali or acid", None),
        ("class: thickener, charge: anionic", "few acid groups", None),
        ("class: botanical extract", "changing acidity", None),
        ("class: clay", "changing acidity", None),
        ("class: humectant, as supplied pH: 2", "without known constants", 1.0),
    ],
)
def test_why_something_is_left_out(reviewer: Reviewer, described: str, why: str, doubt: float | None) -> None:
    text = f"phases:\n  A: {{Aqua: q.s., House material: 1}}\nmaterials:\n  House material: {{{described}}}\n"
    (left,) = sheet_of(reviewer, text).water_phase.left_out
    assert why in left.why
    assert left.doubt > 0
    if doubt is not None:
        assert left.doubt == pytest.approx(doubt)


@pytest.mark.parametrize(
    "described",
    [
        "class: thickener",
        "class: surfactant",
        "class: thickener, charge: nonionic",
        "class: humectant, as supplied pH: [6, 8]",
        "class: vegetable oil, as supplied pH: 3",
        "class: humectant, dissolves in: [oil]",
    ],
)
def test_what_brings_no_charge_is_not_spoken_of(reviewer: Reviewer, described: str) -> None:
    text = f"phases:\n  A: {{Aqua: q.s., House material: 1}}\nmaterials:\n  House material: {{{described}}}\n"
    assert sheet_of(reviewer, text).water_phase.left_out == ()


def test_what_dissolves_in_both_is_in_the_water(reviewer: Reviewer) -> None:
    for media, solutes in (("[oil]", 0), ("[water, oil]", 1), ("[water]", 1)):
        text = (
            "phases:\n  A: {Aqua: q.s., House acid: 1}\nmaterials:\n"
            f"  House acid: {{class: acid, formula: C7H6O2, pKa: [4.2], dissolves in: {media}}}\n"
        )
        assert len(sheet_of(reviewer, text).water_phase.solutes) == solutes


@pytest.mark.parametrize(
    ("lines", "word"),
    [
        ("Aqua: 9.9, Citric Acid: 1, Squalane: 89.1", "less than 10 % of water"),
        ("Aqua: 10.5, Citric Acid: 1, Squalane: 88.5", ""),
        ("Aqua: 60, Alcohol: 38, Citric Acid: 2", "so much alcohol"),
        ("Aqua: 97, Alcohol: 2, Citric Acid: 1", ""),
        ("Aqua: 20, Glycerin: 78, Citric Acid: 2", "so much solvent"),
        ("Aqua: 90, Glycerin: 8, Citric Acid: 2", ""),
        ("Aqua: q.s., Glycerin: q.s., Citric Acid: 2", "cannot be worked out"),
    ],
)
def test_where_constants_of_water_do_not_apply(reviewer: Reviewer, lines: str, word: str) -> None:
    found = sheet_of(reviewer, f"phases:\n  A: {{{lines}}}\n").water_phase.refusal
    assert (word in found) if word else found == ""


@pytest.mark.parametrize(("step", "soap"), [("neutralise: A, with: Triethanolamine, to: 8", True), ("mix: A", False)])
def test_a_base_that_only_a_step_names_makes_soap_too(reviewer: Reviewer, step: str, soap: bool) -> None:
    """Vanishing creams neutralise their stearic acid in a step (common practice, no source)."""
    text = f"phases:\n  A: {{Aqua: q.s., Stearic Acid: 5}}\nprocedure:\n  - {{{step}}}\n  - {{mix: A}}\n"
    assert ("Stearic Acid" in [solute.name for solute in sheet_of(reviewer, text).water_phase.solutes]) == soap


def test_what_was_left_out_is_told_with_its_share(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "phases:\n  A: {Aqua: 96, Hedgerow bark liquor: 4}\n")
    assert list(reasons(sheet.water_phase)) == ["Hedgerow bark liquor (4 %): nothing is known of it"]
