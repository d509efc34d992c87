"""What keeps germs out, read from formulas: water activities of tables, distribution by hand, habits of the trade."""

from __future__ import annotations

from math import exp, log10

import pytest

from formcheck.bench.preservation import Guard, Preservation
from formcheck.review.run import Reviewer


def keeping(
    reviewer: Reviewer, lines: str, pH: float | None = None, product: str = "use: leave-on", more: str = ""
) -> Preservation:
    finished = f"finished: {{pH: {pH}}}\n" if pH is not None else ""
    text = f"formcheck: 1\nname: x\nproduct: {{{product}}}\nphases: {{A: {{{lines}}}}}\n{finished}{more}"
    return reviewer.sheet("x.formula.yaml", text.encode()).preservation


def guard(found: Preservation, name: str) -> Guard:
    return next(each for each in found.present if each.material.name == name)


# R. A. Robinson and R. H. Stokes, Electrolyte Solutions: sodium chloride 1 mol/kg 0.9669, 2 mol/kg 0.9316, potassium
# chloride 1 mol/kg 0.9682, all 25 °C; sucrose 50 % by weight 0.935, glycerol 50 % by weight 0.81 (tables of food science,
# from memory); water by itself 1.
@pytest.mark.parametrize(
    ("lines", "aw"),
    [
        ("Aqua: 94.48, Sodium Chloride: 5.52", 0.9669),
        ("Aqua: 89.53, Sodium Chloride: 10.47", 0.9316),
        ("Aqua: 93.06, Potassium Chloride: 6.94", 0.9682),
        ("Aqua: 50, Sucrose: 50", 0.935),
        ("Aqua: 50, Glycerin: 50", 0.81),
        ("Aqua: 30, Glycerin: 30, Squalane: 40", 0.81),  # oil counts for nothing
        ("Aqua: 100", 1.0),
        # by Ross, the product of both
        ("Aqua: 48.59, Glycerin: 48.59, Sodium Chloride: 2.82", 0.81 * 0.9669),
    ],
)
def test_water_activity_of_tables(reviewer: Reviewer, lines: str, aw: float) -> None:
    activity = keeping(reviewer, lines).activity
    assert activity is not None
    assert activity.aw == pytest.approx(aw, abs=0.012 if aw < 0.96 else 0.002)
    assert activity.low <= aw <= activity.high


def test_without_water_there_is_no_water_activity(reviewer: Reviewer) -> None:
    found = keeping(reviewer, "Squalane: 90, Glycerin: 10")
    assert found.activity is None
    assert found.keeps_itself


# Common practice: dry things, a fifth of alcohol, soaps, concentrated salts of aluminium and strong syrups keep themselves;
# ISO 29621 for pH, alcohol and water activity. Of each pair the second has too little of what keeps it.
KEEPS = {
    "oil": ("Squalane: 100", None, "use: leave-on", True),
    "water": ("Aqua: 100", None, "use: leave-on", False),
    "a cologne": ("Aqua: 40, Alcohol: 60", None, "use: leave-on", True),
    "a drop of alcohol": ("Aqua: 97, Alcohol: 3", None, "use: leave-on", False),
    "a third of propanediol": ("Aqua: 65, Propanediol: 35", None, "use: leave-on", True),
    "a little propanediol": ("Aqua: 95, Propanediol: 5", None, "use: leave-on", False),
    "alcohol and glycol, half each": ("Aqua: 83, Alcohol: 7, Propylene Glycol: 10", None, "use: leave-on", True),
    "an antiperspirant": ("Aqua: 70, Aluminum Chlorohydrate: 30", None, "use: leave-on", True),
    "a weak antiperspirant": ("Aqua: 90, Aluminum Chlorohydrate: 10", None, "use: leave-on", False),
    "a syrup": ("Aqua: 20, Glycerin: 80", None, "use: leave-on", True),
    "strong acid": ("Aqua: 90, Glycolic Acid: 10", 2.0, "use: leave-on", True),
    "weak acid": ("Aqua: 90, Glycolic Acid: 10", 4.5, "use: leave-on", False),
    "strong alkali": ("Aqua: 99, Sodium Hydroxide: 1", 12.5, "use: leave-on", True),
    "a bar of soap": ("Sodium Olivate: 85, Aqua: 13, Glycerin: 2", None, "use: rinse-off, form: bar", True),
    "liquid soap": ("Potassium Olivate: 20, Aqua: 80", 9.2, "use: rinse-off", True),
    "thin soap": ("Potassium Olivate: 2, Aqua: 98", 9.2, "use: rinse-off", False),
    "liquid soap taken down": ("Potassium Olivate: 20, Aqua: 80", 7.0, "use: rinse-off", False),
    "a damp powder": ("Talc: 95, Aqua: 5", None, "use: leave-on, form: powder", True),
    "a damp cream": ("Squalane: 95, Aqua: 5", None, "use: leave-on, form: cream", False),
}


