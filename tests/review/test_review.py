"""Findings are settled by deviations, faults stay apart from findings, and the verdict follows the threshold."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from types import SimpleNamespace

import pytest

from formcheck.bench.worksheet import Worksheet
from formcheck.plugins import gather, implements
from formcheck.review.model import HOLD, READY, UNREAD
from formcheck.review.rule import Finding, Rule, declare
from formcheck.review.run import Reviewer

SHORT = """\
formcheck: 1
name: Garden bath oil
phases:
  A: {Helianthus Annuus Seed Oil: 95, Tocopherol: 0.5}
"""
DEVIATION = SHORT + "deviations:\n  - {rule: total-not-100, reason: pilot only, accepted by: R. Quill%s}\n"


def rules_of(text: str, reviewer: Reviewer) -> dict[str, str]:
    return {finding.rule: finding.severity for finding in reviewer.review("x.formula.yaml", text.encode()).findings}


def test_a_major_finding_puts_it_on_hold(reviewer: Reviewer) -> None:
    review = reviewer.review("x.formula.yaml", SHORT.encode())
    assert review.verdict == HOLD
    assert "total-not-100" in {finding.rule for finding in review.findings}


@pytest.mark.parametrize(
    ("threshold", "verdict"), [("critical", READY), ("major", HOLD), ("minor", HOLD), ("note", HOLD)]
)
def test_the_threshold_decides(threshold: str, verdict: str) -> None:
    assert Reviewer(threshold).review("x.formula.yaml", SHORT.encode()).verdict == verdict


def test_an_accepted_finding_does_not_count(reviewer: Reviewer) -> None:
    review = reviewer.review("x.formula.yaml", (DEVIATION % "").encode())
    assert review.verdict == READY
    assert [(a.finding.rule, a.deviation.reason) for a in review.accepted] == [("total-not-100", "pilot only")]


def test_a_deviation_holds_on_its_last_day_and_not_after() -> None:
    text = (DEVIATION % ", until: 2027-03-31").encode()
    on_the_day = Reviewer(today=date(2027, 3, 31)).review("x.formula.yaml", text)
    after = Reviewer(today=date(2027, 4, 1)).review("x.formula.yaml", text)
    assert on_the_day.verdict == READY
    assert after.verdict == HOLD
    assert "ended on 2027-03-31" in next(f.message for f in after.findings if f.rule == "total-not-100")


def test_a_deviation_may_name_one_material(reviewer: Reviewer) -> None:
    text = """\
formcheck: 1
name: Garden bath oil
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0, Squalane: 0}
deviations:
  - {rule: percent-out-of-range, of: Tocopherol, reason: left out on purpose}
