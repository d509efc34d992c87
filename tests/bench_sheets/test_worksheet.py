"""What the worksheet says of a formula: pH, light, warmth, what is in a line and what is cited; by hand."""

from __future__ import annotations

from math import log, pi

import pytest

from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer


def sheet_of(reviewer: Reviewer, lines: str, more: str = "") -> Worksheet:
    text = f"formcheck: 1\nname: x\nphases:\n  A: {{{lines}}}\n{more}"
    return reviewer.sheet("x.formula.yaml", text.encode())


ADJUSTED = "procedure:\n  - {adjust pH: A, to: 7, with: Lactic Acid}\n  - {adjust pH: A, to: [4.5, 5.5], with: Lactic Acid}\n  - {mix: A}\n"


@pytest.mark.parametrize(
    ("more", "stated", "pH"),
    [
        ("", None, None),
        ("finished: {pH: 5}\n", (5, 5), 5),
        ("finished: {pH: [5, 6]}\n", (5, 6), 5.5),
        ("finished: {pH: [null, 6]}\n", (6, 6), 6),
        ("finished: {pH: [5, null]}\n", (5, 5), 5),
        ("finished: {measured pH: 4.4}\n", (4.4, 4.4), 4.4),
        ("finished: {pH: 5, measured pH: 4.4}\n", (5, 5), 4.4),
        (ADJUSTED, (4.5, 5.5), 5),
        (ADJUSTED + "finished: {pH: 6}\n", (6, 6), 6),
    ],
)
def test_the_pH_that_is_stated_and_the_one_that_counts(
    reviewer: Reviewer, more: str, stated: tuple[float, float] | None, pH: float | None
) -> None:
    sheet = sheet_of(reviewer, "Aqua: 100", more)
    assert (sheet.stated_pH, sheet.pH) == (stated, pH)


@pytest.mark.parametrize(
    ("pack", "light"),
    [
        ("{container: bottle, material: glass, wall: clear}", True),
        ("{container: bottle, material: glass, wall: frosted}", True),
        ("{container: bottle, material: glass, wall: amber}", False),
        ("{container: tube, material: aluminium}", False),
        ("{container: tin}", False),
        ("{container: bottle, material: glass}", None),
        ("{container: bottle}", None),
        ("", None),
    ],
)
def test_light_through_the_wall(reviewer: Reviewer, pack: str, light: bool | None) -> None:
    """Metal lets none through, coloured glass little, clear and frosted walls most (common practice, no source)."""
    assert sheet_of(reviewer, "Aqua: 100", f"packaging: {pack}\n" if pack else "").lets_light_in is light


HOUSE = """\
materials:
  House mix: {contains: {Glycerin: 40, Phenoxyethanol: 60}}
  House guard: {class: preservative, contains: {Glycerin: 40, Phenoxyethanol: 60}, maximum temperature: 50 °C}
  Hot stone: {class: powder, specific heat: 0.8}
"""


def test_a_line_is_taken_as_a_whole_before_what_is_in_it(reviewer: Reviewer) -> None:
    whole = sheet_of(reviewer, "Aqua: 98, House guard: 2", HOUSE).outer("preservative")
    inner = sheet_of(reviewer, "Aqua: 98, House mix: 2", HOUSE).outer("preservative")
    both = sheet_of(reviewer, "Aqua: 96, House guard: 2, House mix: 2", HOUSE)
    assert [(part.material.name, float(part.percent)) for part in whole] == [("House guard", 2.0)]
    assert [(part.material.name, float(part.percent)) for part in inner] == [("Phenoxyethanol", 1.2)]
    assert float(both.percent_of("preservative")) == pytest.approx(3.2)
    facts = [
        (part.label, float(fact.value))
        for part, fact in both.with_fact("maximum temperature")
        if part.item.name == "House guard"
    ]
    assert facts == [("House guard", 50.0)]


def test_whose_word_it_is_is_cited(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "Aqua: 98, House guard: 2", HOUSE)
    (own,) = [fact for part, fact in sheet.with_fact("maximum temperature") if part.material.name == "House guard"]
    theirs = reviewer.reference.limit("density of a batch")
    assert "own description" in sheet.cite(own)
    assert "own description" not in sheet.cite(theirs)
    assert sheet.cite(theirs)
    assert sheet.cite(own, theirs) == f"{sheet.cite(theirs)}; {sheet.cite(own)}"


def test_specific_heats_mix_by_weight(reviewer: Reviewer) -> None:
    """Calorimetry: 40 % at one, 60 % at another; water 4.18 J/(g K) (CRC Handbook)."""
    sheet = sheet_of(reviewer, "Aqua: 50, House mix: 40, Hot stone: 5, Glycerin: 5", HOUSE)
    water, mix, stone, glycerol = (sheet.specific_heat(item) for item in sheet.items)
    other = sheet_of(reviewer, "Phenoxyethanol: 100")
    assert water == pytest.approx(4.18, abs=0.02)
    assert stone == 0.8
    assert mix == pytest.approx(0.4 * glycerol + 0.6 * other.specific_heat(other.items[0]))
    deep = "".join(f"  Nest {n}: {{contains: {{Nest {n + 1}: 100}}}}\n" for n in range(1, 4))
    nested = sheet_of(reviewer, "Nest 1: 100", f"materials:\n{deep}  Nest 4: {{contains: {{Aqua: 100}}}}\n")
    assert nested.specific_heat(nested.items[0]) == pytest.approx(4.18, abs=0.02)


@pytest.mark.parametrize("size_g", [100, 1000])
def test_minutes_to_cool_by_newton(reviewer: Reviewer, size_g: int) -> None:
    """t = tau ln((T - room) / (target - room)), tau = m c / (h A) of an upright cylinder as high as wide."""
    more = f"batch: {{size: {size_g} g}}\nprocedure:\n  - {{heat: A, to: 75 °C}}\n  - {{cool: A, to: 20 °C}}\n"
    sheet = sheet_of(reviewer, "Aqua: 100", more)
    step = sheet.formula.procedure[0]
    diameter = (4 * size_g * 1e-6 / sheet.physics.density / pi) ** (1 / 3)
    tau = size_g * sheet.specific_heat(sheet.items[0]) / (sheet.physics.heat_loss * 1.5 * pi * diameter**2)
    assert sheet.minutes_to_cool(step, 40) == pytest.approx(tau * log(53 / 18) / 60)
    assert sheet.minutes_to_cool(step, 80) == 0
    assert sheet.minutes_to_cool(step, 20) is None


def test_where_nothing_cools_no_time_is_told(reviewer: Reviewer) -> None:
    open_ = sheet_of(reviewer, "Aqua: 100", "batch: {size: 1 kg}\nprocedure:\n  - {heat: A}\n")
    assert open_.minutes_to_cool(open_.formula.procedure[0], 40) is None
    unsized = sheet_of(reviewer, "Aqua: 100", "procedure:\n  - {heat: A, to: 75 °C}\n")
    assert unsized.minutes_to_cool(unsized.formula.procedure[0], 40) is None
    other = unsized.formula.procedure[0]
    assert open_.minutes_to_cool(other._replace(number=9), 40) is None
