"""The whole test of a plug-in. formcheck.testing has what is needed."""

from __future__ import annotations

import nettle_row
import pytest
from nettle_row.slate import slate

from formcheck.review.rule import Rule
from formcheck.testing import assert_found, assert_not_found, check_plugin, check_rule, review, rules_of

BODY_OIL = """
formcheck: 1
name: Garden shed body oil
product: {use: leave-on, form: oil, area: [body]}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5, Parfum: 0.5, Lavandula Angustifolia Oil: 0.4}
"""


def test_all_of_it_can_be_used() -> None:
    check_plugin(nettle_row)


@pytest.mark.parametrize("rule", rules_of(nettle_row), ids=lambda rule: rule.id)
def test_each_rule_keeps_its_word(rule: Rule) -> None:
    check_rule(rule, nettle_row)


def test_perfume_and_essential_oil_are_taken_together() -> None:
    found = assert_found(review(BODY_OIL, nettle_row), "perfume-above-house-limit", severity="minor", says="0.9 %")
    assert found.materials == ("Parfum", "Lavandula Angustifolia Oil")


def test_what_is_rinsed_off_may_smell() -> None:
    assert_not_found(review(BODY_OIL.replace("leave-on", "rinse-off"), nettle_row), "perfume-above-house-limit")


def test_our_own_water_is_known_by_its_other_name() -> None:
    text = next(rule for rule in rules_of(nettle_row) if rule.id == "garden-distillate-not-held-hot").flawed
    other = text.replace("Nettle Row rose water", "shed rose water")
    found = assert_found(review(other, nettle_row), "garden-distillate-not-held-hot", line=5)
    assert found.source == "Bench book of Nettle Row"


def test_the_slate_puts_what_may_be_made_first() -> None:
    ready = review(BODY_OIL.replace("Parfum: 0.5, ", ""), nettle_row)
    hold = review(BODY_OIL.replace("q.s.", "90").replace("Garden shed", "Back gate"), nettle_row)
    lines = slate([hold, ready]).splitlines()
    assert lines[0] == "May be made"
    assert lines[1].startswith("  Garden shed body oil")
    assert lines[2] == "On hold"
    assert "1 major" in lines[3]


def test_the_slate_shows_control_characters_and_does_not_obey_them() -> None:
    text = BODY_OIL.replace("Garden shed body oil", '"Garden\\e[2J shed\\nbody oil"')
    assert "\x1b" not in slate([review(text, nettle_row)])
