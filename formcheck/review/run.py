"""One file through the whole review: read, understood, computed, checked, settled."""

from __future__ import annotations

import os
from collections.abc import Generator, Iterable
from datetime import date
from itertools import chain, islice
from typing import Any

from ..bench.composition import MOST_PARTS
from ..bench.worksheet import Worksheet
from ..formula.build import build, build_materials
from ..formula.model import Formula, HouseMaterial
from ..formula.names import suggestion
from ..plugins import Fault, Plugins, builtin_package, gather
from ..reading import files, places
from ..reading.document import Problem, Unreadable
from ..reading.places import folder_of
from ..records import NamedTuple
from ..reference.store import MaterialBook, Reference
from .model import HOLD, READY, THRESHOLD, UNREAD, Accepted, Regraded, Review, Silenced, at_or_above
from .needs import missing
from .rule import SEVERITIES, Finding, Rule, Unchecked
from .settings import Configuration, Settings

FEW = 20
"""Fewer files than this are simply reviewed: to look for what is kept, or to start processes, would cost more."""
MATERIALS_FILES = ("materials.yaml", "materials.yml", "materials.toml", "materials.json")


class Reviewed(NamedTuple):
    """A review with the worksheet it rests on; sheet is None where the file could not be read."""

    review: Review
    sheet: Worksheet | None = None


class Task(NamedTuple):
    """A file to review. data: its bytes, where they have been read; key: under which its review is kept, if at all."""

    path: str
    data: bytes | None = None
    key: bytes | None = None


class Beside(NamedTuple):
    """What materials files say that serve a folder, outermost first. texts: the files, with what stood in each."""

    materials: tuple[HouseMaterial, ...] = ()
    texts: tuple[tuple[str, str], ...] = ()


_NOTHING_BESIDE = Beside()


