"""Everyday substances in everyday products, against the annexes and rules named beside each check."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pytest

from formcheck.reference.legal import Ban, Legal, Limit, binding, build

TABLES = Path(__file__).parents[2] / "shared" / "legal"


class Product(NamedTuple):
    use: str | None = None
    form: str | None = None
    area: tuple[str, ...] = ()
    users: tuple[str, ...] = ()


FACE = Product("leave-on", "serum", ("face",))
FACE_CREAM = Product("leave-on", "cream", ("face",))
BODY = Product("leave-on", "lotion", ("body",))
SHAMPOO = Product("rinse-off", "shampoo", ("hair",))
HAND_WASH = Product("rinse-off", "cleanser", ("hands",))
LIPS = Product("leave-on", "balm", ("lips",))
MIST = Product("leave-on", "mist", ("face",))
DEODORANT = Product("leave-on", "deodorant", ("underarm",))
TOOTHPASTE = Product("rinse-off", "toothpaste", ("mouth",))
NAPPY = Product("leave-on", "cream", ("nappy area",), ("children under 3",))
UNSTATED = Product()


@pytest.fixture(scope="module")
def legal() -> Legal:
    return Legal(json.loads(json.dumps(build(TABLES))))


def limit(legal: Legal, name: str, product: Product, market: str = "EU", cas: str = "", purpose: str = "") -> Limit:
    """The one limit that binds."""
    found = binding(legal.limits(market, [name], [cas] if cas else [], product), purpose)
    assert len(found) == 1, [one.id for one in found]
    return found[0]


def ban(legal: Legal, name: str, product: Product = FACE, market: str = "EU", cas: str = "") -> Ban | None:
    """The one ban, or None."""
    found = legal.bans(market, [name] if name else [], [cas] if cas else [], product)
    assert len(found) <= 1, [one.id for one in found]
    return found[0] if found else None


# Regulation (EC) No 1223/2009, Annex V, as in the Commission's database of cosmetic substances, August 2026.
PRESERVATIVES = [
    ("Phenoxyethanol", FACE, "V/29", "1", ""),
    ("Phenoxyethanol", SHAMPOO, "V/29", "1", ""),
    ("Benzoic Acid", FACE, "V/1", "0.5", "Benzoic Acid"),
    ("Sodium Benzoate", SHAMPOO, "V/1", "2.5", "Benzoic Acid"),
    ("Sodium Benzoate", TOOTHPASTE, "V/1", "1.7", "Benzoic Acid"),
    ("Potassium Benzoate", SHAMPOO, "V/1a", "0.5", "Benzoic Acid"),
    ("Sorbic Acid", FACE, "V/4", "0.6", "Sorbic Acid"),
    ("Potassium Sorbate", SHAMPOO, "V/4", "0.6", "Sorbic Acid"),
    ("Methylparaben", FACE, "V/12", "0.4", "4-Hydroxybenzoic Acid"),
    ("Ethylparaben", SHAMPOO, "V/12", "0.4", "4-Hydroxybenzoic Acid"),
    ("Propylparaben", FACE, "V/12a", "0.14", "4-Hydroxybenzoic Acid"),
    ("Dehydroacetic Acid", FACE, "V/13", "0.6", "Dehydroacetic Acid"),
    ("Sodium Dehydroacetate", FACE, "V/13", "0.6", "Dehydroacetic Acid"),
    ("Undecylenic Acid", FACE, "V/18", "0.2", "Undecylenic Acid"),
    ("Chlorphenesin", FACE, "V/50", "0.3", ""),
    ("Imidazolidinyl Urea", FACE, "V/27", "0.6", ""),
    ("DMDM Hydantoin", SHAMPOO, "V/33", "0.6", ""),
    ("Methylisothiazolinone", SHAMPOO, "V/57", "0.0015", ""),
    ("Methylchloroisothiazolinone", SHAMPOO, "V/39", "0.0015", ""),
    ("Piroctone Olamine", SHAMPOO, "V/35", "1", ""),
    ("Piroctone Olamine", FACE, "V/35", "0.5", ""),
    ("Iodopropynyl Butylcarbamate", SHAMPOO, "V/56", "0.02", ""),
    ("Iodopropynyl Butylcarbamate", FACE, "V/56", "0.01", ""),
    ("Iodopropynyl Butylcarbamate", DEODORANT, "V/56", "0.0075", ""),
    ("Chlorhexidine Digluconate", FACE, "V/42", "0.3", "Chlorhexidine"),
    ("Hydroxyethoxyphenyl Butanone", FACE, "V/60", "0.7", ""),
]


@pytest.mark.parametrize(("name", "product", "entry", "percent", "counted_as"), PRESERVATIVES)
def test_preservatives(legal: Legal, name: str, product: Product, entry: str, percent: str, counted_as: str) -> None:
    for market in ("EU", "UK"):  # entries of annex V that both markets have alike
        found = limit(legal, name, product, market, purpose="preservative")
        assert (found.id, found.max_percent, found.expressed_as) == (entry, Decimal(percent), counted_as)
        assert found.certain
        assert found.permitted
        assert found.purpose == "preservative"
        assert found.source.endswith(f"Annex V, entry {entry.removeprefix('V/')}")


# Annex V, entries 39 and 57 (rinse-off only, since Regulations (EU) No 1003/2014 and 2016/1198), 20, 25, 56.
@pytest.mark.parametrize(
    ("name", "product", "entry"),
    [
        ("Methylisothiazolinone", FACE, "V/57"),
        ("Methylchloroisothiazolinone", BODY, "V/39"),
        ("5-Bromo-5-Nitro-1,3-Dioxane", FACE, "V/20"),
        ("Triclosan", BODY, "V/25"),
        ("Iodopropynyl Butylcarbamate", BODY, "V/56"),
        ("Iodopropynyl Butylcarbamate", LIPS, "V/56"),
    ],
)
def test_preservatives_that_the_product_must_not_have(legal: Legal, name: str, product: Product, entry: str) -> None:
    found = limit(legal, name, product)
    assert (found.id, found.permitted, found.max_percent, found.certain) == (entry, False, Decimal(0), True)
    assert found.scope.startswith("only ")


def test_isothiazolinones_are_told_apart_by_cas(legal: Legal) -> None:
    """2682-20-4 is methylisothiazolinone, 26172-55-4 the chlorinated one, 55965-84-9 the mixture (entries 57, 39)."""
    assert [one.id for one in legal.limits("EU", [], ["2682-20-4"], SHAMPOO)] == ["V/57"]
    assert [one.id for one in legal.limits("EU", [], ["26172-55-4"], SHAMPOO)] == ["V/39"]
    assert [one.id for one in legal.limits("EU", [], ["55965-84-9"], SHAMPOO)] == ["V/39"]


def test_paraben_totals(legal: Legal) -> None:
    """Annex V, entries 12 and 12a: 0.4 for one ester, 0.8 together, 0.14 for propyl and butyl together, as acid."""
    methyl = {total.group: total.max_percent for total in limit(legal, "Methylparaben", FACE).totals}
    propyl = {total.group: total.max_percent for total in limit(legal, "Propylparaben", FACE).totals}
    butyl = {total.group: total.max_percent for total in limit(legal, "Butylparaben", FACE).totals}
    together = methyl.keys() & propyl.keys()
    assert [propyl[group] for group in together] == [Decimal("0.8")]
    assert [methyl[group] for group in together] == [Decimal("0.8")]
    assert butyl == propyl
    assert sorted(propyl.values()) == [Decimal("0.14"), Decimal("0.8")]


def test_salts_and_acid_share_a_total(legal: Legal) -> None:
    """Annex V, entry 1, gives one limit to benzoic acid and its sodium salt together."""
    assert limit(legal, "Benzoic Acid", FACE).totals == limit(legal, "Sodium Benzoate", FACE).totals != ()


def test_esters_of_long_banned_parabens(legal: Legal) -> None:
    """Annex II, entries 1374-1378: isopropyl-, isobutyl-, phenyl-, benzyl- and pentylparaben."""
    names = ["Isopropylparaben", "Isobutylparaben", "Phenylparaben", "Benzylparaben", "Pentylparaben"]
    found = [ban(legal, name) for name in names]
    assert [one.entry for one in found if one] == ["1374", "1375", "1376", "1377", "1378"]


def test_benzyl_alcohol_is_limited_as_preservative_only(legal: Legal) -> None:
    """Annex V, entry 34 (1 %); Annex III, entry 45 for other uses, without a number."""
    assert limit(legal, "Benzyl Alcohol", FACE, purpose="preservative").max_percent == 1
    other = limit(legal, "Benzyl Alcohol", FACE)
    assert (other.id, other.max_percent) == ("III/45", None)


def test_not_in_sprays_not_inhaled_not_under_3(legal: Legal) -> None:
    """Annex V, entries 13 (no sprays), 28 (not inhaled), 3 and 56 (not under 3; shampoo is excepted for salts)."""
    assert limit(legal, "Dehydroacetic Acid", MIST).not_in_sprays
    assert limit(legal, "Polyaminopropyl Biguanide", MIST).not_inhaled
    acid = limit(legal, "Salicylic Acid", FACE, purpose="preservative")
    assert acid.not_under_3
    assert [warning.code for warning in acid.warnings] == ["not-under-3"]
    assert limit(legal, "Sodium Salicylate", FACE).not_under_3
    assert not limit(legal, "Sodium Salicylate", SHAMPOO).not_under_3
    assert limit(legal, "Iodopropynyl Butylcarbamate", FACE).not_under_3
    assert not limit(legal, "Phenoxyethanol", MIST).not_in_sprays


def test_formaldehyde_releasers(legal: Legal) -> None:
    """Annex V, preamble 2 (Regulation (EU) 2022/1181): a wording is due over 0.001 % of released formaldehyde."""
    found = limit(legal, "Diazolidinyl Urea", SHAMPOO)
    assert (found.id, found.max_percent, found.releases_formaldehyde) == ("V/46", Decimal("0.5"), True)
    assert [warning.when for warning in found.warnings] == ["released formaldehyde exceeds 0.001 % of the product"]
    assert not limit(legal, "Phenoxyethanol", SHAMPOO).releases_formaldehyde


# Annex III as in the lists of ECHA of May 2024 and of the Commission of August 2026; regulations beside each.
RESTRICTED = [
    ("Salicylic Acid", FACE, "III/98", "2", "not as preservative"),  # Regulation (EU) 2021/1902
    ("Salicylic Acid", BODY, "III/98", "0.5", "not as preservative"),
    ("Salicylic Acid", SHAMPOO, "III/98", "3", "not as preservative"),
    ("Retinol", FACE, "III/376", "0.3", ""),  # Regulation (EU) 2024/996
    ("Retinol", BODY, "III/376", "0.05", ""),
    ("Retinyl Palmitate", BODY, "III/376", "0.05", ""),
    ("Retinyl Acetate", SHAMPOO, "III/376", "0.3", ""),
    ("Kojic Acid", FACE, "III/375", "1", ""),
    ("Kojic Acid", Product("leave-on", "cream", ("hands",)), "III/375", "1", ""),
    ("Arbutin", FACE_CREAM, "III/378", "7", ""),
    ("Alpha-Arbutin", FACE_CREAM, "III/377", "2", ""),
    ("Alpha-Arbutin", BODY, "III/377", "0.5", ""),
    ("Resorcinol", SHAMPOO, "III/22", "0.5", ""),
    ("Hydrogen Peroxide", FACE, "III/12", "4", ""),
    ("Hydrogen Peroxide", SHAMPOO, "III/12", "12", ""),
    ("Ammonia", FACE, "III/4", "6", ""),
    ("Triethanolamine", FACE, "III/62", "2.5", ""),
    ("BHT", FACE, "III/325", "0.8", ""),  # Regulation (EU) 2022/2195
    ("BHT", TOOTHPASTE, "III/325", "0.1", ""),
    ("Methyl Salicylate", LIPS, "III/324", "0.03", ""),  # Regulation (EU) 2022/2195
    ("Methyl Salicylate", TOOTHPASTE, "III/324", "2.52", ""),
    ("Cetrimonium Chloride", SHAMPOO, "III/286", "2.5", "not as preservative"),
    ("Behentrimonium Chloride", SHAMPOO, "III/287", "5", "not as preservative"),
    ("Ethoxydiglycol", FACE, "III/297", "2.6", ""),
    ("Ethoxydiglycol", SHAMPOO, "III/297", "10", ""),
    ("Selenium Sulfide", SHAMPOO, "III/49", "1", "antidandruff"),
    ("Isoeugenol", FACE, "III/73", "0.02", ""),
    ("Hydroxycitronellal", FACE, "III/72", "1", ""),
    ("Sodium Fluoride", TOOTHPASTE, "III/31", "0.15", ""),
]


@pytest.mark.parametrize(("name", "product", "entry", "percent", "purpose"), RESTRICTED)
def test_restricted(legal: Legal, name: str, product: Product, entry: str, percent: str, purpose: str) -> None:
    found = limit(legal, name, product)
    assert (found.id, found.max_percent, found.purpose) == (entry, Decimal(percent), purpose)
    assert found.permitted
    assert found.certain


# The same entries: uses that no line names are not allowed.
@pytest.mark.parametrize(
    ("name", "product", "entry"),
    [
        ("Kojic Acid", BODY, "III/375"),
        ("Arbutin", BODY, "III/378"),
        ("Resorcinol", FACE, "III/22"),
        ("Thioglycolic Acid", FACE, "III/2a"),
        ("Etidronic Acid", FACE, "III/53"),
        ("Sodium Fluoride", FACE, "III/31"),
    ],
)
def test_restricted_to_other_uses(legal: Legal, name: str, product: Product, entry: str) -> None:
    found = limit(legal, name, product)
    assert (found.id, found.permitted, found.max_percent) == (entry, False, Decimal(0))


def test_what_retinol_is_counted_as_and_says(legal: Legal) -> None:
    """Annex III, entry 376: percent of retinol equivalent, a wording on vitamin A, from 1 November 2025."""
    found = limit(legal, "Retinyl Palmitate", FACE)
    assert found.expressed_as == "Retinol"
    assert [warning.code for warning in found.warnings] == ["vitamin-a"]
    assert found.applies_from == "2025-11-01"
    assert found.totals == limit(legal, "Retinol", FACE).totals != ()


def test_alkali_hydroxides_stay_below_a_ph(legal: Legal) -> None:
    """Annex III, entry 15a: as pH adjuster in other products the pH stays below 11."""
    for name in ("Sodium Hydroxide", "Potassium Hydroxide"):
        found = limit(legal, name, FACE)
        assert (found.id, found.ph, found.permitted) == ("III/15a", (None, Decimal(11)), True)


def test_a_self_tanner_may_come_as_a_lotion(legal: Legal) -> None:
    """Annex III, entry 322: dihydroxyacetone up to 10 % in self-tanners, nowhere else on the skin."""
    stated = limit(legal, "Dihydroxyacetone", Product("leave-on", "self-tanner", ("body",)))
    assert (stated.max_percent, stated.certain) == (Decimal(10), True)
    lotion = limit(legal, "Dihydroxyacetone", BODY)
    assert (lotion.max_percent, lotion.permitted, lotion.certain) == (Decimal(10), True, False)
    assert not limit(legal, "Dihydroxyacetone", SHAMPOO).permitted


def test_dates_of_2027_are_left_out_before(legal: Legal) -> None:
    """Regulation (EU) 2026/909: the limits for citral hold for new products from 1 January 2027."""
    found = legal.limits("EU", ["Citral"], [], FACE)
    assert {one.applies_from for one in found} == {"2027-01-01"}
    assert binding(found, on="2026-12-31") == ()
    assert [one.id for one in binding(found, on="2027-01-01")] == ["III/70"]


def test_cyclic_siloxanes(legal: Legal) -> None:
    """REACH, annex XVII, entry 70 (Regulation (EU) 2024/1328): 0.1 %; leave-on from 6 June 2027. D4: II/1388."""
    wash, stay = limit(legal, "Cyclopentasiloxane", SHAMPOO), limit(legal, "Cyclopentasiloxane", FACE)
    assert (wash.max_percent, stay.max_percent) == (Decimal("0.1"), Decimal("0.1"))
    assert (wash.applies_from, stay.applies_from) == ("2020-01-31", "2027-06-06")
    banned = ban(legal, "Cyclotetrasiloxane")
    assert banned is not None
    assert banned.entry == "1388"


# --- what is not stated


def test_an_unstated_use_leaves_it_open(legal: Legal) -> None:
    """Annex V, entry 1: 0.5 or 2.5 %, so only more than 2.5 % is too much in any case."""
    found = legal.limits("EU", ["Sodium Benzoate"], [], Product(form="gel"))
    assert {one.max_percent for one in found if not one.certain} == {Decimal("0.5"), Decimal("2.5")}
    assert [one.max_percent for one in binding(found)] == [Decimal("2.5")]
    assert limit(legal, "Phenoxyethanol", UNSTATED).certain


def test_an_unstated_area_leaves_the_stricter_line_open(legal: Legal) -> None:
    """Annex III, entry 376: 0.05 % in body lotion, 0.3 % elsewhere."""
    found = limit(legal, "Retinol", Product("leave-on", "cream"))
    assert (found.max_percent, found.certain) == (Decimal("0.3"), False)


def test_products_for_several_areas_take_the_stricter_line(legal: Legal) -> None:
    """Face and body cream: the limit of body lotion holds, for the product is one."""
    found = limit(legal, "Retinol", Product("leave-on", "cream", ("face", "body")))
    assert (found.max_percent, found.certain) == (Decimal("0.05"), True)


def test_professional_lines_are_for_professionals(legal: Legal) -> None:
    """Annex III, entry 2a: thioglycolates for hair waving, 8 % for general, 11 % for professional use."""
    at_home = limit(legal, "Thioglycolic Acid", Product("rinse-off", "hair waving", ("hair",)))
    in_salon = limit(legal, "Thioglycolic Acid", Product("rinse-off", "hair waving", ("hair",), ("professionals",)))
    assert (at_home.max_percent, at_home.professional_only) == (Decimal(8), False)
    assert (in_salon.max_percent, in_salon.professional_only) == (Decimal(11), True)
    assert in_salon.ph == (Decimal(7), Decimal("9.5"))


# --- bans


# Annex II, entries as in ECHA's list of May 2024; later ones with their regulation.
@pytest.mark.parametrize(
    ("name", "cas", "entry"),
    [
        ("Hydroquinone", "123-31-9", "1339"),
        ("Mercury", "7439-97-6", "221"),
        ("Butylphenyl Methylpropional", "80-54-6", "1666"),
        ("Zinc Pyrithione", "13463-41-7", "1670"),
        ("Formaldehyde", "50-00-0", "1577"),
        ("Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde", "31906-04-4", "1380"),
        ("Chloroacetamide", "79-07-2", "1387"),
        ("Tretinoin", "302-79-4", "375"),
        ("Trimethylbenzoyl Diphenylphosphine Oxide", "75980-60-8", "1731"),
        ("4-Methylbenzylidene Camphor", "36861-47-9", "1730"),
        ("", "67-66-3", "366"),  # chloroform
    ],
)
def test_banned(legal: Legal, name: str, cas: str, entry: str) -> None:
    for found in [ban(legal, name)] * bool(name) + [ban(legal, "", cas=cas)]:
        assert found is not None
        assert (found.entry, found.conditional, found.certain) == (entry, False, True)


def test_names_are_never_found_in_part(legal: Legal) -> None:
    """Annex II bans lead, nicotine and others; names that contain theirs are other materials."""
    for name in ("Mercury-Free Water", "Formaldehyde-Free Base", "Leadwood Extract", "Nicotinic Acid Amide Complex"):
        assert ban(legal, name) is None


def test_case_hyphens_and_spaces_do_not_count(legal: Legal) -> None:
    spellings = ("zinc pyrithione", "ZINC-PYRITHIONE", "Zinc  Pyrithione")
    assert [one.entry for spelling in spellings if (one := ban(legal, spelling))] == ["1670"] * 3


# Annex II, entries 904 (petrolatum), 463-464 (butane) and others ban only badly refined or impure grades.
@pytest.mark.parametrize(
    ("name", "cas"),
    [("Petrolatum", "8009-03-8"), ("Isobutane", "75-28-5"), ("Butane", "106-97-8")],
)
def test_ordinary_grades_are_not_flagged(legal: Legal, name: str, cas: str) -> None:
    found = legal.bans("EU", [name], [cas], FACE)
    assert found
    assert all(one.conditional and one.condition for one in found)


@pytest.mark.parametrize(
    ("name", "cas"),
    [
        ("Paraffinum Liquidum", "8012-95-1"),
        ("Cera Microcristallina", "63231-60-7"),
        ("Zinc Oxide", "1314-13-2"),
        ("Citric Acid", "77-92-9"),
        ("Niacinamide", "98-92-0"),
        ("Laurus Nobilis Leaf Oil", "8002-41-3"),
        ("Glycerin", "56-81-5"),
        ("Aqua", "7732-18-5"),
    ],
)
def test_ordinary_materials_are_not_banned(legal: Legal, name: str, cas: str) -> None:
    for market in legal.markets:
        assert ban(legal, name, market=market, cas=cas) is None


def test_another_entry_that_allows_the_use_decides_first(legal: Legal) -> None:
    """II/1339 with III/14: hydroquinone only in artificial nails, by professionals, at 0.02 %."""
    nails = Product("leave-on", "artificial nail", ("nails",), ("professionals",))
    assert ban(legal, "Hydroquinone", nails) is None
    found = limit(legal, "Hydroquinone", nails)
    assert (found.id, found.max_percent, found.professional_only) == ("III/14", Decimal("0.02"), True)
    face = ban(legal, "Hydroquinone", FACE)
    assert face is not None
    assert face.allowed_in


def test_mercury_is_left_as_preservative_near_the_eye(legal: Legal) -> None:
    """V/16: thimerosal in eye products, 0.007 % as mercury, and nowhere else; other mercury is II/221."""
    eye = Product("leave-on", "cream", ("eye area",))
    assert ban(legal, "Thimerosal", eye) is None
    found = limit(legal, "Thimerosal", eye)
    assert (found.max_percent, found.expressed_as) == (Decimal("0.007"), "Mercury")
    assert not limit(legal, "Thimerosal", FACE).permitted
    assert ban(legal, "Calomel", eye) is not None


# --- United Kingdom


def test_great_britain_has_its_own_dates(legal: Legal) -> None:
    """SI 2022/659: zinc pyrithione and lilial from 15 December 2022. EU: 1 March 2022 (Regulation (EU) 2021/1902)."""
    for name in ("Zinc Pyrithione", "Butylphenyl Methylpropional"):
        in_eu, in_uk = ban(legal, name), ban(legal, name, market="UK")
        assert in_eu is not None
        assert in_uk is not None
        assert (in_eu.applies_from, in_uk.applies_from) == ("2022-03-01", "2022-12-15")
        assert in_uk.source.startswith("Regulation (EC) No 1223/2009 as kept in Great Britain")


def test_great_britain_bht_and_methyl_salicylate(legal: Legal) -> None:
    """SI 2024/455: BHT 0.8 %, toothpaste 0.1. SI 2025/413: methyl salicylate, lips 0.03, rinse-off 0.06."""
    assert limit(legal, "BHT", FACE, "UK").max_percent == Decimal("0.8")
    assert limit(legal, "BHT", TOOTHPASTE, "UK").max_percent == Decimal("0.1")
    assert limit(legal, "Methyl Salicylate", LIPS, "UK").max_percent == Decimal("0.03")
    assert limit(legal, "Methyl Salicylate", SHAMPOO, "UK").max_percent == Decimal("0.06")


def test_great_britain_has_kojic_acid_but_not_retinol(legal: Legal) -> None:
    """SI 2024/1334 takes over kojic acid from (EU) 2024/996; that retinol was not taken over is from memory."""
    kojic = limit(legal, "Kojic Acid", FACE, "UK")
    assert (kojic.max_percent, kojic.applies_from) == (Decimal(1), "2025-06-20")
    assert legal.limits("UK", ["Retinol"], [], FACE) == ()


def test_great_britain_has_the_old_allergens_only(legal: Legal) -> None:
    """Directive 2003/15/EC: limonene. Regulation (EU) 2023/1545 (vanillin) was not taken over: from memory."""
    known = legal.allergens("UK")
    assert "limonene" in known
    assert "vanillin" not in known


# --- United States and Canada


def test_united_states_bans(legal: Legal) -> None:
    """21 CFR 700.11 bithionol, 700.18 chloroform, 700.19 methylene chloride, 700.13 mercury."""
    sources = {"Bithionol": "700.11", "Chloroform": "700.18", "Methylene Chloride": "700.19", "Mercury": "700.13"}
    for name, section in sources.items():
        found = ban(legal, name, market="US")
        assert found is not None
        assert found.source == f"21 CFR {section}"
        assert found.certain
    hydroquinone = ban(legal, "Hydroquinone", market="US")  # a drug since the CARES Act of 2020
    assert hydroquinone is not None
    assert hydroquinone.conditional


def test_united_states_aerosols(legal: Legal) -> None:
    """21 CFR 700.16: zirconium in aerosol cosmetics only; an antiperspirant stick may have it."""
    name = "Aluminum Zirconium Tetrachlorohydrex GLY"
    assert ban(legal, name, Product("leave-on", "aerosol", ("underarm",)), "US") is not None
    assert ban(legal, name, Product("leave-on", "stick", ("underarm",)), "US") is None


def test_united_states_limits(legal: Legal) -> None:
    """21 CFR 250.250: hexachlorophene 0.1 %; 700.13: mercury 65 parts per million in the eye area."""
    assert limit(legal, "Hexachlorophene", BODY, "US").max_percent == Decimal("0.1")
    eye = limit(legal, "Thimerosal", Product("leave-on", "cream", ("eye area",)), "US")
    assert (eye.max_percent, eye.expressed_as) == (Decimal("0.0065"), "Mercury")
    assert legal.limits("US", ["Phenoxyethanol"], [], FACE) == ()


# 21 CFR 352.10 as taken over into M020; 333.310 (M006); 347.10 (M016); 350.10 (M019); 358.710 (M032).
@pytest.mark.parametrize(
    ("name", "monograph", "kind", "low", "high"),
    [
        ("Butyl Methoxydibenzoylmethane", "M020", "sunscreen", None, "3"),
        ("Zinc Oxide", "M020", "sunscreen", None, "25"),
        ("Titanium Dioxide", "M020", "sunscreen", None, "25"),
        ("Octocrylene", "M020", "sunscreen", None, "10"),
        ("Homosalate", "M020", "sunscreen", None, "15"),
        ("Ethylhexyl Salicylate", "M020", "sunscreen", None, "5"),
        ("Ethylhexyl Methoxycinnamate", "M020", "sunscreen", None, "7.5"),
        ("Salicylic Acid", "M006", "acne", "0.5", "2"),
        ("Benzoyl Peroxide", "M006", "acne", "2.5", "10"),
        ("Sulfur", "M006", "acne", "3", "10"),
        ("Allantoin", "M016", "skin protectant", "0.5", "2"),
        ("Dimethicone", "M016", "skin protectant", "1", "30"),
        ("Petrolatum", "M016", "skin protectant", "30", "100"),
        ("Zinc Oxide", "M016", "skin protectant", "1", "25"),
        ("Aluminum Chlorohydrate", "M019", "antiperspirant", None, "25"),
        ("Zinc Pyrithione", "M032", "dandruff", "0.3", "2"),
        ("Salicylic Acid", "M032", "dandruff", "1.8", "3"),
        ("Selenium Sulfide", "M032", "dandruff", "1", "1"),
    ],
)
def test_monographs(legal: Legal, name: str, monograph: str, kind: str, low: str | None, high: str) -> None:
    (found,) = [one for one in legal.monographs("US", [name], []) if (one.monograph, one.kind) == (monograph, kind)]
    assert found.max_percent == Decimal(high)
    assert found.min_percent == (None if low is None else Decimal(low))
    assert legal.monographs("EU", [name], []) == ()


def test_canada(legal: Legal) -> None:
    """Cosmetic Ingredient Hotlist, February 2025: retinol 1.0 %, full-body products 0.2 %; retinal 0.05 and 0.01 %."""
    assert limit(legal, "Retinol", FACE, "CA").max_percent == 1
    assert limit(legal, "Retinyl Palmitate", BODY, "CA").max_percent == Decimal("0.2")
    assert limit(legal, "Retinal", BODY, "CA").max_percent == Decimal("0.01")
    assert ban(legal, "Retinoic Acid", market="CA") is not None


# --- filters, colours, allergens, names


# Annex VI, as in the Commission's database, August 2026.
@pytest.mark.parametrize(
    ("name", "product", "entry", "percent"),
    [
        ("Ethylhexyl Methoxycinnamate", FACE, "VI/12", "10"),
        ("Butyl Methoxydibenzoylmethane", FACE, "VI/8", "5"),
        ("Homosalate", FACE, "VI/3", "7.34"),
        ("Benzophenone-3", BODY, "VI/4", "2.2"),
        ("Benzophenone-3", FACE, "VI/4", "6"),
        ("Octocrylene", FACE, "VI/10", "10"),
        ("Titanium Dioxide", FACE, "VI/27", "25"),
        ("Zinc Oxide", FACE, "VI/30", "25"),
        ("Phenylbenzimidazole Sulfonic Acid", FACE, "VI/6", "8"),
    ],
)
def test_uv_filters(legal: Legal, name: str, product: Product, entry: str, percent: str) -> None:
    (found,) = legal.uv_filters("EU", [name], [], product)
    assert (found.id, found.max_percent, found.certain) == (entry, Decimal(percent), True)


def test_nano_and_plain_zinc_oxide_add_up(legal: Legal) -> None:
    """Annex VI, entries 30 and 30a: 25 % together; neither where it can be breathed in."""
    (plain,) = legal.uv_filters("EU", ["Zinc Oxide"], [], FACE)
    nano = [one for one in legal.uv_filters("EU", ["Zinc Oxide (nano)"], [], FACE) if one.entry == "30a"]
    assert nano[0].totals == plain.totals != ()
    assert nano[0].not_inhaled
    assert plain.not_inhaled


def test_united_states_filters_come_from_the_monograph(legal: Legal) -> None:
    """M020: avobenzone 3 %; a filter that it does not list has none."""
    (found,) = legal.uv_filters("US", ["Butyl Methoxydibenzoylmethane"], [], FACE)
    assert found.max_percent == 3
    assert legal.uv_filters("US", ["Diethylhexyl Butamido Triazone"], [], FACE) == ()


def test_colourants(legal: Legal) -> None:
    """Annex IV: CI 77491 all products, CI 20470 rinse-off only. 21 CFR 81.10: Red 3 is not listed for cosmetics."""
    assert [one.permitted for one in legal.colourant("EU", ["CI 77491"], [], LIPS)] == [True]
    assert [one.permitted for one in legal.colourant("EU", ["CI 20470"], [], FACE)] == [False]
    assert [one.permitted for one in legal.colourant("EU", ["CI 20470"], [], SHAMPOO)] == [True]
    assert [one.permitted for one in legal.colourant("EU", ["CI 20470"], [], UNSTATED)] == [None]
    assert [one.permitted for one in legal.colourant("US", ["CI 45430"], [], FACE)] == [False]
    assert legal.colourant("EU", ["Glycerin"], []) == ()


def test_united_states_colours_by_place(legal: Legal) -> None:
    """21 CFR 73.2327 chromium oxide greens not on lips; 73.2087 carmine anywhere; 74.2304 Red 4 outside only."""
    assert [one.permitted for one in legal.colourant("US", ["CI 77288"], [], LIPS)] == [False]
    assert [one.permitted for one in legal.colourant("US", ["CI 75470"], [], LIPS)] == [True]
    assert [one.permitted for one in legal.colourant("US", ["CI 14700"], [], LIPS)] == [False]
    assert [one.permitted for one in legal.colourant("US", ["CI 14700"], [], FACE)] == [True]


def test_allergens(legal: Legal) -> None:
    """Directive 2003/15/EC, now annex III, and Regulation (EU) 2023/1545: over 0.001 % leave-on, 0.01 % rinse-off."""
    known = legal.allergens("EU")
    assert len({one.declare_as for one in known.values()}) == 80
    assert {(one.leave_on_percent, one.rinse_off_percent) for one in known.values()} == {
        (Decimal("0.001"), Decimal("0.01"))
    }
    assert len({one.declare_as for one in known.values() if not one.applies_from}) == 24
    assert known["vanillin"].applies_from == "2026-08-01"
    assert known["vanillin"].shelf_until == "2028-07-31"
    assert legal.allergens("US") == {}


def test_allergens_by_name_before_cas(legal: Legal) -> None:
    """Annex III, entry 371: alpha-pinene is declared as Pinene; 88: limonene by any of its CAS numbers."""
    pinene = legal.allergen("EU", ["Alpha-Pinene"], [])
    limonene = legal.allergen("EU", ["an oil"], ["5989-27-5"])
    assert pinene is not None
    assert limonene is not None
    assert (pinene.declare_as, limonene.declare_as) == ("Pinene", "Limonene")
    assert legal.allergen("EU", ["Rosa Canina Seed Oil"], ["84696-47-9"]) is None


def test_canada_follows_the_allergens_with_its_own_days(legal: Legal) -> None:
    """SOR/2024-63 (from memory): the 24 from 12 April 2026, the others from 1 August 2026."""
    known = legal.allergens("CA")
    assert known["limonene"].applies_from == "2026-04-12"
    assert known["vanillin"].applies_from == "2026-08-01"


def test_names_for_the_united_states(legal: Legal) -> None:
    """21 CFR 701.3 asks for common English names; colour additives by those of parts 73 and 74."""
    assert legal.label_name("US", "Aqua") == "Water"
    assert legal.label_name("US", "Parfum") == "Fragrance"
    assert legal.label_name("US", "CI 19140") == "Yellow 5"
    assert legal.label_name("US", "CI 77491") == "Iron Oxides"
    assert legal.label_name("US", "Glycerin") == "Glycerin"
    assert legal.label_name("EU", "Aqua") == "Aqua"


# --- guidance and wording


def test_guidance_on_acids(legal: Legal) -> None:
    """Cosmetic Ingredient Review 1998: 10 % at pH 3.5 or above; by professionals 30 % at pH 3.0 or above."""
    (home,) = [one for one in legal.guidance("alpha-hydroxy acids", FACE) if one.used]
    (salon,) = [
        one for one in legal.guidance("alpha-hydroxy acids", FACE._replace(users=("professionals",))) if one.used
    ]
    assert (home.max_percent, home.min_pH) == (Decimal(10), Decimal("3.5"))
    assert (salon.max_percent, salon.min_pH) == (Decimal(30), Decimal("3.0"))
    (warning,) = legal.guidance_warnings("US", "alpha-hydroxy acids")  # Food and Drug Administration, January 2005
    assert warning.duty == "guidance"


def test_wording_due_because_of_the_product(legal: Legal) -> None:
    """21 CFR 740.19 suntanning products, 740.11 aerosols, 740.17 foaming baths."""
    found = {
        form: [one.code for one in legal.product_warnings("US", Product(form=form))]
        for form in ("self-tanner", "aerosol", "bubble bath", "bath", "spray", "serum")
    }
    due = {"self-tanner": ["suntanning"], "aerosol": ["aerosol"], "bubble bath": ["foaming bath"]}
    assert found == {**due, "bath": [], "spray": [], "serum": []}


def test_markets_and_dates(legal: Legal) -> None:
    assert legal.markets == ("EU", "UK", "US", "CA")
    assert all("20" in legal.date(market) for market in legal.markets)
    with pytest.raises(ValueError, match="no legal tables for the market «JP»"):
        legal.limits("JP", ["Aqua"], [], FACE)
    with pytest.raises(ValueError, match="known are EU, UK, US, CA"):
        legal.date("")