@pytest.mark.parametrize(("lines", "pH", "product", "keeps"), KEEPS.values(), ids=KEEPS)
def test_what_keeps_itself(reviewer: Reviewer, lines: str, pH: float | None, product: str, keeps: bool) -> None:
    assert keeping(reviewer, lines, pH, product).keeps_itself == keeps


def test_the_measured_pH_tells_rather_than_the_stated_one(reviewer: Reviewer) -> None:
    text = "formcheck: 1\nname: x\nphases: {A: {Aqua: 100}}\nfinished: {pH: 5, measured pH: 2}\n"
    assert reviewer.sheet("x.formula.yaml", text.encode()).preservation.keeps_itself


@pytest.mark.parametrize("pH", [3.0, 4.2, 5.2, 6.2])
def test_an_acid_works_by_what_is_undissociated(reviewer: Reviewer, pH: float) -> None:
    """Henderson and Hasselbalch: half at the pKa of 4.20, a tenth of the rest a unit above."""
    found = keeping(reviewer, "Aqua: 99.5, Sodium Benzoate: 0.5", pH)
    (state,) = found.acids
    share = 1 / (1 + 10 ** (pH - 4.20))
    # counted as acid, 122.12 of 144.10; the water phase is the whole
    assert state.acid.free_percent == pytest.approx(0.5 * 122.12 / 144.10 * share, rel=0.01)
    assert found.working(guard(found, "Sodium Benzoate")) == pytest.approx(state.share)


def test_a_phenol_is_lost_to_alkali_and_others_outside_their_window(reviewer: Reviewer) -> None:
    """Methylparaben, pKa 8.4: half is left at pH 8.4, a tenth at 9.35."""
    at = {pH: keeping(reviewer, "Aqua: 99, Methylparaben: 0.2, Chlorphenesin: 0.2", pH) for pH in (5.0, 8.4, 9.35)}
    paraben = {pH: found.working(guard(found, "Methylparaben")) for pH, found in at.items()}
    assert paraben[8.4] == pytest.approx(paraben[5.0] / 2, rel=0.01)
    assert paraben[9.35] == pytest.approx(paraben[5.0] / 10, rel=0.02)
    other = {pH: found.working(guard(found, "Chlorphenesin")) for pH, found in at.items()}
    assert other[5.0] > 0
    assert other[9.35] == 0  # beyond its window, 3 to 8, by more than the grace
    unstated = keeping(reviewer, "Aqua: 99, Methylparaben: 0.2, Sodium Benzoate: 0.5")
    for name in ("Methylparaben", "Sodium Benzoate"):
        each = guard(unstated, name)
        assert unstated.working(each) == each.share


def test_the_highest_pH_is_found_to_a_hundredth(reviewer: Reviewer) -> None:
    found = keeping(reviewer, "Aqua: 100")
    assert found.highest_pH(lambda pH: pH <= 5.3) == pytest.approx(5.3, abs=0.01)
    assert found.highest_pH(lambda pH: pH < 3) is None
    assert found.highest_pH(lambda pH: True) == pytest.approx(10, abs=0.01)


def test_oil_takes_what_bean_says(reviewer: Reviewer) -> None:
    """Free in the water: C (phi + 1) / (K phi + 1) of the overall C (H. S. Bean and others, J. Soc. Cosmet. Chem. 16 (1965)
    15). Half oil, half water; methylparaben, log P 1.96; K of the oil from that of octanol by the reference's shift."""
    for oil, kind in (("Paraffinum Liquidum", "hydrocarbon"), ("Olea Europaea Fruit Oil", "vegetable oil")):
        found = keeping(reviewer, f"Aqua: 49.9, {oil}: 49.9, Methylparaben: 0.2", 5.0)
        each = guard(found, "Methylparaben")
        K = 10 ** (1.96 + float(reviewer.reference.limit(f"log K less log P, {kind}").value))
        assert found.oil_ratio == pytest.approx(1, abs=0.01)
        assert found.in_water(each) == pytest.approx(1 / (1 + K), rel=0.02)
        assert found.free(each) / found.working(each) == pytest.approx(2 / (K + 1), rel=0.02)
        assert found.free(each, oil=False) == pytest.approx(found.working(each))


