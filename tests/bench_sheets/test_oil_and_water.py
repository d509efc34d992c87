"""Oil, water and what holds them, read from lines: common practice, no source, where nothing else is named."""

from __future__ import annotations

import pytest

from formcheck.bench.emulsion import Emulsion, most_dissolved
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact
from formcheck.formula.units import Range
from formcheck.review.run import Reviewer


def sheet_of(reviewer: Reviewer, lines: str, more: str = "") -> Worksheet:
    text = f"formcheck: 1\nname: x\nphases:\n  A: {{{lines}}}\n{more}"
    return reviewer.sheet("x.formula.yaml", text.encode())


def emulsion(reviewer: Reviewer, lines: str, more: str = "") -> Emulsion:
    return sheet_of(reviewer, lines, more).emulsion


def names(parts: object) -> list[str]:
    return [part.material.name for part in parts]  # type: ignore[attr-defined]


def test_the_largest_oil_is_named_first(reviewer: Reviewer) -> None:
    found = emulsion(
        reviewer, "Squalane: 2, Aqua: 80, Simmondsia Chinensis Seed Oil: 10, Cetearyl Alcohol: 5, Limonene: 3"
    )
    assert [part.amount for part in found.oily] == [10, 5, 3, 2]
    assert found.oil_percent == 20


@pytest.mark.parametrize(
    ("lines", "share"),
    [
        ("Alcohol: 40, Aqua: 40, Glycerin: 20", 50),  # half alcohol, half water
        ("Alcohol: 20, Glycerin: 80", 100),
        ("Aqua: 80, Glycerin: 20", 0),
        ("Glycerin: 100", 0),
    ],
)
def test_alcohol_is_counted_in_what_it_makes_with_the_water(reviewer: Reviewer, lines: str, share: float) -> None:
    assert emulsion(reviewer, lines).alcohol_share == pytest.approx(share)


# Vanillin dissolves to about 1 g in 100 ml of water at 25 °C, coumarin to 0.19 g (CRC Handbook, from memory).
@pytest.mark.parametrize(
    ("lines", "oily"),
    [
        ("Vanillin: 0.5, Aqua: 99.5", []),
        ("Vanillin: 3, Aqua: 97", ["Vanillin"]),
        ("Coumarin: 0.1, Aqua: 99.9", []),
        ("Coumarin: 0.5, Aqua: 99.5", ["Coumarin"]),
        ("Coumarin: 0.1, Aqua: 20, Glycerin: 79.9", ["Coumarin"]),  # a fifth of the water takes up a fifth
        ("Limonene: 0.1, Aqua: 99.9", ["Limonene"]),
    ],
)
def test_a_scent_that_the_water_dissolves_is_no_oil(reviewer: Reviewer, lines: str, oily: list[str]) -> None:
    assert names(emulsion(reviewer, lines).oily) == oily


HOUSE = """\
materials:
  Ready emulsion: {class: silicone, contains: {Dimethicone: 60, Polysorbate 20: 4, Aqua: 36}}
  Oil and emulsifier: {class: silicone, contains: {Dimethicone: 90, Polysorbate 20: 10}}
  Wet oil: {class: silicone, contains: {Dimethicone: 60, Aqua: 40}}
"""


@pytest.mark.parametrize(
    ("line", "oily"),
    [
        ("Ready emulsion", []),  # it brings its oil emulsified
        ("Oil and emulsifier", ["Dimethicone"]),
        ("Wet oil", ["Dimethicone"]),
        ("Dimethicone", ["Dimethicone"]),
    ],
)
def test_a_raw_material_that_is_an_emulsion_carries_its_own_oil(reviewer: Reviewer, line: str, oily: list[str]) -> None:
    assert names(emulsion(reviewer, f"Aqua: 95, {line}: 5", HOUSE).oils) == oily


def test_enough_lanolin_takes_water_up(reviewer: Reviewer) -> None:
    least = reviewer.reference.limit("fat that takes up water").value
    assert names(emulsion(reviewer, f"Paraffinum Liquidum: q.s., Lanolin: {least}").absorbers) == ["Lanolin"]
    assert not emulsion(reviewer, f"Paraffinum Liquidum: q.s., Lanolin: {least * 0.9}").absorbers


@pytest.mark.parametrize(
    ("lines", "soap"),
    [
        # cold cream: beeswax and borax make the soap that holds it (pharmacopoeias; from memory)
        ("Cera Alba: 10, Paraffinum Liquidum: 50, Aqua: 39, Sodium Borate: 1", ["Cera Alba"]),
        ("Cera Alba: 10, Paraffinum Liquidum: 50, Aqua: 40", []),
        ("Candelilla Cera: 10, Paraffinum Liquidum: 50, Aqua: 39, Sodium Borate: 1", []),
        ("Stearic Acid: 15, Aqua: 84, Potassium Hydroxide: 1", ["Stearic Acid"]),
        # a kilogram of olive oil takes 135 g of lye to be soap (saponification value 190 mg KOH/g, from memory)
        ("Olea Europaea Fruit Oil: 75, Aqua: 15, Sodium Hydroxide: 10", ["Olea Europaea Fruit Oil"]),
        ("Paraffinum Liquidum: 75, Aqua: 15, Sodium Hydroxide: 10", []),
        # carron oil: lime water and linseed or olive oil in equal parts
        ("Olea Europaea Fruit Oil: 50, Aqua: 49.9, Calcium Hydroxide: 0.1", ["Olea Europaea Fruit Oil"]),
        ("Olea Europaea Fruit Oil: 50, Aqua: 49.4, Calcium Hydroxide: 0.1, Lactic Acid: 0.5", []),
    ],
)
def test_soap_in_the_vessel(reviewer: Reviewer, lines: str, soap: list[str]) -> None:
    assert names(emulsion(reviewer, lines).soap) == soap


def test_a_gum_thickens_from_its_usual_dose_on(reviewer: Reviewer) -> None:
    dose = reviewer.reference.find("Xanthan Gum").value("dose").low  # type: ignore[union-attr]
    for percent, thick in ((dose, True), (dose * 0.9, False), (dose * 2, True)):
        assert bool(emulsion(reviewer, f"Aqua: q.s., Xanthan Gum: {percent}").thickeners) == thick
    of_the_house = "materials:\n  House gum: {class: thickener}\n  Its sister: {class: thickener, dose: [null, 2]}\n"
    assert names(emulsion(reviewer, "Aqua: q.s., House gum: 0.01, Its sister: 0.01", of_the_house).thickeners) == [
        "House gum",
        "Its sister",
    ]


def test_a_line_of_everything_can_be_read(reviewer: Reviewer) -> None:
    assert emulsion(reviewer, "Aqua: 100").readable
    assert not emulsion(reviewer, "Aqua: 101").readable
    assert not emulsion(reviewer, "Aqua: 101, Glycerin: -1").readable


def test_the_upper_end_of_a_solubility_counts() -> None:
    for low, high, most in ((1.0, None, 1.0), (1.0, 2.0, 2.0), (None, 2.0, 2.0)):
        assert most_dissolved(Fact("solubility", Range(low, high))) == most