class Reviewer:
    """Reviews formula files, one after another, with one set of rules and one reference.

    threshold: the lowest severity that puts a formula on hold, whatever the configuration says; today: the date by which
    deviations are judged; settings: those for every file, in place of the configuration files beside them. usual: whether
    reference and settings are those that anybody's review of the same file would find.
    """

    def __init__(
        self,
        threshold: str | None = None,
        plugins: Plugins | None = None,
        reference: Reference | None = None,
        today: date | None = None,
        settings: Settings | None = None,
    ) -> None:
        self.threshold = threshold or THRESHOLD
        self.asked_threshold = threshold
        self._settings = settings
        self.usual = settings is None and reference is None
        self.plugins = plugins or gather()
        self.reference = reference or self.plugins.reference()
        self.rules: list[Rule] = self.plugins.rules()
        self.readers = self.plugins.readers()
        self.today = today or date.today()
        self.configuration = Configuration(self.rules, self.reference)
        self._beside: dict[str, Beside] = {}
        self._books: dict[int, tuple[tuple[HouseMaterial, ...], MaterialBook]] = {}

    def review(self, path: str, data: bytes | None = None) -> Review:
        """The review of one file; data is given where its bytes are at hand (standard input). Never raises for bad input."""
        review, sheet = self.review_sheet(path, data)
        if sheet is not None:
            sheet.let_go()
        return review

    def review_sheet(self, path: str, data: bytes | None = None) -> Reviewed:
        """The review of one file with the worksheet behind it, for reports that draw; arguments as in review()."""
        try:
            sheet = self.sheet(path, data)
        except Unreadable as error:
            return Reviewed(Review(path, os.path.basename(path), UNREAD, errors=error.problems))
        return Reviewed(self.judge(sheet, path), sheet)

    def judge(self, sheet: Worksheet, path: str) -> Review:
        """The review of a worksheet at hand, as of one whose batch was scaled; path: the file it comes from."""
        formula = sheet.formula
        settings = self.settings(path)
        sheet.options = settings.values
        findings, unchecked, faults = self.check(sheet, settings.house)
        findings, accepted = settle(findings, formula, self.today)
        findings, silenced, regraded = configured(findings, settings)
        threshold = self.threshold_of(settings)
        held = any(at_or_above(finding.severity, threshold) for finding in findings)
        verdict = HOLD if held else UNREAD if faults else READY
        return Review(
            path,
            formula.name,
            verdict,
            findings,
            accepted,
            tuple(item for item in unchecked if item.rule not in settings.silent),
            (),
            faults,
            self.tables(sheet),
            formula.code or "",
            silenced,
            regraded,
            threshold,
        )

    def settings(self, path: str) -> Settings:
        """The settings that serve a file; `-` is served as a file of the working folder is. Raises BadSettings."""
        return self._settings or self.configuration.of(folder_of(path))

    def threshold_of(self, settings: Settings) -> str:
        """The threshold as asked for, else the configuration's, else the usual one."""
        if self.asked_threshold is None and settings.threshold is not None:
            return str(settings.threshold.value)
        return self.threshold

    def sheet(self, path: str, data: bytes | None = None) -> Worksheet:
        """The worksheet of one file. Raises Unreadable."""
        folder = folder_of(path)
        settings = self._settings or self.configuration.of(folder)
        formula = build(files.read(path, data, self.readers), lambda: self.reference.properties, settings.unstated)
        beside = self.beside(folder).materials
        self.check_deviations(formula, settings.house)
        sheet = Worksheet(formula, self._book(formula, beside), self.today, settings.values)
        if len(sheet.composition.parts) > MOST_PARTS:
            message = f"more than {MOST_PARTS} parts of blends; a formula with so many is not reviewed"
            raise Unreadable(Problem(formula.phases_place, message))
        return sheet

    def _book(self, formula: Formula, beside: tuple[HouseMaterial, ...]) -> MaterialBook:
        """The materials' names for a formula; one that describes none itself shares them with its like."""
        if formula.materials:
            return self.reference.for_formula(formula, beside)
        kept = self._books.get(id(beside))  # the tuple is kept as well, so that no other can have its id
        if kept is None:
            kept = self._books[id(beside)] = (beside, self.reference.for_formula(formula, beside))
        return kept[1]

    def check(
        self, sheet: Worksheet, house: Iterable[Rule] = ()
    ) -> tuple[tuple[Finding, ...], tuple[Unchecked, ...], tuple[Fault, ...]]:
        """Every rule over one worksheet, those of the house too. A rule that raises is a fault of that rule; the others go on."""
        return run_rules((*self.rules, *house), sheet)

    def check_deviations(self, formula: Formula, house: Iterable[Rule] = ()) -> None:
        """A deviation from a rule that does not exist would hide nothing and protect nobody. Raises Unreadable."""
        ids = {rule.id for rule in (*self.rules, *house)} if formula.deviations else set()
        wrong = [d for d in formula.deviations if d.rule not in ids]
        if wrong:
            raise Unreadable(*(Problem(d.place, f"«{d.rule}» is no rule{suggestion(d.rule, ids)}") for d in wrong))

    def materials_beside(self, path: str) -> tuple[HouseMaterial, ...]:
        """The house's materials for a file: the materials files of its folder and of those above, outermost first.

        The search ends at a repository's root. Raises Unreadable, the file named in the message.
        """
        return self.beside(folder_of(path)).materials

    def beside(self, folder: str) -> Beside:
        """The house's materials that serve a folder, with the files they were read from. Raises Unreadable."""
        passed = []
        while folder not in self._beside:
            passed.append((folder, self._beside_in(folder)))
            higher = places.above(folder)
            if higher == folder or places.is_root(folder):
                break
            folder = higher
        found = self._beside.get(folder, _NOTHING_BESIDE)
        for each, own in reversed(passed):
            if own is not _NOTHING_BESIDE:
                found = Beside((*found.materials, *own.materials), (*found.texts, *own.texts))
            self._beside[each] = found
        return found

    def _beside_in(self, folder: str) -> Beside:
        for name in MATERIALS_FILES:
            path = places.joined(folder, name)
            if places.is_file(path):
                try:
                    document = files.read(path)
                    materials = build_materials(document, lambda: self.reference.properties)
                    return Beside(materials, ((path, document.text),))
                except Unreadable as error:
                    raise Unreadable(
                        *(
                            Problem(
                                problem.place,
                                f"in {path}:{problem.place.line}:{problem.place.column}: {problem.message}",
                            )
                            for problem in error.problems
                        )
                    ) from None
        return _NOTHING_BESIDE

    def tables(self, sheet: Worksheet) -> tuple[str, ...]:
        """The legal tables by which this formula was judged, with their dates."""
        try:
            return tuple(sheet.legal.date(market) for market in sheet.product.markets if market in sheet.legal.markets)
        except ImportError:
            return ()