def test_half_mineral_half_vegetable_oil_lies_between(reviewer: Reviewer) -> None:
    both = "Aqua: 49.9, Paraffinum Liquidum: 24.95, Olea Europaea Fruit Oil: 24.95, Methylparaben: 0.2"
    found = keeping(reviewer, both, 5.0)
    shifts = [
        10 ** (1.96 + float(reviewer.reference.limit(f"log K less log P, {kind}").value))
        for kind in ("hydrocarbon", "vegetable oil")
    ]
    assert found.oil_coefficient(1.96) == pytest.approx(sum(shifts) / 2, rel=0.01)


def test_of_an_acid_only_what_is_neutral_goes_into_the_oil(reviewer: Reviewer) -> None:
    """E. R. Garrett and O. R. Woods, J. Am. Pharm. Assoc. 42 (1953) 736: at pH 6.2 a hundredth of benzoate is neutral, and K
    counts for a hundredth."""
    near, far = (
        keeping(reviewer, "Aqua: 49.75, Olea Europaea Fruit Oil: 49.75, Sodium Benzoate: 0.5", pH) for pH in (2.2, 6.2)
    )
    shares = [found.in_water(guard(found, "Sodium Benzoate")) for found in (near, far)]
    K = 10 ** (1.87 + float(reviewer.reference.limit("log K less log P, vegetable oil").value))
    assert shares[0] == pytest.approx(1 / (1 + K * 0.99), rel=0.02)
    assert shares[1] == pytest.approx(1 / (1 + K * 0.0099), rel=0.02)


def test_nothing_is_taken_where_there_is_no_oil_or_no_water(reviewer: Reviewer) -> None:
    found = keeping(reviewer, "Aqua: 99.8, Methylparaben: 0.2", 5.0)
    each = guard(found, "Methylparaben")
    assert found.oil_ratio == 0
    assert found.in_water(each) == pytest.approx(1)
    assert found.free(each) == pytest.approx(found.working(each))
    assert found.free(each, micelles=True) == pytest.approx(found.working(each))
    assert found.total_to_free(each) == 1
    dry = keeping(reviewer, "Squalane: 99.8, Methylparaben: 0.2")
    assert (dry.oil_ratio, dry.micelles_percent, dry.solvent_share, dry.acids_at(5.0)) == (0, 0, 0, ())
    unknown = keeping(reviewer, "Aqua: 50, Squalane: 49.5, Imidazolidinyl Urea: 0.5", 5.0)
    without = guard(unknown, "Imidazolidinyl Urea")  # no log P is known of it
    assert unknown.in_water(without) == 1
    assert unknown.total_to_free(without) == 1
    assert unknown.free(without) == unknown.working(without)


def test_micelles_are_counted_in_the_water_phase(reviewer: Reviewer) -> None:
    found = keeping(reviewer, "Aqua: 40, Squalane: 58, Polysorbate 20: 2, Sorbitol: 0", 5.0)
    assert found.micelles_percent == pytest.approx(5)
    # H. B. Kostenbauder: total over free grows straight with the surfactant
    one, two = (keeping(reviewer, f"Aqua: 99, Polysorbate 20: {x}, Methylparaben: 0.2", 5.0) for x in (1, 2))
    bound = [found.total_to_free(guard(found, "Methylparaben")) - 1 for found in (one, two)]
    assert bound[1] == pytest.approx(2 * bound[0])
    each = guard(two, "Methylparaben")
    assert two.free(each, micelles=True) == pytest.approx(two.working(each) / (1 + bound[1]), rel=1e-3)


@pytest.mark.parametrize(
    ("lines", "mould"),
    [
        ("Ethylhexylglycerin: 0.5", 0),
        ("DMDM Hydantoin: 0.3", 1),
        ("DMDM Hydantoin: 0.3, Imidazolidinyl Urea: 0.3", 2),  # two weak ones make a fair one
        ("DMDM Hydantoin: 0.3, Caprylyl Glycol: 0.5", 2),  # a booster beside it, too
        ("DMDM Hydantoin: 0.3, Phenoxyethanol: 0.9", 2),
        ("DMDM Hydantoin: 0.3, Imidazolidinyl Urea: 0.01", 1),  # far below its dose it is not counted
        ("Potassium Sorbate: 0.3", 3),
    ],
)
def test_weak_ones_together_are_fair(reviewer: Reviewer, lines: str, mould: int) -> None:
    """Common practice, no source."""
    assert keeping(reviewer, f"Aqua: q.s., {lines}", 5.0).coverage()["mould"] == mould


