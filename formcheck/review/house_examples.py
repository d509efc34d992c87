"""The examples of house rules, run: the flawed formula has to set its rule off, the mended one has to keep it quiet."""

from __future__ import annotations

import os
from collections.abc import Iterator

from ..bench.worksheet import Worksheet
from ..formula.names import fold, suggestion
from ..reading.document import Problem, Unreadable
from ..records import NamedTuple
from .house import HouseRule
from .rule import Finding, Unchecked
from .run import Reviewer, run_rules
from .settings import AS_DECLARED


class Tried(NamedTuple):
    """A rule whose examples were run. findings: of the flawed formula; problems: where it does not do what it is meant to."""

    rule: HouseRule
    findings: tuple[Finding, ...]
    problems: tuple[Problem, ...]


class Bench:
    """Runs examples, without any configuration: what they need they hold. Materials files beside a rule file serve them."""

    def __init__(self) -> None:
        self.reviewer = Reviewer(settings=AS_DECLARED)

    def try_rule(self, rule: HouseRule) -> Tried:
        """Both examples of a rule, and whether anything knows the materials that it names."""
        problems: list[Problem] = []
        flawed, mended = (self._sheet(rule, which, problems) for which in ("flawed", "mended"))
        findings: tuple[Finding, ...] = ()
        if flawed is not None:
            findings, unchecked = self._run(rule, flawed, problems)
            if not findings:
                problems.append(Problem(rule.place, "the flawed formula does not set it off" + _why(unchecked)))
        if mended is not None:
            left, unchecked = self._run(rule, mended, problems)
            if left:
                problems.append(Problem(rule.place, f"the mended formula still sets it off: {left[0].message}"))
            elif unchecked:
                problems.append(
                    Problem(rule.place, "the mended formula is quiet only because of this" + _why(unchecked))
                )
        problems.extend(_strangers(rule, [sheet for sheet in (flawed, mended) if sheet is not None]))
        return Tried(rule, findings, tuple(problems))

    def _sheet(self, rule: HouseRule, which: str, problems: list[Problem]) -> Worksheet | None:
        text = getattr(rule, which)
        path = os.path.join(os.path.dirname(rule.file), f"{rule.id}.{which}.formula.yaml")
        try:
            return self.reviewer.sheet(path, f"{text}\n".encode())
        except Unreadable as error:
            for problem in error.problems:
                where = f"line {problem.place.line}, column {problem.place.column} of the {which} formula"
                problems.append(Problem(rule.place, f"{where}: {problem.message}"))
            return None

    def _run(
        self, rule: HouseRule, sheet: Worksheet, problems: list[Problem]
    ) -> tuple[tuple[Finding, ...], tuple[Unchecked, ...]]:
        findings, unchecked, faults = run_rules([rule], sheet)
        problems.extend(Problem(rule.place, fault.what) for fault in faults)
        return findings, unchecked


def _why(unchecked: tuple[Unchecked, ...]) -> str:
    return f": not stated is {'; '.join(item.needs for item in unchecked)}" if unchecked else ""


def _strangers(rule: HouseRule, sheets: list[Worksheet]) -> Iterator[Problem]:
    """Materials that the rule names and that nothing knows: a slip of the pen would never match."""
    lines = {fold(item.line.name) for sheet in sheets for item in sheet.items}
    for name, place in rule.materials:
        if sheets and fold(name) not in lines and not any(sheet.book.find(name) for sheet in sheets):
            known = [*sheets[0].reference.headings, *lines]
            message = f"«{name}» is a material that neither the reference nor the examples know"
            yield Problem(place, message + suggestion(name, known))