def one_after_another(items: Iterable[Task | Reviewed], reviewer: Reviewer) -> Generator[Reviewed, None, None]:
    """Every task with its review and worksheet; what is reviewed passes through."""
    for item in items:
        yield reviewer.review_sheet(item.path, item.data) if isinstance(item, Task) else item


def reviews_of(
    items: Iterable[Task | Reviewed],
    reviewer: Reviewer,
    packs: Iterable[str] = (),
    processes: int | None = None,
    keep: bool = True,
) -> Generator[Reviewed, None, None]:
    """Reviews without worksheets, by the cheapest way: few files one after another, more as reviewed_here() has it."""
    rest = iter(items)
    few = list(islice(rest, FEW))
    if len(few) < FEW:
        return one_after_another(few, reviewer)
    from .here import reviewed_here

    return reviewed_here(chain(few, rest), reviewer, packs, processes, keep)


def run_rules(
    rules: Iterable[Rule], sheet: Worksheet
) -> tuple[tuple[Finding, ...], tuple[Unchecked, ...], tuple[Fault, ...]]:
    """Some rules over one worksheet: findings in their order, what was not checked, and the faults of rules."""
    found: list[Finding] = []
    unchecked: list[Unchecked] = []
    faults: list[Fault] = []
    lacking: dict[str, str | None] = {}
    for rule in rules:
        try:
            if not rule.concerns(sheet):
                continue
            if rule.needs:
                for name in rule.needs:
                    if name not in lacking:
                        lacking[name] = missing(name, sheet)
                asks = [ask for name in rule.needs if (ask := lacking[name])]
                if asks:
                    unchecked.extend(Unchecked(rule.id, ask) for ask in asks)
                    continue
            for result in rule.check(sheet):
                if isinstance(result, Finding):
                    found.append(result)
                elif isinstance(result, Unchecked):
                    unchecked.append(result)
                else:
                    raise TypeError(f"the rule gave {result!r:.60}, where a finding is expected")
        except Exception as error:
            faults.append(Fault(whose(rule), f"failed on this formula: {type(error).__name__}: {error}"))
    found.sort(key=_order)
    return tuple(dict.fromkeys(found)), tuple(dict.fromkeys(unchecked)), tuple(faults)


def whose(rule: Rule) -> str:
    """A rule's id, with the pack it comes from where that is not ours."""
    return rule.id if rule.pack in ("", builtin_package().__name__) else f"{rule.id} of {rule.pack}"


def _order(finding: Finding) -> tuple[Any, ...]:
    return (SEVERITIES.index(finding.severity), finding.place, finding.rule, finding.message)


def settle(
    findings: Iterable[Finding], formula: Formula, today: date
) -> tuple[tuple[Finding, ...], tuple[Accepted, ...]]:
    """Findings that count, and those that the formula's deviations accept.

    A deviation may name one material (`of`); past its last day it accepts nothing, and the finding says so.
    """
    counting: list[Finding] = []
    accepted: list[Accepted] = []
    for finding in findings:
        matching = [
            d for d in formula.deviations if d.rule == finding.rule and (d.of is None or d.of in finding.materials)
        ]
        valid = [d for d in matching if d.until is None or d.until >= today]
        if valid:
            accepted.append(Accepted(finding, valid[0]))
        elif matching:
            late = matching[0].until
            counting.append(
                finding._replace(message=f"{finding.message} (the deviation that accepted this ended on {late})")
            )
        else:
            counting.append(finding)
    return tuple(counting), tuple(accepted)


def configured(
    findings: tuple[Finding, ...], settings: Settings
) -> tuple[tuple[Finding, ...], tuple[Silenced, ...], tuple[Regraded, ...]]:
    """Findings that count, those that the configuration silences, and those it gives another severity."""
    if not settings.silent and not settings.severity:
        return findings, (), ()
    counting: list[Finding] = []
    silenced: list[Silenced] = []
    regraded: list[Regraded] = []
    for finding in findings:
        silent, severity = settings.silent.get(finding.rule), settings.severity.get(finding.rule)
        if silent is not None:
            silenced.append(Silenced(finding, silent.reason, silent.where))
        elif severity is not None and severity.value != finding.severity:
            changed = finding._replace(severity=severity.value)
            regraded.append(Regraded(changed, finding.severity, severity.reason, severity.where))
            counting.append(changed)
        else:
            counting.append(finding)
    return tuple(sorted(counting, key=_order)), tuple(silenced), tuple(regraded)
