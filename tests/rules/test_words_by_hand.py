"""What rules say beyond that they speak at all: words, remedies and the second answer, on figures that can be worked by hand.

As in test_by_hand.py the figures of made-up materials are the formula's own. A limit of the reference that decides stands
beside (common practice, no source, unless the reference says otherwise).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding
from formcheck.review.run import Reviewer
from formcheck_rules.emulsion._solubility import Help, with_co_solvents
from formcheck_rules.heat._setting import hard_soap

Run = Callable[[str], Review]
SERUM, GEL, MIST = (f"use: leave-on, form: {form}" for form in ("serum", "gel", "mist"))


def formula(lines: str, more: str = "", product: str = "use: leave-on, form: cream", other: str = "") -> str:
    other = f"  B: {{{other}}}\n" if other else ""
    return f"formcheck: 1\nname: Test plot\nproduct: {{{product}}}\nbatch: {{size: 1 kg}}\nphases:\n{other}  A: {{{lines}}}\n{more}"


def steps(*written: str, materials: str = "") -> str:
    procedure = "".join(f"  - {{{step}}}\n" for step in written)
    return f"procedure:\n{procedure}" + (f"materials:\n{materials}" if materials else "")


def pH(stated: str | float) -> str:
    return f"finished: {{pH: {stated}}}\n"


def found(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


def asked(result: Review, rule: str) -> str:
    return "; ".join(item.needs for item in result.unchecked if item.rule == rule)


# --- solubility: with another solvent the logarithms are averaged by weight (A. Li and S. H. Yalkowsky, Ind. Eng. Chem. Res.
# 37 (1998) 4470), so in equal parts the solubility is the geometric mean


@pytest.mark.parametrize(
    ("in_water", "helps", "expected"),
    [
        (0.1, [Help(0.5, 10.0)], 1.0),
        (0.01, [Help(0.25, 1.0), Help(0.25, 100.0)], 0.316),  # 10^(-2/2 + 0/4 + 2/4)
        (0.1, [Help(0.25, 10.0), Help(0.25, None)], None),
    ],
)
def test_the_solubility_in_a_mixture(in_water: float, helps: list[Help], expected: float | None) -> None:
    assert with_co_solvents(in_water, helps) == (expected if expected is None else pytest.approx(expected, rel=2e-3))


MORE_SOLUBLE = (
    "materials:\n  Sol: {class: active, form: powder, solubility: {is: 1, in: water, at: 20 °C}}\n"
    "  Both: {class: active, form: powder, solubility: [{is: 1, in: water, at: 20 °C}, {is: 100, in: propylene glycol, at: 20 °C}]}\n"
    "  Weak acid: {class: acid, form: crystals, formula: C7H6O2, pKa: [6.3], solubility: {is: 0.3, in: water, at: 20 °C}}\n"
    "  Sour: {class: acid, form: crystals, formula: C7H6O2, pKa: [4.2], solubility: {is: 0.3, in: water, at: 20 °C}}\n"
)


@pytest.mark.parametrize(
    ("lines", "severity", "remedy"),
    [
        # a fifth of glycol: 10^(0.2 x 2) = 2.5 % dissolves; told from 2 x 1.4 times that, 7 %
        ("Both: 6, Propanediol: 20", None, ""),
        ("Both: 8, Propanediol: 20", "note", "Take no more than 1 %"),
        # dispersed on purpose from 20 times the solubility
        ("Sol: 20.5, Xanthan Gum: 0.5", None, ""),
        ("Sol: 19.5, Xanthan Gum: 0.5", "note", ""),
        # 0.3 (1 + 10^(6.7 - 6.3)) = 1.05
        ("Weak acid: 1, Glycerin: 3", "major", "bring the pH to 6.7 or more"),
    ],
)
def test_more_than_dissolves_beside_others(review: Run, lines: str, severity: str | None, remedy: str) -> None:
    findings = found(review(formula(f"Aqua: q.s., {lines}", MORE_SOLUBLE, SERUM)), "over-solubility")
    assert [finding.severity for finding in findings] == ([severity] if severity else [])
    assert all(remedy in finding.remedy for finding in findings)


def test_no_pH_below_three_is_waited_for(review: Run) -> None:
    """0.3 % of an acid of pKa 4.2 becomes 0.32 % at pH 3 and more above it: with a buffer all of 0.5 % may be dissolved; what
    has no pKa has no pH that dissolves it."""
    waits = review(formula("Aqua: q.s., Sour: 0.5, Sodium Citrate: 1", MORE_SOLUBLE, SERUM))
    assert not found(waits, "over-solubility")
    plain = review(formula("Aqua: q.s., Sol: 3, Sodium Citrate: 1", MORE_SOLUBLE, SERUM))
    assert len(found(plain, "over-solubility")) == 1
    assert not asked(plain, "over-solubility")


# --- charges that meet


@pytest.mark.parametrize(
    ("minus", "product", "excess"),
    [
        ("Sodium Lauryl Sulfate: 1", "use: leave-on, form: cream", False),
        ("Sodium Laureth Sulfate: 10", "use: rinse-off, form: shampoo", True),
    ],
)
def test_a_large_excess_may_dissolve_what_drops_out(review: Run, minus: str, product: str, excess: bool) -> None:
    text = formula(f"Aqua: q.s., Behentrimonium Chloride: 1, {minus}", product=product)
    (finding,) = found(review(text), "cationic-anionic-clash")
    assert "drops out and neither works" in finding.message  # what the material itself says of it
    assert ("a large excess" in finding.message) == excess


# --- emulsifiers


@pytest.mark.parametrize(("water", "kind"), [(80, "oil-in-water"), (40, "oil-in-water"), (10, "water-in-oil")])
def test_the_kind_of_emulsifier_that_suits(review: Run, water: int, kind: str) -> None:
    """Twice as much oil as water asks for water-in-oil (common practice, no source)."""
    (finding,) = found(review(formula(f"Aqua: {water}, Squalane: {100 - water}")), "emulsifier-missing")
    assert kind in finding.remedy


SOLUBILISERS = (
    "materials:\n  Better: {class: solubiliser, emulsifies: {is: [20, 30], when: [mist]}}\n"
    "  Worse: {class: solubiliser, emulsifies: {is: [50, 60], when: [mist]}}\n"
    "  Vague: {class: solubiliser, emulsifies: {is: [null, 60], when: [mist]}}\n"
)


@pytest.mark.parametrize(
    ("lines", "least"),
    [
        ("Better: 0.1", "0.4 %"),
        ("Better: 0.1, Worse: 0.1", "0.4 %"),  # a fifth of 2 %, by the better one
        ("Better: 0.2, Worse: 0.2", None),
        ("Better: 0.1, Vague: 0.1", None),  # one does not say how much it takes
    ],
)
def test_solubiliser_for_so_much_oil(review: Run, lines: str, least: str | None) -> None:
    text = formula(f"Aqua: q.s., Limonene: 2, {lines}", SOLUBILISERS, MIST)
    remedies = [finding.remedy for finding in found(review(text), "emulsifier-underdosed")]
    assert [f"at least {least}" in remedy for remedy in remedies] == ([True] if least else [])


@pytest.mark.parametrize(("vague", "told"), [(8, True), (12, False)])
def test_rough_figures_count_where_they_are_most_of_the_oil(review: Run, vague: int, told: bool) -> None:
    """(4 + 3 x 16) / 4 = 13 is 3.0 from 10: more than the unit and a half that is let pass, less than that and two more."""
    house = (
        "materials:\n  Oil: {class: oil, required HLB: 10}\n  Rough oil: {class: oil, required HLB: {is: 10, certainty: low}}\n"
        "  Low: {class: [emulsifier, nonionic emulsifier], HLB: 4}\n  High: {class: [emulsifier, nonionic emulsifier], HLB: 16}\n"
    )
    lines = f"Aqua: q.s., Oil: {20 - vague}, Rough oil: {vague}, Low: 1, High: 3"
    assert len(found(review(formula(lines, house)), "hlb-apart")) == told


# --- heat

WARMTH = (
    "  Delicate: {class: active, maximum temperature: 40 °C}\n  Hard wax: {class: [oil, wax], melting point: 70 °C}\n"
    "  Tender: {class: preservative, maximum temperature: 40 °C}\n"
)


@pytest.mark.parametrize(
    ("procedure", "step"),
    [
        (("heat: A", "fill: A"), 1),
        (("heat: A, to: 30 °C", "heat: A", "cool: A, to: 30 °C", "heat: A", "fill: A"), 2),
        (("heat: A, to: 30 °C", "mix: A", "heat: A", "fill: A"), 3),
    ],
)
def test_the_step_that_leaves_the_heat_open_is_named(review: Run, procedure: tuple[str, ...], step: int) -> None:
    result = review(formula("Aqua: q.s., Delicate: 1", steps(*procedure, materials=WARMTH)))
    assert f"step {step} (heat) leaves it open" in asked(result, "active-too-hot")


def test_where_something_delicate_gets_too_hot(review: Run) -> None:
    text = formula("Aqua: q.s., Delicate: 1", steps("heat: A, to: 60 °C", "fill: A", materials=WARMTH))
    (finding,) = found(review(text), "active-too-hot")
    assert "60 °C in vessel A at step 1 (heat)" in finding.message


@pytest.mark.parametrize(("celsius", "told"), [(64.5, False), (65.5, False), (67, True)])
def test_a_bottle_that_softens(review: Run, celsius: float, told: bool) -> None:
    """PET is filled up to 65 °C (limit "hot fill, PET"); a kelvin is let pass."""
    pack = "packaging: {container: bottle, material: PET}\n"
    text = formula("Aqua: q.s., Glycerin: 3", pack + steps("heat: A, to: 80 °C", f"fill: A, at: {celsius} °C"))
    assert any("into PET" in finding.message for finding in found(review(text), "fill-too-hot")) == told


def test_how_warm_two_phases_are_together(review: Run) -> None:
    """12 parts of wax at 75 °C in 88 of water at 22 °C: with any specific heat of wax from 1.5 to 2.5 J/(g K) 24 to 26 °C."""
    text = formula(
        "Hard wax: 10, Polysorbate 60: 2",
        steps("heat: A, to: 75 °C", "heat: B, to: 22 °C", "add: A, into: B", "fill: B", materials=WARMTH),
        other="Aqua: 88",
    )
    (finding,) = found(review(text), "phases-apart")
    assert any(f"together {celsius} °C" in finding.message for celsius in (24, 25, 26))


# --- pH


@pytest.mark.parametrize(
    ("product", "told"),
    [
        ("use: rinse-off, form: conditioner, area: [hair]", False),
        ("use: rinse-off, form: cleanser, area: [face]", True),
        ("use: leave-on, form: tonic, area: [hair]", True),
        ("use: rinse-off, form: cleanser", True),
    ],
)
def test_rinses_for_hair_have_no_lowest_pH(review: Run, product: str, told: bool) -> None:
    """Glycolic acid, pH 3.5 or more: Cosmetic Ingredient Review, for what touches skin."""
    (finding,) = found(review(formula("Aqua: q.s., Glycolic Acid: 15", pH(3), product)), "acid-limit")
    assert ("guidance wants 3.5 or more" in finding.message) == told


def test_the_pH_that_was_never_measured_is_named(review: Run) -> None:
    (finding,) = found(review(formula("Aqua: q.s.", pH(5) + steps("mix: A", "fill: A"))), "ph-not-measured")
    assert "a pH of 5 is stated" in finding.message


def test_actives_that_no_pH_suits(review: Run) -> None:
    house = "materials:\n" + "".join(
        f"  {name}: {{class: active, pH window: [{low}, {high}]}}\n"
        for name, low, high in (("Sour one", 3, 4), ("Mild one", 6, 7), ("Easy one", 3.5, 6.5))
    )
    (finding,) = found(
        review(formula("Aqua: q.s., Sour one: 2, Mild one: 2, Easy one: 2", house, SERUM)), "ph-windows-clash"
    )
    assert "Sour one (3 to 4) against Mild one (6 to 7)" in finding.message
    assert "pH 6 to 6.5 suits Mild one and Easy one; replace Sour one" in finding.remedy


# --- preservation


def test_what_micelles_take_up_is_told_where_the_rest_does_not_suffice(review: Run) -> None:
    lines = "Aqua: q.s., Methylparaben: 0.2, Polysorbate 80: 5"
    (finding,) = found(review(formula(lines, pH(5))), "preservative-bound")
    assert "Polysorbate 80, 5.3 % of the water phase" in finding.message  # of water and what makes micelles, 5 / 94.8
    assert not found(review(formula(f"{lines}, Phenoxyethanol: 0.9", pH(5))), "preservative-bound")


def test_what_inactivates_a_preservative_is_cited(review: Run) -> None:
    """Soap and sulfates against quats: Handbook of Pharmaceutical Excipients, under incompatibilities."""
    (finding,) = found(
        review(formula("Aqua: q.s., Benzalkonium Chloride: 0.1, Sodium Lauryl Sulfate: 3", pH(5))), "preservative-bound"
    )
    assert "Handbook of Pharmaceutical Excipients" in finding.source


@pytest.mark.parametrize(("lines", "aw"), [("Glycerin: 30", "0.92"), ("Glycerin: 0.1", None)])
def test_water_activity_is_told_where_something_lowers_it(review: Run, lines: str, aw: str | None) -> None:
    """30 parts of glycerol (92.1 g/mol) and 70 of water: Raoult gives 3.886 / (3.886 + 0.326) = 0.92."""
    (finding,) = found(review(formula(f"Aqua: q.s., {lines}", pH(5))), "preservative-missing")
    assert ("water activity" in finding.message) == (aw is not None)
    if aw:
        assert f"about {aw}" in finding.message


@pytest.mark.parametrize(
    ("line", "told"), [("Methylparaben: 0.3", "cold water holds 0.25 %"), ("Sorbic Acid: 0.3", "step 1 (add)")]
)
def test_crystals_or_grains(review: Run, line: str, told: str) -> None:
    """Solubility of methylparaben near 20 °C, 1 in 400: Handbook of Pharmaceutical Excipients."""
    name = line.split(":")[0]
    (finding,) = found(
        review(formula(f"Aqua: q.s., {line}", pH(4.5) + steps(f"add: {name}, into: A", "fill: A"))),
        "preservative-not-dissolved",
    )
    assert told in finding.message
    assert finding.step == 1


def test_an_acid_beside_a_base_dissolves_as_its_salt(review: Run) -> None:
    procedure = pH(4.5) + steps("add: Benzoic Acid, into: A", "fill: A")
    rule = "preservative-not-dissolved"
    assert found(review(formula("Aqua: q.s., Benzoic Acid: 0.2", procedure)), rule)
    assert not found(review(formula("Aqua: q.s., Benzoic Acid: 0.2, Triethanolamine: 1", procedure)), rule)
    # a base does nothing for what is no acid
    house = "materials:\n  Grain: {class: preservative, form: powder, dissolves in: [ethanol]}\n"
    grain = "procedure:\n  - {add: Grain, into: A}\n  - {fill: A}\n" + house
    assert found(review(formula("Aqua: q.s., Grain: 0.2, Triethanolamine: 1", grain)), rule)


def test_a_pH_is_asked_for_where_one_of_two_preservatives_needs_it(review: Run) -> None:
    result = review(formula("Aqua: q.s., Sodium Benzoate: 0.5, Phenoxyethanol: 0.9"))
    assert "pH" in asked(result, "preservative-outside-ph")


@pytest.mark.parametrize(
    ("partner", "stated", "severity", "remedy"),
    [
        ("0.2", "7", "critical", "Up to pH 5.3 all of it works"),
        ("0.9", "7", "minor", "Up to pH 5.3 all of it works"),
        ("0.9", "[4.5, 6]", "minor", "Up to pH 5.3 all of it works"),
    ],
)
def test_benzoate_where_it_is_no_acid(review: Run, partner: str, stated: str, severity: str, remedy: str) -> None:
    """0.5 % of sodium benzoate is 0.424 % of acid, 0.427 % of the water phase; 0.025 % is left undissociated at
    4.2 + log10(0.427 / 0.025 - 1) = 5.4, a little lower for its activity."""
    text = formula(f"Aqua: q.s., Sodium Benzoate: 0.5, Phenoxyethanol: {partner}", pH(stated))
    (finding,) = found(review(text), "preservative-outside-ph")
    assert finding.severity == severity
    assert remedy in finding.remedy


def test_how_long_a_vessel_cools_before_the_preservative(review: Run) -> None:
    """From 75 °C it takes longer to 40 °C than from 70 °C, whichever step stands before that."""

    def minutes(*procedure: str) -> float:
        text = formula(
            "Aqua: q.s., Tender: 0.2", steps(*procedure, "add: Tender, into: A", "fill: A", materials=WARMTH)
        )
        (finding,) = found(review(text), "preservative-too-hot")
        return float(finding.remedy.split("takes about ")[1].split(" min")[0])

    warm, hot = minutes("heat: A, to: 75 °C", "cool: A, to: 70 °C"), minutes("heat: A, to: 75 °C")
    assert warm < hot
    assert minutes("heat: A, to: 60 °C", "heat: A, to: 75 °C") == hot


def test_one_preservative_from_two_sources_is_not_alone_too_little(review: Run) -> None:
    """Phenoxyethanol alone: 0.5 to 1 % (Handbook of Pharmaceutical Excipients); two lines are left to the maker's eye."""
    house = "materials:\n  Premix: {contains: {Phenoxyethanol: 50, Glycerin: 50}}\n"
    (finding,) = found(review(formula("Aqua: q.s., Phenoxyethanol: 0.45")), "preservative-underdosed")
    assert "Phenoxyethanol 0.45 % and no other preservative; alone it takes 0.5 %" in finding.message
    assert "Handbook of Pharmaceutical Excipients" in finding.source
    two = formula("Aqua: q.s., Phenoxyethanol: 0.3, Premix: 0.3", house)
    assert not found(review(two), "preservative-underdosed")