def test_what_is_taken_away_no_longer_covers(reviewer: Reviewer) -> None:
    found = keeping(reviewer, "Aqua: q.s., Phenoxyethanol: 0.9, Potassium Sorbate: 0.3", 5.0)
    without = found.coverage(without=[guard(found, "Potassium Sorbate")])
    assert (found.coverage()["mould"], without["mould"]) == (3, 2)
    assert found.strength(without=[guard(found, "Potassium Sorbate")]) == pytest.approx(
        guard(found, "Phenoxyethanol").share
    )


def test_a_blend_that_preserves_as_a_whole_counts_with_its_own_spectrum(reviewer: Reviewer) -> None:
    house = (
        "materials:\n  House guard: {class: preservative, dose: [1, 2], contains: {Ethylhexylglycerin: 10, Glycerin: 90}, "
        "spectrum: {bacteria: fair, yeast: fair, mould: fair}}\n"
    )
    for percent, mould in ((1, 2), (0.5, 2), (0.4, 0)):
        found = keeping(reviewer, f"Aqua: q.s., House guard: {percent}", 5.0, more=house)
        assert found.coverage()["mould"] == mould
    whole = keeping(reviewer, "Aqua: q.s., House guard: 1", 5.0, more=house)
    assert whole.coverage(without=whole.guards)["mould"] == 0


# Osmotic coefficients at 1 mol/kg and 25 °C: calcium chloride 1.046, magnesium chloride 1.11, magnesium sulfate 0.525, sodium
# sulfate 0.64, zinc sulfate 0.518 (R. A. Robinson and R. H. Stokes, Electrolyte Solutions; from memory). aw = exp(-ions phi m M), M of water.
@pytest.mark.parametrize(
    ("name", "ions", "phi"),
    [
        ("Calcium Chloride", 3, 1.046),
        ("Magnesium Chloride", 3, 1.11),
        ("Magnesium Sulfate", 2, 0.525),
        ("Sodium Sulfate", 3, 0.64),
        ("Zinc Sulfate", 2, 0.518),
    ],
)
def test_salts_of_other_charges(reviewer: Reviewer, name: str, ions: int, phi: float) -> None:
    mass = reviewer.reference.find(name).molar_mass  # type: ignore[union-attr]
    assert mass is not None
    salt = 100 * mass / (1000 + mass)
    activity = keeping(reviewer, f"Aqua: {100 - salt:.4f}, {name}: {salt:.4f}").activity
    assert activity is not None
    expected = exp(-ions * phi * 0.018015)
    assert activity.aw == pytest.approx(expected, abs=0.015)
    assert activity.low <= expected <= activity.high


def test_two_acids_of_a_double_salt_are_one(reviewer: Reviewer) -> None:
    """Calcium sorbate holds two sorbates of pKa 4.76, each of which is half free at pH 4.76; 85.5 % of it is sorbic acid
    (2 x 112.13 of 262.3)."""
    (state,) = keeping(reviewer, "Aqua: 99.7, Calcium Sorbate: 0.3", 4.76).acids
    assert state.acid.undissociated_percent == pytest.approx(50, abs=0.1)
    assert state.acid.free_percent == pytest.approx(0.3 * 0.855 / 2, rel=0.01)


@pytest.mark.parametrize(
    ("line", "booster"),
    [
        ("Phenoxyethanol: 0.9", False),
        ("Benzalkonium Chloride: 0.1", False),
        ("Caprylyl Glycol: 0.5", True),
        # quaternaries of conditioners are dosed far above what preserves (common practice)
        ("House quat: 3", True),
        ("House germicide: 0.1", False),
        ("Scented guard: 0.5", True),
    ],
)
def test_what_only_helps(reviewer: Reviewer, line: str, booster: bool) -> None:
    house = (
        "materials:\n  House quat: {class: [cationic surfactant, preservative], dose: [1, 4]}\n"
        "  House germicide: {class: [cationic surfactant, preservative], dose: [0.02, 0.1]}\n"
        "  Scented guard: {class: [preservative, fragrance], dose: [0.2, 1]}\n"
    )
    found = keeping(reviewer, f"Aqua: q.s., {line}", 5.0, more=house)
    assert [each.booster for each in found.present] == [booster]
    assert len(found.boosters) == int(booster)
    assert len(found.preservatives) == 1 - int(booster)


