"""What rules say of made-up materials whose figures are given in the file, so that every number can be worked by hand.

The figures are the formula's own; what a rule makes of them is arithmetic and the language of the formula file. Where a limit
of the reference decides, its name stands beside (common practice, no source, unless the reference says otherwise).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]


def formula(lines: str, more: str = "", product: str = "use: leave-on, form: cream") -> str:
    return f"formcheck: 1\nname: Test plot\nproduct: {{{product}}}\nbatch: {{size: 1 kg}}\nphases:\n  A: {{{lines}}}\n{more}"


def found(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


def heated(*steps: str, materials: str = "") -> str:
    return (
        "procedure:\n"
        + "".join(f"  - {{{step}}}\n" for step in steps)
        + (f"materials:\n{materials}" if materials else "")
    )


# --- overheated: 85 °C and an hour are the reference's limits; 10 °C above what melts last is allowed

WAXES = (
    "  High wax: {class: [oil, wax], melting point: 95 °C}\n  Range wax: {class: [oil, wax], melting point: [80 °C, 95 °C]}\n"
    "  Low end wax: {class: [oil, wax], melting point: [95 °C, null]}\n  Stone: {class: powder, melting point: 95 °C}\n"
    "  Slow gum: {class: thickener, hot hydration temperature: 80 °C, hot hydration time: 3 h}\n"
    "  Stubborn: {class: preservative, dissolving temperature: 95 °C}\n"
)


@pytest.mark.parametrize(
    ("line", "celsius", "told"),
    [
        ("Glycerin: 5", 85, None),
        ("Glycerin: 5", 86, "85 °C"),
        ("High wax: 5", 100, None),
        ("High wax: 5", 106, "105 °C"),
        ("Range wax: 5", 105, None),
        ("Low end wax: 5", 105, None),
        ("Stone: 5", 100, "85 °C"),  # a powder need not melt
        ("Stubborn: 0.2", 105, None),
    ],
)
def test_hotter_than_anything_needs(review: Run, line: str, celsius: int, told: str | None) -> None:
    text = formula(f"Aqua: q.s., {line}", heated(f"heat: A, to: {celsius} °C", "fill: A", materials=WAXES))
    messages = [finding.message + finding.remedy for finding in found(review(text), "overheated")]
    assert len(messages) == (told is not None)
    assert all(str(told) in message for message in messages)


@pytest.mark.parametrize(
    ("line", "step", "told"),
    [
        ("Glycerin: 5", "hold: A, at: 75 °C, for: 2 h", True),
        ("Glycerin: 5", "hold: A, at: 75 °C, for: 60 min", False),
        ("Glycerin: 5", "hold: A, at: 60 °C, for: 2 h", True),
        ("Glycerin: 5", "hold: A, at: 59 °C, for: 2 h", False),
        ("Glycerin: 5", "heat: A, to: 75 °C, hold: 2 h", True),
        ("Slow gum: 1", "hold: A, at: 80 °C, for: 3 h", False),
        ("Slow gum: 1", "hold: A, at: 80 °C, for: 4 h", True),
    ],
)
def test_held_hot_for_longer_than_anything_needs(review: Run, line: str, step: str, told: bool) -> None:
    result = review(formula(f"Aqua: q.s., {line}", heated(step, "fill: A", materials=WAXES)))
    assert ["held at" in finding.message for finding in found(result, "overheated")] == [True] * told


# --- antioxidant-missing: from 5 % of an oil that goes rancid, or 1 % of one that dries; 0.05 to 0.5 % of the oil protect it


@pytest.mark.parametrize(
    ("lines", "product", "told"),
    [
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10", "form: oil", True),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Tocopherol: 0.2", "form: oil", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Ascorbyl Palmitate: 0.2", "form: oil", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Sodium Metabisulfite: 0.2", "form: oil", True),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 2", "form: oil", True),  # it dries
        ("Squalane: q.s., Rosa Canina Fruit Oil: 0.5", "form: oil", False),
        ("Squalane: q.s., Helianthus Annuus Seed Oil: 4", "form: oil", False),
        ("Squalane: q.s., Helianthus Annuus Seed Oil: 6", "form: oil", True),
        ("Squalane: 100", "form: oil", False),
        ("Helianthus Annuus Seed Oil: 75, Sodium Hydroxide: 10, Aqua: 15", "form: cleanser", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Own guard: 0.2", "form: oil", False),
        ("Squalane: q.s., Rosa Canina Fruit Oil: 10, Mixed guard: 0.2", "form: oil", False),
    ],
)
def test_oils_that_go_rancid(review: Run, lines: str, product: str, told: bool) -> None:
    house = "materials:\n  Own guard: {class: antioxidant}\n  Mixed guard: {class: antioxidant, contains: {Tocopherol: 50, Squalane: 50}}\n"
    findings = found(review(formula(lines, house, f"use: leave-on, {product}")), "antioxidant-missing")
    assert len(findings) == told
    if told and "Rosa Canina Fruit Oil: 10" in lines:
        assert "0.005 %" in findings[0].remedy
        assert "0.05 %" in findings[0].remedy


# --- emulsifier-underdosed: what the emulsifier itself says, else 5 % of the oil

EMULSIFIERS = (
    "materials:\n  Strong one: {class: emulsifier, emulsifies: [10, 30]}\n  Weak one: {class: emulsifier, emulsifies: [40, 60]}\n"
    "  Open one: {class: emulsifier}\n  Upper one: {class: emulsifier, emulsifies: [null, 30]}\n"
)


@pytest.mark.parametrize(
    ("lines", "least"),
    [
        ("Squalane: 20, Strong one: 0.5", "2 %"),
        ("Squalane: 20, Strong one: 2", None),
        ("Squalane: 20, Weak one: 2", "8 %"),
        ("Squalane: 20, Weak one: 8", None),
        # of two the better one counts, for both together
        ("Squalane: 20, Weak one: 1, Strong one: 1", None),
        ("Squalane: 20, Weak one: 0.2, Strong one: 0.2", "2 %"),
        ("Squalane: 20, Open one: 0.3", "1 %"),
        ("Squalane: 20, Upper one: 0.3", "1 %"),
        ("Squalane: 20, Open one: 1.1", None),
        # fats that stiffen are no oil to be emulsified
        ("Squalane: 10, Cetyl Alcohol: 10, Strong one: 1", None),
    ],
)
def test_emulsifier_for_so_much_oil(review: Run, lines: str, least: str | None) -> None:
    findings = found(review(formula(f"Aqua: q.s., {lines}", EMULSIFIERS)), "emulsifier-underdosed")
    assert len(findings) == (least is not None)
    if least:
        assert f"at least {least}" in findings[0].remedy


@pytest.mark.parametrize("more", ["Stearic Acid: 3, Triethanolamine: 1", "Lanolin: 5", "Nobody knows this: 5"])
def test_what_else_may_hold_the_oil_is_given_the_benefit(review: Run, more: str) -> None:
    assert not found(
        review(formula(f"Aqua: q.s., Squalane: 20, Strong one: 0.5, {more}", EMULSIFIERS)), "emulsifier-underdosed"
    )


# --- over-solubility: in water near 20 °C; 40 % beyond the figure is doubt, twice that where the figure is unsure. Of a weak
# acid S (1 + 10^(pH - pKa)) dissolves (any textbook of physical pharmacy).

SOLUBLE = (
    "materials:\n  Sol: {class: active, form: powder, solubility: {is: 1, in: water, at: 20 °C}}\n"
    "  Rough: {class: active, form: powder, solubility: {is: 1, in: water, at: 20 °C, certainty: low}}\n"
    "  Sour: {class: acid, form: crystals, formula: C7H6O2, pKa: [4.2], solubility: {is: 0.3, in: water, at: 20 °C}}\n"
)


@pytest.mark.parametrize(
    ("lines", "pH", "severity", "words"),
    [
        ("Sol: 3", None, "major", ("3 % of the water phase", "Take no more than 1 %.")),
        ("Sol: 1.5", None, "minor", ("1.5 %",)),
        ("Sol: 1.3", None, None, ()),
        ("Sol: 0.9", None, None, ()),
        ("Rough: 3", None, "minor", ()),
        ("Rough: 1.6", None, None, ()),
        ("Sol: 3, Propanediol: 20", None, None, ()),
        ("Sol: 7, Xanthan Gum: 0.5", None, "note", ("grind it fine",)),
        ("Sol: 3, Xanthan Gum: 0.5", None, "major", ()),
        ("Sol: 25, Xanthan Gum: 0.5", None, None, ()),
        ("Sour: 1", 3, "major", ("about 0.32 % dissolves", "at pH 3", "bring the pH to 4.6 or more")),
        ("Sour: 1", 4.2, "major", ("about 0.6 % dissolves",)),
        ("Sour: 1", 6, None, ()),
        ("Sour: 1", None, "major", ("about 0.3 % dissolves",)),
        ("Sour: 10", 3, "major", ("bring the pH to 5.7 or more",)),
    ],
)
def test_more_than_dissolves(
    review: Run, lines: str, pH: float | None, severity: str | None, words: tuple[str, ...]
) -> None:
    finished = f"finished: {{pH: {pH}}}\n" if pH else ""
    findings = found(
        review(formula(f"Aqua: q.s., {lines}", SOLUBLE + finished, "use: leave-on, form: serum")), "over-solubility"
    )
    assert [finding.severity for finding in findings] == ([severity] if severity else [])
    for word in words:
        assert word in findings[0].message + findings[0].remedy


@pytest.mark.parametrize("more", ["Sodium Citrate: 1", "Triethanolamine: 1"])
def test_a_pH_that_nobody_states_may_dissolve_it(review: Run, more: str) -> None:
    result = review(formula(f"Aqua: q.s., Sour: 1, {more}", SOLUBLE, "use: leave-on, form: serum"))
    assert not found(result, "over-solubility")
    assert "pH" in next(item.needs for item in result.unchecked if item.rule == "over-solubility")


# --- oil-in-water-product: 0.05 to 5 % of oil in ten times as much water; two to five times as much solubiliser


@pytest.mark.parametrize(
    ("lines", "severity", "words"),
    [
        ("Aqua: q.s., Limonene: 0.5", "major", ("0.5 %", "1 % to 2.5 % solubiliser")),
        ("Aqua: q.s., Limonene: 0.15", "minor", ()),
        ("Aqua: q.s., Limonene: 0.04", None, ()),
        ("Aqua: q.s., Limonene: 6", None, ()),
        ("Aqua: 46, Limonene: 4.5, Glycerin: 49.5", "major", ()),
        ("Aqua: 44, Limonene: 4.5, Glycerin: 51.5", None, ()),
        ("Aqua: q.s., Limonene: 2, Xanthan Gum: 0.3", "minor", ("only keeps the drops",)),
        ("Aqua: q.s., Limonene: 2, Xanthan Gum: 0.3, Carbomer: 0.3", "minor", ("only keep the drops",)),
        ("Aqua: q.s., Limonene: 0.1, Xanthan Gum: 0.3", None, ()),
        ("Aqua: q.s., Limonene: 0.5, Talc: 0.6", None, ()),
        ("Aqua: q.s., Limonene: 0.5, Talc: 0.4", "major", ()),
        ("Aqua: 60, Limonene: 1, Alcohol: 39", "minor", ("39 % alcohol in the water is too little",)),
        ("Aqua: 39, Limonene: 1, Alcohol: 60", None, ()),
        ("Aqua: q.s., Limonene: 1, Polysorbate 20: 3", None, ()),
    ],
)
def test_a_little_oil_on_much_water(review: Run, lines: str, severity: str | None, words: tuple[str, ...]) -> None:
    findings = found(review(formula(lines, product="use: leave-on, form: mist")), "oil-in-water-product")
    assert [finding.severity for finding in findings] == ([severity] if severity else [])
    for word in words:
        assert word in findings[0].message + findings[0].remedy


def test_what_is_filtered_or_unknown_is_no_oil_on_water(review: Run) -> None:
    text = formula("Aqua: q.s., Limonene: 1", heated("mix: A", "filter: A"), "use: leave-on, form: mist")
    assert not found(review(text), "oil-in-water-product")
    unknown = review(formula("Aqua: q.s., Limonene: 1, Nobody knows: 2", product="use: leave-on, form: mist"))
    assert not found(unknown, "oil-in-water-product")
    assert "Nobody knows" in next(item.needs for item in unknown.unchecked if item.rule == "oil-in-water-product")


# --- wax-not-melted and phases-apart: a wax that melts from 60 °C; liquid oil, more than it, dissolves it 10 K earlier or as
# far as the reference says ("hot oil dissolves waxes below their melting point by")

WAX = "  Hard wax: {class: [oil, wax], melting point: 70 °C}\n  Soft wax: {class: [oil, wax], melting point: 50 °C}\n"


@pytest.mark.parametrize(
    ("lines", "celsius", "told"),
    [
        ("Hard wax: 10, Talc: 90", 69, "70 °C"),
        ("Hard wax: 10, Talc: 90", 71, None),
        ("Hard wax: 10, Squalane: 90", 69, None),
        ("Hard wax: 10, Squalane: 90", 40, "70 °C"),
        ("Hard wax: 60, Squalane: 40", 69, "70 °C"),
        ("Hard wax: 10, Soft wax: 10, Talc: 80", 40, "70 °C"),
    ],
)
def test_a_wax_that_stays_solid(review: Run, lines: str, celsius: int, told: str | None) -> None:
    text = formula(lines, heated(f"heat: A, to: {celsius} °C", "fill: A", materials=WAX), "use: leave-on, form: balm")
    findings = found(review(text), "wax-not-melted")
    assert len(findings) == (told is not None)
    if told:
        assert told in findings[0].message
        assert "about 75 °C" in findings[0].remedy


def test_where_the_warmth_is_not_known_no_wax_is_called_solid(review: Run) -> None:
    for step in ("heat: A", "add: B, into: A"):
        text = formula("Hard wax: 10, Talc: 80", heated(step, "fill: A", materials=WAX)).replace(
            "  A: {", "  B: {Mica: 10}\n  A: {"
        )
        assert len(found(review(text), "wax-not-melted")) == (step != "heat: A")


@pytest.mark.parametrize(
    ("oil", "water", "told"),
    [
        (75, 22, "53 K apart"),  # equal parts: about 40 °C together, the wax sets
        (75, 75, None),
        (52, 40, None),  # near enough each other, but both warm and the mixture too cool
        (80, 70, None),
    ],
)
def test_hot_oil_meets_cold_water(review: Run, oil: int, water: int, told: str | None) -> None:
    steps = (f"heat: A, to: {oil} °C", f"heat: B, to: {water} °C", "add: A, into: B", "fill: B")
    text = formula("Hard wax: 10, Polysorbate 60: 2", heated(*steps, materials=WAX)).replace(
        "  A: {", "  B: {Aqua: 88}\n  A: {"
    )
    findings = found(review(text), "phases-apart")
    if told:
        (finding,) = findings
        assert told in finding.message
        assert "Bring both to about 75 °C" in finding.remedy
        assert "Hard wax sets below 70 °C" in finding.message
    elif oil != 52:
        assert not findings
    else:
        assert [each.message.count("12 K apart") for each in findings] == [1]


# --- volatile-too-hot: a flash point below the temperature it meets is named


@pytest.mark.parametrize(("flash", "named"), [("40 °C", True), ("90 °C", False)])
def test_a_vapour_that_can_catch_fire(review: Run, flash: str, named: bool) -> None:
    scent = f"  Scent: {{class: fragrance, flash point: {flash}}}\n"
    text = formula("Aqua: q.s., Scent: 1", heated("heat: A, to: 75 °C", "fill: A, at: 30 °C", materials=scent))
    (finding,) = found(review(text), "volatile-too-hot")
    assert ("can catch fire" in finding.message) == named
    assert "75 °C in vessel A at step 1" in finding.message


# --- legal: what breathing and children may not meet (Regulation (EC) No 1223/2009, annex V, entries that say so)


@pytest.mark.parametrize(
    ("line", "product", "told"),
    [
        ("Benzalkonium Chloride: 0.1", "use: leave-on, form: spray", False),
        ("Chlorobutanol: 0.3", "use: leave-on, form: spray", True),
        ("Chlorobutanol: 0.3", "use: leave-on, form: cream", False),
        ("Iodopropynyl Butylcarbamate: 0.005", "use: leave-on, form: cream, users: [children under 3]", True),
        ("Iodopropynyl Butylcarbamate: 0.005", "use: leave-on, form: cream", False),
        ("House resin: 1", "use: leave-on, form: spray", True),
        ("House resin: 1", "use: leave-on, form: cream", False),
        ("House scent: 1", "use: leave-on, form: cream, users: [children under 3]", True),
        ("House scent: 1", "use: leave-on, form: cream, users: [adults]", False),
    ],
)
def test_not_for_lungs_nor_for_children(review: Run, line: str, product: str, told: bool) -> None:
    house = "materials:\n  House resin: {class: powder, not for: [spray]}\n  House scent: {class: fragrance, not for: [children]}\n"
    assert bool(found(review(formula(f"Aqua: q.s., {line}", house, product)), "not-for-these-users")) == told


def test_the_most_that_the_law_allows_is_told_of_the_salt(review: Run) -> None:
    """Annex III, entry 98: 2 % of salicylic acid in what is left on; salts count by annex V as the acid."""
    (finding,) = found(
        review(formula("Aqua: q.s., Salicylic Acid: 4", product="use: leave-on, form: lotion, area: [face]")),
        "over-legal-limit",
    )
    assert "allows 2 %" in finding.message
    assert "At most 2 % of Salicylic Acid" in finding.remedy
    assert "(as" not in finding.message  # it is counted as itself


@pytest.mark.parametrize(("percent", "told"), [(2, True), (0.2, True), (0.1, False), (0.05, False)])
def test_diethylene_glycol_is_a_trace_or_too_much(review: Run, percent: float, told: bool) -> None:
    """Annex III, entry 186: 0.1 %, as a trace in ingredients."""
    findings = found(review(formula(f"Aqua: q.s., Diethylene Glycol: {percent}")), "over-legal-limit")
    assert len(findings) == told


# --- packs


@pytest.mark.parametrize(
    ("lines", "pack", "severity", "materials"),
    [
        ("Tender: 1, Fading: 1", "{container: bottle, wall: clear}", "major", ("Tender",)),
        ("Fading: 1", "{container: bottle, wall: clear}", "note", ("Fading",)),
        ("Fading oil: 1", "{container: bottle, wall: clear}", None, ()),
        ("Tender: 1", "{container: bottle, wall: amber}", None, ()),
        ("Tender: 0.0001", "{container: bottle, wall: clear}", None, ()),
    ],
)
def test_light_through_a_wall(
    review: Run, lines: str, pack: str, severity: str | None, materials: tuple[str, ...]
) -> None:
    """What light destroys goes before what it only fades (our order, no source)."""
    house = (
        "materials:\n  Tender: {class: active, light sensitivity: high}\n  Fading: {class: active, light sensitivity: some}\n"
        "  Fading oil: {class: oil, light sensitivity: some}\n"
    )
    findings = found(
        review(formula(f"Aqua: q.s., {lines}", f"packaging: {pack}\n{house}")), "light-sensitive-in-clear-pack"
    )
    assert [(each.severity, each.materials) for each in findings] == ([(severity, materials)] if severity else [])


@pytest.mark.parametrize(
    ("lines", "pH", "told"),
    [
        ("Aqua: 90, Glycerin: 10", "10", True),
        ("Aqua: 90, Glycerin: 10", "6", False),
        ("Aqua: 90, Glycerin: 10", "", False),
        ("Aqua: 40, Squalane: 60", "10", False),  # oil lies against the wall
    ],
)
def test_bare_aluminium_and_alkali(review: Run, lines: str, pH: str, told: bool) -> None:
    """Aluminium is amphoteric: its oxide dissolves below about pH 4 and above about 8.5 (M. Pourbaix, Atlas of Electrochemical
    Equilibria, from memory)."""
    finished = f"finished: {{pH: {pH}}}\n" if pH else ""
    text = formula(lines, f"{finished}packaging: {{container: tube, material: aluminium}}\n")
    assert len(found(review(text), "pack-material-clash")) == told


# --- totals: arithmetic


@pytest.mark.parametrize(("written", "told"), [("60 g", "6 %"), ("40 g", None), ("40.2 g", None), ("20 g", "2 %")])
def test_grams_beside_percents(review: Run, written: str, told: str | None) -> None:
    """4 % of a kilogram are 40 g."""
    findings = found(review(formula(f"Aqua: q.s., Glycerin: {{percent: 4, grams: {written}}}")), "batch-arithmetic")
    assert len(findings) == (told is not None)
    if told:
        assert "4 % of 1000 g is 40 g" in findings[0].message.replace("1 kg", "1000 g")
        assert f"would be {told}" in findings[0].remedy


def test_two_lines_of_one_material_are_added(review: Run) -> None:
    text = formula("Aqua: q.s., Glycerin: 6, Glycerol: 1.5")
    (finding,) = found(review(text), "listed-twice")
    assert "Together they are 7.5 %" in finding.remedy
    assert "1.5 % here and 6 % as Glycerin" in finding.message


# --- hlb-apart: values of a mixture add by weight (W. C. Griffin, J. Soc. Cosmet. Chem. 1 (1949) 311); a unit and a half is let pass

HLB = (
    "materials:\n  Oil: {class: oil, required HLB: 10}\n  Vague oil: {class: oil, required HLB: {is: 10, certainty: low}}\n"
    "  Bare oil: {class: oil}\n"
    "  Low: {class: [emulsifier, nonionic emulsifier], HLB: 4}\n  High: {class: [emulsifier, nonionic emulsifier], HLB: 16}\n"
    "  Middle: {class: [emulsifier, nonionic emulsifier], HLB: 8.5}\n"
    "  Unnumbered: {class: [emulsifier, nonionic emulsifier]}\n  Ionic: {class: [emulsifier, anionic emulsifier], HLB: 4}\n"
)


@pytest.mark.parametrize(
    ("lines", "told", "remedy"),
    [
        # (1 x 4 + 3 x 16) / 4 = 13; to meet 10 half of each
        (
            "Oil: 20, Low: 1, High: 3",
            "HLB 13.0, while the oils require 10.0, 3.0 too high",
            "2 % Low (HLB 4) and 2 % High (HLB 16)",
        ),
        ("Oil: 20, High: 4", "HLB 16.0, while the oils require 10.0, 6.0 too high", "a lipophilic partner"),
        ("Oil: 20, Low: 2, High: 2", None, ""),
        ("Oil: 20, Low: 3, Middle: 9", "HLB 7.4, while the oils require 10.0, 2.6 too low", "a hydrophilic partner"),
        ("Oil: 20, Low: 4", None, ""),  # it makes water-in-oil
        ("Vague oil: 20, Low: 1, High: 3", None, ""),  # 3.0 apart, and rough
        ("Vague oil: 20, High: 4", "rough", "a lipophilic partner"),
        ("Oil: 20, Low: 1, High: 3, Cetyl Alcohol: 5", None, ""),
        ("Oil: 20, Ionic: 1, High: 3", None, ""),
        ("Oil: 20, Low: 1, High: 3, Nobody knows: 2", None, ""),
        ("Oil: 3, Low: 0.2, High: 0.6", None, ""),
    ],
)
def test_the_balance_of_emulsifiers(review: Run, lines: str, told: str | None, remedy: str) -> None:
    findings = found(review(formula(f"Aqua: q.s., {lines}", HLB)), "hlb-apart")
    assert len(findings) == (told is not None)
    if told:
        assert told in findings[0].message
        assert remedy in findings[0].remedy


@pytest.mark.parametrize(
    ("lines", "asked"),
    [("Oil: 20, Unnumbered: 1, High: 3", "HLB of Unnumbered"), ("Bare oil: 20, High: 4", "required HLB of Bare oil")],
)
def test_a_figure_that_is_missing_is_asked_for(review: Run, lines: str, asked: str) -> None:
    result = review(formula(f"Aqua: q.s., {lines}", HLB))
    assert not found(result, "hlb-apart")
    assert any(asked in item.needs for item in result.unchecked if item.rule == "hlb-apart")


# --- hazards at the bench: by a material's own entry, else by enough of what it contains ("caution, corrosive in a solution")

HAZARDS = (
    "materials:\n  Strong lye: {contains: {Sodium Hydroxide: 50, Aqua: 50}}\n  Weak lye: {contains: {Sodium Hydroxide: 1, Aqua: 99}}\n"
    "  Fine dust: {class: powder, hazards: [dust]}\n  Other dust: {class: powder, hazards: [dust]}\n"
    "  Dusty mix: {contains: {Fine dust: 50, Other dust: 50}}\n  Wet mix: {contains: {Fine dust: 50, Aqua: 50}}\n"
    "  Spirit: {class: volatile alcohol, flash point: 13 °C}\n  Heavy oil: {class: oil, flash point: 220 °C}\n"
)


@pytest.mark.parametrize(
    ("lines", "rule", "told"),
    [
        ("Strong lye: 3", "caustic-handling", True),
        ("Weak lye: 3", "caustic-handling", False),
        ("Fine dust: 20", "powder-dust", True),
        ("Fine dust: 2", "powder-dust", False),
        ("Dusty mix: 20", "powder-dust", True),
        ("Wet mix: 20", "powder-dust", False),
        ("Spirit: 30", "flammable-batch", True),
        ("Spirit: 3", "flammable-batch", False),
        ("Heavy oil: 50", "flammable-batch", False),
    ],
)
def test_what_hurts_at_the_bench(review: Run, lines: str, rule: str, told: bool) -> None:
    assert bool(found(review(formula(f"Aqua: q.s., {lines}", HAZARDS)), rule)) == told


def test_the_most_dangerous_share_is_named_first(review: Run) -> None:
    (finding,) = found(review(formula("Aqua: q.s., Fine dust: 6, Other dust: 9", HAZARDS)), "powder-dust")
    assert finding.message.index("Other dust (9 %)") < finding.message.index("Fine dust (6 %)")


# --- pH against a stated range: 19.2 g of citric acid (0.1 mol) in a kilogram is pH 2.1 by its first constant, 3.13 (CRC
# Handbook); 12 g of lye neutralise it, 14 g leave 0.05 mol of lye over, pH 12.6

SOUR = "Aqua: q.s., Citric Acid: 1.92"


@pytest.mark.parametrize(
    ("stated", "told"),
    [
        ("[5, 6]", ("to about 2.1", "not to the stated 5 to 6", "with a base")),
        ("5.5", ("not to the stated 5.5;", "with a base")),
        ("[1, 1.5]", ("not to the stated 1 to 1.5", "with an acid")),
        ("[1.9, 2.6]", ()),
        ("[2, 6]", ()),
        ("[1, 6]", ()),
    ],
)
def test_a_pH_that_nothing_brings_about(review: Run, stated: str, told: tuple[str, ...]) -> None:
    findings = found(review(formula(SOUR, f"finished: {{pH: {stated}}}\n")), "ph-adjuster-missing")
    assert len(findings) == bool(told)
    for words in told:
        assert words in findings[0].message + findings[0].remedy


@pytest.mark.parametrize(
    ("grams", "aim", "told"),
    [
        (14, "[5, 6]", "past the 5 to 6 aimed at"),
        (14, "5.5", "past the 5.5 aimed at"),
        (6, "[4, 6]", None),
        (3, "[5, 6]", None),  # short of it, not past
        (14, "[5, 13]", None),
    ],
)
def test_too_much_lye(review: Run, grams: int, aim: str, told: str | None) -> None:
    step = f"adjust pH: A, with: Sodium Hydroxide, amount: {grams} g, to: {aim}"
    findings = found(review(formula(SOUR, heated(step, "fill: A") + f"finished: {{pH: {aim}}}\n")), "ph-overshoot")
    assert len(findings) == (told is not None)
    if told:
        assert told in findings[0].message
        assert "to about 12.6" in findings[0].message


@pytest.mark.parametrize(
    ("stated", "measured", "away"),
    [
        ("[5, 6]", 5.5, None),
        ("[5, 6]", 6.2, None),
        ("[5, 6]", 6.4, "stated is pH 5 to 6, 0.4 away"),
        ("[5, 6]", 4.6, "stated is pH 5 to 6, 0.4 away"),
        ("5.5", 5.9, "stated is pH 5.5, 0.4 away"),
        ("5.5", 5.1, "stated is pH 5.5, 0.4 away"),
    ],
)
def test_how_far_the_meter_is_away(review: Run, stated: str, measured: float, away: str | None) -> None:
    text = formula("Aqua: q.s., Glycerin: 5", f"finished: {{pH: {stated}, measured pH: {measured}}}\n")
    findings = found(review(text), "ph-off-target")
    assert [away in finding.message for finding in findings] == [True] * (away is not None)
    assert not found(review(formula("Squalane: 100", "finished: {pH: 5, measured pH: 9}\n")), "ph-off-target")


# --- figures in words, worked by hand


@pytest.mark.parametrize(
    ("rule", "lines", "pH", "severity", "words"),
    [
        ("preservative-missing", "Aqua: 60, Propanediol: 40", None, "note", ("holds Propanediol 40 %",)),
        ("preservative-missing", "Aqua: 30, Propanediol: 20, Squalane: 50", None, "note", ("holds Propanediol 40 %",)),
        # methylparaben, pKa 8.4: a tenth is left undissociated at pH 9.35
        ("preservative-outside-ph", "Aqua: q.s., Methylparaben: 0.2", 9.35, "minor", ("only 10 % of Methylparaben",)),
        ("preservative-outside-ph", "Aqua: q.s., Methylparaben: 0.2, Phenoxyethanol: 0.9", 9.35, "minor", ("left at work: Phenoxyethanol",)),
        ("preservative-spectrum", "Aqua: q.s., DMDM Hydantoin: 0.3", 5, "minor", ("DMDM Hydantoin alone holds moulds only weakly",)),
        ("preservative-spectrum", "Aqua: q.s., Imidazolidinyl Urea: 0.3", 5, "major", ("yeasts and moulds only weakly",)),
        ("preservative-underdosed", "Aqua: q.s., Phenoxyethanol: 0.1", 5, "major", ("At least 0.4 % of Phenoxyethanol",)),
        # about 0.4 g of lye for a gram of carbomer (common practice)
        ("carbomer-not-neutralised", "Aqua: q.s., Carbomer: 0.5", None, "major", ("roughly 0.18 % of Sodium Hydroxide",)),
        ("thickener-salted-first", "Aqua: q.s., Carbomer: 0.5, Sodium Chloride: 2, Triethanolamine: 0.5", None, "major", ("2 % of electrolyte (Sodium Chloride)",)),
        ("thickener-salted-first", "Aqua: q.s., Xanthan Gum: 0.5, Sodium Chloride: 2", None, None, ()),
    ],
)  # fmt: skip
def test_figures_in_words(
    review: Run, rule: str, lines: str, pH: float | None, severity: str | None, words: tuple[str, ...]
) -> None:
    finished = f"finished: {{pH: {pH}}}\n" if pH else ""
    findings = found(review(formula(lines, finished, "use: leave-on, form: gel")), rule)
    assert [finding.severity for finding in findings] == ([severity] if severity else [])
    for word in words:
        assert word in findings[0].message + findings[0].remedy
