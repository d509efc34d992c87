"""Quantities on the command line, with or without quotes: `--size 750 g`, `--units 12 x 50 ml`, `--loss 3 %`."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from ..bench.batch_size import Units
from ..formula import units
from ..formula.units import Misread
from ..reading.document import START, Scalar

_WORD = re.compile(r"[-+]?[\d.,]+\s*[a-z%/°]*|[x×*]|[\d.]+\s*[x×*]\s*[\d.,]+\s*[a-z]*|[a-z%/]{1,4}", re.I)
_UNITS = re.compile(r"\s*([-+]?[\d.,]+)\s*(?:[x×*]|packs? of)\s*(.+)", re.I)
_DENSITY = re.compile(r"\s*(.+?)\s*(?:g\s*/\s*ml)?\s*", re.I)


class Quantity(argparse.Action):
    """Takes the words that belong to a quantity; a word that does not is the file, which may stand after it."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option: str | None = None,
    ) -> None:
        words = [values] if isinstance(values, str) else list(values or ())
        own = [words[0], *(word for word in words[1:] if _WORD.fullmatch(word.strip()))]
        rest = words[1:] if len(own) == 1 else [word for word in words[1:] if word not in own]
        if len(rest) > 1:
            parser.error(f"argument {option}: «{' '.join(rest)}» is left over")
        if rest:
            namespace.file_after = rest[0]
        setattr(namespace, self.dest, " ".join(own))


def mass(text: str | None, what: str) -> Decimal | None:
    """Grams, more than nothing. what: named in messages. Raises Misread."""
    return None if text is None else _above_nothing(units.mass(_scalar(text), what), text, what)


def percent(text: str) -> Decimal:
    """A loss in percent, 0 to below 100. Raises Misread."""
    value = units.percent(_scalar(text), "a loss")
    if not 0 <= value < 100:
        raise Misread(f"«{text}» as a loss; it is a percent from 0 to below 100")
    return value


def density(text: str | None) -> float | None:
    """g/ml. Raises Misread."""
    if text is None:
        return None
    match = _DENSITY.fullmatch(text)
    value = units.decimal(_scalar(match.group(1) if match else text), "a density")
    if not Decimal("0.5") <= value <= 5:
        raise Misread(f"«{text}» as a density; a product has between 0.5 and 5 g/ml")
    return float(value)


def containers(text: str | None) -> Units | None:
    """`12 x 50 ml` or `12 x 50 g`. Raises Misread."""
    if text is None:
        return None
    match = _UNITS.fullmatch(text)
    if match is None:
        raise Misread(f"«{text}» where containers were expected; write them as 12 x 50 ml or 12 x 50 g")
    number = units.decimal(_scalar(match.group(1)), "the number of containers")
    if number < 1 or number != int(number) or number > 1_000_000:
        raise Misread(f"«{match.group(1)}» as the number of containers; it is a whole number from 1")
    return _filled(int(number), match.group(2))


def _filled(number: int, each: str) -> Units:
    what = "what one container holds"
    ml = _read(units.volume, each, what)
    if ml is not None:
        return Units(number, ml=_above_nothing(ml, each, what))
    g = _read(units.mass, each, what)
    if g is None:
        raise Misread(f"«{each}» as {what}; it is a number with ml, l, g, kg, mg, oz or lb (such as 50 ml)")
    return Units(number, g=_above_nothing(g, each, what))


def _read(reader: Callable[[Scalar, str], Decimal], text: str, what: str) -> Decimal | None:
    try:
        return reader(_scalar(text), what)
    except Misread:
        return None


def _above_nothing(value: Decimal, text: str, what: str) -> Decimal:
    if value <= 0:
        raise Misread(f"«{text}» as {what}; it has to be more than nothing")
    return value


def _scalar(text: str) -> Scalar:
    return Scalar(text.strip(), "text", START)
