"""A mended formula held against its exercise: reviewed, and compared with the flawed one it was made from."""

from __future__ import annotations

import os

from ..bench.worksheet import Worksheet
from ..formula.model import Formula
from ..formula.names import fold
from ..records import NamedTuple
from .lesson_sheet import Exercise, read_bytes
from .model import Review, at_or_above
from .rule import Finding
from .run import Reviewer
from .words import names

_KEPT_SHARE = 0.5
"""Of the flawed formula's materials; with fewer it is another formula."""


class Case(NamedTuple):
    """A formula of an exercise with all that is known of it."""

    sheet: Worksheet
    review: Review


class Mending(NamedTuple):
    """What became of an exercise's flaws in a file.

    mended, left: rules of flaws; fresh: findings that would hold the file back and that the exercise does not speak of;
    besides: why it does not count as the same formula mended, in sentences.
    """

    points: int
    of: int
    mended: tuple[str, ...]
    left: tuple[str, ...]
    fresh: tuple[Finding, ...]
    besides: tuple[str, ...]
    case: Case

    @property
    def whole(self) -> bool:
        """Whether every flaw is mended and nothing else stands in the way."""
        return not (self.left or self.fresh or self.besides)


def flawed(exercise: Exercise, reviewer: Reviewer) -> Case:
    """The flawed formula, reviewed. Raises Unreadable."""
    return _case(exercise.formula_path, exercise.text.encode(), reviewer)


def model_answer(exercise: Exercise, reviewer: Reviewer) -> Case | None:
    """The mended formula of the exercise, reviewed; None where there is none. Raises Unreadable."""
    if exercise.mended_path is None:
        return None
    return _case(exercise.mended_path, read_bytes(exercise.mended_path), reviewer)


def _case(path: str, data: bytes, reviewer: Reviewer) -> Case:
    sheet = reviewer.sheet(path, data)
    return Case(sheet, reviewer.judge(sheet, path))


def judge(path: str, data: bytes, exercise: Exercise, reviewer: Reviewer) -> Mending:
    """What became of the flaws in a file that a learner mended. Raises Unreadable.

    It is reviewed as if it lay beside the exercise: what a learner's own folder says of materials or rules does not count.
    """
    before = flawed(exercise, reviewer)
    place = os.path.join(os.path.dirname(exercise.formula_path), os.path.basename(path))
    sheet = reviewer.sheet(place, data)
    review = reviewer.judge(sheet, place)._replace(file=path)
    found = {finding.rule for finding in review.findings}
    held = found | {accepted.finding.rule for accepted in review.accepted} | _no_longer_checked(before.review, review)
    left = tuple(rule for rule in exercise.rules if rule in held)
    mended = tuple(rule for rule in exercise.rules if rule not in held)
    expected = {finding.rule for finding in before.review.findings} | set(exercise.allowed)
    fresh = tuple(
        finding
        for finding in review.findings
        if finding.rule not in expected and at_or_above(finding.severity, reviewer.threshold)
    )
    besides = tuple(_besides(exercise, before, sheet, review))
    of = 2 * len(exercise.flaws)
    points = max(0, 2 * len(mended) - len(fresh) - len(besides))
    return Mending(points, of, mended, left, fresh, besides, Case(sheet, review))


def _no_longer_checked(before: Review, after: Review) -> set[str]:
    return {item.rule for item in after.unchecked} - {item.rule for item in before.unchecked}


def _besides(exercise: Exercise, before: Case, sheet: Worksheet, review: Review) -> list[str]:
    """Ways of getting rid of a finding that do not mend it."""
    old, new = before.sheet.formula, sheet.formula
    told = [*_changed_product(old, new), *_lost(exercise, before.sheet, sheet), *_redescribed(before.sheet, new)]
    accepted = [each.finding.rule for each in review.accepted if each.finding.rule in exercise.rules]
    if accepted:
        told.append(f"{names(accepted)}: accepted under «deviations:», not mended")
    gone = [rule for rule in exercise.rules if rule in _no_longer_checked(before.review, review)]
    if gone:
        told.append(f"{names(gone)}: can no longer be checked, because something it needs is gone from the file")
    told.extend(f"the review is not whole: {fault.who} {fault.what}" for fault in review.faults)
    for part, there, still in (
        ("the procedure", old.procedure, new.procedure),
        ("the packaging", old.packaging, new.packaging),
        ("the batch size", old.batch.size_g, new.batch.size_g),
    ):
        if there and not still:
            told.append(f"{part} is gone")
    return told


def _changed_product(old: Formula, new: Formula) -> list[str]:
    changed = [part for part in ("use", "form", "area", "users", "markets") if _of(old, part) != _of(new, part)]
    return [f"the product was changed ({names(changed)}), where the formula was to be mended"] if changed else []


def _of(formula: Formula, part: str) -> object:
    value = getattr(formula.product, part)
    return frozenset(value) if isinstance(value, tuple) else value


def _lost(exercise: Exercise, old: Worksheet, new: Worksheet) -> list[str]:
    """Materials that had to stay, and a formula of which little is left."""
    there = {fold(component.name) for component in new.components} | {fold(item.name) for item in new.items}
    told = [
        f"{name} is gone, and without it this is another product" for name in exercise.keep if fold(name) not in there
    ]
    before = {fold(item.material.name) for item in old.items}
    left = before & {fold(item.material.name) for item in new.items}
    if len(left) < _KEPT_SHARE * len(before):
        told.append(f"only {len(left)} of its {len(before)} materials are left")
    return told


def _redescribed(old: Worksheet, new: Formula) -> list[str]:
    """Materials of the exercise that the file describes anew, so that another limit holds for them."""
    own = {fold(material.name): _facts(material.facts) for material in old.formula.materials}
    known = {fold(name) for item in old.items for name in (item.name, *item.material.names)} | set(own)
    again = [
        material.name
        for material in new.materials
        if fold(material.name) in known and _facts(material.facts) != own.get(fold(material.name))
    ]
    if not again:
        return []
    return [f"{names(again)}: described anew under «materials:»; the exercise goes by its own description"]


def _facts(facts: tuple[object, ...]) -> frozenset[str]:
    return frozenset(repr(fact._replace(place=None)) for fact in facts)  # type: ignore[attr-defined]