# --- thickeners

THICKENERS = (
    "  Strewn: {class: thickener, form: powder, wetting: [sprinkle]}\n"
    "  Scalded: {class: thickener, form: powder, wetting: [hot water]}\n"
    "  Slurried: {class: thickener, form: powder, wetting: [polyol]}\n"
    "  Slow: {class: thickener, form: powder, wetting: [sprinkle], hydration time: 60 min}\n"
    "  Warm: {class: thickener, form: powder, wetting: [sprinkle], hydration time: 60 min, hot hydration time: 10 min,"
    " hot hydration temperature: 60 °C}\n"
    "  Cool: {class: thickener, form: powder, wetting: [sprinkle], hydration time: 60 min, swells below: 40 °C}\n"
    "  Weak: {class: thickener, form: powder, salt tolerance: 2}\n"
)


@pytest.mark.parametrize(
    ("line", "before", "remedy"),
    [
        ("Strewn: 1", (), "Strew it slowly onto the stirred water («sprinkle: Strewn»)."),
        ("Scalded: 1", (), "Strew it onto water above 50 °C and let it swell as that cools."),
        ("Scalded: 1", ("heat: A",), "Strew it onto water above 50 °C"),  # nobody knows how hot
        ("Scalded: 1", ("heat: A, to: 85 °C",), None),
        (
            "Slurried: 1.26",
            (),
            "Stir it first into about 6.3 % of glycerin or a glycol («disperse: Slurried» with «in:»).",
        ),
    ],
)
def test_how_a_thickener_is_wetted(review: Run, line: str, before: tuple[str, ...], remedy: str | None) -> None:
    """Five parts of glycerin wet one of powder (limit "good wetting medium")."""
    name = line.split(":")[0]
    text = formula(f"Aqua: q.s., {line}", steps(*before, f"add: {name}, into: A", "fill: A", materials=THICKENERS), GEL)
    findings = found(review(text), "thickener-dumped")
    assert all(finding.source == "the formula's own description of the material" for finding in findings)
    remedies = [finding.remedy for finding in findings]
    assert [each.startswith(str(remedy)) for each in remedies] == ([True] if remedy else [])


