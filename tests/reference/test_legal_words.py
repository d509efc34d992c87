"""Products in the words of the law, claims in the words of a label, and how the tables are compiled."""

from __future__ import annotations

import json
import shutil
from itertools import product as combinations
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from formcheck.formula.vocabulary import AREAS, FORMS, USERS, USES
from formcheck.reference.legal import Legal, build
from formcheck.reference.legal_build import LegalDataError
from formcheck.reference.legal_product import ProductWords
from formcheck.reference.legal_rows import packed, scope_words, unpacked

TABLES = Path(__file__).parents[2] / "shared" / "legal"


class Product(NamedTuple):
    use: str | None = None
    form: str | None = None
    area: tuple[str, ...] = ()
    users: tuple[str, ...] = ()


@pytest.fixture(scope="module")
def compiled() -> dict[str, Any]:
    return build(TABLES)


@pytest.fixture(scope="module")
def legal(compiled: dict[str, Any]) -> Legal:
    return Legal(json.loads(json.dumps(compiled)))


# --- product words: readings of ordinary trade words, common practice


@pytest.mark.parametrize(
    ("product", "word", "answer"),
    [
        (Product("leave-on", "cream", ("face",)), "leave-on face", True),
        (Product("leave-on", "cream", ("face",)), "face cream", True),
        (Product("leave-on", "serum", ("face",)), "face cream", None),
        (Product("leave-on", "cream", ("face",)), "rinse-off", False),
        (Product("leave-on", "cream"), "face", None),
        (Product("leave-on", "lotion", ("body",)), "body lotion", True),
        (Product("leave-on", "oil", ("body",)), "body lotion", None),
        (Product("leave-on", "lotion", ("face",)), "body lotion", False),
        (Product(None, "shampoo"), "rinse-off hair", True),
        (Product(None, "lip balm"), "lip", True),
        (Product("leave-on", "balm", ("lips",)), "mucous membranes", True),
        (Product("leave-on", "cream", ("face",)), "mucous membranes", False),
        (Product("leave-on", "mist", ("body",)), "spray", True),
        (Product("leave-on", "cream", ("body",)), "spray", False),
        (Product("leave-on", "perfume", ("body",)), "spray", None),
        (Product("leave-on", "cream", ("face",)), "hair dye", False),
        (Product(), "leave-on", None),
        (Product(), "toothpaste", False),
        (Product("leave-on", "cream", ("face",), ("children under 3",)), "children under 3", True),
        (Product("leave-on", "cream", ("face",)), "children under 3", False),
    ],
)
def test_product_words(compiled: dict[str, Any], product: Product, word: str, answer: bool | None) -> None:
    assert ProductWords(compiled["types"], compiled["implied"], product).answer(word) is answer


def test_every_word_has_an_answer_for_every_product(compiled: dict[str, Any]) -> None:
    for use, form, area in combinations((None, *USES), (None, *FORMS), ((), *((area,) for area in AREAS))):
        words = ProductWords(compiled["types"], compiled["implied"], Product(use, form, area))
        assert {words.answer(word) for word in compiled["types"]} <= {True, False, None}


def test_what_is_said_more_closely_never_turns_an_answer_round(compiled: dict[str, Any]) -> None:
    """An answer that was certain without the use stays the same when the use that the form implies is written out."""
    for form, use in compiled["implied"].items():
        short = ProductWords(compiled["types"], compiled["implied"], Product(None, form))
        long = ProductWords(compiled["types"], compiled["implied"], Product(use, form))
        assert all(short.answer(word) is long.answer(word) for word in compiled["types"])


def test_the_words_are_those_of_the_formula_file(compiled: dict[str, Any]) -> None:
    def tests(test: Any) -> Any:
        if isinstance(test, dict):
            yield test
            for part in (*test.get("all", ()), *test.get("any", ())):
                yield from tests(part)

    found = [part for test in compiled["types"].values() for part in tests(test)]
    areas = {area for test in found for key in ("area", "not area") for area in test.get(key, ())}
    assert areas <= set(AREAS)
    assert {test["use"] for test in found if "use" in test} <= set(USES)
    assert {user for test in found for user in test.get("users", ())} <= set(USERS)


# --- claims: MHRA guidance note 8, the manual on the scope of the EU regulation, the FDA's page on cosmetics and drugs


@pytest.mark.parametrize(
    "text",
    [
        "Moisturises and softens dry skin.",
        "Soothes dry skin after shaving",
        "Cleans gently and removes make-up",
        "Brightens the look of the skin",
        "For blemish-prone skin",
        "Suitable for sensitive, eczema-prone skin",
        "A weekly hair treatment for damaged hair",
        "Treat your skin to a little luxury",
        "Helps to reduce the appearance of fine lines",
        "This is not a sunscreen. Use a sunscreen during the day.",
        "After-sun lotion, cools and refreshes",
        "Does not treat acne or any disease",
        "Repairs split ends and reduces frizz",
        "Calms the look of redness",
        "Foot cream, softens hard skin",
        "Masks odour for a day",
        "Antioxidants protect the oil from going rancid",
        "Preserved against bacteria and mould",
        "Wooden board butter, keeps cuts in the board from drying",
    ],
)
def test_ordinary_claims_pass(legal: Legal, text: str) -> None:
    for market in legal.markets:
        assert legal.find_claims(market, text) == ()


