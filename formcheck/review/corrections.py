"""Corrections: what has one right answer, as the smallest edits of the source text, kept only where they hold.

A rule that can mend what it finds has a generator `corrections(sheet, finding)` beside its check. Each correction is
tried on the text by itself: it is kept if the file still reads, the finding is gone, nothing critical or major is new
and the text was not there before. Then everything is reviewed anew, until there is nothing left to correct; so a second
run changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import TypeAlias

from ..bench.worksheet import Worksheet
from ..formula.model import Line
from ..formula.names import fold
from ..plugins import Fault
from ..reading import files
from ..reading.document import Place, Unreadable
from ..reading.editing import CannotEdit, Edit, Editor, applied, editor
from ..reading.text import decode
from ..records import NamedTuple
from .inci_names import inci_names
from .misreadings import mended
from .model import Review
from .rule import SEVERITIES, Finding, Rule
from .run import Reviewer

__all__ = [
    "ON_REQUEST",
    "CannotEdit",
    "Correction",
    "Edit",
    "Editor",
    "correct",
    "editor_of",
    "percent_edit",
    "written",
]

ON_REQUEST = {
    "inci-names": "give every known material its INCI name",
    "legal-maximum": "lower what is over a legal limit to the limit; the q.s. line or the water takes the rest",
    "grams": "write the grams that percent and batch size give",
    "rescale": "bring a total to 100 by scaling every line",
    "water": "bring a total to 100 with the water, however much that takes",
}
"""Corrections that are made only when they are asked for: each has one right answer once that is wanted."""
_MOST_ROUNDS = 100
_MOST_LINES = 10_000
"""So many lines are reviewed while corrections are tried, each with a review of the whole file."""
_FEWEST_TRIES = 5


class Correction(NamedTuple):
    """One way to mend a finding. what: what changes, in one line; asked: the name of a request of ON_REQUEST, or nothing."""

    what: str
    edits: tuple[Edit, ...]
    asked: str = ""


class Made(NamedTuple):
    """A correction that was made. rule: the rule's id, or the request that it answers; line: where it was found."""

    rule: str
    line: int
    what: str


class Refused(NamedTuple):
    """A correction that was tried and not kept, and why."""

    rule: str
    line: int
    what: str
    why: str


class Corrected(NamedTuple):
    """What came of correcting one text.

    open: requests of ON_REQUEST that would do something here and were not made; review: of the text as it is now.
    """

    file: str
    old: str
    new: str
    made: tuple[Made, ...]
    refused: tuple[Refused, ...]
    open: tuple[str, ...]
    review: Review


def correct(reviewer: Reviewer, path: str, data: bytes, asked: Iterable[str] = ()) -> Corrected:
    """Corrects the text of one formula file as far as there is one right answer; writes nothing.

    asked: requests of ON_REQUEST. Raises Unreadable for a file that cannot be read in full, except where all that is
    wrong with it are slips of writing with one right answer, and CannotEdit for one that cannot be edited at all.
    """
    text = decode(data)
    if not files.kind_of(path, text, reviewer.readers):
        raise CannotEdit("files of this format are read by a plug-in and cannot be edited here")
    made: list[Made] = []
    state = _first_state(reviewer, path, text, made)
    return _Rounds(reviewer, path, frozenset(asked)).run(text, state, made)


def editor_of(sheet: Worksheet) -> Editor:
    """Makes edits for the file of a worksheet. Raises CannotEdit."""
    document = sheet.formula.document
    return editor(document, files.kind_of(document.path, document.text, {}))


def percent_edit(edits: Editor, line: Line, text: str) -> Edit:
    """A line's percent becomes text, whether it stands by itself or beside grams and notes. Raises CannotEdit."""
    beside = f"{line.path}/percent"
    return edits.value(beside if beside in edits.spots else line.path, text)


