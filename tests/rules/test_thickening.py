"""Thickeners in water: depth cases in both directions, each beside what it is held against."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]


def found(review: Run, rule: str, text: str) -> list[Finding]:
    result = review("formcheck: 1\nname: Garden gel\n" + text.lstrip("\n"))
    assert not result.errors, result.errors
    return [finding for finding in result.findings if finding.rule == rule]


def severities(review: Run, rule: str, text: str) -> list[str]:
    return [finding.severity for finding in found(review, rule, text)]


def unchecked(review: Run, rule: str, text: str) -> list[str]:
    result = review("formcheck: 1\nname: Garden gel\n" + text.lstrip("\n"))
    return [item.needs for item in result.unchecked if item.rule == rule]


# --- thickener-dumped

DUMPED = "thickener-dumped"


def procedure(phases: str, *steps: str) -> str:
    return f"phases:\n{phases}\nprocedure:\n" + "\n".join(f"  - {{{step}}}" for step in steps) + "\n  - {fill: A}\n"


WATER_AND = "  A: {{Aqua: q.s., Glycerin: 4, {0}: 1}}"
"""One per cent of something in water with some glycerin."""


@pytest.mark.parametrize("name", ["Hydroxyethylcellulose", "Xanthan Gum", "Cellulose Gum", "Carbomer"])
def test_dumped_into_water(review: Run, name: str) -> None:
    """Gums and CMC put into water at once float and lump (Manufacturing Chemist, 14 March 2012: fish eyes)."""
    text = procedure(WATER_AND.format(name), f"add: {name}, into: A", "mix: A, for: 10 min")
    assert severities(review, DUMPED, text) == ["major"]


@pytest.mark.parametrize(
    "step",
    [
        "sprinkle: Xanthan Gum, into: A",  # USP 28-NF 23, Xanthan Gum Solution: sifted into the vortex
        "add: Xanthan Gum, into: A, over: 5 min",  # the same, in other words
        "disperse: Xanthan Gum, in: A",  # dispersed under stirring, as most published procedures have it
    ],
)
def test_strewn_is_not_dumped(review: Run, step: str) -> None:
    assert not found(review, DUMPED, procedure(WATER_AND.format("Xanthan Gum"), step, "mix: A, for: 60 min"))


@pytest.mark.parametrize(
    ("phase", "severity"),
    [
        ("Xanthan Gum: 0.6, Glycerin: 3", []),  # slurry in glycols (application report on hydration of xanthan)
        ("Xanthan Gum: 0.6, Helianthus Annuus Seed Oil: 5", []),  # the same report: in oils
        ("Xanthan Gum: 0.6, Sucrose: 6", []),  # the same report: premixed with sugar
        ("Xanthan Gum: 0.6", ["major"]),
        ("Xanthan Gum: 0.6, Hydroxyethylcellulose: 0.4", ["major"]),  # two gums do not keep each other apart
    ],
)
def test_premix_poured_into_water(review: Run, phase: str, severity: list[str]) -> None:
    text = procedure(f"  A: {{Aqua: q.s.}}\n  B: {{{phase}}}", "add: B, into: A", "mix: A, for: 60 min")
    assert severities(review, DUMPED, text) == severity


def test_water_poured_on_dry_gum(review: Run) -> None:
    text = procedure("  A: {Xanthan Gum: 0.6}\n  B: {Aqua: q.s.}", "add: B, into: A", "mix: A, for: 60 min")
    assert severities(review, DUMPED, text) == ["major"]


def test_one_step_is_one_finding_with_the_amount_for_a_slurry(review: Run) -> None:
    text = procedure(
        "  A: {Aqua: q.s.}\n  B: {Xanthan Gum: 0.6, Hydroxyethylcellulose: 0.4}",
        "add: B, into: A",
        "mix: A, for: 60 min",
    )
    (finding,) = found(review, DUMPED, text)
    assert set(finding.materials) == {"Xanthan Gum", "Hydroxyethylcellulose"}
    assert finding.step == 1
    assert "about 3 %" in finding.remedy  # common practice, no source: about five parts of glycerin to one of gum


@pytest.mark.parametrize(
    ("phase", "steps"),
    [
        # common practice, no source: liquid and treated grades are poured in
        ("Acrylates Copolymer: 3", ("add: Acrylates Copolymer, into: A",)),
        ("Dehydroxanthan Gum: 1", ("add: Dehydroxanthan Gum, into: A",)),
        # gelatin granules bloom in cold water, polyvinyl alcohol goes into cold water (Handbook of Pharmaceutical Excipients)
        ("Gelatin: 5", ("add: Gelatin, into: A", "heat: A, to: 60 °C")),
        ("Polyvinyl Alcohol: 10", ("add: Polyvinyl Alcohol, into: A", "heat: A, to: 85 °C")),
        # agar does not swell in the cold (Handbook of Pharmaceutical Excipients, Agar: insoluble in cold water)
        ("Agar: 1", ("add: Agar, into: A", "heat: A, to: 95 °C")),
        # methylcellulose and hypromellose do not swell in hot water (same work, their monographs)
        ("Methylcellulose: 2", ("heat: A, to: 85 °C", "add: Methylcellulose, into: A", "cool: A, to: 15 °C")),
        # common practice, no source: a homogeniser breaks lumps while they are soft
        ("Xanthan Gum: 1", ("add: Xanthan Gum, into: A", "homogenise: A, for: 5 min")),
    ],
)
def test_what_may_be_added_at_once(review: Run, phase: str, steps: tuple[str, ...]) -> None:
    assert not found(review, DUMPED, procedure(f"  A: {{Aqua: q.s., {phase}}}", *steps))


def test_agar_into_boiling_water_lumps(review: Run) -> None:
    text = procedure("  A: {Aqua: q.s., Agar: 1}", "heat: A, to: 95 °C", "add: Agar, into: A", "hold: A, for: 5 min")
    assert severities(review, DUMPED, text) == ["major"]


@pytest.mark.parametrize("after", ["rest: A, for: 12 h", "mix: A, for: 3 h"])
def test_lumps_swell_through_in_the_end(review: Run, after: str) -> None:
    """Common practice, no source: overnight, or after hours of stirring, most lumps are gone."""
    text = procedure(WATER_AND.format("Xanthan Gum"), "add: Xanthan Gum, into: A", after)
    assert severities(review, DUMPED, text) == ["minor"]


def test_hyaluronate_is_forgiving(review: Run) -> None:
    text = procedure(WATER_AND.format("Sodium Hyaluronate"), "add: Sodium Hyaluronate, into: A", "rest: A, for: 4 h")
    assert severities(review, DUMPED, text) == ["minor"]


def test_too_little_glycerin_makes_no_slurry(review: Run) -> None:
    text = procedure(
        "  A: {Aqua: q.s., Glycerin: 0.3, Xanthan Gum: 1}",
        "disperse: Xanthan Gum, in: Glycerin",
        "add: Aqua, into: A",
        "mix: A, for: 60 min",
    )
    assert severities(review, DUMPED, text) == ["minor"]


def test_alcohol_wets_tragacanth(review: Run) -> None:
    """The classic mucilage: the gum is wetted with a little alcohol, then the water comes all at once (from memory)."""
    text = procedure(
        "  A: {Astragalus Gummifer Gum: 1.25, Alcohol: 2.5, Aqua: q.s.}",
        "disperse: Astragalus Gummifer Gum, in: Alcohol",
        "add: Aqua, into: A",
        "rest: A, for: 24 h",
    )
    assert not found(review, DUMPED, text)


def test_an_open_procedure_is_asked_about(review: Run) -> None:
    text = procedure(WATER_AND.format("Xanthan Gum"), "mix: A, for: 60 min")
    assert not found(review, DUMPED, text)
    assert any("Xanthan Gum" in ask for ask in unchecked(review, DUMPED, text))


def test_a_bought_solution_is_no_powder(review: Run) -> None:
    text = (
        "materials:\n  Slip solution: {contains: {Aqua: 98, Sodium Hyaluronate: 1, Phenoxyethanol: 1}}\n"
        + procedure("  A: {Aqua: q.s., Slip solution: 20}", "add: Slip solution, into: A", "mix: A, for: 5 min")
    )
    assert not found(review, DUMPED, text)
    assert not found(review, "thickener-not-hydrated", text)


def test_a_gum_without_facts_is_not_judged(review: Run) -> None:
    text = "materials:\n  Shed gum: {class: gum}\n" + procedure(
        "  A: {Aqua: q.s., Shed gum: 1}", "add: Shed gum, into: A", "mix: A, for: 5 min"
    )
    assert not found(review, DUMPED, text)
    assert unchecked(review, DUMPED, text)


def test_alcohol_rich_rub_does_not_lump(review: Run) -> None:
    """Common practice, no source: carbomer wets out without lumps where alcohol prevails."""
    text = procedure(
        "  A: {Alcohol: 65, Aqua: q.s., Carbomer: 0.4, Aminomethyl Propanol: 0.3}",
        "add: Carbomer, into: A",
        "mix: A, for: 30 min",
    )
    assert not found(review, DUMPED, text)


# --- thickener-not-hydrated

HYDRATED = "thickener-not-hydrated"


def strewn(name: str, *steps: str) -> str:
    return procedure(WATER_AND.format(name), f"sprinkle: {name}, into: A", *steps)


@pytest.mark.parametrize(
    ("name", "steps", "severity"),
    [
        # common practice, no source: an hour cold, twenty minutes warm for hydroxyethylcellulose
        ("Hydroxyethylcellulose", ("mix: A, for: 5 min",), ["major"]),
        ("Hydroxyethylcellulose", ("mix: A, for: 60 min",), []),
        ("Hydroxyethylcellulose", ("heat: A, to: 60 °C", "hold: A, for: 20 min"), []),
        # common practice, no source: sodium hyaluronate is left 3 to 8 hours
        ("Sodium Hyaluronate", ("rest: A, for: 4 h",), []),
        ("Sodium Hyaluronate", ("mix: A, for: 10 min",), ["major"]),
        # Formulation in Pharmacy Practice, mixture vehicles: carboxymethylcellulose is thickest after one to two hours
        ("Cellulose Gum", ("rest: A, for: 2 h",), []),
        ("Cellulose Gum", ("mix: A, for: 5 min",), ["major"]),
        # common practice, no source: high shear swells xanthan in minutes
        ("Xanthan Gum", ("homogenise: A, for: 10 min",), []),
        ("Xanthan Gum", ("mix: A, for: 5 min",), ["major"]),
        # times that the procedure leaves open are not guessed
        ("Xanthan Gum", ("mix: A",), []),
        ("Xanthan Gum", (), []),
        ("Xanthan Gum", ("mix: A, for: 2 min", "rest: A"), []),
    ],
)
def test_swelling_time(review: Run, name: str, steps: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, HYDRATED, strewn(name, *steps)) == severity


def test_an_emulsion_gives_its_gum_time_while_it_is_hot(review: Run) -> None:
    """Common practice, no source: a gum in the water phase of a hot emulsion has swollen by the time it is cold."""
    text = procedure(
        "  A: {Aqua: q.s., Glycerin: 3, Xanthan Gum: 0.3}\n  B: {Glyceryl Stearate SE: 4, Paraffinum Liquidum: 12}",
        "disperse: Xanthan Gum, in: Glycerin",
        "add: Aqua, into: A",
        "heat: A, to: 75 °C",
        "heat: B, to: 75 °C",
        "add: B, into: A",
        "homogenise: A, for: 3 min",
        "cool: A, to: 30 °C",
    )
    assert not found(review, HYDRATED, text)


def test_hypromellose_swells_only_as_it_cools(review: Run) -> None:
    """Handbook of Pharmaceutical Excipients, Hypromellose: dispersed hot, it dissolves on cooling."""
    hot = strewn("Hydroxypropyl Methylcellulose", "mix: A, for: 60 min")
    hot = hot.replace("procedure:\n", "procedure:\n  - {heat: A, to: 85 °C}\n").replace("fill: A", "fill: A, at: 60 °C")
    hot = hot.replace("mix: A, for: 60 min", "hold: A, at: 85 °C, for: 60 min")
    (finding,) = found(review, HYDRATED, hot)
    assert finding.severity == "major"
    assert "never cool enough" in finding.message
    cooled = hot.replace("  - {fill: A, at: 60 °C}", "  - {cool: A, to: 22 °C}\n  - {rest: A, for: 2 h}\n  - {fill: A}")
    assert not found(review, HYDRATED, cooled)


def test_carbomer_is_judged_until_its_base_comes(review: Run) -> None:
    """Common practice, no source: a quarter to half an hour of wetting before the base."""
    text = strewn("Carbomer", "mix: A, for: 2 min", "neutralise: A, with: Sodium Hydroxide", "rest: A, for: 12 h")
    (finding,) = found(review, HYDRATED, text)
    assert (finding.severity, finding.step) == ("minor", 3)
    assert not found(review, HYDRATED, text.replace("2 min", "20 min"))


def test_dry_gum_emulsion_of_acacia(review: Run) -> None:
    """The dry gum method: gum triturated with the oil, water at once, the emulsion forms under the pestle (from memory)."""
    text = procedure(
        "  A: {Acacia Senegal Gum: 12.5, Paraffinum Liquidum: 50}\n  B: {Aqua: q.s.}",
        "mix: A, for: 5 min",
        "add: B, into: A",
        "mix: A, for: 10 min",
    )
    assert not found(review, HYDRATED, text)
    assert not found(review, DUMPED, text)


# --- thickener-not-heated

HEATED = "thickener-not-heated"


@pytest.mark.parametrize(
    ("name", "celsius", "severity"),
    [
        ("Agar", 60, ["major"]),  # Handbook of Pharmaceutical Excipients, Agar: soluble in boiling water
        ("Agar", 95, []),
        ("Kappa Carrageenan", 40, ["major"]),  # Food Additives Data Book: ten minutes at 80 °C
        ("Kappa Carrageenan", 80, []),
        (
            "Gelatin",
            60,
            [],
        ),  # Handbook of Pharmaceutical Excipients, Gelatin: soluble in hot water, about 40 °C and more
        ("Polyvinyl Alcohol", 30, ["major"]),  # the same work: heated to about 90 °C
        ("Polyvinyl Alcohol", 85, []),
        ("Xanthan Gum", 22, []),  # dissolves in cold water
        ("Hydroxyethylcellulose", 22, []),
    ],
)
def test_what_has_to_be_heated(review: Run, name: str, celsius: int, severity: list[str]) -> None:
    text = strewn(name, f"heat: A, to: {celsius} °C", "hold: A, for: 10 min", "cool: A, to: 40 °C")
    assert severities(review, HEATED, text) == severity


def test_wetting_in_glycerin_does_not_dissolve_agar(review: Run) -> None:
    cold = "disperse: {0}, in: Glycerin", "add: Aqua, into: A", "rest: A, for: 12 h"
    for name, expected in (("Agar", ["major"]), ("Xanthan Gum", [])):
        steps = [step.format(name) for step in cold]
        text = procedure(f"  A: {{Aqua: q.s., Glycerin: 4, {name}: 0.6}}", *steps)
        assert severities(review, HEATED, text) == expected


def test_heat_of_unknown_height_is_asked_about(review: Run) -> None:
    text = strewn("Agar", "heat: A")
    assert not found(review, HEATED, text)
    assert unchecked(review, HEATED, text)


# --- thickener-salted-first

SALTED = "thickener-salted-first"


def gel(*lines: str) -> str:
    return "phases:\n  A: {Aqua: q.s., " + ", ".join(lines) + "}\n"


@pytest.mark.parametrize(
    ("lines", "severity"),
    [
        # common practice, no source: salts thin carbomer from some tenths of a per cent on, and take it at one
        (("Carbomer: 0.5", "Triethanolamine: 0.5", "Sodium PCA: 2"), ["major"]),
        (("Carbomer: 0.5", "Triethanolamine: 0.5", "Sodium PCA Solution 50 Percent: 4"), ["major"]),
        (("Carbomer: 0.5", "Triethanolamine: 0.5", "Sodium Lactate Solution 60 Percent: 1"), ["minor"]),
        (("Carbomer: 0.5", "Triethanolamine: 0.5", "Sodium Lactate Solution 60 Percent: 0.5"), []),
        (("Carbomer: 0.5", "Sodium Hydroxide: 0.2", "Disodium EDTA: 0.2"), []),
        (("Carbomer: 0.5", "Sodium Hydroxide: 0.2", "Sodium Benzoate: 0.5"), []),
        (("Carbomer: 0.5", "Sodium Bicarbonate: 0.6"), []),  # the base itself
        # Handbook of Pharmaceutical Excipients, Hydroxyethyl Cellulose: soluble in most 10 % salt solutions
        (("Hydroxyethylcellulose: 1", "Sodium PCA: 2"), []),
        (("Hydroxyethylcellulose: 1", "Sodium Lactate: 5"), []),
        # supplier data in general: xanthan bears salt
        (("Xanthan Gum: 1", "Sodium Chloride: 5"), []),
        # Handbook of Pharmaceutical Excipients, Sodium Alginate: high electrolyte salts it out, above 4 % of sodium chloride
        (("Algin: 2", "Sodium Chloride: 8"), ["major"]),
        (("Algin: 2", "Sodium Chloride: 2"), []),
    ],
)
def test_how_much_salt(review: Run, lines: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, SALTED, gel(*lines)) == severity


def test_salt_is_counted_without_the_water_it_comes_in(review: Run) -> None:
    text = gel("Carbomer: 0.5", "Triethanolamine: 0.5", "Sodium Lactate Solution 60 Percent: 5")
    (finding,) = found(review, SALTED, text)
    assert finding.message.startswith("3 % of electrolyte")  # 60 % of 5 %


def test_undissolved_soda_is_no_salt_in_the_water(review: Run) -> None:
    """CRC Handbook: about 9 g of sodium hydrogencarbonate dissolve in 100 g of water, so xanthan pastes bear 30 % of it."""
    assert not found(review, SALTED, gel("Xanthan Gum: 1.2", "Glycerin: 20", "Sodium Bicarbonate: 30"))


def test_salt_before_the_gum(review: Run) -> None:
    salty = procedure(
        "  A: {Aqua: q.s., Sodium Chloride: 3, Algin: 1}", "sprinkle: Algin, into: A", "mix: A, for: 60 min"
    )
    assert severities(review, SALTED, salty) == ["minor"]
    plain = procedure(
        "  A: {Aqua: q.s., Algin: 1}\n  B: {Sodium Chloride: 3}",
        "sprinkle: Algin, into: A",
        "mix: A, for: 60 min",
        "add: B, into: A",
    )
    assert not found(review, SALTED, plain)


def test_antiperspirant_roll_on_with_a_cellulose_ether(review: Run) -> None:
    """Common practice, no source: aluminium chlorohydrate roll-ons are thickened with hydroxyethylcellulose."""
    assert not found(review, SALTED, gel("Hydroxyethylcellulose: 0.5", "Aluminum Chlorohydrate: 20"))


# --- thickener-charge-clash

CLASH = "thickener-charge-clash"


@pytest.mark.parametrize(
    ("lines", "severity"),
    [
        # Handbook of Pharmaceutical Excipients, Xanthan Gum: incompatible with cationic surfactants, polymers, preservatives
        (("Xanthan Gum: 0.5", "Cetrimonium Chloride: 1"), ["major"]),
        (("Xanthan Gum: 0.5", "Polyquaternium-10: 0.5"), ["major"]),
        (("Xanthan Gum: 0.5", "Benzalkonium Chloride: 0.1"), ["major"]),
        # the same work, Carbomers: incompatible with cationic polymers
        (("Carbomer: 0.5", "Sodium Hydroxide: 0.2", "Polyquaternium-7: 1"), ["major"]),
        # the same work, Hydroxyethyl Cellulose is nonionic
        (("Hydroxyethylcellulose: 0.5", "Cetrimonium Chloride: 2"), []),
        (("Hydroxyethylcellulose: 0.5", "Polyquaternium-10: 0.5"), []),
        # carbomer eye gels are preserved with a hundredth of a per cent of cetrimide (from memory of marketed gels)
        (("Carbomer: 0.2", "Sodium Hydroxide: 0.08", "Cetrimonium Bromide: 0.01"), []),
        # the reverse: chitosan with xanthan (Handbook of Pharmaceutical Excipients, Chitosan)
        (("Xanthan Gum: 0.3", "Chitosan: 0.5", "Lactic Acid: 0.4"), ["major"]),
        # supplier data in general: polyquaternium-37 collapses with anionic surfactant
        (("Polyquaternium-37: 1", "Sodium Laureth Sulfate: 8"), ["major"]),
        # common practice, no source: cationic guar belongs in shampoos with anionic surfactants
        (("Guar Hydroxypropyltrimonium Chloride: 0.3", "Sodium Laureth Sulfate: 12"), []),
        # common practice, no source: micelles of anionic surfactant keep a little cationic polymer in solution
        (("Xanthan Gum: 0.3", "Sodium Laureth Sulfate: 12", "Polyquaternium-10: 0.2"), ["minor"]),
        (
            ("Acrylates Copolymer: 5", "Sodium Hydroxide: 0.3", "Sodium Laureth Sulfate: 10", "Polyquaternium-7: 0.3"),
            [],
        ),
        # hyaluronate as a humectant
        (("Hydroxyethylcellulose: 0.5", "Sodium Hyaluronate: 0.02", "Cetrimonium Chloride: 2"), []),
    ],
)
def test_charges(review: Run, lines: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, CLASH, gel(*lines)) == severity


def test_bound_preservative_is_reported_once(review: Run) -> None:
    result = review(
        "formcheck: 1\nname: Garden gel\n" + gel("Carbomer: 0.5", "Triethanolamine: 0.5", "Benzalkonium Chloride: 0.1")
    )
    rules = [finding.rule for finding in result.findings]
    assert CLASH not in rules
    assert "preservative-bound" in rules


# --- carbomer-not-neutralised

NEUTRAL = "carbomer-not-neutralised"


@pytest.mark.parametrize(
    ("lines", "severity"),
    [
        # International Pharmacopoeia, Carbomer: the gel is made by neutralising the dispersion
        (("Carbomer: 0.5",), ["major"]),
        (("Carbomer: 0.5", "Sodium Hydroxide: 0.2"), []),
        (("Carbomer: 0.5", "Triethanolamine Solution 85 Percent: 0.6"), []),
        (("Carbomer: 0.5", "Aminomethyl Propanol: 0.3"), []),
        (("Carbomer: 0.5", "Arginine: 1"), []),
        (("Carbomer: 0.5", "Citric Acid: 0.2"), ["major"]),
        # common practice, no source: borax and tetrasodium EDTA neutralise too
        (("Carbomer: 0.3", "Sodium Borate: 0.6"), []),
        (("Carbomer: 0.3", "Tetrasodium EDTA: 0.3"), []),
        (("Carbomer: 0.3", "Disodium Phosphate: 1"), []),
        # lactate, with a pKa of 3.9, takes few protons from a polymer with one of 6
        (("Carbomer: 0.3", "Sodium Lactate: 2"), ["major"]),
        (("Carbomer: 0.3", "Sodium PCA: 3", "Sodium Lactate: 2"), ["major"]),
        (("Carbomer: 0.5", "Sodium Citrate: 1"), ["major"]),
        # supplier data in general: sold neutralised
        (("Sodium Carbomer: 0.5",), []),
        (("Sodium Polyacrylate: 1",), []),
        # what nobody knows may be the base
        (("Carbomer: 0.5", "Shed mixture: 1"), ["minor"]),
    ],
)
def test_which_formula_needs_a_base(review: Run, lines: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, NEUTRAL, gel(*lines)) == severity


def test_amount_of_base(review: Run) -> None:
    """Common practice, no source: about 0.4 parts of sodium hydroxide to one of carbomer come to pH 6 to 7."""
    (finding,) = found(review, NEUTRAL, gel("Carbomer: 1"))
    amount = float(re.findall(r"roughly ([0-9.]+) % of Sodium Hydroxide", finding.remedy)[0])
    assert amount == pytest.approx(0.4, rel=0.2)


@pytest.mark.parametrize(
    ("steps", "severity"),
    [
        (("neutralise: A, with: Sodium Hydroxide, to: 6",), []),
        (("neutralise: A",), []),
        (("adjust pH: A, to: 6, with: Triethanolamine",), []),
        (("adjust pH: A, to: 6",), []),
        (("adjust pH: A, to: 4, with: Citric Acid",), ["major"]),
    ],
)
def test_base_that_stands_only_in_a_step(review: Run, steps: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, NEUTRAL, strewn("Carbomer", "mix: A, for: 30 min", *steps)) == severity


def test_dry_polymer_into_alkaline_water(review: Run) -> None:
    """Common practice, no source: the base comes after the wetting."""
    wrong = procedure(
        "  A: {Aqua: q.s., Triethanolamine: 0.5, Carbomer: 0.5}", "sprinkle: Carbomer, into: A", "mix: A, for: 30 min"
    )
    (finding,) = found(review, NEUTRAL, wrong)
    assert (finding.severity, finding.step) == ("major", 1)
    right = procedure(
        "  A: {Aqua: q.s., Carbomer: 0.5}\n  B: {Triethanolamine: 0.5}",
        "sprinkle: Carbomer, into: A",
        "mix: A, for: 30 min",
        "add: B, into: A",
    )
    assert not found(review, NEUTRAL, right)


def test_polymer_slurried_in_oil_may_meet_alkaline_water(review: Run) -> None:
    """Common practice, no source: the indirect method of emulsions."""
    text = procedure(
        "  A: {Aqua: q.s., Triethanolamine: 0.3}\n"
        "  B: {Paraffinum Liquidum: 10, Acrylates/C10-30 Alkyl Acrylate Crosspolymer: 0.3}",
        "add: B, into: A",
        "homogenise: A, for: 5 min",
    )
    assert not found(review, NEUTRAL, text)
    assert not found(review, HYDRATED, text)


# --- thickener-dose

DOSE = "thickener-dose"


@pytest.mark.parametrize(
    ("lines", "severity"),
    [
        (("Xanthan Gum: 1",), []),
        (("Xanthan Gum: 4",), ["minor"]),  # common practice, no source: up to 1.5 %
        (("Carbomer: 0.5", "Sodium Hydroxide: 0.2"), []),  # Handbook of Pharmaceutical Excipients: 0.1 to 2 %
        (("Carbomer: 5", "Sodium Hydroxide: 2"), ["minor"]),
        (("Astragalus Gummifer Gum: 5",), []),
        (("Xanthan Gum: 0.06",), ["minor"]),
        (("Xanthan Gum: 0.06", "Hydroxyethylcellulose: 1"), []),  # it is not what thickens
        (("Bentonite: 6", "Kaolin: 20"), []),
    ],
)
def test_dose(review: Run, lines: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, DOSE, "product: {form: gel}\n" + gel(*lines)) == severity


def test_trace_in_a_cream_is_let_be(review: Run) -> None:
    text = "product: {form: cream}\n" + gel("Xanthan Gum: 0.06", "Glyceryl Stearate SE: 5", "Paraffinum Liquidum: 10")
    assert not found(review, DOSE, text)


# --- alcohol-too-much-for-gel

ALCOHOL = "alcohol-too-much-for-gel"


@pytest.mark.parametrize(
    ("lines", "severity"),
    [
        # Int. J. Pharm. 2022, carbomers in 50 to 80 % w/w of alcohol: with an aminopropanol more alcohol goes in
        (("Alcohol: 65", "Carbomer: 0.4", "Aminomethyl Propanol: 0.3"), []),
        (("Alcohol: 60", "Carbomer: 0.4", "Triethanolamine: 0.4"), []),
        # supplier data in general: the sodium salt of carbomer drops out of strong alcohol
        (("Alcohol: 62", "Carbomer: 0.4", "Sodium Hydroxide: 0.15"), ["major"]),
        (("Alcohol: 15", "Carbomer: 0.4", "Sodium Hydroxide: 0.15"), []),
        # Handbook of Pharmaceutical Excipients: hydroxypropylcellulose dissolves in alcohol, xanthan bears up to 60 %
        (("Alcohol: 75", "Hydroxypropylcellulose: 2"), []),
        (("Alcohol: 70", "Xanthan Gum: 0.6"), ["major"]),
        (("Alcohol: 45", "Algin: 2"), ["major"]),
        (("Isopropyl Alcohol: 45", "Algin: 2"), ["major"]),
        # far past a figure that is only roughly known
        (("Alcohol: 75", "Cyamopsis Tetragonoloba Gum: 1"), ["major"]),
        (("Alcohol: 30", "Cyamopsis Tetragonoloba Gum: 1"), ["minor"]),
        # 70 % by volume is 62.4 % by mass, so 25 % of it brings 15.6 %
        (("Alcohol 70 Percent by Volume: 25", "Algin: 2"), []),
        # hydrogel patches with a dash of alcohol
        (("Alcohol: 5", "Algin: 2"), []),
    ],
)
def test_alcohol(review: Run, lines: tuple[str, ...], severity: list[str]) -> None:
    assert severities(review, ALCOHOL, gel(*lines)) == severity


# --- rest-before-fill

REST = "rest-before-fill"


@pytest.mark.parametrize(
    ("steps", "severity"),
    [
        # common practice, no source: a gel with air beaten in stands for some hours
        (("homogenise: A, for: 3 min",), ["minor"]),
        (("mix: A, for: 30 min",), ["minor"]),
        (("homogenise: A, for: 3 min", "rest: A, for: 12 h"), []),
        (("homogenise: A, for: 3 min", "rest: A"), []),
        # a gentle addition after the rest brings little air back
        (("homogenise: A, for: 3 min", "rest: A, for: 12 h", "adjust pH: A, to: 5.5, with: Citric Acid"), []),
        # a hot gel is thinner, and yet what it holds when it has cooled stays in it
        (("heat: A, to: 70 °C", "homogenise: A, for: 3 min", "cool: A, to: 30 °C"), ["minor"]),
    ],
)
def test_rest(review: Run, steps: tuple[str, ...], severity: list[str]) -> None:
    text = "product: {form: gel}\n" + strewn("Xanthan Gum", *steps)
    assert severities(review, REST, text) == severity


@pytest.mark.parametrize(("rest", "severity"), [("", ["minor"]), ("  - rest: A\n    for: 12 h\n", [])])
def test_what_foams_rests_as_well(review: Run, rest: str, severity: list[str]) -> None:
    """Common practice, no source: a shampoo stirred hard is full of air."""
    text = (
        "formcheck: 1\nname: Test plot\nproduct: {use: rinse-off, form: shampoo}\n"
        "phases:\n  A: {Aqua: q.s., Sodium Laureth Sulfate: 10, Cocamidopropyl Betaine: 4}\n"
        f"procedure:\n  - mix: A\n    for: 20 min\n{rest}  - fill: A\n"
    )
    assert [f.severity for f in review(text).findings if f.rule == REST] == severity


# --- what an expert accepts

SOUND = {
    # carbomer gel after the pattern of the pharmacopoeias: dispersed, swollen, neutralised (from memory)
    "carbomer gel": "product: {form: gel}\n"
    + procedure(
        "  A: {Aqua: q.s., Carbomer: 1, Glycerin: 10, Methylparaben: 0.15, Propylparaben: 0.05}\n"
        "  B: {Sodium Hydroxide Solution 10 Percent: 4}",
        "disperse: Carbomer, in: Aqua",
        "mix: A, for: 30 min",
        "add: B, into: A",
        "rest: A, for: 12 h",
    ),
    # hydroxyethylcellulose gel of the compounding pharmacy (from memory)
    "HEC gel": "product: {form: gel}\n"
    + procedure(
        "  A: {Aqua: q.s., Hydroxyethylcellulose: 2.5, Glycerin: 10, Sodium Benzoate: 0.1, Citric Acid: 0.1}",
        "sprinkle: Hydroxyethylcellulose, into: A",
        "rest: A, for: 12 h",
    ),
    # tooth paste: binder in the humectant, then the water with its salts (common practice, no source)
    "tooth paste": "product: {form: toothpaste}\n"
    + procedure(
        "  A: {Glycerin: 22, Cellulose Gum: 1.2}\n"
        "  B: {Aqua: q.s., Sodium Saccharin: 0.2, Sodium Monofluorophosphate: 0.8, Tetrasodium Pyrophosphate: 0.5}\n"
        "  C: {Calcium Carbonate: 40, Sodium Lauryl Sulfate: 1.5}",
        "disperse: Cellulose Gum, in: Glycerin",
        "add: B, into: A",
        "mix: A, for: 30 min",
        "add: C, into: A",
        "mix: A, for: 30 min",
    ),
    # calamine lotion of the pharmacopoeias: bentonite with a little citrate (from memory)
    "calamine lotion": "product: {form: lotion}\n"
    + gel("Calamine: 15", "Zinc Oxide: 5", "Bentonite: 3", "Sodium Citrate: 0.5", "Glycerin: 5", "Phenol: 0.5"),
    # shampoo thickened with salt (common practice, no source)
    "shampoo": "product: {form: shampoo}\n"
    + gel("Sodium Laureth Sulfate: 12", "Cocamidopropyl Betaine: 3", "Polyquaternium-10: 0.2", "Sodium Chloride: 1.5"),
    # peel-off mask (common practice, no source)
    "peel-off mask": "product: {form: mask}\n"
    + procedure(
        "  A: {Aqua: q.s., Polyvinyl Alcohol: 14, Glycerin: 3}\n  B: {Alcohol: 10}",
        "sprinkle: Polyvinyl Alcohol, into: A",
        "heat: A, to: 85 °C, hold: 30 min",
        "cool: A, to: 40 °C",
        "add: B, into: A",
    ),
}
FAMILY = {DUMPED, HYDRATED, HEATED, SALTED, CLASH, NEUTRAL, DOSE, ALCOHOL}


@pytest.mark.parametrize("name", SOUND)
def test_sound_formulas_raise_no_alarm(review: Run, name: str) -> None:
    result = review("formcheck: 1\nname: Garden classic\n" + SOUND[name])
    assert not result.errors, result.errors
    assert not [f for f in result.findings if f.rule in FAMILY and f.severity in ("critical", "major")]
