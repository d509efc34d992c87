"""Faults that formulas of others brought to light: each case is a formula as people write it, with the outside reason."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.formula.vocabulary import form_of
from formcheck.review.model import Review
from formcheck.review.rule import Finding
from formcheck.review.run import Reviewer

Run = Callable[[str], Review]


def file(lines: str, product: str, more: str = "") -> str:
    return f"formcheck: 1\nname: Test plot\nproduct: {{{product}}}\nphases:\n  A: {{{lines}}}\n{more}"


def of(result: Review, rule: str) -> list[Finding]:
    assert not result.errors, result.errors
    assert not result.faults, result.faults
    return [finding for finding in result.findings if finding.rule == rule]


def severities(result: Review, rule: str) -> list[str]:
    return [finding.severity for finding in of(result, rule)]


# --- wetting out in two liquids at once (common practice, no source)

SERUM = """
procedure:
  - disperse: Xanthan Gum
    in: [Glycerin, Propanediol]
  - add: Aqua
    into: A
  - mix: A
    for: 40 min
  - fill: A
"""


def test_a_powder_may_be_wetted_out_in_two_liquids(review: Run) -> None:
    leave_on = "use: leave-on, form: serum, area: [face]"
    enough = review(file("Aqua: q.s., Glycerin: 1, Propanediol: 1, Xanthan Gum: 0.5", leave_on, SERUM))
    assert not of(enough, "thickener-dumped")
    thin = review(file("Aqua: q.s., Glycerin: 0.1, Propanediol: 0.1, Xanthan Gum: 0.5", leave_on, SERUM))
    assert "0.2 % Glycerin and Propanediol" in of(thin, "thickener-dumped")[0].message


def test_a_liquid_that_the_formula_lacks_is_told(review: Run) -> None:
    result = review(
        file("Aqua: q.s., Glycerin: 2, Xanthan Gum: 0.5", "use: leave-on, form: serum, area: [face]", SERUM)
    )
    assert "Propanediol" in of(result, "step-names-unknown")[0].message


# --- a little citric acid listed for a step that says how far to go (common practice, no source: shampoos are written so,
# and free alkali of their raw materials takes it up)


@pytest.mark.parametrize(("acid", "severity"), [(0.15, "minor"), (0.9, "major")])
def test_acid_at_hand_for_a_step(review: Run, acid: float, severity: str) -> None:
    steps = "procedure:\n  - adjust pH: A\n    to: 6\n    with: Citric Acid\n  - measure pH: A\n"
    lines = f"Aqua: q.s., Sodium Laureth Sulfate: 10, Cocamidopropyl Betaine: 3, Citric Acid: {acid}"
    found = severities(review(file(lines, "use: rinse-off, form: shampoo, area: [hair]", steps)), "ph-overshoot")
    assert found == [severity]


# --- what the law counts as an element (Regulation (EC) No 1223/2009, annex III, entries 27, 31 and 24: 0.15 % as fluorine,
# 1 % as zinc; annex II, entry 1339: hydroquinone)

PASTE = "Aqua: q.s., Sorbitol: 40, Hydrated Silica: 18"
TOOTHPASTE = "use: rinse-off, form: toothpaste, area: [mouth], markets: [EU]"


@pytest.mark.parametrize(
    ("lines", "over"),
    [
        ("Sodium Fluoride: 0.32", False),  # 1450 ppm
        ("Sodium Fluoride: 0.5", True),
        ("Sodium Monofluorophosphate: 1.1", False),
        ("Sodium Monofluorophosphate: 0.8, Sodium Fluoride: 0.15", True),  # 0.105 and 0.068 %
    ],
)
def test_fluorides_count_as_fluorine(review: Run, lines: str, over: bool) -> None:
    assert bool(of(review(file(f"{PASTE}, {lines}", TOOTHPASTE)), "over-legal-limit")) == over


@pytest.mark.parametrize(("percent", "over"), [(4, False), (5.5, True)])  # a fifth of zinc PCA is zinc
def test_zinc_salts_count_as_zinc(review: Run, percent: float, over: bool) -> None:
    product = "use: leave-on, form: cream, area: [face], markets: [EU]"
    result = review(file(f"Aqua: q.s., Glycerin: 3, Zinc PCA: {percent}", product))
    assert bool(of(result, "over-legal-limit")) == over


def test_what_cannot_be_counted_is_told(review: Run) -> None:
    more = "materials:\n  Stannous mixture: {INCI: Stannous Fluoride}\n"
    result = review(file(f"{PASTE}, Stannous mixture: 0.4", TOOTHPASTE, more))
    assert any("Fluorine" in each.needs for each in result.unchecked if each.rule == "over-legal-limit")


def test_what_is_banned_is_not_told_again_as_restricted(review: Run) -> None:
    result = review(
        file("Petrolatum: q.s., Hydroquinone: 2", "use: leave-on, form: cream, area: [face], markets: [EU]")
    )
    assert severities(result, "prohibited-substance") == ["critical"]
    assert not of(result, "over-legal-limit")


# --- what a pack is made of, in other words (common practice, no source; Pourbaix: aluminium dissolves below pH 4)


@pytest.mark.parametrize(
    ("pack", "clash"),
    [
        ("aluminium", True),
        ("bare aluminium", True),
        ("Aluminum, raw", True),
        ("lacquered aluminium", False),
        ("HDPE plastic", False),
        ("glass", False),
    ],
)
def test_acid_in_metal(review: Run, pack: str, clash: bool) -> None:
    more = f'finished: {{pH: 3.7}}\npackaging: {{container: bottle, material: "{pack}", wall: opaque}}\n'
    result = review(
        file("Aqua: q.s., Lactic Acid: 3, Sodium Lactate: 2", "use: leave-on, form: lotion, area: [feet]", more)
    )
    assert bool(of(result, "pack-material-clash")) == clash


@pytest.mark.parametrize(("pack", "clash"), [("polystyrene", True), ("clear PS", True), ("rPET", False)])
def test_oil_in_plastic(review: Run, pack: str, clash: bool) -> None:
    more = f"packaging: {{container: bottle, material: {pack}, wall: opaque}}\n"
    result = review(file("Citrus Limon Peel Oil: 60, Squalane: q.s.", "use: rinse-off, form: oil, area: [body]", more))
    assert bool(of(result, "pack-material-clash")) == clash


# --- forms and areas in the words of shelves and labels (common practice, no source)


@pytest.mark.parametrize(
    ("written", "form", "area"),
    [
        ("Body lotion", "lotion", ("body",)),
        ("hand cream", "cream", ("hands",)),
        ("peel-off mask", "mask", ()),
        ("nail polish", "nail varnish", ("nails",)),
        ("hair gel", "gel", ("hair",)),
        ("deodorant stick", "stick", ("underarm",)),
        ("After-shave", "aftershave", ()),
        ("bath salts", "bath", ()),
        ("lip balm", "lip balm", ()),
        ("potion", "potion", ()),
    ],
)
def test_words_for_forms(written: str, form: str, area: tuple[str, ...]) -> None:
    assert form_of(written) == (form, area)


# Regulation (EC) No 1223/2009, annex III, entry 98: 2 % of salicylic acid in what stays on the skin, 0.5 % in body lotion.
def test_a_limit_finds_its_product_by_another_word(review: Run) -> None:
    lines = "Aqua: q.s., Propylene Glycol: 20, Salicylic Acid: 1.5"
    over = review(
        file(lines, "use: leave-on, form: body lotion, users: [adults], markets: [EU]", "finished: {pH: 4}\n")
    )
    assert severities(over, "over-legal-limit") or severities(over, "acid-limit")
    face = review(
        file(lines, "use: leave-on, form: face lotion, users: [adults], markets: [EU]", "finished: {pH: 4}\n")
    )
    assert not of(face, "over-legal-limit")
    assert not of(face, "word-unknown")


# --- sprays: annex V, entry 13 bars dehydroacetic acid from «aerosol dispensers (sprays)», entry 28 polyaminopropyl
# biguanide from whatever may reach the lungs; 21 CFR 740.11 is about self-pressurised packs


@pytest.mark.parametrize(
    ("preservative", "form", "container", "severity"),
    [
        ("Dehydroacetic Acid", "mist", "spray bottle", ["minor"]),
        ("Dehydroacetic Acid", "spray", "trigger bottle", ["minor"]),
        ("Dehydroacetic Acid", "spray", "", ["major"]),
        ("Dehydroacetic Acid", "aerosol", "can", ["critical"]),
        ("Dehydroacetic Acid", "spray", "aerosol can", ["critical"]),
        ("Polyaminopropyl Biguanide", "mist", "spray bottle", ["critical"]),
        ("Dehydroacetic Acid", "toner", "bottle", []),
    ],
)
def test_preservatives_in_sprays(
    review: Run, preservative: str, form: str, container: str, severity: list[str]
) -> None:
    pack = f"container: {container}, wall: amber" if container else "wall: amber"
    more = f"finished: {{pH: 5}}\npackaging: {{{pack}}}\n"
    lines = f"Aqua: q.s., Glycerin: 3, {preservative}: 0.08"
    product = f"use: leave-on, form: {form}, area: [face], users: [adults], markets: [EU]"
    assert severities(review(file(lines, product, more)), "not-for-these-users") == severity


@pytest.mark.parametrize(
    ("form", "due"), [("aerosol", True), ("spray", False), ("deodorant", False), ("bubble bath", True), ("bath", False)]
)
def test_wording_for_a_kind_of_product(review: Run, form: str, due: bool) -> None:
    product = f"form: {form}, area: [body], users: [adults], markets: [US]"
    result = review(file("Alcohol: 60, Aqua: q.s., Glycerin: 2", product))
    told = " ".join(each.message for each in of(result, "warning-label-missing"))
    assert ("pressure" in told or "urinary" in told) == due


# --- water in oil without a preservative: pharmacies leave plain water for some weeks (cold cream); plant waters bring germs


@pytest.mark.parametrize(("water", "severity"), [("Aqua", ["minor"]), ("Rosa Damascena Flower Water", ["critical"])])
def test_plant_water_locked_in_oil(review: Run, water: str, severity: list[str]) -> None:
    lines = f"{water}: 22, Cera Alba: 12, Sodium Borate: 0.5, Prunus Amygdalus Dulcis Oil: q.s."
    assert (
        severities(review(file(lines, "use: leave-on, form: cream, area: [face]")), "preservative-missing") == severity
    )


# --- what the oil leaves in the water, held against a dose that is itself a round figure (common practice, no source)


@pytest.mark.parametrize(("phenoxyethanol", "severity"), [(0.4, ["minor"]), (0.6, [])])
def test_a_loss_to_the_oil_within_the_doubt(review: Run, phenoxyethanol: float, severity: list[str]) -> None:
    lines = (
        f"Aqua: q.s., Caprylic/Capric Triglyceride: 10, Glyceryl Stearate Citrate: 3, Phenoxyethanol: {phenoxyethanol}"
    )
    result = review(file(lines, "use: leave-on, form: lotion, area: [face]", "finished: {pH: 5.5}\n"))
    assert severities(result, "preservative-in-oil") == severity


# --- nail varnish remover: acetone mixes with water and dissolves perfume (Merck Index)


@pytest.mark.parametrize(("acetone", "apart"), [(87, False), (5, True)])
def test_acetone_holds_perfume_in_water(review: Run, acetone: int, apart: bool) -> None:
    lines = f"Acetone: {acetone}, Aqua: q.s., Glycerin: 2, Parfum: 0.5"
    result = review(file(lines, "use: rinse-off, form: nail polish remover"))
    assert bool(of(result, "oil-in-water-product")) == apart


def test_a_filling_without_a_rest_blames_no_step(review: Run) -> None:
    steps = "procedure:\n  - heat: A\n    to: 40 °C\n  - cool: A\n    to: 25 °C\n  - fill: A\n"
    lines = "Aqua: q.s., Coco-Glucoside: 8, Cocamidopropyl Betaine: 5"
    (found,) = of(review(file(lines, "use: rinse-off, form: shampoo, area: [hair]", steps)), "rest-before-fill")
    assert found.message.startswith("filled without a rest; ")


# --- a single substance holds no allergens beside itself


@pytest.mark.parametrize(("scent", "asked"), [("Thymol", False), ("Eucalyptol", False), ("Parfum", True)])
def test_whose_allergens_are_asked_for(review: Run, scent: str, asked: bool) -> None:
    product = "use: rinse-off, form: mouthwash, area: [mouth], markets: [EU]"
    result = review(file(f"Aqua: q.s., Alcohol: 20, {scent}: 0.06", product))
    assert any(each.rule == "allergen-to-declare" for each in result.unchecked) == asked


# --- names that formulas of others used


@pytest.mark.parametrize(
    ("name", "heading"),
    [
        ("Cetearyl alcohol (and) Coco-glucoside", "Cetearyl Alcohol and Coco-Glucoside"),
        ("Cetyl stearyl alcohol", "Cetearyl Alcohol"),
        ("Macrogol 20 cetostearyl ether", "Ceteareth-20"),
        ("Glyceryl monostearate SE", "Glyceryl Stearate SE"),
        ("White kaolin", "Kaolin"),
        ("Distilled witch hazel", "Witch Hazel Distillate With Alcohol"),
        ("Peppermint flavor", "Aroma"),
        ("Aluminum chlorohydroxy allantoinate", "Alcloxa"),
        ("IR3535", "Ethyl Butylacetylaminopropionate"),
        ("Purified Water, freshly boiled and cooled", "Aqua"),
    ],
)
def test_names_of_the_trial(reviewer: Reviewer, name: str, heading: str) -> None:
    found = reviewer.reference.find(name)
    assert found is not None
    assert found.name == heading


# --- an unknown blend whose name lists a preservative may well be one


def test_a_blend_that_names_a_preservative_is_asked_about(review: Run) -> None:
    blend = "Phenoxyethanol (and) Caprylyl Glycol (and) Potassium Sorbate (and) Water (and) Hexylene Glycol"
    result = review(file(f"Aqua: q.s., Glycerin: 3, {blend}: 1", "use: leave-on, form: lotion, area: [face]"))
    assert not of(result, "preservative-missing")
    assert any(blend in each.needs for each in result.unchecked if each.rule == "preservative-missing")


# --- a dry wax stick is scented and poured hot, whatever it is called (common practice, no source)


@pytest.mark.parametrize(("form", "solid"), [("antiperspirant", 15), ("stick", 15), ("antiperspirant", 1)])
def test_perfume_in_a_wax_stick(review: Run, form: str, solid: int) -> None:
    steps = "procedure:\n  - heat: A\n    to: 75 °C\n  - add: B\n    into: A\n  - fill: A\n    at: 65 °C\n"
    text = (
        f"formcheck: 1\nname: Stick\nproduct: {{use: leave-on, form: {form}, area: [underarm]}}\nphases:\n"
        f"  A: {{Cyclopentasiloxane: q.s., Stearyl Alcohol: {solid}, Hydrogenated Castor Oil: 3}}\n  B: {{Parfum: 1}}\n{steps}"
    )
    major = "major" in severities(review(text), "volatile-too-hot")
    assert major == (form != "stick" and solid < 5)


# --- half propanediol: as propylene glycol, though weaker, it leaves germs no water (common practice, no source)


@pytest.mark.parametrize(("propanediol", "missing"), [(60, False), (5, True)])
def test_much_propanediol_keeps_a_stick(review: Run, propanediol: int, missing: bool) -> None:
    lines = f"Aqua: q.s., Propanediol: {propanediol}, Sodium Stearate: 6, Glyceryl Laurate: 2"
    result = review(file(lines, "use: leave-on, form: stick, area: [underarm]"))
    grave = set(severities(result, "preservative-missing")) & {"critical", "major"}
    assert bool(grave) == missing


# --- names with colour numbers, viscosities and square brackets


@pytest.mark.parametrize(
    ("name", "heading"),
    [
        ("Iron Oxides (CI 77491)", "CI 77491"),
        ("Iron Oxides (CI 77499)", "CI 77499"),
        ("Titanium Dioxide [nano]", "Titanium Dioxide (nano)"),
        ("Ethylhexyl Salicylate [Octisalate]", "Ethylhexyl Salicylate"),
        ("Dimethicone, 5 cSt", "Dimethicone"),
    ],
)
def test_labels_of_colours_and_silicones(reviewer: Reviewer, name: str, heading: str) -> None:
    found = reviewer.reference.find(name)
    assert found is not None
    assert found.name == heading


# --- a name cut at its comma


@pytest.mark.parametrize(
    "text",
    [
        "formcheck: 1\nname: Test plot\nphases:\n  A: {Aqua: q.s., 1,2-Hexanediol: 2}\n",
        "formcheck: 1\nname: Test plot\nphases:\n  A: {Mix: 2, Aqua: q.s.}\n"
        "materials:\n  Mix:\n    contains: {Glycerin: 60, 1,2-Hexanediol: 40}\n",
    ],
)
def test_a_name_with_a_comma_between_braces(review: Run, text: str) -> None:
    (error,) = review(text).errors
    assert error.message.startswith("«1» without a percent; between braces a name with a comma stands in quotes")


# --- a preservative without a partner: phenoxyethanol 0.5 to 1 % (Handbook of Pharmaceutical Excipients; the British
# Pharmacopoeia keeps its calamine cream with 0.5 %), methylparaben alone a little more than beside propylparaben


@pytest.mark.parametrize(
    ("preservative", "severity"),
    [
        ("Phenoxyethanol: 0.4", ["minor"]),
        ("Phenoxyethanol: 0.5", []),
        ("Phenoxyethanol: 0.4, Ethylhexylglycerin: 0.3", []),
        ("Methylparaben: 0.1", ["minor"]),
        ("Methylparaben: 0.18", []),
    ],
)
def test_a_preservative_by_itself(review: Run, preservative: str, severity: list[str]) -> None:
    result = review(file(f"Aqua: q.s., Glycerin: 3, {preservative}", "use: leave-on, form: lotion, area: [body]"))
    assert severities(result, "preservative-underdosed") == severity


def test_the_least_by_itself_is_told(review: Run) -> None:
    result = review(file("Aqua: q.s., Phenoxyethanol: 0.4", "use: leave-on, form: toner, area: [face]"))
    assert of(result, "preservative-underdosed")[0].message.endswith("alone it takes 0.5 %")


# --- a pinch of titanium dioxide to whiten a soap is no dose that harms (common practice, no source)


@pytest.mark.parametrize(("material", "severity"), [("Titanium Dioxide", "minor"), ("Phenoxyethanol", "major")])
def test_what_makes_a_coarse_balance_grave(review: Run, material: str, severity: str) -> None:
    text = (
        "formcheck: 1\nname: Soap\nproduct: {use: rinse-off, form: bar}\nbatch: {size: 300 g, balance: 0.1 g}\n"
        f"phases:\n  A: {{Glycerin: q.s., {material}: 0.1}}\n"
    )
    assert severities(review(text), "balance-too-coarse") == [severity]


def test_an_unknown_mixture_is_asked_for_its_shares(review: Run) -> None:
    blend = "Polyisobutene (and) isododecane"
    (found,) = of(review(file(f"Squalane: q.s., {blend}: 4", "use: leave-on, form: mascara")), "ingredient-unknown")
    assert found.remedy.startswith("It reads like a mixture of Polyisobutene and Isododecane: say how much of each")


# --- Manual on the scope of application of the Cosmetics Regulation: relief of coughs and colds is a medicinal purpose


@pytest.mark.parametrize(
    ("claim", "medicinal"),
    [("relieves coughs and colds", True), ("soothes a cough", True), ("for cold weather", False)],
)
def test_chest_rubs(review: Run, claim: str, medicinal: bool) -> None:
    product = "use: leave-on, form: ointment, area: [body], users: [adults], markets: [EU]"
    result = review(file("Petrolatum: q.s., Menthol: 1", product, f"claims: [{claim}]\n"))
    assert bool(of(result, "claim-medicinal")) == medicinal
