"""What has to melt, and at what temperature: shared by the rules about waxes and about bringing phases together."""

from collections.abc import Iterable, Iterator

from formcheck.bench.composition import Item, Part
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.model import Fact

SOLID = ("wax", "fatty alcohol", "fatty acid", "butter")


def solids(sheet: Worksheet, items: Iterable[Item] | None = None) -> Iterator[tuple[Part, Fact]]:
    """Waxes, butters, fatty alcohols and acids that are solid in the room, with their melting point."""
    wanted = None if items is None else {id(item) for item in items}
    for part, melting in sheet.with_fact("melting point", sheet.outer(*SOLID)):
        if wanted is not None and id(part.item) not in wanted:
            continue
        if low(melting) > sheet.formula.room_celsius:
            yield part, melting


def low(melting: Fact) -> float:
    """Where melting begins, °C."""
    value = melting.value
    return float(value.low if value.low is not None else value.high)