@pytest.mark.parametrize(
    ("name", "swelling", "needs"),
    [
        ("Slow", "hydrate: A, for: 30 min", "has about 30 min in water and takes about 1 h"),
        ("Slow", "hydrate: A, for: 61 min", None),
        ("Warm", "hydrate: A, for: 20 min", "takes about 1 h cold, or 10 min from 60 °C on"),
        ("Warm", "hydrate: A, for: 20 min, at: 65 °C", None),
        ("Warm", "hydrate: A, for: 8 min, at: 55 °C", "has about 8 min in water"),
        ("Cool", "hydrate: A, for: 20 min", "takes about 1 h below 40 °C"),
        ("Cool", "hydrate: A, for: 3 h, at: 65 °C", "never cool enough"),
    ],
)
def test_how_long_a_thickener_swells(review: Run, name: str, swelling: str, needs: str | None) -> None:
    procedure = steps(f"sprinkle: {name}, into: A", swelling, "fill: A", materials=THICKENERS)
    messages = [
        f.message for f in found(review(formula(f"Aqua: q.s., {name}: 1", procedure, GEL)), "thickener-not-hydrated")
    ]
    assert [str(needs) in message for message in messages] == ([True] if needs else [])


@pytest.mark.parametrize(("salt", "severity"), [(1.5, None), (3, "minor"), (5, "major")])
def test_more_salt_than_a_thickener_bears(review: Run, salt: float, severity: str | None) -> None:
    text = formula(f"Aqua: q.s., Weak: 1, Sodium Chloride: {salt}", f"materials:\n{THICKENERS}", GEL)
    findings = found(review(text), "thickener-salted-first")
    assert [finding.severity for finding in findings] == ([severity] if severity else [])
    for finding in findings:
        assert "Keep all salts together below about 2 %, or take a thickener that bears more." in finding.remedy
        assert "thinner well before that" not in finding.message