"""
    review = reviewer.review("x.formula.yaml", text.encode())
    left = [finding for finding in review.findings if finding.rule == "percent-out-of-range"]
    assert [finding.materials for finding in left] == [("Squalane",)]
    assert len(review.accepted) == 1


def test_a_deviation_from_no_rule_is_an_error_with_the_nearest_name(reviewer: Reviewer) -> None:
    review = reviewer.review("x.formula.yaml", (SHORT + "deviations:\n  - {rule: total-not-10, reason: x}\n").encode())
    assert review.verdict == UNREAD
    assert "did you mean «total-not-100»" in review.errors[0].message
    assert review.errors[0].place == (6, 12)


def test_materials_beside_a_formula_serve_it(tmp_path: object, reviewer: Reviewer) -> None:
    from pathlib import Path

    folder = Path(str(tmp_path)) / "serums" / "deep"
    folder.mkdir(parents=True)
    (folder.parent / "materials.yaml").write_text(
        "materials:\n  Plum blend: {contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}, class: preservative}\n"
    )
    (folder / "a.formula.yaml").write_text("formcheck: 1\nname: x\nphases: {A: {Aqua: q.s., plum BLEND: 1}}\n")
    sheet = Reviewer().sheet(str(folder / "a.formula.yaml"))
    assert {component.name: str(component.percent) for component in sheet.components} == {
        "Aqua": "99", "Phenoxyethanol": "0.9", "Ethylhexylglycerin": "0.1",
    }  # fmt: skip
    (folder.parent / "materials.yaml").write_text("materials:\n  Plum blend: {contain: 5}\n")
    review = Reviewer().review(str(folder / "a.formula.yaml"))
    assert review.verdict == UNREAD
    assert "materials.yaml:2:16" in review.errors[0].message
    assert "did you mean «contains»" in review.errors[0].message


# --- plug-ins


def _rule(name: str, check: object) -> Rule:
    rule = declare(finds="x", harm="fails", why="X.", remedy="X.", flawed="", mended="")
    rule.id, rule.family = name, "house"
    rule.check = check  # type: ignore[assignment]
    return rule


def _plugin(*rules: Rule) -> object:
    class Plugin:
        @implements
        def formcheck_rules(self) -> list[Rule]:
            return list(rules)

    return Plugin()


def test_a_rule_of_a_plugin_is_run_like_any_other() -> None:
    def check(sheet: Worksheet) -> Iterator[Finding]:
        yield own.finding(sheet.items[0].line, "the first line is looked at")

    own = _rule("house-rule", check)
    plugins = gather([("house", _plugin(own))])
    findings = Reviewer(plugins=plugins).review("x.formula.yaml", SHORT.encode()).findings
    assert "house-rule" in {finding.rule for finding in findings}


def test_a_rule_that_raises_is_its_own_fault_and_the_others_go_on() -> None:
    def check(sheet: Worksheet) -> Iterator[Finding]:
        raise ZeroDivisionError("by nought")
        yield

    review = Reviewer(plugins=gather([("house", _plugin(_rule("bad-rule", check)))])).review(
        "x.formula.yaml", SHORT.encode()
    )
    assert [(fault.who, "by nought" in fault.what) for fault in review.faults] == [("bad-rule", True)]
    assert "total-not-100" in {finding.rule for finding in review.findings}
    assert review.incomplete


def test_a_review_with_a_fault_is_never_ready() -> None:
    def check(sheet: Worksheet) -> Iterator[Finding]:
        raise ZeroDivisionError("by nought")
        yield

    text = SHORT.replace("95", "99.5")
    plugins = gather([("house", _plugin(_rule("bad-rule", check)))])
    assert Reviewer("critical", plugins=plugins).review("x.formula.yaml", text.encode()).verdict == UNREAD


def test_a_plugin_that_fails_is_named_and_the_rest_is_there() -> None:
    class Broken:
        @implements
        def formcheck_rules(self) -> list[Rule]:
            raise RuntimeError("no licence file")

    plugins = gather([("broken house", Broken())])
    assert len(plugins.rules()) > 10
    assert [fault.who for fault in plugins.faults] == ["broken house"]
    assert "no licence file" in plugins.faults[0].what


def test_a_plugin_that_cannot_be_imported_is_named() -> None:
    plugins = gather()
    plugins.load("absent", "no_such_module_anywhere:thing")
    assert plugins.faults[0].who == "absent"


def test_two_rules_of_one_name_do_not_both_run() -> None:
    plugins = gather([("house", _plugin(_rule("total-not-100", lambda sheet: ())))])
    rules = plugins.rules()
    assert len([rule for rule in rules if rule.id == "total-not-100"]) == 1
    assert "second rule called total-not-100" in plugins.faults[0].what


def test_entry_points_are_read_without_importing_anything(tmp_path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    from pathlib import Path

    from formcheck import plugins

    info = Path(str(tmp_path)) / "house-1.0.dist-info"
    info.mkdir()
    (info / "entry_points.txt").write_text("[console_scripts]\nx = a:b\n\n[formcheck]\nhouse = house_rules:plugin\n")
    monkeypatch.setattr(plugins.sys, "path", [str(tmp_path)])
    assert plugins.entry_points() == [("house", "house_rules:plugin")]


def test_review_is_deterministic(reviewer: Reviewer) -> None:
    text = SHORT.encode()
    assert reviewer.review("x.formula.yaml", text) == Reviewer(today=reviewer.today).review("x.formula.yaml", text)


def test_findings_stand_worst_first(reviewer: Reviewer) -> None:
    from formcheck.review.rule import SEVERITIES

    text = SHORT.replace("Tocopherol: 0.5", "Plum dust: 0.5")
    order = [
        SEVERITIES.index(finding.severity) for finding in reviewer.review("x.formula.yaml", text.encode()).findings
    ]
    assert len(order) >= 2
    assert order == sorted(order)


def test_a_rule_needs_a_known_kind_of_harm() -> None:
    with pytest.raises(ValueError, match="no kind of harm"):
        declare(finds="x", harm="annoying", why="X.", remedy="X.", flawed="", mended="")


def test_a_module_without_a_rule_is_refused() -> None:
    from formcheck.review.rule import from_module

    with pytest.raises(TypeError, match="is no rule"):
        from_module(SimpleNamespace(__name__="a.b.c"))  # type: ignore[arg-type]
