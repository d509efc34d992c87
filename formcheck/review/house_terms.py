"""The conditions of house rules, worked out: does it hold for this formula, does it not, or can it not be told?

A condition answers with what was found, what was asked for and where it stands, so that a finding can say it; where
something is not stated it answers with what to add.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Protocol

from ..bench.composition import Part, total
from ..bench.thermal import SETTLED_K, Moment
from ..bench.worksheet import Worksheet
from ..formula.names import fold, listed
from ..formula.units import Range
from ..reading.document import Place
from ..records import NamedTuple
from ..reference.material import Material
from .needs import NEEDS
from .words import celsius, names, percent, span

At = tuple[Place, str]


class Told(NamedTuple):
    """One thing that was looked at: where it stands, what was found, what was asked for."""

    at: At
    found: str
    asked: str
    materials: tuple[str, ...] = ()
    step: int | None = None


class Answer(NamedTuple):
    """holds: None where it cannot be told; asks: what to add so that it can."""

    holds: bool | None
    told: tuple[Told, ...] = ()
    asks: tuple[str, ...] = ()


class Term(Protocol):
    """A condition. needs: parts of the formula (see needs.py) without which it can never be told."""

    @property
    def needs(self) -> tuple[str, ...]: ...

    def answer(self, sheet: Worksheet) -> Answer: ...


def _ask(need: str) -> Answer:
    return Answer(None, (), (NEEDS[need].ask,))


# --- several conditions


class AllOf(NamedTuple):
    """Every one of the conditions."""

    terms: tuple[Term, ...]

    @property
    def needs(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(need for term in self.terms for need in term.needs))

    def answer(self, sheet: Worksheet) -> Answer:
        answers = [term.answer(sheet) for term in self.terms]
        failing = [answer for answer in answers if answer.holds is False]
        if failing:
            return Answer(False, _all_told(failing))
        return _as_far_as_known(answers, True)


class AnyOf(NamedTuple):
    """At least one of the conditions."""

    terms: tuple[Term, ...]

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    def answer(self, sheet: Worksheet) -> Answer:
        answers = [term.answer(sheet) for term in self.terms]
        meeting = [answer for answer in answers if answer.holds]
        if meeting:
            return Answer(True, _all_told(meeting))
        result = _as_far_as_known(answers, False)
        return result._replace(told=_as_one(result.told)) if result.told else result


class NoneOf(NamedTuple):
    """None of the conditions."""

    terms: tuple[Term, ...]

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    def answer(self, sheet: Worksheet) -> Answer:
        answers = [term.answer(sheet) for term in self.terms]
        meeting = [answer for answer in answers if answer.holds]
        if meeting:
            return Answer(False, tuple(t._replace(asked=f"not {t.asked}") for t in _all_told(meeting)))
        return _as_far_as_known(answers, True)


def _all_told(answers: Iterable[Answer]) -> tuple[Told, ...]:
    return tuple(told for answer in answers for told in answer.told)


def _as_far_as_known(answers: list[Answer], verdict: bool) -> Answer:
    """The verdict, unless one of the answers is not known."""
    open_ones = [answer for answer in answers if answer.holds is None]
    if open_ones:
        return Answer(None, (), tuple(dict.fromkeys(ask for answer in open_ones for ask in answer.asks)))
    return Answer(verdict, _all_told(answers))


def _as_one(told: tuple[Told, ...]) -> tuple[Told, ...]:
    """Ways that all failed, as one."""
    found = listed(dict.fromkeys(each.found for each in told))
    asked = listed(dict.fromkeys(each.asked for each in told), "or")
    materials = tuple(dict.fromkeys(name for each in told for name in each.materials))
    steps = {each.step for each in told}
    return (Told(told[0].at, found, asked, materials, steps.pop() if len(steps) == 1 else None),)


# --- product, pack, claims, procedure


class Source(NamedTuple):
    """Where a word of the formula is found. read: what is stated, nothing where it is not; at: its place; need: its
    name in needs.py."""

    read: Callable[[Worksheet], tuple[str, ...]]
    at: Callable[[Worksheet], At]
    need: str = ""


def _product(key: str, need: str = "") -> Source:
    def read(sheet: Worksheet) -> tuple[str, ...]:
        value = getattr(sheet.product, key)
        return () if value is None else (value,) if isinstance(value, str) else value

    return Source(read, lambda s: (s.product.places.get(key, s.product.place), f"/product/{key}"), need)


def _pack(key: str, need: str) -> Source:
    def read(sheet: Worksheet) -> tuple[str, ...]:
        value = getattr(sheet.formula.packaging, key, None)
        if isinstance(value, bool):
            return ("yes" if value else "no",)
        return () if value is None else (value,)

    def at(sheet: Worksheet) -> At:
        pack = sheet.formula.packaging
        place = sheet.formula.place if pack is None else pack.places.get(key, pack.place)
        return place, f"/packaging/{key}"

    return Source(read, at, need)


SOURCES = {
    "use": _product("use", "use"),
    "form": _product("form", "form"),
    "area": _product("area", "area"),
    "users": _product("users", "users"),
    "market": _product("markets"),
    "container": _pack("container", "container"),
    "wall": _pack("wall", "wall"),
    "pack material": _pack("material", "pack material"),
    "carton": _pack("carton", "packaging"),
}


_FREE_WORDS = ("container", "pack material")
"""Written as the maker likes: `airless` is met by `airless bottle`."""


class Word(NamedTuple):
    """One of some words is what the formula states."""

    key: str
    words: tuple[str, ...]

    @property
    def needs(self) -> tuple[str, ...]:
        need = SOURCES[self.key].need
        return (need,) if need else ()

    def answer(self, sheet: Worksheet) -> Answer:
        source = SOURCES[self.key]
        stated = source.read(sheet)
        if not stated:
            return _ask(source.need or "packaging")
        same = _said if self.key in _FREE_WORDS else _same
        meets = any(same(word, text) for word in self.words for text in stated)
        told = Told(source.at(sheet), f"{self.key} {listed(stated)}", f"{self.key} {listed(self.words, 'or')}")
        return Answer(meets, (told,))


def _same(word: str, text: str) -> bool:
    return fold(word) == fold(text)


def _said(word: str, text: str) -> bool:
    """Whether a text holds the words, whole and in their order, without regard to case."""
    return re.search(rf"(?<!\w){re.escape(fold(word))}(?!\w)", fold(text)) is not None


class Claim(NamedTuple):
    """The label claims one of some words."""

    words: tuple[str, ...]

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    def answer(self, sheet: Worksheet) -> Answer:
        asked = f"a claim that says {listed((f'«{word}»' for word in self.words), 'or')}"
        found = [claim for claim in sheet.formula.claims if any(_said(word, claim.text) for word in self.words)]
        told = tuple(Told((claim.place, claim.path), f"claim «{claim.text}»", asked) for claim in found)
        return Answer(bool(found), told or (Told((sheet.formula.place, ""), "no such claim", asked),))


class Steps(NamedTuple):
    """Every one of some verbs stands in the procedure."""

    verbs: tuple[str, ...]

    @property
    def needs(self) -> tuple[str, ...]:
        return ("procedure",)

    def answer(self, sheet: Worksheet) -> Answer:
        formula = sheet.formula
        if not formula.procedure:
            return _ask("procedure")
        there = {step.verb for step in formula.procedure}
        missing = [verb for verb in self.verbs if verb not in there]
        shown = listed(f"«{verb}»" for verb in missing or self.verbs)
        at = (formula.procedure_place or formula.place, "/procedure")
        return Answer(not missing, (Told(at, f"{'no ' if missing else ''}step {shown}", f"the step {shown}"),))


class Figure(NamedTuple):
    """A figure of the formula lies in a range."""

    key: str
    wanted: Range

    @property
    def needs(self) -> tuple[str, ...]:
        return {"pH": ("pH",), "filled": ("procedure",)}.get(self.key, ())

    def answer(self, sheet: Worksheet) -> Answer:
        if self.key == "pH":
            return self._pH(sheet)
        return self._phases(sheet) if self.key == "phases" else self._filled(sheet)

    def _pH(self, sheet: Worksheet) -> Answer:
        if sheet.pH is None:
            return _ask("pH")
        told = Told(sheet.pH_anchor, f"pH {sheet.pH:g}", f"pH {span(self.wanted)}")
        return Answer(self.wanted.holds(sheet.pH), (told,))

    def _phases(self, sheet: Worksheet) -> Answer:
        count = len(sheet.formula.phases)
        told = Told((sheet.formula.phases_place, "/phases"), f"{count} phases", f"{span(self.wanted)} phases")
        return Answer(self.wanted.holds(count), (told,))

    def _filled(self, sheet: Worksheet) -> Answer:
        if not sheet.formula.procedure:
            return _ask("procedure")
        answers = []
        for filling in sheet.thermal.fillings:
            step = filling.step
            if filling.celsius is None:
                answers.append(Answer(None, (), (f"how warm it is filled: add «at:» to step {step.number}",)))
                continue
            found = f"filled at {celsius(filling.celsius)} at step {step.number}"
            told = Told((step.place, step.path), found, f"filled at {span(self.wanted, '°C')}", (), step.number)
            answers.append(Answer(self.wanted.holds(filling.celsius), (told,)))
        if not answers:
            return Answer(None, (), ("how warm it is filled: add the step «fill:» with «at:»",))
        return _every(answers)


def _every(answers: list[Answer]) -> Answer:
    failing = [answer for answer in answers if answer.holds is False]
    return Answer(False, _all_told(failing)) if failing else _as_far_as_known(answers, True)


# --- materials


class Selection(NamedTuple):
    """Which materials are meant: by name, by class, less some; phases: only in these vessels, as the phases are written."""

    materials: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    but_not_materials: tuple[str, ...] = ()
    but_not_classes: tuple[str, ...] = ()
    phases: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """As a message names it."""
        kinds = (*self.materials, *self.classes)
        less = (*self.but_not_materials, *self.but_not_classes)
        phases = f" in phase {listed(self.phases, 'or')}" if self.phases else ""
        return listed(kinds, "or") + (f" but {listed(less, 'or')}" if less else "") + phases

    def parts(self, sheet: Worksheet) -> list[Part]:
        """The lines that are meant, and of other lines what their blends contain of it. A line without a known percent
        counts as 0 %."""
        found = []
        whole = set()
        items = [item for item in sheet.items if not self.phases or item.phase.letter in self.phases]
        for item in items:
            if self._takes(sheet, item.material, item.line.name):
                whole.add(id(item))
                found.append(Part(item.material, item.percent or Decimal(0), item))
        for item in items:
            if id(item) not in whole and not self._left_out(sheet, item.material, item.line.name):
                found.extend(
                    part
                    for part in sheet.parts_of(item)
                    if part.blend is not None and self._takes(sheet, part.material)
                )
        return found

    def _takes(self, sheet: Worksheet, material: Material, line: str = "") -> bool:
        meant = material.is_a(*self.classes) or _named(sheet, self.materials, material, line)
        return meant and not self._left_out(sheet, material, line)

    def _left_out(self, sheet: Worksheet, material: Material, line: str = "") -> bool:
        return material.is_a(*self.but_not_classes) or _named(sheet, self.but_not_materials, material, line)


def _named(sheet: Worksheet, wanted: tuple[str, ...], material: Material, line: str) -> bool:
    """Whether a material is one of those named. What the house describes itself is known by its own name alone."""
    for name in wanted:
        if fold(name) in (fold(line), fold(material.name)):
            return True
        meant = None if sheet.book.described(name) else sheet.book.find(name)
        if meant is not None and fold(meant.name) == fold(material.name):
            return True
    return False


def _at(part: Part) -> At:
    return part.item.line.place, part.item.line.path


def _amounts(parts: Iterable[Part]) -> str:
    return names(f"{part.label} {percent(part.percent)}" for part in parts)


def _materials(parts: Iterable[Part]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(part.material.name for part in parts))


def _open_percent(parts: Iterable[Part]) -> bool:
    return any(part.item.percent is None for part in parts)


class Holds(NamedTuple):
    """Some of it is in the formula; with a range, so much of it in all. lacks: the contrary."""

    selection: Selection
    wanted: Range | None = None
    lacks: bool = False

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    def answer(self, sheet: Worksheet) -> Answer:
        parts = self.selection.parts(sheet)
        amount = f"{span(self.wanted, '%')} " if self.wanted else ""
        asked = f"{'no ' if self.lacks else ''}{amount}{self.selection.words}"
        if not parts:
            found = f"no {self.selection.words}"
            return Answer(self.lacks, (Told((sheet.formula.phases_place, "/phases"), found, asked),))
        if self.wanted and _open_percent(parts):
            return _ask("total")
        there = self.wanted is None or self.wanted.holds(float(total(part.percent for part in parts)))
        told = Told(_at(parts[0]), _amounts(parts), asked, _materials(parts))
        return Answer(there is not self.lacks, (told,))


class Sum(NamedTuple):
    """All of it together lies in a range, % w/w of the formula; none of it is 0 %."""

    selection: Selection
    wanted: Range

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    def answer(self, sheet: Worksheet) -> Answer:
        parts = self.selection.parts(sheet)
        if _open_percent(parts):
            return _ask("total")
        whole = total(part.percent for part in parts)
        found = _amounts(parts) or f"no {self.selection.words}"
        if len(parts) > 1:
            found = f"{found}, together {percent(whole)}"
        at = _at(max(parts, key=lambda part: part.percent)) if parts else (sheet.formula.phases_place, "/phases")
        told = Told(at, found, f"{span(self.wanted, '%')} of {self.selection.words}", _materials(parts))
        return Answer(self.wanted.holds(float(whole)), (told,))


class Every(NamedTuple):
    """Every one that is meant is as asked: its percent (of one material, its lines added up), the warmest it gets, its
    phase."""

    selection: Selection
    percent: Range | None = None
    warmest: Range | None = None
    phases: tuple[str, ...] = ()

    @property
    def needs(self) -> tuple[str, ...]:
        return ()

    def answer(self, sheet: Worksheet) -> Answer:
        parts = self.selection.parts(sheet)
        return _every([*self._doses(parts), *self._temperatures(sheet, parts), *self._places(parts)])

    def _doses(self, parts: list[Part]) -> Iterator[Answer]:
        if self.percent is None:
            return
        grouped: dict[str, list[Part]] = {}
        for part in parts:
            grouped.setdefault(fold(part.material.name), []).append(part)
        for group in grouped.values():
            if _open_percent(group):
                yield _ask("total")
                continue
            whole = total(part.percent for part in group)
            found = f"{names(part.label for part in group)} {percent(whole)}"
            told = Told(_at(group[0]), found, span(self.percent, "%"), _materials(group))
            yield Answer(self.percent.holds(float(whole)), (told,))

    def _temperatures(self, sheet: Worksheet, parts: list[Part]) -> Iterator[Answer]:
        if self.warmest is None:
            return
        met: dict[int, tuple[Moment, list[Part]]] = {}
        for part in parts:
            moment = sheet.thermal.hottest(part.item) if sheet.formula.procedure else None
            if moment is not None and moment.celsius is not None:
                met.setdefault(id(moment), (moment, []))[1].append(part)
            elif not sheet.formula.procedure:
                yield _ask("procedure")
            else:
                yield Answer(None, (), (f"how warm {part.item.name} gets: say it in the procedure, as «to: 75 °C»",))
        for moment, group in met.values():
            yield self._met(group, moment, moment.celsius or 0.0)

    def _met(self, parts: list[Part], moment: Moment, warmest: float) -> Answer:
        assert self.warmest is not None
        step = moment.step
        where = f"in vessel {moment.vessel} at step {step.number} ({step.verb})" if step else "from the start"
        told = Told(
            (step.place, step.path) if step else _at(parts[0]),
            f"{names(part.label for part in parts)} at {celsius(warmest)} {where}",
            span(self.warmest, "°C"),
            _materials(parts),
            step.number if step else None,
        )
        return Answer(self.warmest.holds(warmest, SETTLED_K), (told,))

    def _places(self, parts: list[Part]) -> Iterator[Answer]:
        if not self.phases:
            return
        asked = f"phase {listed(self.phases, 'or')}"
        for part in parts:
            letter = part.item.phase.letter
            told = Told(_at(part), f"{part.label} stands in phase {letter}", asked, _materials([part]))
            yield Answer(letter in self.phases, (told,))
