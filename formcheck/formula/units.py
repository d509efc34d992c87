"""Written quantities to numbers: the one place where text such as `75 °C`, `0.6 %` or `12 h` gets its meaning.

Every function takes the scalar as written and raises Misread with a sentence that says what was found and what was
expected. Temperatures come back in °C, times in seconds, masses in grams, volumes in millilitres.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from ..patterns import pattern
from ..reading.document import Node, Scalar, Sequence, describe
from ..records import NamedTuple
from . import figures

_COMMA = pattern(r"\s*([-+]?[0-9]+),([0-9]+)\s*(\D*)")
_QUANTITY = re.compile(r"\s*([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?)\s*(.*?)\s*")
_TOLERANCE = re.compile(r"\s*([0-9.]+)\s*(?:±|\+/-|\+-|\+/−)\s*([0-9.]+)\s*")
_SPAN = re.compile(r"\s*(?:(from)\s+)?(.+?)\s+(?:to|-|–)\s+(.+?)\s*", re.I)
_LARGEST = Decimal(10) ** 9
_LONGEST = 100

KELVIN_AT_ZERO = Decimal("273.15")
"""0 °C in kelvin, by definition (SI Brochure, 9th edition, 2.3.1)."""
ROOM_CELSIUS = 22.0
"""What `room` means, in °C, where neither the formula nor the house says."""

MASSES = {
    "g": Decimal(1),
    "gram": Decimal(1),
    "grams": Decimal(1),
    "kg": Decimal(1000),
    "mg": Decimal("0.001"),
    # international avoirdupois pound, exact (NIST Special Publication 811, appendix B)
    "lb": Decimal("453.59237"),
    "oz": Decimal("453.59237") / 16,
}
"""Grams in a unit of mass, by its lower-case symbol or word."""
_VOLUMES = {"ml": Decimal(1), "l": Decimal(1000), "cl": Decimal(10), "dl": Decimal(100)}
_TIMES = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), 1),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60),
    **dict.fromkeys(("h", "hr", "hour", "hours"), 3600),
    **dict.fromkeys(("d", "day", "days"), 86400),
}


LEAST_BATCH_G, MOST_BATCH_G = Decimal("0.001"), Decimal(100_000_000)
LEAST_STEP_G, MOST_STEP_G = Decimal("0.000001"), Decimal(100_000)
"""Beyond these something was mistyped."""


class Misread(ValueError):
    """A value that does not mean what was expected at its place."""


class Temperature(NamedTuple):
    """A temperature in °C. room is true where the writer said `room`."""

    celsius: float
    room: bool = False


class Range(NamedTuple):
    """A closed range; an end that is None is open."""

    low: float | None
    high: float | None

    def holds(self, value: float, slack: float = 1e-9) -> bool:
        """Whether value lies in the range."""
        return (self.low is None or value >= self.low - slack) and (self.high is None or value <= self.high + slack)


def decimal(node: Node, what: str, unit: str = "") -> Decimal:
    """A plain number, with or without its unit. what names it in messages; unit is the only one allowed."""
    text = _text(node, what)
    found = _quantity(text)
    if found is None:
        raise Misread(_no_number(text, what, f"{what} is a number" + (f" such as 5 or 5 {unit}" if unit else "")))
    number, written = found
    if written and written != unit:
        allowed = f"; {what} is a number, with or without {unit}" if unit else f"; {what} has no unit"
        raise Misread(f"«{text}» has the unit «{written}»{allowed}")
    return _exact(number, what)


def percent(node: Node, what: str = "a percent") -> Decimal:
    """% w/w: `5`, `5 %` and `5%` are the same."""
    return decimal(node, what, "%")


def percent_of(name: str, node: Node, what: str) -> Decimal:
    """% w/w of a named material. A bare number as a name, with nothing behind it, is a name cut at its comma."""
    if isinstance(node, Scalar) and node.kind == "null" and name.strip().isdigit():
        raise Misread(
            f'«{name}» without a percent; between braces a name with a comma stands in quotes: «"1,2-Hexanediol": 2»'
        )
    return percent(node, what)


def temperature(node: Node, room_celsius: float, what: str = "a temperature") -> Temperature:
    """`75 °C`, `75 C`, `167 °F`, `348 K` or `room`."""
    text = _text(node, what)
    if text.strip().lower() in ("room", "room temperature"):
        return Temperature(room_celsius, True)
    number, unit = _split(text, what, "°C, °F or K (such as 75 °C), or the word room")
    scale = _scale(unit)
    if scale == "C":
        celsius = number
    elif scale == "F":
        celsius = (number - 32) * 5 / 9
    elif scale == "K":
        celsius = number - KELVIN_AT_ZERO
    else:
        raise Misread(f"«{text}» has {_unit(unit)}; {what} needs °C, °F or K (such as 75 °C), or the word room")
    if not -200 <= celsius <= 400:
        raise Misread(f"«{text}» is {float(celsius):.0f} °C; {what} here lies between -200 and 400 °C")
    return Temperature(float(celsius))


@lru_cache(maxsize=256)
def _scale(unit: str) -> str:
    """The letter of a scale of temperature, however its degrees are written; anything else in capitals."""
    return unit.replace("°", "").replace("º", "").replace("deg", "").strip().upper()


def duration(node: Node, what: str = "a time") -> float:
    """Seconds, from `20 min`, `12 h`, `30 s`, `2 d`."""
    text = _text(node, what)
    number, unit = _split(text, what, "s, min, h or d (such as 20 min)")
    factor = _TIMES.get(unit.lower())
    if factor is None:
        raise Misread(f"«{text}» has {_unit(unit)}; {what} needs s, min, h or d (such as 20 min)")
    if number < 0:
        raise Misread(f"«{text}» is negative; {what} is zero or more")
    return float(number) * factor


def mass(node: Node, what: str = "a mass") -> Decimal:
    """Grams, from `200 g`, `1.5 kg`, `250 mg`, `8 oz`, `2 lb`."""
    text = _text(node, what)
    number, unit = _split(text, what, "g, kg, mg, oz or lb (such as 200 g)")
    factor = MASSES.get(unit.lower())
    if factor is None:
        extra = " (volumes need a density; write the mass)" if unit.lower() in _VOLUMES else ""
        raise Misread(f"«{text}» has {_unit(unit)}; {what} needs g, kg, mg, oz or lb (such as 200 g){extra}")
    return number * factor


def batch_size(node: Node) -> Decimal:
    """Grams, as much as anybody makes at a time."""
    return _mass_between(node, "the batch size", LEAST_BATCH_G, MOST_BATCH_G)


def balance_step(node: Node) -> Decimal:
    """Grams, from the step of the finest balance to that of a weighbridge."""
    return _mass_between(node, "the balance's step", LEAST_STEP_G, MOST_STEP_G)


def amount(node: Node) -> Decimal:
    """Grams, more than none and no more than a batch has."""
    return _mass_between(node, "an amount", Decimal(0), MOST_BATCH_G)


def _mass_between(node: Node, what: str, least: Decimal, most: Decimal) -> Decimal:
    grams = mass(node, what)
    if grams <= 0:
        raise Misread(f"{describe(node)} as {what}; it has to be more than nothing")
    if not least <= grams <= most:
        raise Misread(f"{describe(node)} as {what}; it lies between {least:f} g and {most / 1000:f} kg")
    return grams


def volume(node: Node, what: str = "a volume") -> Decimal:
    """Millilitres, from `50 ml` or `1 l`."""
    text = _text(node, what)
    number, unit = _split(text, what, "ml or l (such as 50 ml)")
    factor = _VOLUMES.get(unit.lower())
    if factor is None:
        raise Misread(f"«{text}» has {_unit(unit)}; {what} needs ml or l (such as 50 ml)")
    return number * factor


def ph(node: Node, what: str = "a pH") -> Range:
    """`5.5`, `5.5 ± 0.3`, `5.2 to 5.8` or `[5.2, 5.8]`, as a range within 0 to 14."""
    if isinstance(node, Scalar) and len(node.text) <= _LONGEST:
        match = _TOLERANCE.fullmatch(node.text) if "±" in node.text or "+" in node.text else None
        if match:
            middle, spread = _exact(match.group(1), what), _exact(match.group(2), what)
            return _within_ph(Range(float(middle - spread), float(middle + spread)), node.text)
        if _QUANTITY.fullmatch(node.text) and not _SPAN.fullmatch(node.text):
            value = float(decimal(node, what))
            return _within_ph(Range(value, value), node.text)
    return _within_ph(span(node, what), describe(node))


def span(node: Node, what: str, unit: str = "") -> Range:
    """`[low, high]`, `low to high`, `up to high`, `from low`; an end may be `null` (open)."""
    if isinstance(node, Sequence):
        if len(node.items) != 2:
            raise Misread(f"a list of {len(node.items)}; {what} is [low, high]")
        low, high = (_end(item, what, unit) for item in node.items)
    else:
        text = _text(node, what)
        lowered = text.strip().lower()
        match = _SPAN.fullmatch(text)
        if lowered.startswith("up to "):
            low, high = None, _end(_like(node, text.strip()[6:]), what, unit)
        elif match:
            low = _end(_like(node, match.group(2)), what, unit)
            high = _end(_like(node, match.group(3)), what, unit)
        elif lowered.startswith("from "):
            low, high = _end(_like(node, text.strip()[5:]), what, unit), None
        else:
            raise Misread(f"«{text}» is no range; {what} is [low, high] or «low to high»")
    if low is not None and high is not None and low > high:
        raise Misread(f"{what} runs from {figures.number(low)} to {figures.number(high)}; the lower end comes first")
    return Range(low, high)


def _end(node: Node, what: str, unit: str) -> float | None:
    if isinstance(node, Scalar) and (node.kind == "null" or node.text.strip().lower() == "null"):
        return None
    if unit == "°C":
        return temperature(node, ROOM_CELSIUS, what).celsius
    return float(decimal(node, what, unit))


def _like(node: Node, text: str) -> Scalar:
    return Scalar(text, "text", node.place)


def _within_ph(value: Range, text: str) -> Range:
    for end in value:
        if end is not None and not 0 <= end <= 14:
            raise Misread(f"{text} reaches pH {figures.number(end)}; a pH lies between 0 and 14")
    return value


def _text(node: Node, what: str) -> str:
    if not isinstance(node, Scalar) or node.kind == "null":
        raise Misread(f"{describe(node)} where {what} was expected")
    if len(node.text) > _LONGEST:
        raise Misread(f"a text of {len(node.text)} characters where {what} was expected")
    return node.text


def _split(text: str, what: str, units: str) -> tuple[Decimal, str]:
    found = _quantity(text)
    if found is None:
        raise Misread(_no_number(text, what, f"{what} is a number with {units}"))
    number, unit = found
    if not unit:
        raise Misread(f"«{text}» has no unit; {what} needs {units}")
    return _exact(number, what), unit


@lru_cache(maxsize=4096)
def _quantity(text: str) -> tuple[str, str] | None:
    """A number as written with its unit; None for anything else. File after file holds the same ones."""
    match = None if "," in text and _COMMA.fullmatch(text) else _QUANTITY.fullmatch(text)
    return None if match is None else (match.group(1), match.group(2))


def _no_number(text: str, what: str, expected: str) -> str:
    comma = _COMMA.fullmatch(text)
    if comma:
        tail = f" {comma.group(3)}" if comma.group(3) else ""
        return f"«{text}» has a decimal comma; write {comma.group(1)}.{comma.group(2)}{tail}"
    shown = text if len(text) <= 40 else text[:37] + "..."
    if shown.strip().lower().lstrip("+-.") in ("nan", "inf", "infinity"):
        return f"«{shown}» is not a number one can weigh; {expected}"
    return f"«{shown}» where {what} was expected; {expected}"


def _unit(unit: str) -> str:
    shown = unit if len(unit) <= 20 else unit[:17] + "..."
    return f"the unit «{shown}»" if unit else "no unit"


def _exact(text: str, what: str) -> Decimal:
    if len(text) > _LONGEST:
        raise Misread(f"a number of {len(text)} characters is out of all proportion for {what}")
    try:
        value = _in_proportion(text)
    except InvalidOperation:
        raise Misread(f"«{text}» is no number") from None
    if value is None:
        shown = text if len(text) <= 24 else text[:21] + "..."
        raise Misread(f"«{shown}» is out of all proportion for {what}")
    return value


@lru_cache(maxsize=4096)
def _in_proportion(text: str) -> Decimal | None:
    """The number; None where nobody can have meant one so large, small or long. Raises InvalidOperation."""
    value = Decimal(text)
    if not value:
        return Decimal(0)
    if -30 <= value.adjusted() < 9 and len(text) <= 40:
        return value
    beyond = abs(value) > _LARGEST or len(value.as_tuple().digits) > 40 or value.adjusted() < -30
    return None if beyond else value
