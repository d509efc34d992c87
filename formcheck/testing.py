"""For people who write rules: check that a rule keeps its word, review a text, say what has to be found in it.

Plain functions that raise AssertionError with what was found instead, so they go with any test runner:

    import nettle_row
    import pytest
    from formcheck.testing import assert_found, check_rule, review, rules_of

    @pytest.mark.parametrize("rule", rules_of(nettle_row), ids=lambda rule: rule.id)
    def test_the_rule_keeps_its_word(rule):
        check_rule(rule, nettle_row)

    def test_it_is_found_at_its_line():
        assert_found(review(TEXT, nettle_row), "perfume-above-house-limit", line=6, says="1.2 %")

`plugin` is the module or object that answers the hooks; it need not be installed, and where it is, it is not loaded twice.
None means whatever is installed. Nothing beside the tests plays a part: no configuration, no materials file.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import Any

from .plugins import Fault, Plugins, gather
from .review.model import Review
from .review.needs import NEEDS
from .review.rule import SEVERITIES, Finding, Rule
from .review.run import Reviewer
from .review.settings import AS_DECLARED

UNDER_TEST = "the plug-in under test"
_NOWHERE = os.path.join(os.sep, "no folder of formcheck.testing")
_COMPUTED = frozenset(("molar mass", "release share"))
"""What a rule may read of a material besides the properties of the reference."""


def review(
    text: str,
    plugin: Any = None,
    *,
    name: str = "test.formula.yaml",
    today: date | None = None,
    threshold: str | None = None,
) -> Review:
    """The review of a formula given as text.

    name: its ending says whether the text is YAML, TOML or JSON; today: the date by which deviations are judged. Raises
    AssertionError where the text cannot be read, or where a plug-in or a rule failed.
    """
    reviewer = reviewer_with(plugin, today, threshold)
    result = reviewer.review(os.path.join(_NOWHERE, name), text.lstrip("\n").encode())._replace(file=name)
    if result.errors:
        lines = (f"{name}:{problem.place.line}:{problem.place.column}: {problem.message}" for problem in result.errors)
        raise AssertionError("\n".join(("the formula cannot be read:", *lines)))
    _no_faults(result.faults)
    return result


@lru_cache(maxsize=16)
def reviewer_with(plugin: Any = None, today: date | None = None, threshold: str | None = None) -> Reviewer:
    """A reviewer with the built-in rules, what is installed, and this plug-in. Raises AssertionError where one fails."""
    plugins = gather()
    if plugin is not None and not plugins.manager.is_registered(plugin):
        plugins.add(plugin, UNDER_TEST)
    reviewer = Reviewer(threshold, plugins, today=today, settings=AS_DECLARED)
    plugins.reports()
    _no_faults(plugins.faults)
    return reviewer


def rules_of(plugin: Any) -> list[Rule]:
    """The rules that a plug-in brings, in the order of their names. Raises AssertionError where it fails."""
    plugins = Plugins()
    plugins.add(plugin, UNDER_TEST)
    rules = plugins.rules()
    _no_faults(plugins.faults)
    return rules


def check_plugin(plugin: Any) -> None:
    """Checks that everything a plug-in brings can be used beside all else: rules, materials, readers, reports."""
    reviewer_with.cache_clear()
    reviewer_with(plugin)


def check_rule(rule: Rule, plugin: Any = None) -> None:
    """Checks a rule's declaration and both its examples."""
    check_declaration(rule, plugin)
    check_examples(rule, plugin)


