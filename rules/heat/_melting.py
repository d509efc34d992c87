"""What has to melt, and at what temperature: shared by the rules about waxes and about bringing phases together."""

from collections.abc import Iterable, Iterator

from formcheck.bench.composition import Item, Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Fact

SOLID = ("wax", "fatty alcohol", "fatty acid", "butter")


def solids(sheet: Worksheet, items: Iterable[Item] | None = None) -> Iterator[tuple[Part, Fact]]:
    """Waxes, butters, fatty alcohols and acids that are solid in the room, with their melting point."""
    if items is None:
        yield from _solids(sheet)
    else:
        wanted = {id(item) for item in items}
        yield from (each for each in _solids(sheet) if id(each[0].item) in wanted)


@once
def _solids(sheet: Worksheet) -> list[tuple[Part, Fact]]:
    found = sheet.with_fact("melting point", sheet.outer(*SOLID))
    return [(part, melting) for part, melting in found if low(melting) > sheet.formula.room_celsius]


def low(melting: Fact) -> float:
    """Where melting begins, °C."""
    value = melting.value
    return float(value.low if value.low is not None else value.high)
