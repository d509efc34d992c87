"""The procedure as it is worked through: what goes in, how warm, what bears how much, how long cooling takes."""

from __future__ import annotations

from math import log, pi

import pytest

from formcheck.bench.making import Act, acts
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

REVIEWER = Reviewer()
FORMULA = """
formcheck: 1
name: t
batch: {size: 500 g, balance: 0.01 g}
phases:
  A: {Aqua: q.s., Glycerin: 4}
  B: {Helianthus Annuus Seed Oil: 20}
  C: {Shy: 1}
  D: {Scent: 0.2}
materials:
  Shy: {class: active, maximum temperature: 45 °C}
  Scent: {class: fragrance, maximum temperature: 60 °C, cool-down temperature: 40 °C}
procedure:
  - {heat: A, to: 75 °C, hold: 10 min}
  - {heat: B, to: 75 °C}
  - {add: B, into: A}
  - {add: C, into: A}
  - {cool: A, to: 40 °C}
  - {add: D, into: A}
  - {fill: A}
"""


def sheet(text: str = FORMULA) -> Worksheet:
    return REVIEWER.sheet("t.formula.yaml", text.lstrip().encode())


def walked(text: str = FORMULA) -> list[Act]:
    return list(acts(sheet(text)))


def test_every_step_once_in_its_order() -> None:
    assert [act.step.number for act in walked()] == [1, 2, 3, 4, 5, 6, 7]


def test_what_goes_in_and_what_is_poured() -> None:
    act = walked()[2]
    ((letter, items, celsius),) = act.poured
    assert (letter, [item.name for item in items], celsius) == ("B", ["Helianthus Annuus Seed Oil"], 75.0)
    assert {item.name for item in act.held} == {"Aqua", "Glycerin", "Helianthus Annuus Seed Oil"}
    assert act.before == pytest.approx(75)
    assert act.after == pytest.approx(75)  # two vessels of one temperature: the mixture has it too


def test_what_a_material_bears_and_below_what_it_goes_in() -> None:
    hot, cool = walked()[3], walked()[5]
    assert hot.goes_in_below is not None
    assert (hot.goes_in_below.celsius, hot.goes_in_below.names) == (45.0, ("Shy",))
    assert cool.goes_in_below is not None
    assert cool.goes_in_below.celsius == 40.0  # the stricter of its two figures
    assert cool.bears is not None
    assert (cool.bears.celsius, cool.bears.names) == (45.0, ("Shy",))


def test_what_the_house_says_of_its_blend_goes_before_what_is_said_of_its_contents() -> None:
    text = FORMULA.replace("Shy: {class: active,", "Shy: {contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10},")
    limit = walked(text)[3].goes_in_below
    assert limit is not None
    assert (limit.celsius, limit.names) == (45.0, ("Shy",))


def test_cooling_follows_newton() -> None:
    """An open cylinder as high as wide, whole surface 1.5 pi d^2, with the heat loss of shared/limits (Newton's law)."""
    act = walked()[4]
    found = sheet()
    physics = found.physics
    grams = [(float(item.grams or 0), physics.specific_heat(item)) for item in act.held]
    mass = sum(each for each, _ in grams)
    diameter = (4 * mass / 1e6 / physics.density / pi) ** (1 / 3)
    tau = sum(each * specific for each, specific in grams) / (physics.heat_loss * 1.5 * pi * diameter**2)
    assert act.before is not None
    assert act.cooling_s == pytest.approx(tau * log((act.before - 22) / (40 - 22)))


def test_nothing_to_wait_for_where_it_is_cold() -> None:
    text = FORMULA.replace("  - {cool: A, to: 40 °C}\n", "  - {rest: A, for: 2 d}\n")
    assert walked(text)[5].cooling_s is None


def test_a_step_that_nobody_understands_is_passed_over() -> None:
    text = FORMULA.replace("{add: C, into: A}", "{add: Unheard, into: Z}")
    act = walked(text)[3]
    assert (act.vessel, act.lines, act.poured, act.before) == ("", (), (), None)


def test_what_is_in_a_blend_bears_no_more_in_it() -> None:
    """A blend of which nothing is said bears what the most tender of its contents bears."""
    text = FORMULA.replace(
        "Shy: {class: active, maximum temperature: 45 °C}", "Shy: {contains: {Tender: 10, Aqua: 90}}"
    )
    text = text.replace("materials:\n", "materials:\n  Tender: {class: active, maximum temperature: 38 °C}\n")
    limit = walked(text)[3].goes_in_below
    assert limit is not None
    assert (limit.celsius, limit.names) == (38.0, ("Tender (in Shy)",))


def test_an_empty_vessel_has_nothing_to_cool() -> None:
    text = FORMULA.replace(
        "  - {add: C, into: A}\n", "  - {add: C, into: A}\n  - {heat: C, to: 70 °C}\n  - {cool: C, to: 40 °C}\n"
    )
    assert all(act.cooling_s is None or act.cooling_s > 0 for act in walked(text))
