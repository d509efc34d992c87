"""Two versions of a formula: what changed in it, and what that changed in the review."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import Any

from ..bench.composition import Item
from ..bench.worksheet import Worksheet
from ..formula.names import fold
from ..records import NamedTuple
from ..review.model import Review
from ..review.rule import Finding
from ..review.words import celsius, grams, listed, percent
from .steps import sentence


class Change(NamedTuple):
    """One difference. part: formula, procedure, product, ...; what: one sentence, as a maker would say it."""

    part: str
    what: str


class Comparison(NamedTuple):
    """changes: in the formula; gone, new, still: findings, matched by rule and by what they are about."""

    old: Review
    new: Review
    changes: tuple[Change, ...]
    gone: tuple[Finding, ...]
    appeared: tuple[Finding, ...]
    still: tuple[Finding, ...]


def compare(old_sheet: Worksheet, old: Review, new_sheet: Worksheet, new: Review) -> Comparison:
    """Holds two worksheets and their reviews against each other."""
    changes = (*_frame(old_sheet, new_sheet), *_lines(old_sheet, new_sheet), *_steps(old_sheet, new_sheet))
    before = {_identity(finding): finding for finding in old.findings}
    after = {_identity(finding): finding for finding in new.findings}
    return Comparison(
        old,
        new,
        changes,
        tuple(finding for key, finding in before.items() if key not in after),
        tuple(finding for key, finding in after.items() if key not in before),
        tuple(finding for key, finding in after.items() if key in before),
    )


def _identity(finding: Finding) -> tuple[str, ...]:
    """What makes two findings the same one: the rule and the materials, not the line or the numbers."""
    return (finding.rule, *sorted(finding.materials)) if finding.materials else (finding.rule, finding.path)


def _frame(old: Worksheet, new: Worksheet) -> Iterator[Change]:
    """Everything around the formula: name, product, batch, pH, pack, claims."""
    for part, label, read in _FRAME:
        before, after = read(old), read(new)
        if before != after:
            yield Change(part, f"{label}: {before or 'not stated'} -> {after or 'not stated'}")
    for claim in _missing(old, new):
        yield Change("claims", f"no longer claimed: {claim}")
    for claim in _missing(new, old):
        yield Change("claims", f"now claimed: {claim}")


def _missing(here: Worksheet, there: Worksheet) -> list[str]:
    other = {claim.text for claim in there.formula.claims}
    return [claim.text for claim in here.formula.claims if claim.text not in other]


def _range(value: tuple[float, float] | None) -> str:
    if value is None:
        return ""
    return f"{value[0]:g}" if value[0] == value[1] else f"{value[0]:g} to {value[1]:g}"


_FRAME: tuple[tuple[str, str, Any], ...] = (
    ("product", "name", lambda s: s.formula.name),
    ("product", "version", lambda s: s.formula.version or ""),
    ("product", "use", lambda s: s.product.use or ""),
    ("product", "form", lambda s: s.product.form or ""),
    ("product", "area", lambda s: listed(s.product.area)),
    ("product", "users", lambda s: listed(s.product.users)),
    ("product", "markets", lambda s: listed(s.product.markets)),
    ("batch", "batch size", lambda s: grams(s.formula.batch.size_g) if s.formula.batch.size_g else ""),
    ("batch", "balance", lambda s: grams(s.formula.batch.balance_g) if s.formula.batch.balance_g else ""),
    ("batch", "room", lambda s: celsius(s.formula.room_celsius)),
    ("finished", "pH", lambda s: _range(s.stated_pH)),
    (
        "finished",
        "measured pH",
        lambda s: f"{s.formula.finished.measured_pH:g}" if s.formula.finished.measured_pH is not None else "",
    ),
    ("pack", "container", lambda s: (s.formula.packaging.container or "") if s.formula.packaging else ""),
    ("pack", "pack material", lambda s: (s.formula.packaging.material or "") if s.formula.packaging else ""),
    ("pack", "wall", lambda s: (s.formula.packaging.wall or "") if s.formula.packaging else ""),
)


def _lines(old: Worksheet, new: Worksheet) -> Iterator[Change]:
    before, after = _by_material(old), _by_material(new)
    for key, items in before.items():
        if key not in after:
            yield Change("formula", f"{items[0].name} is gone, it was {_share(items)} in {_where(items)}")
    for key, items in after.items():
        was = before.get(key)
        if was is None:
            yield Change("formula", f"{items[0].name} is new, {_share(items)} in {_where(items)}")
            continue
        if _share(was) != _share(items):
            yield Change("formula", f"{items[0].name} {_share(was)} -> {_share(items)}")
        if _where(was) != _where(items):
            yield Change("formula", f"{items[0].name} moved from {_where(was)} to {_where(items)}")


def _by_material(sheet: Worksheet) -> dict[str, list[Item]]:
    found: dict[str, list[Item]] = {}
    for item in sheet.items:
        found.setdefault(fold(item.material.name), []).append(item)
    return found


def _share(items: list[Item]) -> str:
    known = [item.percent for item in items if item.percent is not None]
    text = percent(sum(known)) if len(known) == len(items) else "an open share"
    return text + (" (q.s.)" if any(item.line.is_remainder for item in items) else "")


def _where(items: list[Item]) -> str:
    return listed(f"phase {item.phase.letter}" for item in items)


def _steps(old: Worksheet, new: Worksheet) -> Iterator[Change]:
    before = [sentence(step) for step in old.formula.procedure]
    after = [sentence(step) for step in new.formula.procedure]
    for kind, a, b, c, d in difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind == "replace" and b - a == d - c:
            for was, now, number in zip(before[a:b], after[c:d], range(c + 1, d + 1)):
                yield Change("procedure", f"step {number}: {was} -> {now}")
        elif kind != "equal":
            yield from (Change("procedure", f"step {n} is gone: {text}") for n, text in enumerate(before[a:b], a + 1))
            yield from (Change("procedure", f"step {n} is new: {text}") for n, text in enumerate(after[c:d], c + 1))


def as_data(result: Comparison) -> dict[str, Any]:
    """A comparison as plain data."""
    from ..review.as_data import as_data as review_data

    new, old = review_data(result.new), review_data(result.old)

    def among(data: dict[str, Any], review: Review, wanted: tuple[Finding, ...]) -> list[Any]:
        chosen = {id(finding) for finding in wanted}
        return [row for row, finding in zip(data["findings"], review.findings) if id(finding) in chosen]

    return {
        "format": 1,
        "old": {"file": result.old.file, "name": result.old.name, "verdict": result.old.verdict},
        "new": {"file": result.new.file, "name": result.new.name, "verdict": result.new.verdict},
        "changes": [change._asdict() for change in result.changes],
        "findings gone": among(old, result.old, result.gone),
        "findings new": among(new, result.new, result.appeared),
        "findings still there": among(new, result.new, result.still),
    }


def text(result: Comparison) -> Iterator[str]:
    """A comparison as lines for a person."""
    yield f"{result.old.name} ({result.old.file})"
    yield f"  -> {result.new.name} ({result.new.file})"
    yield (
        f"verdict: {result.old.verdict} -> {result.new.verdict}"
        if result.old.verdict != result.new.verdict
        else f"verdict: {result.new.verdict}, as before"
    )
    yield ""
    if not result.changes:
        yield "The formula is the same."
    for part in dict.fromkeys(change.part for change in result.changes):
        yield part[:1].upper() + part[1:]
        yield from (f"  {change.what}" for change in result.changes if change.part == part)
    for title, findings in (
        ("Findings that are gone", result.gone),
        ("Findings that are new", result.appeared),
        ("Findings that are still there", result.still),
    ):
        if findings:
            yield ""
            yield f"{title} ({len(findings)})"
            yield from (
                f"  {finding.severity}, line {finding.place.line}, {finding.rule}: {finding.message}"
                for finding in findings
            )
