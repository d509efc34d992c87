"""The settings in force, each with where it was written."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from ..formula.model import AS_USUAL, Unstated
from ..formula.names import listed
from ..packs import own_file
from ..records import NamedTuple
from ..review.model import THRESHOLD
from ..review.rule import Option, Rule
from ..review.settings import FILE, Given, Settings, shown
from ..review.words import celsius, grams, number
from .safe_text import one_line

FORMAT = 1
BUILT_IN = "built in"
_WIDEST = (48, 20)


class Row(NamedTuple):
    """One setting as people read it."""

    name: str
    value: str
    where: str
    reason: str = ""


# --- for a person


def page(path: str, settings: Settings, rules: Sequence[Rule], width: int) -> Iterator[str]:
    """The settings as lines for a person."""
    yield one_line(f"Settings for {path}")
    yield from _wrapped(_origin(settings), width, "  ")
    yield from _block("Reviews", [_row("threshold", settings.threshold, THRESHOLD)], width)
    yield from _block("Where a formula does not say", _unstated(settings), width)
    yield from _block("Folders that a search passes by", _paths(settings.leave_out), width)
    yield from _block("House rule files", _paths(settings.house_files), width)
    yield from _block("Silent rules", _rulings(settings.silent, {rule.id: "silent" for rule in rules}), width)
    yield from _block("Rules with another severity", list(_regraded(settings, rules)), width)
    yield from _block("Options of rules", [_option(settings, rule, o) for rule in rules for o in rule.options], width)
    kept = sum(rule.id not in settings.silent and rule.id not in settings.severity for rule in rules)
    yield ""
    yield from _wrapped(f"{kept} of {len(rules)} rules are as declared; formcheck rules lists them.", width, "")
    yield from _wrapped(f"Packs of your own are named in {shown(own_file())}, or with --pack.", width, "")


def _origin(settings: Settings) -> str:
    if not settings.files:
        return f"no {FILE} at or above it: everything is as built in"
    first, *rest = map(shown, settings.files)
    return f"from {first}" + (f", which builds on {listed(rest)}" if rest else "")


def _block(title: str, rows: Sequence[Row], width: int) -> Iterator[str]:
    if not rows:
        return
    names, values = (min(widest, max(len(row[column]) for row in rows)) for column, widest in enumerate(_WIDEST))
    yield ""
    yield title
    for row in rows:
        yield f"  {one_line(row.name):<{names}}  {one_line(row.value):<{values}}  {one_line(row.where)}".rstrip()
        yield from _wrapped(row.reason, width, "      ")


def _wrapped(text: str, width: int, indent: str) -> list[str]:
    return textwrap.wrap(one_line(text), width, initial_indent=indent, subsequent_indent=indent)


def _row(name: str, given: Given | None, usual: str, shows: str | None = None) -> Row:
    if given is None:
        return Row(name, usual, BUILT_IN)
    return Row(name, shows or str(given.value), given.where, given.reason)


def _unstated(settings: Settings) -> list[Row]:
    mine, usual = _values(settings.unstated), _values(AS_USUAL)
    return [_row(name, settings.given.get(name), usual[name], mine[name]) for name in mine]


def _values(unstated: Unstated) -> dict[str, str]:
    balance = unstated.balance_g
    return {
        "room": celsius(unstated.room_celsius),
        "balance": "none" if balance is None else grams(balance),
        "markets": ", ".join(unstated.markets),
    }


def _paths(paths: Iterable[Given]) -> list[Row]:
    return [Row(shown(given.value), "", given.where) for given in paths]


def _rulings(given: Mapping[str, Given], values: Mapping[str, str]) -> list[Row]:
    return [Row(rule, values[rule], one.where, one.reason) for rule, one in given.items()]


def _regraded(settings: Settings, rules: Iterable[Rule]) -> Iterator[Row]:
    for rule in rules:
        given = settings.severity.get(rule.id)
        if given is not None:
            yield Row(rule.id, f"{given.value} (declared {rule.severity})", given.where, given.reason)


def _option(settings: Settings, rule: Rule, option: Option) -> Row:
    given = settings.options.get(rule.id, {}).get(option.name)
    value = option.default if given is None else given.value
    return _row(f"{rule.id}, {option.name}", given, f"{number(value)} {option.unit}", f"{number(value)} {option.unit}")


# --- as data


def as_data(path: str, settings: Settings, rules: Iterable[Rule]) -> dict[str, Any]:
    """The settings as plain data; where is null for what is built in."""
    return {
        "format": FORMAT,
        "path": path,
        "files": list(settings.files),
        "threshold": _datum(settings.threshold, THRESHOLD),
        "unstated": {
            "room": {**_datum(settings.given.get("room"), AS_USUAL.room_celsius), "unit": "°C"},
            "balance": {**_datum(settings.given.get("balance"), None), "unit": "g"},
            "markets": _datum(settings.given.get("markets"), AS_USUAL.markets),
        },
        "leave-out": [_datum(given, None) for given in settings.leave_out],
        "house-rules": [_datum(given, None) for given in settings.house_files],
        "rules": [_rule(settings, rule) for rule in rules],
    }


def _rule(settings: Settings, rule: Rule) -> dict[str, Any]:
    options = settings.options.get(rule.id, {})
    return {
        "rule": rule.id,
        "family": rule.family,
        "silent": _datum(settings.silent.get(rule.id), False),
        "severity": {**_datum(settings.severity.get(rule.id), rule.severity), "declared": rule.severity},
        "options": {
            option.name: {**_datum(options.get(option.name), option.default), "unit": option.unit}
            for option in rule.options
        },
    }


def _datum(given: Given | None, usual: Any) -> dict[str, Any]:
    if given is None:
        return {"value": list(usual) if isinstance(usual, tuple) else usual, "where": None}
    value = given.value
    if isinstance(value, tuple):
        value = list(value)
    elif value is not None and not isinstance(value, (str, bool, float)):
        value = float(value)
    where = {"file": given.file, "line": given.place.line, "column": given.place.column}
    return {"value": value, "where": where, **({"reason": given.reason} if given.reason else {})}