@pytest.mark.parametrize(
    ("text", "words", "markets"),
    [
        ("A cream that treats acne overnight", "treats acne", "EU UK US CA"),
        ("Heals eczema", "Heals eczema", "EU UK US CA"),
        ("Our eczema cream", "eczema cream", "EU UK US CA"),
        ("Cures psoriasis for good", "Cures psoriasis", "EU UK US CA"),
        ("Kills 99 % of bacteria", "Kills 99 % of bacteria", "EU UK US CA"),
        ("with anti-inflammatory arnica", "anti-inflammatory", "EU UK US CA"),
        ("Relieves joint pain", "Relieves joint pain", "EU UK US CA"),
        ("Stops hair loss", "Stops hair loss", "EU UK US CA"),
        ("An antibacterial soap", "antibacterial", "US"),
        ("Boosts collagen", "Boosts collagen", "US"),
        ("SPF 30", "SPF", "EU UK US CA"),
        ("Lotion with SPF30", "SPF30", "EU UK US CA"),
        ("Broad-spectrum day cream", "Broad-spectrum", "EU UK US CA"),
    ],
)
def test_claims_that_are_more_than_cosmetic(legal: Legal, text: str, words: str, markets: str) -> None:
    for market in legal.markets:
        found = legal.find_claims(market, text)
        assert bool(found) is (market in markets.split()), market
        if found:
            assert words in [one.words for one in found]
            assert text[found[0].start :].startswith(found[0].words)


def test_sun_protection_is_marked(legal: Legal) -> None:
    """Recommendation 2006/647/EC; 21 CFR 700.35 reads such words as those of a drug."""
    assert [one.claim.sun for one in legal.find_claims("US", "Sunscreen, SPF 20")] == [True]
    assert [one.claim.sun for one in legal.find_claims("US", "Treats acne")] == [False]


# --- compiling


def test_lines_come_back_as_they_were(compiled: dict[str, Any]) -> None:
    row = {
        "table": "V",
        "entry": "12a",
        "names": ["Propylparaben", "2,2'-Name, with commas"],
        "totals": [["all: of them", "0.8"]],
        "from": ["a-source"],
        "ph": "7-9.5",
    }
    assert unpacked(packed(row)) == row
    for line in (*compiled["lines"], *compiled["bans"]):
        assert packed(unpacked(line)) == line
        assert unpacked(line)["names"]


def test_scopes() -> None:
    assert scope_words("all except sun protection;bronzing") == ["sun protection", "bronzing"]
    assert scope_words("hair dye") == ["hair dye"]
    assert scope_words("") == []


def _copied(folder: Path, name: str, old: str, new: str) -> Path:
    """The tables, with one text replaced in one file."""
    target = folder / "legal"
    shutil.copytree(TABLES, target)
    text = (target / name).read_text(encoding="utf-8")
    assert old in text
    (target / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    return target


def test_an_unexplained_product_word_is_an_error(tmp_path: Path) -> None:
    folder = _copied(tmp_path, "eu_restricted.csv", ",depilatory,", ",moon dust,")
    with pytest.raises(LegalDataError, match="III/2a: no test explains the product word «moon dust»"):
        build(folder)


def test_an_unexplained_warning_is_an_error(tmp_path: Path) -> None:
    folder = _copied(tmp_path, "eu_preservatives.csv", ",not-under-3,", ",not-on-mondays,")
    with pytest.raises(LegalDataError, match="V/3: no wording for the warning «not-on-mondays»"):
        build(folder)


def test_a_missing_table_is_an_error(tmp_path: Path) -> None:
    shutil.copytree(TABLES, tmp_path / "legal")
    (tmp_path / "legal" / "us_colours.csv").unlink()
    with pytest.raises(FileNotFoundError):
        build(tmp_path / "legal")


def test_an_unknown_word_is_an_error(compiled: dict[str, Any]) -> None:
    words = ProductWords(compiled["types"], compiled["implied"], Product())
    with pytest.raises(KeyError):
        words.answer("moon dust")


def test_the_differences_of_great_britain_name_entries_that_exist(compiled: dict[str, Any]) -> None:
    """Each span of uk_differences.yaml begins with an entry of the EU tables; else a number was mistyped."""
    spans = yaml.safe_load((TABLES / "uk_differences.yaml").read_text(encoding="utf-8"))["differences"]
    lines = [unpacked(line) for line in (*compiled["lines"], *compiled["bans"])]
    known = {(line["table"], line["entry"]) for line in lines if line.get("market", "EU") == "EU"}
    known |= {("allergens", row["entry"]) for row in compiled["allergens"]}
    for difference in spans:
        for span in difference["entries"]:
            low, _, _ = str(span).partition("-")
            assert (difference["table"], low) in known, difference
