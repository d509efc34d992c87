"""What holds for every rule: its flawed example sets it off, its mended one is quiet, its words are in order."""

from __future__ import annotations

import inspect
import re
import sys

import pytest

from formcheck.plugins import gather
from formcheck.review.model import Review
from formcheck.review.needs import NEEDS
from formcheck.review.rule import SEVERITIES, Rule
from formcheck.review.run import Reviewer

RULES = gather().rules()


def run(reviewer: Reviewer, text: str) -> Review:
    result = reviewer.review("example.formula.yaml", text.lstrip().encode())
    assert not result.errors, f"the example cannot be read: {result.errors}"
    assert not result.faults
    return result


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_flawed_example_triggers_the_rule(rule: Rule, reviewer: Reviewer) -> None:
    findings = [finding for finding in run(reviewer, rule.flawed).findings if finding.rule == rule.id]
    assert findings, f"the flawed example of {rule.id} does not set it off"
    for finding in findings:
        assert finding.severity in SEVERITIES
        assert finding.message
        assert finding.why.endswith(".")
        assert finding.remedy.endswith(".")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_mended_example_is_quiet(rule: Rule, reviewer: Reviewer) -> None:
    result = run(reviewer, rule.mended)
    assert rule.id not in {finding.rule for finding in result.findings}
    assert rule.id not in {item.rule for item in result.unchecked}, (
        "the mended example is quiet only because it was not checked"
    )


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_mended_example_sets_nothing_else_off(rule: Rule, reviewer: Reviewer) -> None:
    """No two rules demand opposite things: what one rule calls mended, no other puts on hold for a new reason."""
    before = {finding.rule for finding in run(reviewer, rule.flawed).findings}
    after = {f.rule for f in run(reviewer, rule.mended).findings if f.severity in ("critical", "major")}
    assert after <= before, f"mending {rule.id} brings {sorted(after - before)}"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_declaration_is_in_order(rule: Rule, reviewer: Reviewer) -> None:
    assert (
        rule.finds[0].islower()
        or rule.finds[0] in "`"
        or rule.finds.split()[0].isupper()
        or rule.finds.startswith("pH")
    )
    assert not rule.finds.endswith(".") or rule.finds.endswith("q.s.")
    assert set(rule.needs) <= set(NEEDS)
    known = set(reviewer.reference.properties) | {"molar mass", "release share"}
    assert set(rule.facts) <= known
    for source in rule.sources:
        assert reviewer.reference.source(source).title != source, f"{source} is not in shared/sources"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_messages_follow_the_grammar(rule: Rule, reviewer: Reviewer) -> None:
    for finding in run(reviewer, rule.flawed).findings:
        assert not finding.message.endswith("."), finding
        assert "  " not in finding.message + finding.remedy + finding.why
        assert not re.search(r"\d\.\d{7,}", finding.message), f"too many digits: {finding.message}"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_rule_holds_no_facts(rule: Rule) -> None:
    """Facts stand in shared/: a check may use small whole numbers and powers of ten, and its declared options."""
    source = inspect.getsource(sys.modules[rule.check.__module__])
    code = source.split('""",\n)\n', 1)[-1]
    code = re.sub(r'f?"[^"\n]*"|#[^\n]*', "", code)
    numbers = {float(text) for text in re.findall(r"(?<![\w.])\d+\.?\d*(?![\w.])", code)}
    assert numbers <= {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 60, 100, 1000, 1e-9, 0.5, 3600}, sorted(numbers)
