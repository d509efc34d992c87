"""A rule as a page of the handbook, made from its declaration; its examples are reviewed, not described."""

from __future__ import annotations

import os
from typing import Any

from ..formula.names import listed
from ..reference.store import Reference
from ..review.house import HouseRule
from ..review.model import Review
from ..review.rule import Rule
from ..review.run import Reviewer
from ..review.settings import AS_DECLARED

_reviewers: list[Reviewer] = []


def reviewer() -> Reviewer:
    """One reviewer for all pages of a run; no configuration colours them."""
    if not _reviewers:
        _reviewers.append(Reviewer(settings=AS_DECLARED))
    return _reviewers[0]


def rule_data(rule: Rule, reference: Reference) -> dict[str, Any]:
    """A rule's declaration as plain data."""
    return {
        "rule": rule.id,
        "family": rule.family,
        "severity": rule.severity,
        "harm": rule.harm,
        "finds": rule.finds,
        "why": rule.why,
        "remedy": rule.remedy,
        "needs": list(rule.needs),
        "facts": list(rule.facts),
        "options": [option._asdict() for option in rule.options],
        "sources": [reference.source(id).citation for id in rule.sources],
        "flawed": rule.flawed.strip() + "\n",
        "mended": rule.mended.strip() + "\n",
    }


def rule_page(rule: Rule, reference: Reference) -> str:
    """A rule's page in Markdown, readable as it stands."""
    flawed = _review(rule, rule.flawed)
    own = [finding for finding in flawed.findings if finding.rule == rule.id]
    others = sum(finding.rule != rule.id for finding in flawed.findings)
    lines = [
        f"# {rule.id}",
        "",
        f"Finds {rule.finds}.",
        "",
        f"Severity: {rule.severity} ({rule.harm}). Family: {rule.family}.",
        "",
        "## Why it matters",
        "",
        rule.why,
        "",
        "## How to mend it",
        "",
        rule.remedy,
        "",
        "## A formula with the flaw",
        "",
        "```yaml",
        rule.flawed.strip(),
        "```",
        "",
        "What the review says of it:",
        "",
    ]
    for finding in own:
        lines.append(f"- line {finding.place.line}, {finding.severity}: {finding.message}. {finding.remedy}")
    if others:
        lines.extend(("", f"({others} more findings of other rules are left out here.)"))
    lines.extend(("", "## The same formula, mended", "", "```yaml", rule.mended.strip(), "```", ""))
    if rule.needs:
        lines.extend((f"Needs from the formula: {listed(rule.needs)}. Without it the rule stays silent.", ""))
    if rule.facts:
        lines.extend((f"Reads of a material: {listed(rule.facts)}.", ""))
    if rule.options:
        lines.extend(("Settings:", ""))
        lines.extend(f"- {o.name}: {o.about}; {o.default:g} {o.unit} unless set otherwise" for o in rule.options)
        lines.append("")
    if rule.sources:
        lines.extend(("Rests on:", ""))
        lines.extend(f"- {reference.source(id).citation}" for id in rule.sources)
        lines.append("")
    return "\n".join(lines)


def index_page(rules: list[Rule]) -> str:
    """The list of all rules by family, in Markdown."""
    lines = ["# The rules", "", f"{len(rules)} rules, by family. Each links to its page.", ""]
    for family in dict.fromkeys(rule.family for rule in sorted(rules, key=lambda r: r.family)):
        lines.extend((f"## {family}", "", "| rule | severity | finds |", "|---|---|---|"))
        for rule in rules:
            if rule.family == family:
                lines.append(
                    f"| [{rule.id}]({family}/{rule.id}.md) | {rule.severity} | {rule.finds.replace('|', '/')} |"
                )
        lines.append("")
    return "\n".join(lines)


def _review(rule: Rule, text: str) -> Review:
    known = reviewer()
    if rule not in known.rules:
        settings = AS_DECLARED._replace(house=(rule,))
        known = Reviewer(plugins=known.plugins, reference=known.reference, settings=settings)
    folder = os.path.dirname(rule.file) if isinstance(rule, HouseRule) else ""
    return known.review(os.path.join(folder, f"{rule.id}.formula.yaml"), text.lstrip().encode())