# --- the law: Regulation (EC) No 1223/2009

FILTER = "  Big filter: {INCI: Disodium Phenyl Dibenzimidazole Tetrasulfonate%s}\n"
UNCOUNTED = ("how much the acid there is", "allows 10 %")


@pytest.mark.parametrize(
    ("percent", "releases", "told", "needs"),
    [
        (10.6, ", releases: {Its acid: 93.48 %}", None, ()),
        (10.8, ", releases: {Its acid: 93.48 %}", "At most 10.7 %", ()),
        (9, "", None, ()),
        (10.8, "", None, UNCOUNTED),
    ],
)
def test_a_salt_whose_limit_names_no_acid(
    review: Run, percent: float, releases: str, told: str | None, needs: tuple[str, ...]
) -> None:
    """Annex VI, entry 24: 10 % as acid, C20H14N4O12S4 (630.6 g/mol), of its disodium salt (674.6 g/mol)."""
    lines = f"Aqua: q.s., Big filter: {percent}"
    result = review(formula(lines, "materials:\n" + FILTER % releases, "use: leave-on, form: sunscreen"))
    remedies = [finding.remedy for finding in found(result, "over-legal-limit")]
    assert [str(told) in remedy for remedy in remedies] == ([True] if told else [])
    asks = asked(result, "over-legal-limit")
    assert bool(asks) == bool(needs)
    assert all(need in asks for need in needs)


