"""A rule as a page of the handbook, made from its declaration; its examples are reviewed, not described.

A page is the same wherever and whenever it is made: the examples are judged by the law of EXAMPLES_DAY, and no
configuration and no materials beside the working folder have a say in it.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from ..formula.names import listed
from ..plugins import Plugins
from ..reference.sources import PUBLISHED
from ..reference.store import Reference
from ..review.corrections import Corrected, correct
from ..review.house import HouseRule
from ..review.model import Review
from ..review.needs import NEEDS
from ..review.rule import HARMS, SEVERITIES, Finding, Rule
from ..review.run import Beside, Reviewer
from ..review.settings import AS_DECLARED
from ..review.words import number
from .page_text import bullets, code, fenced, prose, table
from .safe_text import sentence
from .terminal import CAUTION_RULES, Page

EXAMPLES_DAY = date(2026, 11, 25)
"""The day by whose law the examples are judged, so that a page made later says the same."""
WIDTH = 88
_MEANINGS = {
    "critical": "somebody may be harmed, or the product is unlawful or unpreserved",
    "major": "it will probably fail",
    "minor": "good practice missed",
    "note": "worth knowing",
}
_COMPUTED = {
    "molar mass": ("g/mol", "Worked out from the formula."),
    "release share": ("g/g", "What it is counted as, by weight: worked out from the formulas of both."),
}
"""Facts that nobody writes down."""


class _Alone(Reviewer):
    """Reviews a file as if nothing lay beside it."""

    def beside(self, folder: str) -> Beside:
        return Beside()


class Handbook:
    """The pages of some rules.

    rules: all that the index lists; plugins: those whose rules review the examples, the installed ones if None.
    """

    def __init__(self, rules: Sequence[Rule], plugins: Plugins | None = None) -> None:
        self.rules = sorted(rules, key=lambda rule: (rule.family, rule.id))
        self.alone = _Alone(plugins=plugins, settings=AS_DECLARED, today=EXAMPLES_DAY)
        self.reference: Reference = self.alone.reference

    def pages(self) -> dict[str, str]:
        """Path relative to the handbook's folder -> text, the index first."""
        return {"index.md": self.index(), **{path_of(rule): self.page(rule) for rule in self.rules}}

    # --- one rule

    def page(self, rule: Rule) -> str:
        """A rule's page in Markdown, readable as it stands."""
        return "\n".join(self._page(rule)).rstrip() + "\n"

    def _page(self, rule: Rule) -> Iterator[str]:
        yield from (f"# {rule.id}", "", sentence(f"Finds {prose(rule.finds)}"), "")
        yield from self._card(rule)
        yield from ("## Why it matters", "", prose(rule.why), "")
        yield from ("## How to mend it", "", prose(rule.remedy), "")
        yield from self._flawed(rule)
        yield from self._mended(rule)
        yield from self._reads(rule)
        yield from self._settings(rule)
        yield from self._sources(rule)

    def _card(self, rule: Rule) -> list[str]:
        graded = dict.fromkeys(finding.severity for finding in self._own(rule))
        other = [severity for severity in graded if severity != rule.severity]
        also = f"; in this page's example {listed(other)}" if other else ""
        rows = [
            ("severity", f"**{rule.severity}**: {_MEANINGS[rule.severity]}{also}"),
            ("kind of harm", rule.harm),
            ("family", f"[{rule.family}](../index.md#{rule.family})"),
        ]
        return table(("this rule", ""), rows)

    def _flawed(self, rule: Rule) -> Iterator[str]:
        review, own = self._review(rule, rule.flawed), self._own(rule)
        text = rule.flawed.strip().split("\n")
        yield from ("## A formula with the flaw", "", *fenced(rule.flawed, "yaml"))
        yield from ("`formcheck review` says of it:", "", *fenced(_shown(own, review), "text"))
        marked = dict.fromkeys(finding.place.line for finding in own)
        lines = [f"line {line}: {code(text[line - 1].strip())}" for line in marked if 0 < line <= len(text)]
        if lines:
            yield from ("In the formula above that is", "")
            yield from bullets(lines)
        others = sorted({finding.rule for finding in review.findings} - {rule.id})
        if others:
            yield from (f"Left out here is what other rules find in it: {listed(map(self._link, others))}.", "")

    def _mended(self, rule: Rule) -> Iterator[str]:
        review = self._review(rule, rule.mended)
        yield from ("## The same formula, mended", "", *fenced(rule.mended, "yaml"))
        yield from ("What changed:", "", *fenced(_changes(rule.flawed, rule.mended), "diff"))
        verdict = Page(WIDTH).verdict(review).replace("  ", ": ", 1)
        yield from (f"`formcheck review` says of it: {prose(verdict)}.", "")
        others = sorted({finding.rule for finding in review.findings})
        if others:
            yield from (f"What is left is of other rules: {listed(map(self._link, others))}.", "")
        if rule.corrections is not None:
            yield from self._corrected(rule)

    def _corrected(self, rule: Rule) -> Iterator[str]:
        """What `formcheck correct` makes of the flawed formula by itself, or when asked."""
        plain = self._correct(rule, ())
        made = [each for each in plain.made if each.rule == rule.id]
        if made:
            yield from ("`formcheck correct` mends the flawed one by itself:", "")
            yield from bullets(f"line {each.line}: {prose(each.what)}" for each in made)
            return
        for request in plain.open:
            asked = [each for each in self._correct(rule, (request,)).made if each.rule in (rule.id, request)]
            if asked:
                yield from (f"`formcheck correct --also {request}` mends the flawed one when asked:", "")
                yield from bullets(f"line {each.line}: {prose(each.what)}" for each in asked)
                return
        yield from ("Not here, but where there is one right answer, `formcheck correct` writes it.", "")

    def _correct(self, rule: Rule, asked: tuple[str, ...]) -> Corrected:
        return correct(self.alone, f"{rule.id}.formula.yaml", rule.flawed.lstrip().encode(), asked)

    def _reads(self, rule: Rule) -> Iterator[str]:
        if not rule.needs and not rule.facts:
            return
        yield from ("## What it goes by", "")
        if rule.needs:
            yield from (
                "It looks only where the formula says the following; where it does not, the review asks for it:",
                "",
            )
            yield from bullets(prose(NEEDS[need].ask) if need in NEEDS else prose(need) for need in rule.needs)
        if rule.facts:
            yield from (
                "Of the materials it reads these facts, which stand in the reference or in your own `materials:` block.",
                "",
            )
            yield from table(("fact", "unit", "what it is"), map(self._fact, rule.facts))

    def _fact(self, name: str) -> tuple[str, str, str]:
        known = self.reference.properties.get(name)
        unit, about = (known.unit, known.about) if known else _COMPUTED.get(name, ("", ""))
        return prose(name), prose(unit), prose(about)

    def _settings(self, rule: Rule) -> Iterator[str]:
        yield from ("## Settings", "")
        if not rule.options:
            yield from ("It has none of its own. [What can be set of every rule](../index.md#settings).", "")
            return
        rows = [(code(o.name), f"{number(o.default)} {prose(o.unit)}".strip(), prose(o.about)) for o in rule.options]
        yield from table(("setting", "unless set otherwise", "what it is"), rows)
        first = rule.options[0]
        value = f"{number(first.default)} {first.unit}".strip()
        yield from ("In `formcheck.toml`, with a value of your own:", "")
        yield from fenced(f'[rules.{rule.id}]\n{_key(first.name)} = "{value}"', "toml")

    def _sources(self, rule: Rule) -> Iterator[str]:
        if not rule.sources:
            return
        yield from ("## What it rests on", "")
        for id in rule.sources:
            source = self.reference.source(id)
            seen = f" Seen: {prose(source.confirmed).rstrip('.')}." if source.kind in PUBLISHED else ""
            yield f"- {prose(source.citation).rstrip('.')}.{seen}"
        yield ""
        if rule.facts:
            yield from ("The facts of single materials have sources of their own; `formcheck explain` shows them.", "")

    def _link(self, id: str) -> str:
        rule = next((rule for rule in self.rules if rule.id == id), None)
        return f"[{id}](../{path_of(rule)})" if rule is not None else code(id)

    def _own(self, rule: Rule) -> list[Finding]:
        return [finding for finding in self._review(rule, rule.flawed).findings if finding.rule == rule.id]

    def _review(self, rule: Rule, text: str) -> Review:
        reviewer: Reviewer = self.alone
        folder = ""
        if rule not in reviewer.rules:
            settings = AS_DECLARED._replace(house=(rule,))
            kind = Reviewer if isinstance(rule, HouseRule) else _Alone
            reviewer = kind(plugins=reviewer.plugins, reference=self.reference, settings=settings, today=EXAMPLES_DAY)
            folder = os.path.dirname(rule.file) if isinstance(rule, HouseRule) else ""
        return reviewer.review(os.path.join(folder, f"{rule.id}.formula.yaml"), text.lstrip().encode())

    # --- all rules

    def index(self) -> str:
        """The list of all rules by family, and what holds for all of them."""
        families = list(dict.fromkeys(rule.family for rule in self.rules))
        lines = [
            "# The rules",
            "",
            f"{len(self.rules)} rules in {len(families)} families. Each has a page: what it finds, why that matters, how to mend "
            "it, a flawed and a mended formula with what the review says of them, what it goes by and what it rests on.",
            "",
        ]
        for family in families:
            rules = [rule for rule in self.rules if rule.family == family]
            lines.extend((f"## {family}", ""))
            rows = [(f"[{rule.id}]({path_of(rule)})", rule.severity, prose(rule.finds)) for rule in rules]
            lines.extend(table(("rule", "severity", "finds"), rows))
        return "\n".join((*lines, *_for_all(self.rules[0] if self.rules else None))).rstrip() + "\n"


