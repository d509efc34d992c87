"""Depth cases for the rules on preservation, held against law, handbooks and papers named beside each."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from formcheck.bench.worksheet import Worksheet
from formcheck.review.model import Review
from formcheck.review.rule import Finding
from formcheck.review.run import Reviewer

Reviews = Callable[[str], Review]


def formula(lines: str, product: str = "", more: str = "") -> str:
    """A small formula file: one phase of lines, the rest as given."""
    return f"formcheck: 1\nname: Allotment lotion\n{product}phases:\n  A: {{{lines}}}\n{more}"


def found(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


def severities(result: Review, rule: str) -> list[str]:
    return [finding.severity for finding in found(result, rule)]


def unchecked(result: Review, rule: str) -> list[str]:
    return [item.needs for item in result.unchecked if item.rule == rule]


def sheet(lines: str, more: str = "") -> Worksheet:
    text = formula(lines, more=more)
    return Reviewer(today=date(2026, 11, 25)).sheet("test.formula.yaml", text.encode())


LEAVE_ON = "product: {use: leave-on, form: lotion, area: [body], users: [adults], markets: [EU]}\n"
RINSE_OFF = "product: {use: rinse-off, form: shampoo, area: [hair], users: [adults], markets: [EU]}\n"


# --- limits of the law: Regulation (EC) No 1223/2009, annex V


@pytest.mark.parametrize(
    ("lines", "product", "over"),
    [
        # Entry 4: sorbic acid and salts, 0.6 % as acid; 0.75 % of the potassium salt is 0.56 %, 0.85 % is 0.63 %.
        ("Aqua: q.s., Potassium Sorbate: 0.75", LEAVE_ON, False),
        ("Aqua: q.s., Potassium Sorbate: 0.85", LEAVE_ON, True),
        ("Aqua: q.s., Potassium Sorbate: 0.4, Sorbic Acid: 0.35", LEAVE_ON, True),
        # Entry 29: phenoxyethanol 1 %; 90 % of 1.2 % is 1.08 %.
        ("Aqua: q.s., Phenoxyethanol: 1", LEAVE_ON, False),
        ("Aqua: q.s., Phenoxyethanol and Ethylhexylglycerin: 1.2", LEAVE_ON, True),
        ("Aqua: q.s., Phenoxyethanol and Ethylhexylglycerin: 1.0, Phenoxyethanol: 0.2", LEAVE_ON, True),
        # Entry 1: benzoic acid 0.5 % leave-on, 2.5 % rinse-off, as acid; 0.55 % of the sodium salt is 0.466 %.
        ("Aqua: q.s., Sodium Benzoate: 0.55", LEAVE_ON, False),
        ("Aqua: q.s., Sodium Benzoate: 0.65", LEAVE_ON, True),
        ("Aqua: q.s., Sodium Benzoate: 0.65", RINSE_OFF, False),
        # Entry 12: a paraben 0.4 % as acid: 0.44 % of methylparaben is 0.399 %, 0.5 % is 0.454 %.
        ("Aqua: q.s., Methylparaben: 0.44", LEAVE_ON, False),
        ("Aqua: q.s., Methylparaben: 0.5", LEAVE_ON, True),
        # Entry 12a: propyl- and butylparaben together 0.14 % as acid: 0.1 + 0.1 % is 0.148 %.
        ("Aqua: q.s., Propylparaben: 0.09, Butylparaben: 0.09", LEAVE_ON, False),
        ("Aqua: q.s., Propylparaben: 0.1, Butylparaben: 0.1", LEAVE_ON, True),
        # Entries 12 and 12a together 0.8 % as acid.
        ("Aqua: q.s., Methylparaben: 0.4, Ethylparaben: 0.4", LEAVE_ON, False),
        ("Aqua: q.s., Methylparaben: 0.43, Ethylparaben: 0.4, Propylparaben: 0.14", LEAVE_ON, True),
        # Entries 39 and 57: isothiazolinones in rinse-off only, 0.0015 %.
        ("Aqua: q.s., Methylchloroisothiazolinone and Methylisothiazolinone: 0.08", RINSE_OFF, False),
        ("Aqua: q.s., Methylchloroisothiazolinone and Methylisothiazolinone: 0.08", LEAVE_ON, True),
        # Entry 3 is 0.5 % as a preservative, but annex III, entry 98 allows 2 % of salicylic acid for other purposes.
        ("Aqua: q.s., Alcohol: 20, Salicylic Acid: 1.9", LEAVE_ON.replace("body", "face"), False),
        # Entry 44 is 0.1 %, but annex III, entry 286 allows more of it as a conditioner.
        ("Aqua: q.s., Cetrimonium Chloride: 2", RINSE_OFF, False),
    ],
)
def test_limits_of_annex_v(review: Reviews, lines: str, product: str, over: bool) -> None:
    assert severities(review(formula(lines, product)), "preservative-over-limit") == ["critical"] * over


def test_over_limit_tells_the_acid_and_the_most_that_keeps_to_it(review: Reviews) -> None:
    (finding,) = found(review(formula("Aqua: q.s., Potassium Sorbate: 0.85", LEAVE_ON)), "preservative-over-limit")
    assert "0.63 % as Sorbic Acid" in finding.message
    assert "0.8 % of Potassium Sorbate" in finding.remedy  # 0.6 % x 150.22 / 112.13
    assert "Annex V, entry 4" in finding.source


def test_over_limit_is_told_once_for_markets_that_agree(review: Reviews) -> None:
    product = LEAVE_ON.replace("[EU]", "[EU, UK]")
    (finding,) = found(review(formula("Aqua: q.s., Phenoxyethanol: 1.2", product)), "preservative-over-limit")
    assert finding.message.endswith("in EU and UK")


def test_limit_of_a_market_without_tables_is_unchecked(review: Reviews) -> None:
    product = LEAVE_ON.replace("[EU]", "[JP]")
    result = review(formula("Aqua: q.s., Phenoxyethanol: 1.2", product))
    assert not found(result, "preservative-over-limit")
    assert any("JP" in needs for needs in unchecked(result, "preservative-over-limit"))


def test_benzoate_between_the_two_limits_asks_for_the_use(review: Reviews) -> None:
    result = review(formula("Aqua: q.s., Sodium Benzoate: 0.8"))
    assert not found(result, "preservative-over-limit")
    assert any("use: ..." in needs for needs in unchecked(result, "preservative-over-limit"))


# --- whether a preservative is needed


@pytest.mark.parametrize(
    ("lines", "more", "expected"),
    [
        # Water with food in it: any textbook of cosmetic microbiology.
        ("Aqua: q.s., Glycerin: 5, Panthenol: 1", "", ["critical"]),
        ("Aqua: q.s., Gooseberry Leaf Extract: 1", "", ["critical"]),
        # No water: ISO 29621.
        ("Beeswax: 20, Helianthus Annuus Seed Oil: 80", "", []),
        # ISO 29621: 20 % of alcohol and more; pH 3 and less; pH 10 and more.
        ("Alcohol Denat.: 70, Glycerin: 1.5, Aqua: q.s.", "", []),
        ("Aqua: q.s., Glycolic Acid: 8", "finished: {pH: 2.9}\n", []),
        ("Aqua: q.s., Potassium Olivate: 20", "finished: {pH: 10.2}\n", []),
        # Water activity at most 0.75 (ISO 29621): glycerol of 65 % is near 0.68, of 50 % near 0.81.
        ("Glycerin: 65, Aqua: q.s.", "", []),
        ("Glycerin: 50, Aqua: q.s.", "", ["major"]),
        # Honey has 0.5 to 0.6 (Codex Alimentarius and food tables).
        ("Mel: 60, Glycerin: 40", "", []),
        # The codex cream that 20 % of propylene glycol in its water phase keeps (Deutscher Arzneimittel-Codex).
        ("Petrolatum: 33, Glyceryl Stearate: 10, Cetyl Alcohol: 7, Propylene Glycol: 10, Aqua: 40", "", ["note"]),
        # 15 % by volume of alcohol keeps an acid preparation (University of North Carolina): 9 % by weight does not.
        ("Aqua: q.s., Alcohol: 9, Glycerin: 3", "", ["major"]),
        # Little water in drops in oil: pharmacies leave it unpreserved for weeks (German formulary practice).
        ("Beeswax: 7, Cetyl Palmitate: 8, Arachis Hypogaea Oil: 60, Aqua: 25", "", ["minor"]),
        # Boosters alone: common practice, no source.
        ("Aqua: q.s., Pentylene Glycol: 5, Caprylyl Glycol: 0.5, Ethylhexylglycerin: 0.5", "", ["minor"]),
        ("Aqua: q.s., Ethylhexylglycerin: 0.5", "", ["major"]),
        ("Aqua: q.s., Cetearyl Alcohol: 5, Cetrimonium Chloride: 1.5", "", ["major"]),
        # A trace that a raw material carries in preserves nothing: common practice, no source.
        ("Aqua: q.s., Glycerin: 5, Phenoxyethanol: 0.01", "", ["critical"]),
        # Soap paste and bars keep by themselves: common practice, no source.
        ("Sodium Olivate: 75, Aqua: 20, Glycerin: 5", "", []),
        # Soap made in the pot: green soap (United States Pharmacopeia), bars, shaving soap; common practice, no source.
        ("Olive Oil: 38, Oleic Acid: 2, Potassium Hydroxide: 7.8, Glycerin: 6.3, Aqua: q.s.", "", []),
        ("Olea Europaea Fruit Oil: 60, Sodium Hydroxide: 8, Aqua: q.s.", "", []),
        ("Stearic Acid: 18, Lauric Acid: 12, Potassium Hydroxide: 6, Aqua: q.s.", "finished: {pH: 9.6}\n", []),
        # Bars and powders bind a little water (common practice, no source).
        (
            "Sodium Cocoyl Isethionate: 65, Stearic Acid: 18, Cetearyl Alcohol: 7, Aqua: 10",
            "product: {form: bar}\n",
            [],
        ),
        # Solvents and astringent salts (ISO 29621: 10 % of ethyl acetate, 25 % of aluminium chlorohydrate).
        ("Acetone: 70, Ethyl Acetate: 20, Aqua: q.s.", "", ["note"]),
        ("Aluminum Chlorohydrate: 26, Steareth-2: 3, Aqua: q.s.", "", []),
        ("Aluminum Chlorohydrate: 15, Steareth-2: 3, Aqua: q.s.", "", ["minor"]),
        ("Aluminum Chlorohydrate: 2, Steareth-2: 3, Aqua: q.s.", "", ["critical"]),
        # Vanishing cream has a fifth of its stearic acid as soap, and keeps no better than any cream.
        ("Stearic Acid: 18, Potassium Hydroxide: 0.7, Glycerin: 6, Aqua: q.s.", "finished: {pH: 7.8}\n", ["critical"]),
        # Cetrimide is on the list of preservatives (annex V, entry 44); as little as a conditioner brings along is not enough.
        ("Aqua: q.s., Cetearyl Alcohol: 5, Mineral Oil: 30, Cetrimide: 0.5", "", []),
        ("Aqua: q.s., Glycerin: 5, Cetrimide: 0.08", "", []),
    ],
)
def test_when_a_preservative_is_missing(review: Reviews, lines: str, more: str, expected: list[str]) -> None:
    assert severities(review(formula(lines, more=more)), "preservative-missing") == expected


@pytest.mark.parametrize(
    ("lines", "asks"),
    [
        ("Aqua: q.s., Glycerin: 5, Plot preserver: 1", "Plot preserver"),
        ("Aqua: 90, Glycerin: 10, Preservative: q.s.", "Preservative"),
        ("Olea Europaea Fruit Oil: 30, Sodium Hydroxide: 4, Aqua: q.s.", "pH"),
        ("Stearic Acid: 30, Potassium Hydroxide: 5, Glycerin: 10, Aqua: q.s.", "pH"),
        ("Aqua: q.s., Potassium Olivate: 20", "pH"),
        ("Aqua: q.s., Sodium Hydroxide: 1", "pH"),
    ],
)
def test_where_it_cannot_be_known_nothing_is_concluded(review: Reviews, lines: str, asks: str) -> None:
    result = review(formula(lines))
    assert not found(result, "preservative-missing")
    assert any(asks in needs for needs in unchecked(result, "preservative-missing"))


# --- pH


@pytest.mark.parametrize(
    ("lines", "pH", "expected"),
    [
        # Undissociated at pH 5, 6 and 7: benzoic 13, 1.5 and 0.15 %, sorbic 37, 6 and 0.6 % (Steinberg 2005).
        ("Aqua: q.s., Sodium Benzoate: 0.5", "4.8", []),
        # Just short of the least free acid is no failure: the least doses of the tests differ by more.
        ("Aqua: q.s., Sodium Benzoate: 0.35", "5.3", ["minor"]),
        ("Aqua: q.s., Sodium Benzoate: 0.5", "6.0", ["critical"]),
        ("Aqua: q.s., Sodium Benzoate: 0.4, Potassium Sorbate: 0.3", "5.3", []),
        ("Aqua: q.s., Sodium Benzoate: 0.4, Potassium Sorbate: 0.3", "6.5", ["critical"]),
        ("Aqua: q.s., Sodium Benzoate: 0.4, Potassium Sorbate: 0.2", "5.3 ± 0.6", ["minor"]),
        # What works beside it still preserves.
        ("Aqua: q.s., Sodium Benzoate: 0.4, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1", "7", ["minor"]),
        # Dehydroacetic acid: 65 % at pH 5, 16 % at pH 6, 2 % at pH 7 (Steinberg 2005).
        ("Aqua: q.s., Sodium Dehydroacetate: 0.2", "5.5", []),
        ("Aqua: q.s., Sodium Dehydroacetate: 0.2", "7.8", ["critical"]),
        # Methylparaben works from pH 4 to 8 and about half is a salt at 8.4 (Handbook of Pharmaceutical Excipients).
        ("Aqua: q.s., Methylparaben: 0.2", "7.5", []),
        ("Aqua: q.s., Methylparaben: 0.2", "8.3", []),
        ("Aqua: q.s., Methylparaben: 0.2", "8.8", ["minor"]),
        ("Aqua: q.s., Methylparaben: 0.2", "9.8", ["critical"]),
        # Phenoxyethanol has no acid group (Handbook of Pharmaceutical Excipients).
        ("Aqua: q.s., Phenoxyethanol: 0.9", "8", []),
        # At pH 3 and below germs hardly grow (ISO 29621).
        ("Aqua: q.s., Bronopol: 0.05", "2.8", []),
    ],
)
def test_preservative_outside_its_pH(review: Reviews, lines: str, pH: str, expected: list[str]) -> None:
    result = review(formula(lines, more=f"finished: {{pH: {pH}}}\n"))
    assert severities(result, "preservative-outside-ph") == expected


def test_benzoate_at_pH_6_tells_both_shares(review: Reviews) -> None:
    result = review(formula("Aqua: q.s., Glycerin: 5, Sodium Benzoate: 0.5", more="finished: {pH: 6}\n"))
    (finding,) = found(result, "preservative-outside-ph")
    # 1.6 % undissociated (pKa 4.20); 0.5 % of the salt is 0.424 % of acid, so 0.0066 % in the water.
    assert "only 1.6 % of Sodium Benzoate is free acid" in finding.message
    assert "0.0066 % of the water phase" in finding.message
    assert finding.place.line == 5


def test_acid_without_a_stated_pH_is_unchecked_not_critical(review: Reviews) -> None:
    result = review(formula("Aqua: q.s., Sodium Benzoate: 0.5"))
    assert not found(result, "preservative-outside-ph")
    assert any("pH" in needs for needs in unchecked(result, "preservative-outside-ph"))


def test_preservative_that_pH_leaves_alone_asks_for_none(review: Reviews) -> None:
    assert not unchecked(review(formula("Aqua: q.s., Phenoxyethanol: 0.9")), "preservative-outside-ph")


@pytest.mark.parametrize(
    ("name", "pH", "percent"),
    [  # D. C. Steinberg, J. Cosmet. Sci. 56 (2005) 361, table of active acid
        ("Sodium Benzoate", 5, 13),
        ("Sodium Benzoate", 6, 1.5),
        ("Potassium Sorbate", 5, 37),
        ("Potassium Sorbate", 6, 6),
        ("Sodium Dehydroacetate", 5, 65),
        ("Sodium Dehydroacetate", 6, 15.8),
    ],
)
def test_undissociated_share_against_steinberg(name: str, pH: float, percent: float) -> None:
    (state,) = sheet(f"Aqua: q.s., {name}: 0.4").preservation.acids_at(pH)
    assert state.acid.undissociated_percent == pytest.approx(percent, rel=0.12)


# --- dose, spectrum


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # Usual doses: Handbook of Pharmaceutical Excipients; common practice for blends.
        ("Aqua: q.s., Phenoxyethanol: 0.2", ["major"]),
        ("Aqua: q.s., Phenoxyethanol: 0.7", []),
        ("Aqua: q.s., Phenoxyethanol and Ethylhexylglycerin: 0.5", []),
        ("Aqua: q.s., Phenoxyethanol and Ethylhexylglycerin: 0.2", ["major"]),
        ("Aqua: q.s., Gluconolactone and Sodium Benzoate: 0.8", []),
        # Hydrophilic Ointment of the United States Pharmacopeia has 0.025 and 0.015 %.
        ("Aqua: q.s., Methylparaben: 0.025, Propylparaben: 0.015", []),
        # Two halves make a whole.
        ("Aqua: q.s., Phenoxyethanol: 0.3, Potassium Sorbate: 0.05", []),
    ],
)
def test_underdosed(review: Reviews, lines: str, expected: list[str]) -> None:
    assert severities(review(formula(lines, more="finished: {pH: 5}\n")), "preservative-underdosed") == expected


def test_underdosed_tells_what_reaches_the_least(review: Reviews) -> None:
    (finding,) = found(review(formula("Aqua: q.s., Phenoxyethanol: 0.2")), "preservative-underdosed")
    assert "0.4 % of Phenoxyethanol" in finding.remedy


@pytest.mark.parametrize(
    ("lines", "pH", "expected"),
    [
        # Iodopropynyl butylcarbamate is for moulds and yeasts; bronopol for bacteria (handbooks of preservation).
        ("Aqua: q.s., Iodopropynyl Butylcarbamate: 0.01", "5.5", ["major"]),
        ("Aqua: q.s., Bronopol: 0.05", "6", ["major"]),
        ("Aqua: q.s., Bronopol: 0.05, Methylparaben: 0.15", "6", []),
        # Benzoic acid holds yeasts at 0.002 to 0.07 % free, bacteria only at 0.1 to 0.2 % (Antimicrobials in Food).
        ("Aqua: q.s., Sodium Benzoate: 0.5", "5.2", ["major"]),
        ("Aqua: q.s., Sodium Benzoate: 0.5", "4.2", []),
        ("Aqua: q.s., Sodium Benzoate: 0.5", "6.2", []),
        ("Aqua: q.s., Sodium Benzoate: 0.4, Potassium Sorbate: 0.3", "4.8", []),
        ("Aqua: q.s., Sodium Benzoate: 0.4, Potassium Sorbate: 0.3", "5.3", ["minor"]),
        # 0.15 % of sorbic acid was the best of five systems in a cream of anionic emulsifying wax (Pharm. Weekbl. Sci. Ed.).
        ("Aqua: q.s., Sorbic Acid: 0.15", "4.5", []),
        ("Aqua: q.s., Methylparaben: 0.18, Propylparaben: 0.02", "6", []),
        ("Aqua: q.s., Phenoxyethanol and Ethylhexylglycerin: 1", "6", []),
        ("Aqua: q.s., Benzyl Alcohol and Dehydroacetic Acid: 0.9", "5.5", []),
    ],
)
def test_spectrum(review: Reviews, lines: str, pH: str, expected: list[str]) -> None:
    result = review(formula(lines, more=f"finished: {{pH: {pH}}}\n"))
    assert severities(result, "preservative-spectrum") == expected


def test_house_preservative_without_facts_is_asked_for(review: Reviews) -> None:
    house = "materials:\n  Shed preserver: {class: preservative}\n"
    result = review(formula("Aqua: q.s., Shed preserver: 1", more=house))
    assert not found(result, "preservative-missing")
    assert unchecked(result, "preservative-spectrum")
    assert unchecked(result, "preservative-underdosed")


# --- what oil and micelles leave


@pytest.mark.parametrize(
    ("oil", "percent", "name", "in_water"),
    [  # H. S. Bean, J. Soc. Cosmet. Chem. 23 (1972) 716, table VIII: concentration in the water over that in the whole
        ("Mineral Oil", 30, "Methylparaben", 1.4),
        ("Mineral Oil", 50, "Methylparaben", 2.0),
    ],
)
def test_partition_in_mineral_oil_against_bean(oil: str, percent: float, name: str, in_water: float) -> None:
    preservation = sheet(f"Aqua: q.s., {oil}: {percent}, {name}: 0.1").preservation
    (guard,) = preservation.guards
    assert preservation.free(guard) / preservation.working(guard) == pytest.approx(in_water, rel=0.1)


def test_partition_in_soya_oil_against_bean() -> None:
    """Propylparaben between soya oil and water has K = 80 (Bean 1972, table VII): 3 % stays in the water of 30 % oil."""
    preservation = sheet("Aqua: q.s., Glycine Soja Oil: 30, Propylparaben: 0.1").preservation
    (guard,) = preservation.guards
    assert preservation.in_water(guard) == pytest.approx(1 / (1 + 80 * 30 / 70), rel=0.15)


@pytest.mark.parametrize(
    ("name", "free"),
    [("Methylparaben", 0.22), ("Propylparaben", 0.045)],  # Patel and Kostenbauder 1958, 5 % polysorbate 80; from memory
)
def test_binding_to_polysorbate_against_patel(name: str, free: float) -> None:
    preservation = sheet(f"Aqua: q.s., Polysorbate 80: 4.8, {name}: 0.1").preservation
    (guard,) = preservation.guards
    assert 1 / preservation.total_to_free(guard) == pytest.approx(free, rel=0.1)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("Aqua: q.s., Helianthus Annuus Seed Oil: 30, Propylparaben: 0.1", ["major"]),
        ("Aqua: q.s., Mineral Oil: 30, Propylparaben: 0.1", []),
        # Methyl- and propylparaben together are the habit of the trade; phenoxyethanol stays in water (handbook ratios).
        ("Aqua: q.s., Prunus Amygdalus Dulcis Oil: 25, Methylparaben: 0.2, Propylparaben: 0.05", []),
        ("Aqua: q.s., Prunus Amygdalus Dulcis Oil: 25, Phenoxyethanol: 0.9", []),
        # Cetomacrogol Cream of the British Pharmacopoeia.
        ("Aqua: q.s., Cetearyl Alcohol: 7.2, Ceteth-20: 1.8, Mineral Oil: 6, Petrolatum: 15, Chlorocresol: 0.1", []),
    ],
)
def test_drawn_into_oil(review: Reviews, lines: str, expected: list[str]) -> None:
    assert severities(review(formula(lines, more="finished: {pH: 5.5}\n")), "preservative-in-oil") == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # Methylparaben loses its effect beside PEG castor oil and polysorbate 80 (challenge tests; Kostenbauder).
        ("Aqua: q.s., Polysorbate 20: 8, Methylparaben: 0.2", ["major"]),
        ("Aqua: q.s., Polysorbate 20: 8, Methylparaben: 0.2, Phenoxyethanol: 0.8", []),
        # Cetomacrogol Cream of the British Pharmacopoeia is well tried; emulsifying waxes are four fifths fatty alcohol.
        ("Aqua: q.s., Cetomacrogol Emulsifying Wax: 9, Mineral Oil: 6, Petrolatum: 15, Chlorocresol: 0.1", []),
        ("Aqua: q.s., Emulsifying Wax NF: 6, Mineral Oil: 10, Methylparaben: 0.2, Propylparaben: 0.05", []),
        # Liquid macrogols are solvents and form no micelles.
        ("Aqua: q.s., PEG-8: 10, Methylparaben: 0.2", []),
        # Quaternaries with anionics (Handbook of Pharmaceutical Excipients, benzalkonium chloride).
        ("Aqua: q.s., Sodium Lauryl Sulfate: 5, Benzalkonium Chloride: 0.1", ["major"]),
        ("Aqua: q.s., Sodium Lauryl Sulfate: 1, Benzalkonium Chloride: 0.1, Phenoxyethanol: 0.9", ["minor"]),
        ("Aqua: q.s., Decyl Glucoside: 5, Benzalkonium Chloride: 0.1", []),
        # Cetrimide and emulsifying wax, which is anionic, are incompatible (British Pharmacopoeia notes, from memory).
        ("Aqua: q.s., Emulsifying Wax BP: 9, Petrolatum: 20, Cetrimide: 0.5", ["major"]),
        # Thiols and sulfites destroy isothiazolinones and bronopol (Brannan 1995).
        ("Aqua: q.s., Sodium Metabisulfite: 0.2, Bronopol: 0.05", ["major"]),
        # Free secondary amines break isothiazolinones; shampoos with an alkanolamide were long kept by them.
        ("Aqua: q.s., Sodium Laureth Sulfate: 14, Cocamide DEA: 3, CMIT/MIT: 0.08", []),
    ],
)
def test_bound(review: Reviews, lines: str, expected: list[str]) -> None:
    assert severities(review(formula(lines, more="finished: {pH: 5.5}\n")), "preservative-bound") == expected


def test_cetrimide_has_a_weak_flank(review: Reviews) -> None:
    """Quaternaries hold moulds poorly (Handbook of Pharmaceutical Excipients)."""
    result = review(formula("Aqua: q.s., Glycerin: 5, Cetrimide: 0.08", more="finished: {pH: 6}\n"))
    assert severities(result, "preservative-spectrum") == ["minor"]
    assert not unchecked(result, "preservative-in-oil")


@pytest.mark.parametrize(
    ("lines", "soap"),
    [
        # 7.8 g of KOH (56.1 g/mol) need 39.6 g of olive oil (290 g for each mole of acid): all 40 g of fat are soap
        ("Olive Oil: 38, Oleic Acid: 2, Potassium Hydroxide: 7.8, Aqua: q.s.", 40),
        # 0.102 mol of stearic acid (284.5 g/mol), 0.089 of base: 87 % is soap
        ("Stearic Acid: 29, Potassium Hydroxide: 5, Aqua: q.s.", 25.4),
        ("Stearic Acid: 29, Potassium Hydroxide: 2, Aqua: q.s.", 0),
        ("Stearic Acid: 29, Aqua: q.s.", 0),
    ],
)
def test_soap_made_in_the_batch(lines: str, soap: float) -> None:
    """Stoichiometry of neutralising, worked out by hand."""
    assert sheet(lines).preservation.soap_percent == pytest.approx(soap, abs=0.6)


# --- heat


def heated(preservative: str, celsius: int, more: str = "") -> str:
    return (
        f"formcheck: 1\nname: Garden gel\nphases:\n  A: {{Aqua: q.s., Disodium EDTA: 0.1}}\n  B: {{{preservative}}}\n{more}"
        f"procedure:\n  - heat: A\n    to: {celsius} °C\n  - add: B\n    into: A\n  - fill: A\n"
    )


@pytest.mark.parametrize(
    ("preservative", "celsius", "expected"),
    [
        # Aqueous Cream of the British Pharmacopoeia takes phenoxyethanol up in water of about 60 °C; the trade adds it cool.
        ("Phenoxyethanol: 0.9", 75, ["critical"]),
        ("Phenoxyethanol: 0.9", 55, ["note"]),
        ("Phenoxyethanol: 0.9", 42, []),
        ("Phenoxyethanol and Ethylhexylglycerin: 1", 55, ["note"]),
        ("Benzyl Alcohol: 0.8", 55, ["note"]),
        # Hydrophilic Ointment of the United States Pharmacopeia dissolves the parabens at 75 °C.
        ("Methylparaben: 0.2", 78, []),
        # Solutions of sodium benzoate may be autoclaved (Handbook of Pharmaceutical Excipients).
        ("Sodium Benzoate: 0.4", 80, []),
        # Bronopol is lost four times faster for each 10 °C (J. Soc. Cosmet. Chem. 29 (1978) 3).
        ("Bronopol: 0.05, Methylparaben: 0.15", 75, ["critical"]),
    ],
)
def test_too_hot(review: Reviews, preservative: str, celsius: int, expected: list[str]) -> None:
    assert severities(review(heated(preservative, celsius)), "preservative-too-hot") == expected


def with_its_phase(preservative: str, celsius: int) -> str:
    return (
        f"formcheck: 1\nname: Garden gel\nphases:\n  A: {{Aqua: q.s., Disodium EDTA: 0.1, {preservative}}}\n"
        f"procedure:\n  - heat: A\n    to: {celsius} °C\n  - cool: A\n    to: 25 °C\n  - fill: A\n"
    )


@pytest.mark.parametrize(
    ("preservative", "celsius", "expected"),
    [
        # Aqueous Cream of the British Pharmacopoeia heats phenoxyethanol with its water to about 60 °C.
        ("Phenoxyethanol: 0.9", 60, []),
        # Data sheets call it stable up to 85 °C; makers heat it with their water phase every day.
        ("Phenoxyethanol: 0.9", 75, ["minor"]),
        ("Phenoxyethanol: 0.9", 95, ["critical"]),
        ("Phenoxyethanol and Ethylhexylglycerin: 1", 78, ["minor"]),
        ("Benzyl Alcohol: 0.8", 70, ["minor"]),
        # The iodo carbamate breaks down from 70 °C on (ipbc-thermal-2022).
        ("Iodopropynyl Butylcarbamate: 0.01, Phenoxyethanol: 0.8", 62, ["minor"]),
        ("Iodopropynyl Butylcarbamate: 0.01, Phenoxyethanol: 0.8", 80, ["critical", "minor"]),
        # Bronopol is lost four times faster for each 10 °C (J. Soc. Cosmet. Chem. 29 (1978) 3).
        ("Bronopol: 0.05, Methylparaben: 0.15", 75, ["critical"]),
        # The starch glycerite of the National Formulary is heated to 144 °C with its benzoic acid (from memory).
        ("Benzoic Acid: 0.2, Glycerin: 70, Zea Mays Starch: 10", 140, ["minor"]),
    ],
)
def test_heated_with_its_phase(review: Reviews, preservative: str, celsius: int, expected: list[str]) -> None:
    assert severities(review(with_its_phase(preservative, celsius)), "preservative-too-hot") == expected


def poured(own: int | None, hot: int) -> str:
    warm = f"  - heat: B\n    to: {own} °C\n" if own else ""
    return (
        "formcheck: 1\nname: Garden cream\nphases:\n  A: {Helianthus Annuus Seed Oil: 20, Cetearyl Alcohol: 6}\n"
        "  B: {Aqua: q.s., Phenoxyethanol: 0.9, Disodium EDTA: 0.1}\n"
        f"procedure:\n{warm}  - heat: A\n    to: {hot} °C\n  - add: B\n    into: A\n  - fill: A\n    at: 30 °C\n"
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        # common practice, no source: two hot phases of which one is a little hotter, and cold water on hot fat
        (poured(60, 75), ["minor"]),
        (poured(75, 75), ["minor"]),
        (poured(None, 75), []),
        # a hot gel poured on the preservative is what hurts it
        (
            "formcheck: 1\nname: Garden gel\nphases:\n  A: {Aqua: q.s., Disodium EDTA: 0.1}\n"
            "  B: {Glycerin: 4, Phenoxyethanol: 0.9}\nprocedure:\n  - heat: A\n    to: 80 °C\n"
            "  - add: A\n    into: B\n  - fill: B\n    at: 30 °C\n",
            ["critical"],
        ),
        # nothing is unpreserved that keeps itself (ISO 29621: a fifth of alcohol)
        (
            "formcheck: 1\nname: Garden splash\nphases:\n  A: {Aqua: q.s., Alcohol: 40}\n"
            "  B: {Phenoxyethanol: 0.5}\nprocedure:\n  - heat: A\n    to: 70 °C\n"
            "  - add: B\n    into: A\n  - fill: A\n    at: 30 °C\n",
            ["minor"],
        ),
    ],
)
def test_met_by_heat(review: Reviews, text: str, expected: list[str]) -> None:
    assert severities(review(text), "preservative-too-hot") == expected


def test_too_hot_is_one_finding_a_step(review: Reviews) -> None:
    result = review(heated("Phenoxyethanol: 0.8, Benzyl Alcohol: 0.3", 52))
    (finding,) = found(result, "preservative-too-hot")
    assert finding.step == 2
    assert set(finding.materials) == {"Phenoxyethanol", "Benzyl Alcohol"}


def test_a_house_limit_goes_before_the_habit_of_the_trade(review: Reviews) -> None:
    house = (
        "materials:\n  Gentle preserver:\n    class: preservative\n    maximum temperature: 80 °C\n"
        "    contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}\n"
    )
    assert not found(review(heated("Gentle preserver: 1", 70, house)), "preservative-too-hot")


# --- the rest


@pytest.mark.parametrize(
    ("lines", "steps", "expected"),
    [
        # Methylparaben dissolves slowly in cold water and readily at 80 °C or in glycols (handbook).
        ("Aqua: q.s., Methylparaben: 0.2", "mix", ["minor"]),
        ("Aqua: q.s., Methylparaben: 0.2", "heat", []),
        ("Aqua: q.s., Methylparaben: 0.2, Propylene Glycol: 3", "mix", []),
        ("Aqua: q.s., Sodium Methylparaben: 0.2", "mix", []),
        ("Aqua: q.s., Sorbic Acid: 0.1, Sodium Hydroxide: 0.05", "mix", []),
        ("Aqua: q.s., Potassium Sorbate: 0.3", "mix", []),
        ("Mineral Oil: 99.9, Propylparaben: 0.1", "mix", []),
        # Water of 25 °C holds 0.25 % of methylparaben and 0.05 % of propylparaben (handbook); hot water lets go on cooling.
        ("Aqua: q.s., Methylparaben: 0.35", "heat", ["minor"]),
        ("Aqua: q.s., Methylparaben: 0.15, Propylparaben: 0.1", "heat", ["minor"]),
        ("Aqua: q.s., Methylparaben: 0.35, Propylene Glycol: 5", "heat", []),
    ],
)
def test_not_dissolved(review: Reviews, lines: str, steps: str, expected: list[str]) -> None:
    step = "  - heat: A\n    to: 75 °C\n" if steps == "heat" else "  - mix: A\n    for: 10 min\n"
    result = review(formula(lines, more=f"procedure:\n{step}  - fill: A\n"))
    assert severities(result, "preservative-not-dissolved") == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # Benzene from benzoate and ascorbic acid: Gardner and Lawrence 1993; a phosphate ester has no free enediol.
        ("Aqua: q.s., Sodium Benzoate: 0.4, Ascorbic Acid: 5", ["critical"]),
        ("Aqua: q.s., Gluconolactone and Sodium Benzoate: 1.5, Ascorbic Acid: 0.5", ["critical"]),
        ("Aqua: q.s., Sodium Benzoate: 0.4, Sodium Ascorbyl Phosphate: 2", []),
        ("Aqua: q.s., Potassium Sorbate: 0.4, Ascorbic Acid: 5", []),
    ],
)
def test_benzene(review: Reviews, lines: str, expected: list[str]) -> None:
    assert severities(review(formula(lines)), "benzene-risk") == expected


@pytest.mark.parametrize(
    ("lines", "more", "expected"),
    [
        # Annex V, entry 21 of Regulation (EC) No 1223/2009: avoid formation of nitrosamines.
        ("Aqua: q.s., Bronopol: 0.05, Triethanolamine: 0.4", "", ["critical"]),
        ("Aqua: q.s., Bronopol: 0.05, Diethanolamine: 0.4", "", ["critical"]),
        ("Aqua: q.s., Bronopol: 0.05, Sodium Hydroxide: 0.1", "", []),
        ("Aqua: q.s., Phenoxyethanol: 0.9, Triethanolamine: 0.4", "", []),
        (
            "Aqua: q.s., Bronopol: 0.05, Carbomer: 0.4",
            "procedure:\n  - neutralise: A\n    with: Triethanolamine\n  - fill: A\n",
            ["critical"],
        ),
    ],
)
def test_nitrosamines(review: Reviews, lines: str, more: str, expected: list[str]) -> None:
    assert severities(review(formula(lines, more=more)), "nitrosamine-risk") == expected


@pytest.mark.parametrize(
    ("lines", "more", "expected"),
    [  # common practice, no source
        ("Aqua: q.s., Phenoxyethanol: 0.9", "", ["minor"]),
        ("Aqua: q.s., Phenoxyethanol: 0.9, Disodium EDTA: 0.1", "", []),
        ("Aqua: q.s., Phenoxyethanol: 0.9", "procedure:\n  - adjust pH: A\n    to: 5\n    with: Citric Acid\n", []),
        ("Aqua: q.s., Alcohol: 70, Phenoxyethanol: 0.5", "", []),
        ("Helianthus Annuus Seed Oil: 70, Aqua: q.s., Phenoxyethanol: 0.9", "", []),
    ],
)
def test_chelator(review: Reviews, lines: str, more: str, expected: list[str]) -> None:
    assert severities(review(formula(lines, more=more)), "chelator-missing") == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        # Rose and orange flower waters held up to a million germs per mL (Labadie 2015, 2016).
        ("Rosa Damascena Flower Water: q.s., Phenoxyethanol: 0.9", ["note"]),
        ("Aqua: q.s., Mel: 10, Phenoxyethanol: 0.9", ["note"]),
        ("Aqua: q.s., Rosa Damascena Flower Water: 1, Phenoxyethanol: 0.9", []),
        ("Rosa Damascena Flower Water: 60, Alcohol: 40", []),
    ],
)
def test_bioburden(review: Reviews, lines: str, expected: list[str]) -> None:
    assert severities(review(formula(lines)), "bioburden-raised") == expected


CLASSICS = {
    # British Pharmacopoeia
    "cetomacrogol cream, chlorocresol": (
        "Cetomacrogol Emulsifying Wax: 9, Mineral Oil: 6, Petrolatum: 15, Chlorocresol: 0.1, Aqua: q.s."
    ),
    "cetomacrogol cream, phenoxyethanol": (
        "Cetomacrogol Emulsifying Wax: 9, Mineral Oil: 6, Petrolatum: 15, Phenoxyethanol: 1, Aqua: q.s."
    ),
    "aqueous cream": "Emulsifying Wax BP: 9, Mineral Oil: 6, Petrolatum: 15, Phenoxyethanol: 1, Aqua: q.s.",
    # United States Pharmacopeia
    "hydrophilic ointment": (
        "Stearyl Alcohol: 25, Petrolatum: 25, Methylparaben: 0.025, Propylparaben: 0.015, Sodium Lauryl Sulfate: 1, "
        "Propylene Glycol: 12, Aqua: q.s."
    ),
    "cold cream": "Cetyl Esters: 12.5, Beeswax: 12, Mineral Oil: 56, Sodium Borate: 0.5, Aqua: q.s.",
    # Deutscher Arzneimittel-Codex and Neues Rezeptur-Formularium; from memory
    "nonionic hydrophilic cream": (
        "Polysorbate 60: 5, Cetearyl Alcohol: 10, Petrolatum: 25, Glycerin: 8.5, Potassium Sorbate: 0.14, "
        "Citric Acid: 0.07, Aqua: q.s."
    ),
    # Formularium der Nederlandse Apothekers; from memory
    "cream of emulsifying wax": "Emulsifying Wax BP: 24, Mineral Oil: 16, Sorbic Acid: 0.2, Sorbitol: 2.8, Aqua: q.s.",
    # Common practice, no source
    "carbomer gel": "Carbomer: 0.5, Glycerin: 5, Methylparaben: 0.18, Propylparaben: 0.02, Sodium Hydroxide: 0.2, Aqua: q.s.",
    "alginate gel": "Algin: 7, Glycerin: 7, Methylparaben: 0.2, Calcium Gluconate: 0.05, Aqua: q.s.",
    "glycerin of starch": "Zea Mays Starch: 10, Glycerin: 70, Aqua: q.s.",
    "hand rub": "Alcohol: 75, Hydrogen Peroxide: 0.125, Glycerin: 1.45, Aqua: q.s.",
    "hydrous wool fat": "Lanolin: 75, Aqua: 25",
}
FAMILY = (
    "preservative-missing", "preservative-too-hot", "preservative-over-limit", "preservative-outside-ph",
    "preservative-underdosed", "preservative-spectrum", "preservative-bound", "preservative-in-oil",
    "preservative-not-dissolved", "benzene-risk", "nitrosamine-risk", "chelator-missing", "bioburden-raised",
)  # fmt: skip


@pytest.mark.parametrize("name", CLASSICS)
def test_classics_come_out_clean(review: Reviews, name: str) -> None:
    result = review(formula(CLASSICS[name]))
    grave = [
        finding.message
        for rule in FAMILY
        for finding in found(result, rule)
        if finding.severity in ("critical", "major")
    ]
    assert not grave


def test_a_booster_drawn_into_oil_is_no_fault_of_the_rule(review: Reviews) -> None:
    """Found by a lesson: the oil takes the booster's share only, and there was nothing to point at."""
    found = review(
        "formcheck: 1\nname: Garden lotion\nproduct: {use: leave-on, form: lotion}\nphases:\n  A: {Aqua: q.s., Glycerin: 4, "
        "Xanthan Gum: 0.3, Caprylic/Capric Triglyceride: 6, Glyceryl Stearate Citrate: 3, Cetearyl Alcohol: 1.5, "
        "Phenoxyethanol: 0.2, Ethylhexylglycerin: 0.1}\nfinished: {pH: 5.5}\n"
    )
    assert not found.faults


def test_heat_that_the_procedure_leaves_open_is_asked_for(review: Reviews) -> None:
    """common practice, no source: «heat A» without a temperature says nothing of what the preservative meets."""
    found = review(
        "formcheck: 1\nname: Garden gel\nphases:\n  A: {Aqua: q.s., Glycerin: 4}\n  B: {Phenoxyethanol: 0.9}\n"
        "procedure:\n  - {heat: A}\n  - {add: B, into: A}\n  - {fill: A}\nfinished: {pH: 5.5}\n"
    )
    (ask,) = [item.needs for item in found.unchecked if item.rule == "preservative-too-hot"]
    assert "Phenoxyethanol: step 1 (heat) leaves it open" in ask