def check_declaration(rule: Rule, plugin: Any = None) -> None:
    """Checks the words of a declaration, and that the parts, properties and works it names are there."""
    reference = reviewer_with(plugin).reference
    _that(rule.id and rule.family, f"{rule!r} has no name: use formcheck.review.rule.pack or from_module")
    _that(not rule.finds.endswith(".") or rule.finds.endswith("q.s."), f"{rule.id}: «finds» ends with a full stop")
    for key, text in (("why", rule.why), ("remedy", rule.remedy)):
        _that(text.endswith("."), f"{rule.id}: «{key}» is no whole sentence with a full stop: {text!r}")
    _known(rule, "needs", rule.needs, NEEDS)
    _known(rule, "facts", rule.facts, {*reference.properties, *_COMPUTED})
    unknown = [source for source in rule.sources if reference.source(source).title == source]
    _that(not unknown, f"{rule.id}: «sources» names {unknown}, which the reference does not know")


def check_examples(rule: Rule, plugin: Any = None) -> None:
    """Checks that the flawed example sets a rule off, that the mended one does not, and that mending brings nothing new.

    A mended example that is quiet only because the rule could not judge it is a failure too, and so is one that another
    rule puts on hold for a reason the flawed one did not have.
    """
    flawed, mended = review(rule.flawed, plugin), review(rule.mended, plugin)
    for finding in findings_of(flawed, rule.id) or [assert_found(flawed, rule.id)]:
        _check_words(finding)
    assert_not_found(mended, rule.id)
    new = {finding.rule for finding in mended.findings if finding.severity in SEVERITIES[:2]}
    new -= {finding.rule for finding in flawed.findings}
    _that(not new, f"mending {rule.id} brings {', '.join(sorted(new))}\n{_listing(mended)}")


def findings_of(review: Review, rule: str) -> list[Finding]:
    """The findings of one rule that count; those that a deviation accepts are left out."""
    return [finding for finding in review.findings if finding.rule == rule]


def assert_found(
    review: Review,
    rule: str,
    *,
    severity: str | None = None,
    line: int | None = None,
    material: str | None = None,
    says: str | None = None,
) -> Finding:
    """The first finding of a rule that is as described: its severity, its line, a material it names, words of its message."""
    for finding in findings_of(review, rule):
        if (
            severity in (None, finding.severity)
            and line in (None, finding.place.line)
            and (material is None or material in finding.materials)
            and (says is None or says in finding.message)
        ):
            return finding
    asked = {"severity": severity, "line": line, "material": material, "says": says}
    wanted = "".join(f", {key} {value!r}" for key, value in asked.items() if value is not None)
    raise AssertionError(f"{rule} was not found{wanted}\n{_listing(review)}")


def assert_not_found(review: Review, rule: str) -> None:
    """Asserts that a rule looked at the formula and found nothing; what it could not judge is a failure too."""
    _that(not findings_of(review, rule), f"{rule} was found\n{_listing(review)}")
    open_ = [item.needs for item in review.unchecked if item.rule == rule]
    _that(not open_, f"{rule} is quiet only because it could not judge: {'; '.join(open_)}")


def _check_words(finding: Finding) -> None:
    where = f"the finding of {finding.rule} on line {finding.place.line}"
    _that(finding.message and not finding.message.endswith("."), f"{where}: no message, or one with a full stop")
    _that("  " not in finding.message + finding.why + finding.remedy, f"{where}: two spaces in a row")
    for text in (finding.why, finding.remedy):
        _that(text.endswith("."), f"{where}: no whole sentence with a full stop: {text!r}")


def _known(rule: Rule, key: str, names: Iterable[str], known: Iterable[str]) -> None:
    unknown = sorted(set(names) - set(known))
    _that(not unknown, f"{rule.id}: «{key}» names {unknown}; there are {', '.join(sorted(known))}")


def _no_faults(faults: Iterable[Fault]) -> None:
    said = [f"{fault.who}: {fault.what}" for fault in faults]
    _that(not said, "\n".join(said))


def _listing(review: Review) -> str:
    found = [f"  line {f.place.line}: {f.severity}, {f.rule}: {f.message}" for f in review.findings]
    return "\n".join(("found were:", *found) if found else ("nothing was found",))


def _that(holds: object, message: str) -> None:
    """As assert does, but also where Python runs without assertions."""
    if not holds:
        raise AssertionError(message)