def written(value: Decimal) -> str:
    """A number as a formula file has it: no exponent, no trailing zeros."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


# --- the rounds


class _State(NamedTuple):
    text: str
    sheet: Worksheet
    review: Review


class _Offer(NamedTuple):
    """A correction with what it is for."""

    name: str
    line: int
    correction: Correction
    rule: Rule | None


def _first_state(reviewer: Reviewer, path: str, text: str, made: list[Made]) -> _State:
    """The text as it reads, slips of writing mended where they are all that is wrong. Raises Unreadable."""
    try:
        return _state(reviewer, path, text)
    except Unreadable as error:
        better = mended(path, text, error.problems, reviewer.readers)
        if better is None:
            raise
        state = _state(reviewer, path, better.text)
        made.extend(Made("decimal comma", line, what) for line, what in better.what)
        return state


def _state(reviewer: Reviewer, path: str, text: str) -> _State:
    sheet = reviewer.sheet(path, text.encode())
    return _State(text, sheet, reviewer.judge(sheet, path))


class _Rounds:
    """Tries one correction after another, each on what the last one left."""

    def __init__(self, reviewer: Reviewer, path: str, asked: frozenset[str]) -> None:
        self.reviewer = reviewer
        self.path = path
        self.asked = asked
        self.rules = {rule.id: rule for rule in reviewer.rules}
        self.seen: set[str] = set()
        self.refused: list[Refused] = []
        self.open: list[str] = []
        self.faults: list[Fault] = []
        self.tries = 0

    def run(self, text: str, state: _State, made: list[Made]) -> Corrected:
        self.tries = max(_FEWEST_TRIES, _MOST_LINES // (text.count("\n") + 1))
        for _ in range(_MOST_ROUNDS):
            self.seen.add(state.text)
            self.refused, self.open, self.faults = [], [], []
            found = self.one(state)
            if found is None:
                break
            state = found[1]
            made.append(found[0])
        review = state.review._replace(faults=(*state.review.faults, *self.faults))
        wanted = tuple(name for name in ON_REQUEST if name in self.open)
        return Corrected(self.path, text, state.text, tuple(made), tuple(self.refused), wanted, review)

    def one(self, state: _State) -> tuple[Made, _State] | None:
        """The first correction that holds, with what it makes of the text."""
        for offer in self.offers(state):
            name, line, correction, _ = offer
            if correction.asked and correction.asked not in self.asked:
                self.open.append(correction.asked)
                continue
            if not self.tries:
                self.refuse(name, line, correction.what, "enough was tried for one run; run it again for this and the rest")
                return None
            self.tries -= 1
            try:
                after = self.tried(state, offer)
            except CannotEdit as reason:
                self.refuse(name, line, correction.what, str(reason))
                continue
            return Made(name, line, correction.what), after
        return None

    def offers(self, state: _State) -> Iterator[_Offer]:
        """What the rules offer for their findings, what was asked for before the rest, then what needs no finding."""
        for finding in state.review.findings:
            rule = self.rules.get(finding.rule)
            if rule is None or rule.corrections is None:
                continue
            offered = [_Offer(rule.id, finding.place.line, each, rule) for each in self.of_rule(rule, state, finding)]
            yield from sorted(offered, key=lambda offer: not offer.correction.asked)
        for name, own in _OWN.items():
            for place, what, make in own(state.sheet, editor_of(state.sheet)):
                if name not in self.asked:
                    self.open.append(name)
                    break
                try:
                    yield _Offer(name, place.line, Correction(what, make()), None)
                except CannotEdit as reason:
                    self.refuse(name, place.line, what, str(reason))

    def of_rule(self, rule: Rule, state: _State, finding: Finding) -> Iterator[Correction]:
        assert rule.corrections is not None
        try:
            yield from rule.corrections(state.sheet, finding)
        except CannotEdit as reason:
            self.refuse(rule.id, finding.place.line, finding.message, str(reason))
        except Exception as error:
            self.faults.append(Fault(rule.id, f"its corrections failed: {type(error).__name__}: {error}"))

    def refuse(self, name: str, line: int, what: str, why: str) -> None:
        self.refused.append(Refused(name, line, what, why))

    def tried(self, state: _State, offer: _Offer) -> _State:
        """The state after a correction. Raises CannotEdit where it must not be kept."""
        text = applied(state.text, offer.correction.edits)
        if text in self.seen:
            raise CannotEdit("it would lead back to a text that was there before")
        try:
            after = _state(self.reviewer, self.path, text)
        except Unreadable as error:
            raise CannotEdit(f"the file would not read afterwards: {error.problems[0].message}") from None
        if offer.rule is not None:
            _check_gone(offer.rule.id, state.review, after.review)
        elif _what_is_in(state.sheet) != _what_is_in(after.sheet):
            raise CannotEdit("the formula would be another one afterwards")
        _check_no_worse(state, after)
        return after


_Own: TypeAlias = "Callable[[Worksheet, Editor], Iterator[tuple[Place, str, Callable[[], tuple[Edit, ...]]]]]"
_OWN: dict[str, _Own] = {"inci-names": inci_names}
"""Corrections that need no finding, made on request: each yields place, what changes, and what makes the edits."""


def _check_gone(rule: str, before: Review, after: Review) -> None:
    """Whether a rule has one finding less, and not because it can no longer judge. Raises CannotEdit."""
    if _count(rule, after) >= _count(rule, before):
        raise CannotEdit("the finding would still be there")
    known = {item for item in before.unchecked if item.rule == rule}
    if any(item.rule == rule and item not in known for item in after.unchecked):
        raise CannotEdit("the rule could then no longer judge")


def _count(rule: str, review: Review) -> int:
    return sum(finding.rule == rule for finding in (*review.findings, *(each.finding for each in review.accepted)))


def _check_no_worse(before: _State, after: _State) -> None:
    """Raises CannotEdit where something critical or major is new, or a rule fails."""
    if len(after.review.faults) > len(before.review.faults):
        raise CannotEdit("a rule fails on the result")
    old = [_about(before.sheet, finding) for finding in before.review.findings]
    for finding in after.review.findings:
        severity, rule, materials = _about(after.sheet, finding)
        if severity > SEVERITIES.index("major"):
            continue
        if not any(rule == was and severity >= worst and materials <= about for worst, was, about in old):
            raise CannotEdit(f"it would bring {rule}: {finding.message}")


def _about(sheet: Worksheet, finding: Finding) -> tuple[int, str, frozenset[str]]:
    """Severity, rule and materials, whatever these are called."""
    materials = frozenset(_one_name(sheet, name) for name in finding.materials)
    return SEVERITIES.index(finding.severity), finding.rule, materials


def _one_name(sheet: Worksheet, name: str) -> str:
    material = sheet.book.find(name)
    return fold(material.name if material is not None else name)


def _what_is_in(sheet: Worksheet) -> list[tuple[str, str, Decimal | None]]:
    return [(item.phase.letter, item.material.name, item.percent) for item in sheet.items]
