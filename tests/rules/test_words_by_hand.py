"""What rules say beyond that they speak at all: words, remedies and the second answer, on figures that can be worked by hand.

As in test_by_hand.py the figures of made-up materials are the formula's own. A limit of the reference that decides stands
beside (common practice, no source, unless the reference says otherwise).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding
from formcheck_rules.emulsion._solubility import Help, with_co_solvents

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
    remedies = [finding.remedy for finding in found(review(text), "thickener-dumped")]
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
