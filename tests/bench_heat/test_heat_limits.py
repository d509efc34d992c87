"""Heat limits against the states of the vessels: which hold from when, and which are broken."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.bench.heat_limits import BEARS, HABIT, STAYS_IN, HeatLimit, heat_limits
from formcheck.review.run import Reviewer

FORMULA = """\
formcheck: 1
name: Garden cream
product: {use: leave-on, form: cream}
batch: {size: 400 g}
phases:
  A: {Aqua: q.s., Tender: 5}
  B: {Sturdy: 10}
  C: {Guard: 1, Scent: 0.5}
materials:
  Tender: {class: botanical extract, maximum temperature: 50 °C}
  Sturdy: {class: vegetable oil, maximum temperature: 90 °C}
  Guard: {class: preservative, maximum temperature: 60 °C, cool-down temperature: 45 °C}
  Scent: {class: fragrance, maximum temperature: 40 °C}
procedure:
  - {heat: A, to: 75 °C}
  - {heat: B, to: 75 °C}
  - {add: B, into: A}
  - {cool: A, to: COOLED °C}
  - {add: C, into: A}
  - {fill: A, at: 30 °C}
"""


@pytest.fixture
def limits(reviewer: Reviewer) -> Callable[[str], dict[tuple[str, str], HeatLimit]]:
    def run(cooled: str) -> dict[tuple[str, str], HeatLimit]:
        sheet = reviewer.sheet("x.formula.yaml", FORMULA.replace("COOLED", cooled).encode())
        return {(limit.part.material.name, limit.kind): limit for limit in heat_limits(sheet)}

    return run


def test_each_material_meets_what_its_own_vessel_meets(limits: Callable[..., dict[tuple[str, str], HeatLimit]]) -> None:
    found = limits("40")
    assert found["Tender", BEARS].hottest == pytest.approx(75)
    assert found["Tender", BEARS].broken
    steps = [moment.step.number if moment.step else 0 for moment in found["Tender", BEARS].over]
    assert steps == [1, 3]
    assert found["Sturdy", BEARS].hottest == pytest.approx(75)
    assert not found["Sturdy", BEARS].broken
    assert found["Guard", BEARS].hottest == pytest.approx(40, abs=0.5)
    assert not found["Guard", BEARS].broken


def test_above_the_habit_nothing_is_broken_above_the_limit_it_is(
    limits: Callable[..., dict[tuple[str, str], HeatLimit]],
) -> None:
    warm = limits("52")
    assert warm["Guard", HABIT].over
    assert not warm["Guard", HABIT].broken
    assert not warm["Guard", BEARS].broken
    hot = limits("70")
    assert hot["Guard", BEARS].broken
    assert [moment.step.number if moment.step else 0 for moment in hot["Guard", BEARS].over] == [5]


def test_scent_stays_in_below_what_practice_says_not_below_its_own_lower_figure(
    limits: Callable[..., dict[tuple[str, str], HeatLimit]], reviewer: Reviewer
) -> None:
    found = limits("52")
    assert ("Scent", BEARS) not in found
    assert found["Scent", STAYS_IN].celsius == float(reviewer.reference.limit("fragrance in a hot vessel").value)
    assert not found["Scent", STAYS_IN].broken
    assert limits("70")["Scent", STAYS_IN].broken


def test_the_lowest_limit_comes_first(reviewer: Reviewer) -> None:
    sheet = reviewer.sheet("x.formula.yaml", FORMULA.replace("COOLED", "40").encode())
    celsius = [limit.celsius for limit in heat_limits(sheet)]
    assert celsius == sorted(celsius)


def test_the_rules_and_the_limits_agree_on_what_is_broken(reviewer: Reviewer) -> None:
    """Whatever a rule on heat names, a limit is broken of, or a habit; of all that is broken a rule speaks."""
    rules = {"active-too-hot", "preservative-too-hot", "volatile-too-hot"}
    for cooled in ("40", "52", "70"):
        review, sheet = reviewer.review_sheet("x.formula.yaml", FORMULA.replace("COOLED", cooled).encode())
        assert sheet is not None
        named = {name for finding in review.findings if finding.rule in rules for name in finding.materials}
        found = heat_limits(sheet)
        assert {limit.part.material.name for limit in found if limit.broken} <= named
        assert named <= {limit.part.material.name for limit in found if limit.over}


@pytest.mark.parametrize(("celsius", "over"), [(50.4, False), (50.6, True), (49, False)])
def test_half_a_degree_is_no_heat(celsius: float, over: bool, reviewer: Reviewer) -> None:
    """A thermometer at the bench is read to half a degree (common practice, no source)."""
    text = (
        "formcheck: 1\nname: x\nphases: {A: {Aqua: q.s., Tender: 5}}\n"
        f"materials:\n  Tender: {{class: active, maximum temperature: 50 °C}}\nprocedure:\n  - {{heat: A, to: {celsius} °C}}\n"
    )
    (limit,) = heat_limits(reviewer.sheet("x.formula.yaml", text.encode()))
    assert limit.broken == over


@pytest.mark.parametrize(("percent", "counts"), [(20, True), (0.5, False)])
def test_a_little_alcohol_may_be_heated(percent: float, counts: bool, reviewer: Reviewer) -> None:
    text = f"formcheck: 1\nname: x\nphases: {{A: {{Aqua: q.s., Alcohol: {percent}}}}}\nprocedure:\n  - {{heat: A, to: 70 °C}}\n"
    limits_ = heat_limits(reviewer.sheet("x.formula.yaml", text.encode()))
    assert [limit.kind for limit in limits_] == [STAYS_IN] * counts
