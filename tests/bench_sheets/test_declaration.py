"""The list of ingredients against Article 19(1)(g) of Regulation (EC) No 1223/2009 and 21 CFR 701.3."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.bench import declaration
from formcheck.bench.declaration import ALLERGEN, ANY_ORDER, BY_WEIGHT, COLOURANT, Label
from formcheck.bench.errors import NotGiven, OutOfRange
from formcheck.review.run import Reviewer

REVIEWER = Reviewer(today=date(2026, 11, 25))


def label(lines: str, market: str = "EU", rest: str = "", product: str = "use: leave-on", **options: bool) -> Label:
    text = f"formcheck: 1\nname: t\nproduct: {{{product}}}\nphases:\n  A: {{{lines}}}\n{rest}"
    return declaration.label(REVIEWER.sheet("t.formula.yaml", text.encode()), market, **options)


def names(found: Label) -> list[str]:
    return [each.name for each in found.ingredients]


def test_by_weight_from_one_percent_then_the_rest_then_colourants() -> None:
    """Article 19(1)(g): descending weight; below 1 % any order after those; colourants may come last in any order."""
    found = label("CI 77491: 3, Panthenol: 0.5, Glycerin: 4, Niacinamide: 1, Aqua: q.s., Allantoin: 0.2")
    assert names(found)[:3] == ["Aqua", "Glycerin", "Niacinamide"]
    assert set(names(found)[3:5]) == {"Panthenol", "Allantoin"}
    assert names(found)[-1] == "CI 77491"
    assert found.text.startswith("Ingredients: Aqua, Glycerin,")


def test_colourants_of_a_hair_dye_stand_by_weight() -> None:
    """Article 19(1)(g) excepts colorants that are to colour the hair."""
    found = label("CI 77491: 3, Aqua: q.s., Glycerin: 2", product="use: rinse-off, form: hair dye")
    assert names(found) == ["Aqua", "CI 77491", "Glycerin"]


def test_blends_are_expanded_and_merged_and_their_secrets_said() -> None:
    blend = "materials:\n  House blend: {contains: {Glycerin: 50, Phenoxyethanol: 30, Aqua: 15}}\n"
    found = label("Aqua: 90, Glycerin: 8, House blend: 2", rest=blend)
    shares = {each.name: each.percent for each in found.ingredients}
    assert shares == {"Aqua": Decimal("90.3"), "Glycerin": Decimal(9), "Phenoxyethanol": Decimal("0.6")}
    assert any("0.1 %" in check and "House blend" in check for check in found.checks)


def test_nano_is_marked_in_the_union_only() -> None:
    """Article 19(1)(g): the word nano in brackets follows the name."""
    assert "Zinc Oxide (nano)" in names(label("Aqua: q.s., nano zinc oxide: 5"))
    assert "Zinc Oxide" in names(label("Aqua: q.s., nano zinc oxide: 5", "US"))


def test_perfume_goes_under_one_word_and_its_allergens_are_named() -> None:
    """Article 19(1)(g): perfumes and their raw materials as «parfum»; allergens of Annex III in addition."""
    found = label("Aqua: q.s., Parfum: 0.4, Vanillin: 0.1, Linalool: 0.05, Benzyl Alcohol: 0.6")
    parts = {each.name: each.part for each in found.ingredients}
    assert parts["Parfum"] == ANY_ORDER
    assert parts["Linalool"] == ALLERGEN
    assert names(found).count("Benzyl Alcohol") == 1
    merged = next(each for each in found.ingredients if each.name == "Parfum")
    assert merged.percent == Decimal("0.55")


def test_an_oil_that_is_an_allergen_bears_the_name_of_the_law() -> None:
    """Regulation (EU) 2023/1545 gives such oils one name for the label."""
    own = label("Aqua: q.s., Lavandula Angustifolia Oil: 0.5")
    assert "Lavandula Oil/Extract" in names(own)
    assert "Lavandula Angustifolia Oil" not in names(own)
    scent = label("Aqua: q.s., Lavandula Angustifolia Oil: 0.5", oils_as_perfume=True)
    assert names(scent)[:2] == ["Aqua", "Parfum"]
    assert {"Lavandula Oil/Extract", "Linalool"} <= set(names(scent))


def test_names_of_the_united_states() -> None:
    """Water, beeswax and common names in brackets: common practice of labels there, no source."""
    found = label("Aqua: q.s., Simmondsia Chinensis Seed Oil: 5, Cera Alba: 3, Parfum: 0.2, CI 77491: 0.1", "US")
    assert names(found) == [
        "Water",
        "Simmondsia Chinensis (Jojoba) Seed Oil",
        "Beeswax",
        "Fragrance",
        "Iron Oxides",
    ]


def test_what_a_step_adds_to_taste_is_on_the_list() -> None:
    """Article 19(1): an ingredient is what is intentionally used in the making; the water of a solution is water."""
    steps = (
        "batch: {size: 200 g}\nprocedure:\n"
        "  - {neutralise: A, with: Sodium Hydroxide, strength: 20 %, amount: 4 g}\n"
        "  - {adjust pH: A, to: 5.5, with: [Citric Acid, Arginine]}\n"
    )
    found = label("Aqua: q.s., Carbomer: 0.5, Glycolic Acid: 3", rest=steps)
    shares = {each.name: each for each in found.ingredients}
    assert shares["Sodium Hydroxide"].percent == Decimal("0.4")  # 4 g of 20 % in 200 g
    assert "if it is used" in shares["Citric Acid"].about
    assert "Arginine" in shares


def test_duties_are_those_of_article_19() -> None:
    found = label("Aqua: q.s., Glycerin: 3", rest="packaging: {container: jar, size: 50 ml}\n")
    assert [duty.where for duty in found.missing] == [
        "19(1)(a)",
        "19(1)(c)",
        "19(1)(d)",
        "19(1)(e)",
        "19(1)(f)",
        "19(5)",
    ]
    assert [(duty.where, answer) for duty, answer in found.given] == [("19(1)(b)", "50 ml")]
    assert any("30 months" in duty.what for duty in found.keeps)
    assert any("open-jar" in duty.what for duty in found.keeps)


def test_wordings_of_the_law_are_brought() -> None:
    """Annex III, entry 2a: thioglycolic acid asks for wording; 21 CFR 740.19 for suntanning products."""
    found = label("Aqua: q.s., Thioglycolic Acid: 3", product="use: rinse-off, form: depilatory, area: [legs]")
    assert any("thioglycolate" in each.text for each in found.wordings)


def test_no_list_where_shares_or_law_are_not_known() -> None:
    with pytest.raises(NotGiven, match="share of every material"):
        label("Aqua: q.s., Glycerin: q.s.")
    with pytest.raises(OutOfRange, match="EU, UK, US, CA"):
        label("Aqua: q.s.", "XX")


def test_what_does_not_add_up_is_said() -> None:
    assert any("add to 97" in check for check in label("Aqua: 90, Glycerin: 7").checks)
    assert not label("Aqua: 93, Glycerin: 7").checks


SUBSTANCES = (
    "Glycerin", "Panthenol", "Niacinamide", "Allantoin", "Xanthan Gum", "Propanediol", "Urea", "CI 77491",
    "CI 77492", "Betaine", "Sorbitol", "Tocopherol",
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(
    st.dictionaries(st.sampled_from(SUBSTANCES), st.decimals("0.01", "7", places=2), min_size=1, max_size=12),
    st.randoms(use_true_random=False),
)
def test_the_list_keeps_its_promises_whatever_the_formula(shares: dict[str, Decimal], shuffler: object) -> None:
    """Everything once, nothing lost, weights descending down to 1 %, colourants last; the file's order does not matter."""
    lines = [f"{name}: {share}" for name, share in shares.items()]
    found = label(", ".join(["Aqua: q.s.", *lines]))
    shuffler.shuffle(lines)  # type: ignore[attr-defined]
    again = label(", ".join([*lines, "Aqua: q.s."]))
    assert sorted(names(found)) == sorted(["Aqua", *shares])
    assert sum(each.amount for each in found.ingredients) == 100
    heavy = [each for each in found.ingredients if each.part == BY_WEIGHT]
    assert heavy == sorted(heavy, key=lambda each: -each.amount)
    assert {each.name for each in heavy} == {
        name for name, share in {"Aqua": Decimal(50), **shares}.items() if share >= 1 and not name.startswith("CI")
    }
    parts = [each.part for each in found.ingredients]
    assert parts == sorted(parts, key=[BY_WEIGHT, ANY_ORDER, ALLERGEN, COLOURANT].index)
    assert {each.name: each.amount for each in again.ingredients} == {
        each.name: each.amount for each in found.ingredients
    }