def test_the_most_of_a_salt_that_is_counted_as_its_acid(review: Run) -> None:
    """Annex III, entry 2a: 2 % of thioglycolic acid (92.12 g/mol), which are 2.37 % of its ammonium salt (109.15 g/mol)."""
    result = review(
        formula("Aqua: q.s., Ammonium Thioglycolate: 9", product="use: rinse-off, form: shampoo, area: [hair]")
    )
    (finding,) = found(result, "over-legal-limit")
    assert "9 % (as Thioglycolic Acid 7.596 %)" in finding.message
    assert "At most 2.37 % of Ammonium Thioglycolate" in finding.remedy
    assert not asked(result, "over-legal-limit")


@pytest.mark.parametrize(
    ("line", "form", "words"),
    [
        ("Zinc Oxide: 10", "sunscreen", "a sunscreen with Zinc Oxide (10 %)"),
        ("Octocrylene: 5", "cream", "Octocrylene (5 %): UV filters, with no claim of protection"),
    ],
)
def test_filters_in_a_sunscreen_or_elsewhere(review: Run, line: str, form: str, words: str) -> None:
    (finding,) = found(
        review(formula(f"Aqua: q.s., {line}", product=f"use: leave-on, form: {form}")), "uv-filter-present"
    )
    assert finding.message.startswith(words)