def path_of(rule: Rule) -> str:
    """A rule's page, relative to the handbook's folder."""
    return f"{rule.family}/{rule.id}.md"


def _for_all(example: Rule | None) -> Iterator[str]:
    """What holds for every rule: severities, accepting, settings."""
    yield from (
        "## Severities",
        "",
        "The kind of harm gives the severity; a single finding may be graded otherwise.",
        "",
    )
    harms = {severity: [harm for harm, of in HARMS.items() if of == severity] for severity in SEVERITIES}
    rows = [(f"**{severity}**", _MEANINGS[severity], ", ".join(harms[severity])) for severity in SEVERITIES]
    yield from table(("severity", "meaning", "kinds of harm"), rows)
    if example is None:
        return
    yield from ("## Accepting a finding", "")
    yield from (
        "What you accept on purpose goes into the formula, with a reason; past its last day it counts again.",
        "",
    )
    accepted = (
        f"deviations:\n  - rule: {example.id}\n    reason: why it is all right here\n    accepted by: who\n"
        "    until: 2027-03-31"
    )
    yield from fenced(accepted, "yaml")
    yield from ("## Settings", "")
    yield from (
        "A `formcheck.toml` serves the formulas of its folder and of those below it. It can set what a rule's page lists, "
        "silence a rule or give it another severity, each with its reason. A review says what was silenced.",
        "",
    )
    settings = (
        f'[rules.{example.id}]\nsilent = true\nreason = "why it says nothing to us"\n\n'
        f'[families.{example.family}]\nseverity = "note"\nreason = "why we grade it so"'
    )
    yield from fenced(settings, "toml")


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


def _shown(findings: Sequence[Finding], review: Review) -> str:
    """The findings as the terminal shows them."""
    page = Page(WIDTH)
    if findings and findings[0].rule in CAUTION_RULES:
        return "\n".join(page.cautions(list(findings)))
    file = os.path.basename(review.file)
    return "\n\n".join("\n".join(page.finding(count, each, file)) for count, each in enumerate(findings, 1))


def _changes(flawed: str, mended: str) -> str:
    """The lines that differ, without the heads of a diff and without what is far from a change."""
    lines = difflib.unified_diff(flawed.strip().split("\n"), mended.strip().split("\n"), lineterm="", n=1)
    return "\n".join(_without_heads(lines))


def _without_heads(lines: Iterable[str]) -> Iterator[str]:
    hunks = 0
    for line in lines:
        if line.startswith("@@"):
            hunks += 1
            if hunks > 1:
                yield "..."
        elif hunks:
            yield line


def _key(name: str) -> str:
    """An option's name as TOML writes a key."""
    return name if name.replace("-", "").isalnum() and name.isascii() else f'"{name}"'