def test_what_nobody_knows_is_asked_about() -> None:
    """A list can be no better than the names in it: the unknown, the house's own, the undescribed (common practice)."""
    house = "materials:\n  House oil: {class: oil}\n  House scent: {class: fragrance}\n"
    found = label("Aqua: q.s., Unheard Of Extract: 1, House oil: 1, House scent: 1", rest=house)
    assert any("Unheard Of Extract" in check and "reference" in check for check in found.checks)
    assert any("House oil" in check and "INCI" in check for check in found.checks)
    assert any("House scent" in check and "allergens" in check for check in found.checks)
    assert not label("Aqua: q.s., Glycerin: 1").checks


def test_a_perfume_of_oils_only_where_it_is_asked_for() -> None:
    assert "Parfum" not in names(label("Aqua: q.s., Lavandula Angustifolia Oil: 0.5"))


def test_a_line_at_nothing_is_not_declared() -> None:
    assert names(label("Aqua: q.s., Glycerin: 0, Panthenol: 0.2")) == ["Aqua", "Panthenol"]


def test_titanium_dioxide_colours_where_it_is_written_as_a_colour() -> None:
    """CI 77891 is the name of titanium dioxide as a colourant; as a UV filter it bears its own (annexes IV and VI)."""
    assert names(label("Aqua: q.s., CI 77891: 3, Glycerin: 2"))[-1] == "CI 77891"
    assert names(label("Aqua: q.s., Titanium Dioxide: 3, Glycerin: 2"))[1] == "Titanium Dioxide"


