"""Properties of materials: what each is called, how its value is written, and how that becomes data."""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Mapping as MappingType
from typing import Any

from ..reading.document import Entry, Mapping, Node, Scalar, Sequence, describe
from ..records import NamedTuple
from . import units
from .figures import number
from .names import suggestion
from .units import Misread, Range


class Property(NamedTuple):
    """A property that a material may have, as shared/properties.yaml declares it.

    between: least and greatest figure; plain: what each of `extra` is where a formula file does not say it.
    """

    name: str
    kind: str
    about: str
    unit: str = ""
    words: tuple[str, ...] = ()
    grades: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()
    identity: bool = False
    between: tuple[float, ...] = ()
    plain: tuple[str, ...] = ()


Properties = MappingType[str, Property]

UNITS = {
    "percent": "%",
    "percent range": "%",
    "temperature": "°C",
    "temperature range": "°C",
    "duration": "s",
}
_BETWEEN = {"percent": (0.0, 100.0), "percent range": (0.0, 100.0)}
"""What holds for a kind where the property does not say it itself."""


def parse(property: Property, node: Node) -> Any:
    """The value in a form that goes through JSON unchanged: numbers, text, lists of them, lists of pairs.

    Ranges are Range, durations seconds, temperatures °C. Raises Misread, also for a figure that cannot be.
    """
    value = _PARSERS[property.kind](property, node)
    between = property.between or _BETWEEN.get(property.kind)
    if between:
        low, high = between
        for figure in _figures(value):
            if not low <= figure <= high:
                unit = property.unit or UNITS.get(property.kind, "")
                raise Misread(
                    f"{number(figure)} under «{property.name}»; it lies between {number(low)} and {number(high)} {unit}".rstrip()
                )
    return value


def _figures(value: Any) -> Iterator[float]:
    """The numbers in a value: of a range its ends, of amounts what stands behind the names."""
    for item in value if isinstance(value, (list, tuple)) else (value,):
        each = item[1] if isinstance(item, tuple) else item
        if isinstance(each, (int, float)):
            yield each


def _ph_range(property: Property, node: Node) -> Range:
    return units.ph(node, property.name)


def _percent(property: Property, node: Node) -> float:
    return float(units.percent(node, property.name))


def _percent_range(property: Property, node: Node) -> Range:
    if isinstance(node, Scalar) and node.text.strip().replace("%", "").strip().replace(".", "", 1).isdigit():
        value = float(units.percent(node, property.name))
        return Range(value, value)
    return units.span(node, property.name, "%")


def _temperature(property: Property, node: Node) -> float:
    return units.temperature(node, units.ROOM_CELSIUS, property.name).celsius


def _temperature_range(property: Property, node: Node) -> Range:
    if isinstance(node, Scalar) and " to " not in node.text:
        value = _temperature(property, node)
        return Range(value, value)
    if isinstance(node, Scalar):
        # «62 to 64 °C»: the first end takes the unit of the second
        low, _, high = node.text.partition(" to ")
        unit = high.strip().lstrip("-0123456789.")
        ends = [low if "°" in low or low.strip()[-1:].isalpha() else low + unit, high]
        values = [
            units.temperature(Scalar(end, "text", node.place), units.ROOM_CELSIUS, property.name).celsius
            for end in ends
        ]
        if values[0] > values[1]:
            raise Misread(
                f"{property.name} runs from {number(values[0])} to {number(values[1])} °C; the lower end comes first"
            )
        return Range(*values)
    return units.span(node, property.name, "°C")


def _duration(property: Property, node: Node) -> float:
    return units.duration(node, property.name)


def _number(property: Property, node: Node) -> float:
    return float(units.decimal(node, property.name, property.unit))


def _number_range(property: Property, node: Node) -> Range:
    if isinstance(node, Scalar) and node.kind == "number":
        value = _number(property, node)
        return Range(value, value)
    return units.span(node, property.name, property.unit)


def _numbers(property: Property, node: Node) -> list[float]:
    items = node.items if isinstance(node, Sequence) else (node,)
    return [_number(property, item) for item in items]


def _integer(property: Property, node: Node) -> int:
    value = units.decimal(node, property.name)
    if value != value.to_integral_value():
        raise Misread(f"«{value}» where {property.name} was expected; it is a whole number")
    return int(value)


def _text(property: Property, node: Node) -> str:
    if not isinstance(node, Scalar) or node.kind == "null":
        raise Misread(f"{describe(node)} where {property.name} was expected")
    return node.text.strip()


def _texts(property: Property, node: Node) -> list[str]:
    items = node.items if isinstance(node, Sequence) else (node,)
    return [_text(property, item) for item in items]


def _word(property: Property, node: Node) -> str:
    return _known(_text(property, node), property.words, property.name)


def _words(property: Property, node: Node) -> list[str]:
    return [_known(text, property.words, property.name) for text in _texts(property, node)]


def _known(text: str, words: tuple[str, ...], what: str) -> str:
    for word in words:
        if word.lower() == text.lower():
            return word
    raise Misread(f"«{text}» where {what} was expected; it is one of {', '.join(words)}{suggestion(text, words)}")


def _flag(property: Property, node: Node) -> bool:
    text = _text(property, node).lower()
    if text in ("yes", "true"):
        return True
    if text in ("no", "false"):
        return False
    raise Misread(f"«{text}» where {property.name} was expected; it is yes or no")


def _amounts(property: Property, node: Node) -> list[tuple[str, float | str]]:
    if not isinstance(node, Mapping):
        raise Misread(f"{describe(node)} where {property.name} was expected; it is a mapping such as {{Glycerin: 50}}")
    return [(entry.key.text.strip(), _amount(property, entry)) for entry in node.entries]


def _amount(property: Property, entry: Entry) -> float | str:
    """A number; releases may also give a weight share as `54.6 %`, kept as text."""
    node = entry.value
    if property.name == "releases" and isinstance(node, Scalar) and node.text.rstrip().endswith("%"):
        return f"{units.percent(node, property.name)} %"
    return float(units.percent_of(entry.key.text, node, property.name))


def _grades(property: Property, node: Node) -> list[tuple[str, str]]:
    if not isinstance(node, Mapping):
        raise Misread(f"{describe(node)} where {property.name} was expected; it is a mapping such as {{yeast: strong}}")
    return [
        (
            _known(entry.key.text, property.words, property.name),
            _known(_text(property, entry.value), property.grades, f"{property.name}, {entry.key.text}"),
        )
        for entry in node.entries
    ]


def _quarrels(property: Property, node: Node) -> list[tuple[str, str]]:
    items = node.items if isinstance(node, Sequence) else (node,)
    result: list[tuple[str, str]] = []
    for item in items:
        other = item.get("with") if isinstance(item, Mapping) else None
        effect = item.get("effect") if isinstance(item, Mapping) else None
        if other is None or effect is None:
            raise Misread(f"{describe(item)} where {property.name} was expected; each is {{with: ..., effect: ...}}")
        result.extend((name, _text(property, effect)) for name in _texts(property, other))
    return result


_PARSERS = {
    "ph range": _ph_range,
    "percent": _percent,
    "percent range": _percent_range,
    "temperature": _temperature,
    "temperature range": _temperature_range,
    "duration": _duration,
    "number": _number,
    "number range": _number_range,
    "numbers": _numbers,
    "integer": _integer,
    "text": _text,
    "text list": _texts,
    "class list": _texts,
    "names": _texts,
    "word": _word,
    "words": _words,
    "yes or no": _flag,
    "amounts": _amounts,
    "grades": _grades,
    "quarrels": _quarrels,
}
