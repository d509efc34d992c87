"""Facts of a material as people read them, and as data."""

from __future__ import annotations

from typing import Any

from ..formula.model import Fact
from ..formula.properties import Property
from ..formula.units import Range
from ..review.words import number, span, time


def shown(fact: Fact, property: Property | None) -> str:
    """A fact's value with its unit, in words."""
    kind = property.kind if property else ""
    value = fact.value
    if kind == "duration":
        return time(value)
    if isinstance(value, Range):
        if value.low == value.high and value.low is not None:
            return f"{number(value.low)} {fact.unit}".rstrip()
        return span(value, fact.unit)
    if kind == "yes or no":
        return "yes" if value else "no"
    if kind == "quarrels":
        return "; ".join(f"{other}: {effect}" for other, effect in value)
    if kind in ("amounts", "grades"):
        return ", ".join(f"{name} {_plain(amount)}" for name, amount in value)
    if isinstance(value, (list, tuple)):
        return ", ".join(_plain(item) for item in value)
    return f"{_plain(value)} {fact.unit}".rstrip()


def condition(fact: Fact) -> str:
    """When a fact holds: product words and extra conditions, in words; empty for always."""
    parts = [", ".join(fact.when)] if fact.when else []
    parts.extend(f"{key} {text}" for key, text in fact.extra)
    return ", ".join(parts)


def told(fact: Fact, property: Property | None, cited: str = "") -> str:
    """A fact with all that belongs to it: value, condition, whether it is used, note, sources as given, certainty."""
    text = shown(fact, property)
    when = condition(fact)
    if when:
        text += f" ({when})"
    if not fact.used:
        text += ", on record but not used"
    if fact.note:
        text += f"; {fact.note}"
    sure = "" if fact.certainty == "high" else f" ({fact.certainty} certainty)"
    return f"{text} {cited}{sure}".rstrip()


def as_data(fact: Fact, property: Property | None) -> dict[str, Any]:
    """A fact as plain data: property, value, unit, condition, source, certainty, and used and note where they say something."""
    value: Any = fact.value
    kind = property.kind if property else ""
    if isinstance(value, Range):
        value = [value.low, value.high]
    elif kind in ("amounts", "grades", "quarrels"):
        value = [list(pair) for pair in value] if kind == "quarrels" else dict(value)
    elif isinstance(value, tuple):
        value = list(value)
    data = {
        "property": fact.property,
        "value": value,
        "unit": fact.unit or None,
        "condition": condition(fact) or None,
        "source": list(fact.source),
        "certainty": fact.certainty,
    }
    if not fact.used:
        data["used"] = False
    if fact.note:
        data["note"] = fact.note
    return data


def _plain(value: Any) -> str:
    return number(value) if isinstance(value, float) else str(value)