@pytest.mark.parametrize(
    ("step", "percents", "guessed"),
    [
        # 4 g of a 20 % solution in 200 g: 0.4 %
        ("{neutralise: A, with: Sodium Hydroxide, strength: 20 %, amount: 4 g}", {"Sodium Hydroxide": 0.4}, False),
        ("{neutralise: A, with: Bench lye, amount: 1 g}", {"Sodium Hydroxide": 0.25}, False),
        ("{adjust pH: A, with: Unheard base, to: 5}", {"Unheard base": None}, False),
    ],
)
def test_what_a_step_adds_is_counted(step: str, percents: dict[str, float | None], guessed: bool) -> None:
    rest = (
        "materials:\n  Bench lye: {contains: {Sodium Hydroxide: 50, Aqua: 50}}\n"
        f"batch: {{size: 200 g}}\nprocedure:\n  - {step}\n"
    )
    added = {each.name: each for each in label("Aqua: q.s., Glycolic Acid: 3", rest=rest).ingredients[2:]}
    assert set(added) == set(percents)
    for name, percent in percents.items():
        share = added[name].percent
        assert percent == (None if share is None else pytest.approx(float(share)))
        assert ("predicted" in added[name].about) == guessed
        assert "if it is used" not in added[name].about


def test_what_nobody_knows_in_a_solution_is_listed_and_its_water_is_not() -> None:
    """Water that a solution brings is part of the water; here none else is in the formula, and a step adds next to none."""
    rest = (
        "materials:\n  Odd lye: {contains: {Unheard base: 50, Aqua: 50}}\n"
        "batch: {size: 200 g}\nprocedure:\n  - {neutralise: A, with: Odd lye, amount: 1 g}\n"
    )
    assert names(label("Glycerin: 97, Glycolic Acid: 3", rest=rest))[2:] == ["Unheard base"]


def test_a_predicted_amount_is_said_to_be_one() -> None:
    """3 % of glycolic acid (76.05 g/mol) half neutralised is at its pKa, 3.83: 0.789 g of sodium hydroxide in 100 g, and
    as much of it however weak the solution (CRC Handbook)."""
    for strength in (100, 20):
        step = f"{{adjust pH: A, with: Sodium Hydroxide, strength: {strength} %, to: 3.75}}"
        rest = f"batch: {{size: 200 g}}\nprocedure:\n  - {step}\n"
        found = {each.name: each for each in label("Aqua: q.s., Glycolic Acid: 3", rest=rest).ingredients}
        lye = found["Sodium Hydroxide"]
        assert float(lye.percent or 0) == pytest.approx(0.789, rel=0.1)
        assert "predicted" in lye.about