# --- more of heat, oil and solubility

MORE = (
    "  Tough: {class: preservative, maximum temperature: 60 °C, withstands: 80 °C}\n"
    "  Habitual: {class: preservative, cool-down temperature: 45 °C, maximum temperature: 80 °C}\n"
    "  Delicate: {class: active, maximum temperature: 40 °C}\n"
    "  Slurried: {class: thickener, form: powder, wetting: [polyol]}\n"
    "  Strewn: {class: thickener, form: powder, wetting: [sprinkle]}\n  Gum water: {contains: {Strewn: 2, Aqua: 98}}\n"
    "  Liquid gum: {contains: {Strewn: 20, Glycerin: 80}, form: liquid}\n  Dry gum: {contains: {Strewn: 50, Talc: 50}}\n"
    "  Quick: {class: thickener, form: powder, wetting: [sprinkle], hydration time: 20 min, swells below: 60 °C}\n"
    "  Warm: {class: thickener, form: powder, wetting: [sprinkle], hydration time: 10 h, hot hydration time: 10 min,"
    " hot hydration temperature: 60 °C}\n"
    "  Weak: {class: thickener, form: powder, salt tolerance: 2}\n"
    "  Unsaid: {class: thickener, form: powder, wetting: [sprinkle], salt after hydration: true}\n"
    "  Cold one: {class: thickener, form: powder, wetting: [sprinkle], dissolving temperature: 80 °C}\n"
    "  Warm one: {class: thickener, form: powder, wetting: [sprinkle], dissolving temperature: 60 °C}\n"
    "  Sourest: {class: acid, form: crystals, formula: C7H6O2, pKa: [2.0], solubility: {is: 0.3, in: water, at: 20 °C}}\n"
)


def test_the_later_of_two_open_steps_is_named(review: Run) -> None:
    procedure = steps("heat: A", "cool: A, to: 30 °C", "add: Delicate, into: A", "heat: A", "fill: A", materials=MORE)
    assert "step 4 (heat)" in asked(review(formula("Aqua: q.s., Delicate: 1", procedure)), "active-too-hot")


@pytest.mark.parametrize(("celsius", "severity"), [(75, "minor"), (79.7, "minor"), (82, "critical")])
def test_beyond_its_limit_but_not_destroyed(review: Run, celsius: float, severity: str) -> None:
    procedure = steps(f"heat: A, to: {celsius} °C", "fill: A, at: 30 °C", materials=MORE)
    (finding,) = found(review(formula("Aqua: q.s., Tough: 0.2", procedure)), "preservative-too-hot")
    assert finding.severity == severity


def test_a_habit_is_told_at_its_step(review: Run) -> None:
    text = formula(
        "Aqua: q.s., Habitual: 0.2",
        steps("heat: A, to: 60 °C", "add: Habitual, into: A", "fill: A, at: 30 °C", materials=MORE),
    )
    (finding,) = found(review(text), "preservative-too-hot")
    assert finding.severity == "note"
    assert finding.place is not None
    assert "add: Habitual" in text.splitlines()[finding.place.line - 1]


@pytest.mark.parametrize(("oil", "alcohol", "told"), [(4.2, 40.8, False), (4.5, 40.5, True)])
def test_alcohol_dissolves_a_tenth_of_perfume(review: Run, oil: float, alcohol: float, told: bool) -> None:
    """40.8 of alcohol in 95.8 with the water are 42.6 %: a tenth is 4.26. 40.5 in 95.5: 4.24 (common practice, no source)."""
    text = formula(f"Aqua: 55, Limonene: {oil}, Alcohol: {alcohol}", product=MIST)
    assert len(found(review(text), "oil-in-water-product")) == told