def test_boosters_count_for_half_and_no_more_than_their_most(reviewer: Reviewer) -> None:
    """The reference's own weights (common practice, no source)."""
    weight, most = (
        float(reviewer.reference.limit(f"{name}").value) for name in ("weight of a booster", "most that boosters count")
    )
    little = keeping(reviewer, "Aqua: q.s., Caprylyl Glycol: 0.1", 5.0)
    assert little.strength() == pytest.approx(weight * guard(little, "Caprylyl Glycol").share)
    much = keeping(reviewer, "Aqua: q.s., Caprylyl Glycol: 5, Phenoxyethanol: 0.4", 5.0)
    assert much.strength() == pytest.approx(guard(much, "Phenoxyethanol").share + most)
    assert much.strength(lambda each: 0.0) == 0


def test_one_guard_from_two_lines_is_summed(reviewer: Reviewer) -> None:
    """0.3 of phenoxyethanol in one line and 0.3 in two more, over the 0.4 that is the least."""
    house = "materials:\n  House mix: {class: solvent, contains: {Phenoxyethanol: 50, Glycerin: 50}}\n"
    text = "Aqua: q.s., Phenoxyethanol: 0.3, House mix: 0.6"
    found = guard(keeping(reviewer, text, 5.0, more=house), "Phenoxyethanol")
    assert found.percent == pytest.approx(0.6)
    assert found.share == pytest.approx(0.6 / 0.4)
    assert found.label == "Phenoxyethanol (in House mix)"


def test_a_line_without_an_amount_guards_nothing(reviewer: Reviewer) -> None:
    found = keeping(reviewer, "Aqua: q.s., Benzyl Alcohol: q.s., Phenoxyethanol: 0.9", 5.0)
    assert [each.material.name for each in found.present] == ["Phenoxyethanol"]


def test_without_a_dose_for_this_use_the_least_of_any_counts(reviewer: Reviewer) -> None:
    """Sodium benzoate is dosed from 0.2 % in what is left on and what is rinsed off; the use is not said."""
    found = keeping(reviewer, "Aqua: q.s., Sodium Benzoate: 0.4", 4.0, product="form: cream")
    assert guard(found, "Sodium Benzoate").least == pytest.approx(0.2)
    nobody = keeping(
        reviewer, "Aqua: q.s., House guard: 0.4", 4.0, more="materials:\n  House guard: {class: preservative}\n"
    )
    assert (guard(nobody, "House guard").least, guard(nobody, "House guard").share) == (None, 1)
    assert nobody.ungraded == nobody.preservatives


@pytest.mark.parametrize(
    ("lye", "soap"),
    [
        # 5 g of stearic acid are 0.01758 mol (284.48 g/mol); lye 40.00 g/mol; what the lye leaves over stays acid
        (2.0, 5.0),
        (0.7031, 5.0),
        (0.5625, 4.0),
    ],
)
def test_soap_is_counted_by_the_scarcer(reviewer: Reviewer, lye: float, soap: float) -> None:
    found = keeping(reviewer, f"Aqua: q.s., Stearic Acid: 5, Sodium Hydroxide: {lye}")
    assert found.soap_percent == pytest.approx(soap, rel=2e-3)


def test_of_an_acid_the_oil_takes_from_what_is_neutral(reviewer: Reviewer) -> None:
    """Garrett and Woods, as above: beside as much oil an acid that is neutral is left to 1 / (1 + K) in the water."""
    found = keeping(reviewer, "Aqua: 49.75, Olea Europaea Fruit Oil: 49.75, Sodium Benzoate: 0.5", 2.2)
    each = guard(found, "Sodium Benzoate")
    K = 10 ** (1.87 + float(reviewer.reference.limit("log K less log P, vegetable oil").value))
    assert found.free(each) / found.working(each) == pytest.approx(1 / (1 + K * 0.99), rel=0.02)


def test_micelles_bind_by_a_power_of_ten(reviewer: Reviewer) -> None:
    """log (R - 1) for 1 % of surfactant is a straight line in log P (the reference's own line)."""
    found = keeping(reviewer, "Aqua: 99, Polysorbate 20: 1, Methylparaben: 0.2, Phenoxyethanol: 0.5", 5.0)
    bound = [
        log10((found.total_to_free(guard(found, name)) - 1) / found.micelles_percent)
        for name in ("Methylparaben", "Phenoxyethanol")
    ]
    slope = float(reviewer.reference.limit("micelle binding by log P").value)
    assert bound[0] - bound[1] == pytest.approx(slope * (1.96 - 1.16))
    assert bound[0] == pytest.approx(float(reviewer.reference.limit("micelle binding at log P 0").value) + slope * 1.96)
