"""A raw material as the rules see it: its names, its classes, and facts that depend on the product."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import Any, TypeVar

from ..formula import vocabulary
from ..formula.model import Fact, Product
from ..formula.names import fold
from ..formula.units import Range
from ..lazy import cached_property

T = TypeVar("T")

MOST_WORKED_OUT = 200
"""Answers that a material keeps, for kinds of product and markets; past them it begins anew."""
_RANGES = ("ph range", "percent range", "temperature range", "number range")


class Material:
    """A raw material. name: its heading in the reference, or as written where the reference does not know it.

    facts: property -> all that is said of it. classes: its classes with all wider ones. known: whether anything is
    known beyond the name. house: described in the formula's own files.
    """

    __slots__ = ("__dict__", "_worked_out", "classes", "facts", "house", "known", "name")

    def __init__(
        self,
        name: str,
        facts: Mapping[str, tuple[Fact, ...]],
        classes: frozenset[str],
        known: bool = True,
        house: bool = False,
    ) -> None:
        self.name = name
        self.facts = facts
        self.classes = classes
        self.known = known
        self.house = house
        self._worked_out: dict[Hashable, Any] = {}

    def __repr__(self) -> str:
        return f"Material({self.name!r})"

    def is_a(self, *classes: str) -> bool:
        """Whether it belongs to any of the classes."""
        return not self.classes.isdisjoint(classes)

    def fact(self, property: str, product: Product | None = None, **extra: str) -> Fact | None:
        """The fact to go by: of those that fit the product and the extra conditions, the most particular one.

        extra narrows by conditions such as in="water". None when nothing is known or nothing fits.
        """
        facts = self.facts.get(property)
        if facts is None:
            return None
        if len(facts) == 1 and not extra and not facts[0].when:
            return facts[0] if facts[0].used else None
        best: Fact | None = None
        most = -1
        for fact in facts:
            fit = (_fit(fact, product) if fact.when else 0) if fact.used else -1
            if fit <= most:
                continue
            if extra and any(dict(fact.extra).get(key.rstrip("_")) != value for key, value in extra.items()):
                continue
            best, most = fact, fit
        return best

    def value(self, property: str, product: Product | None = None, **extra: str) -> Any:
        """The value of fact(), or None."""
        if property not in self.facts:
            return None
        fact = self.fact(property, product, **extra)
        return None if fact is None else fact.value

    def once(self, asked: Hashable, work: Callable[[], T]) -> T:
        """What work() gives, worked out once for this material however many formulas hold it.

        asked: what is worked out, with all that it depends on beside the material itself: the work may read neither the
        formula nor the day unless they are part of it.
        """
        known = self._worked_out
        if asked not in known:
            if len(known) >= MOST_WORKED_OUT:
                known.clear()
            known[asked] = work()
        found: T = known[asked]
        return found

    @cached_property
    def cas(self) -> tuple[str, ...]:
        """Its CAS numbers; empty where none is known."""
        return tuple(self.value("CAS") or ())

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Its INCI name and every other name it is known by."""
        inci = self.value("INCI")
        us = self.value("INCI US")
        also: Iterable[str] = self.value("also") or ()
        return tuple(dict.fromkeys(name for name in (self.name, inci, us, *also) if name))

    @cached_property
    def folded_names(self) -> tuple[str, ...]:
        """Its names as they are compared."""
        return tuple(fold(name) for name in self.names)

    @cached_property
    def inci(self) -> str:
        """Its INCI name, else the name it was found by."""
        return self.value("INCI") or self.name

    @cached_property
    def contains(self) -> tuple[tuple[str, float], ...]:
        """(INCI name, % w/w) of what a blend or solution consists of; empty for a single substance."""
        return tuple(self.value("contains") or ())

    @cached_property
    def molar_mass(self) -> float | None:
        """g/mol from its formula; None where it has none."""
        fact = self.fact("molar mass")
        return None if fact is None else fact.value

    @cached_property
    def releases(self) -> dict[str, float]:
        """Weight share of what it turns into or is counted as: {folded name: grams per gram}."""
        return {fold(name): float(share) for name, share in self.value("release share") or ()}

    def quarrels(self) -> tuple[tuple[str, str], ...]:
        """(material or class, what happens) of what it does not go with."""
        return tuple((other, effect) for other, effect in self.value("quarrels with") or ())


def _fit(fact: Fact, product: Product | None) -> int:
    """How particularly a fact fits the product: the number of things its condition speaks of; -1 where it does not fit."""
    if product is None:
        return -1
    holds: dict[str, bool] = {}
    for word in fact.when:
        kind, there = _spoken_of(word, product)
        holds[kind] = holds.get(kind, False) or there
    return len(holds) if all(holds.values()) else -1


def _spoken_of(word: str, product: Product) -> tuple[str, bool]:
    """What part of the product a condition speaks of, and whether it holds there."""
    if word in vocabulary.USES:
        return "use", word == product.use
    if word in vocabulary.USERS:
        return "users", word in product.users
    if word in vocabulary.AREAS:
        return "area", word in product.area
    return "form", word == product.form


def fact_from_json(data: list[Any], property: str, kind: str, unit: str) -> Fact:
    """The fact in its compiled form: [value, when, source, certainty, used, note, extra]."""
    value, when, source, certainty, used, note, extra = data
    if kind in _RANGES:
        value = Range(*value)
    elif isinstance(value, list):
        value = tuple(tuple(item) if isinstance(item, list) else item for item in value)
    return Fact(
        property, value, unit, tuple(when), tuple(source), certainty, used, note, tuple((k, v) for k, v in extra)
    )