def test_no_pH_below_that_of_products_is_advised(review: Run) -> None:
    """Half of an acid of pKa 2 is dissociated at pH 2 already; products start near 3 (common practice, no source)."""
    (finding,) = found(review(formula("Aqua: q.s., Sourest: 1", f"materials:\n{MORE}", SERUM)), "over-solubility")
    assert "bring the pH to 3 or more" in finding.remedy


def test_what_sets_a_soap_is_its_own_soap(reviewer: Reviewer) -> None:
    assert hard_soap(reviewer.sheet("x.formula.yaml", formula("Aqua: q.s., Glycerin: 5").encode())) == 0


# --- more of pH


@pytest.mark.parametrize(
    ("lines", "stated", "rule", "told"),
    [
        # 3 % of ascorbic acid, pKa 4.1, has pH 2.5
        ("Ascorbic Acid: 3", "[5, 6]", "ph-adjuster-missing", True),
        ("Glycolic Acid: 0, Glycerin: 4", "3", "acid-limit", False),
        # lye for 2.75 of the three acids of citric acid: two thirds of its third constant are passed, pH above 6
        ("Citric Acid: 0.7, Sodium Hydroxide: 0.4", "5", "ph-overshoot", True),
    ],
)
def test_what_the_lines_make_of_the_pH(review: Run, lines: str, stated: str, rule: str, told: bool) -> None:
    assert len(found(review(formula(f"Aqua: q.s., {lines}", pH(stated))), rule)) == told


@pytest.mark.parametrize("base", ["Nobody knows it", "Sodium Bicarbonate", "Sodium Citrate"])
def test_a_step_that_may_adjust_is_trusted(review: Run, base: str) -> None:
    """Bicarbonate (pKa 6.4) and citrate take acid up at pH 5.5; of what nobody knows nothing is said."""
    text = formula("Aqua: q.s., Ascorbic Acid: 3", pH("[5, 6]") + steps(f"adjust pH: A, with: {base}"))
    assert not found(review(text), "ph-adjuster-missing")


def test_only_what_shares_no_pH_is_named(review: Run) -> None:
    house = "materials:\n" + "".join(
        f"  {name}: {{class: active, pH window: [{low}, {high}]}}\n"
        for name, low, high in (("Sour one", 3, 4), ("Mild one", 6, 7), ("Easy one", 3.5, 6.5))
    )
    (finding,) = found(
        review(formula("Aqua: q.s., Sour one: 2, Mild one: 2, Easy one: 2", house, SERUM)), "ph-windows-clash"
    )
    assert finding.materials == ("Sour one", "Mild one")


def test_a_pH_of_no_water_is_no_fault(review: Run) -> None:
    procedure = pH(5) + steps("adjust pH: A, with: Sodium Hydroxide, amount: 10 g, to: 5", "fill: A")
    assert not found(review(formula("Squalane: 60, Lactic Acid: 10, Glycerin: 30", procedure)), "ph-overshoot")


@pytest.mark.parametrize(("certainty", "severity"), [("high", "major"), ("low", "minor")])
@pytest.mark.parametrize("stated", [4.5, 6])
def test_slow_loss_outside_a_window(review: Run, certainty: str, severity: str, stated: float) -> None:
    """Half a unit beyond where it keeps is no failure; two units are, where the bound is sure (our order, no source)."""
    house = f"materials:\n  Keeper: {{class: active, stable pH: {{is: [3, 4], certainty: {certainty}}}}}\n"
    (finding,) = found(review(formula("Aqua: q.s., Keeper: 2", house + pH(stated))), "active-outside-ph")
    assert finding.severity == (severity if stated == 6 else "minor")


# --- more of preservation


@pytest.mark.parametrize(("percent", "told"), [(0.3, True), (0.5, False)])
def test_enough_beside_what_micelles_take(review: Run, percent: float, told: bool) -> None:
    """Phenoxyethanol works by itself from 0.4 % (limit of the reference)."""
    lines = f"Aqua: q.s., Methylparaben: 0.2, Polysorbate 80: 5, Phenoxyethanol: {percent}"
    assert len(found(review(formula(lines, pH(5))), "preservative-bound")) == told


def test_grains_that_meet_water_late(review: Run) -> None:
    text = formula(
        "Squalane: 1, Sorbic Acid: 0.2", steps("mix: A", "mix: A", "add: A, into: B", "fill: B"), other="Aqua: 98.8"
    )
    (finding,) = found(review(text), "preservative-not-dissolved")
    assert "at step 3 (add)" in finding.message
    assert finding.place is not None
    assert "add: A" in text.splitlines()[finding.place.line - 1]


# --- more of thickeners


@pytest.mark.parametrize(
    ("lines", "procedure", "rule", "told"),
    [
        ("Gum water: 30, Strewn: 1", ("add: Strewn, into: A", "fill: A"), "thickener-dumped", True),
        ("Liquid gum: 30, Dry gum: 2", ("add: Dry gum, into: A", "fill: A"), "thickener-dumped", True),
        ("Gum water: 30", ("add: Gum water, into: A", "fill: A"), "thickener-dumped", False),
        ("Slurried: 1, Glycerin: 6", ("add: [Slurried, Glycerin], into: A", "fill: A"), "thickener-dumped", False),
        # from 60 to 20 °C a vessel takes twenty minutes (limit "pace of heating and cooling")
        ("Quick: 1", ("heat: A, to: 75 °C", "sprinkle: Quick, into: A", "cool: A, to: 20 °C", "mix: A, for: 1 min", "fill: A"), "thickener-not-hydrated", False),
        ("Quick: 1", ("heat: A, to: 75 °C", "sprinkle: Quick, into: A", "cool: A, to: 65 °C", "mix: A, for: 1 min", "fill: A"), "thickener-not-hydrated", True),
        # ten minutes at 65 °C are ten minutes at 65 °C, whatever comes next
        ("Warm: 1", ("sprinkle: Warm, into: A", "hydrate: A, for: 10 min, at: 65 °C", "cool: A, to: 20 °C", "fill: A"), "thickener-not-hydrated", False),
        ("Warm one: 1, Cold one: 1", ("heat: A, to: 65 °C", "fill: A"), "thickener-not-heated", True),
        ("Cold one: 1, Warm one: 1", ("heat: A, to: 65 °C", "fill: A"), "thickener-not-heated", True),
        ("Sodium Chloride: 5, Unsaid: 1", ("sprinkle: Unsaid, into: A", "hydrate: A, for: 1 h", "fill: A"), "thickener-salted-first", True),
        # a gel is left an hour; other vessels and what comes after the filling do not count
        ("Strewn: 1", ("sprinkle: Strewn, into: A", "homogenise: A", "fill: B", "fill: A"), "rest-before-fill", True),
        ("Strewn: 1", ("sprinkle: Strewn, into: A", "homogenise: A", "fill: A", "rest: A, for: 12 h"), "rest-before-fill", True),
        ("Strewn: 1", ("sprinkle: Strewn, into: A", "homogenise: A", "rest: A, for: 12 h", "fill: A"), "rest-before-fill", False),
        ("Carbomer: 0.5", ("neutralise: A, with: Nobody knows it", "fill: A"), "carbomer-not-neutralised", False),
        ("Carbomer: 0.5", ("mix: A", "fill: A"), "carbomer-not-neutralised", True),
    ],
)  # fmt: skip
def test_what_is_done_to_a_thickener(
    review: Run, lines: str, procedure: tuple[str, ...], rule: str, told: bool
) -> None:
    text = formula(f"Aqua: q.s., {lines}", steps(*procedure, materials=MORE), GEL, other="Panthenol: 2")
    findings = found(review(text), rule)
    assert len(findings) == told
    assert all(finding.source for finding in findings)


@pytest.mark.parametrize(("kind", "told"), [("cationic polymer", True), ("conditioner", False)])
def test_of_what_nothing_is_said_charges_decide(review: Run, kind: str, told: bool) -> None:
    """Neither of the two names the other; polyions of opposite charge fall out together (any textbook of colloids)."""
    house = f"materials:\n  Plus: {{class: {kind}, charge: cationic}}\n  Minus: {{class: thickener, charge: anionic}}\n"
    findings = found(review(formula("Aqua: q.s., Minus: 0.5, Plus: 1", house, GEL)), "thickener-charge-clash")
    assert len(findings) == told


def test_a_chelator_alone_is_no_grave_salt(review: Run) -> None:
    text = formula("Aqua: q.s., Weak: 1, Disodium EDTA: 6", f"materials:\n{MORE}", GEL)
    assert [finding.severity for finding in found(review(text), "thickener-salted-first")] == ["minor"]


# --- more of totals


def test_grams_on_every_line_are_held_against_percents(review: Run) -> None:
    lines = "Aqua: {percent: 60, grams: 500 g}, Glycerin: {percent: 40, grams: 400 g}"
    (finding,) = found(review(formula(lines)), "batch-arithmetic")
    assert "60 % of 1000 g is 600 g" in finding.message


@pytest.mark.parametrize(("line", "stock"), [("Allantoin: 0.01", True), ("Xanthan Gum: 0.01", False)])
def test_a_stock_of_what_dissolves(review: Run, line: str, stock: bool) -> None:
    """0.01 % of 100 g; a step of 0.1 g, ± 0.1 g, is 5 % of 2 g."""
    text = formula(f"Aqua: q.s., {line}").replace("size: 1 kg", "size: 100 g, balance: 0.1 g")
    (finding,) = found(review(text), "balance-too-coarse")
    assert "0.01 g" in finding.message
    assert "weighs 2 g and more" in finding.remedy
    assert ("or dissolve" in finding.remedy) == stock
