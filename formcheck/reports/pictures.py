"""The pictures of one formula."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ..bench.worksheet import Worksheet
from .picture import Picture
from .picture_free_acid import free_acid
from .picture_heat import heat
from .picture_parts import parts
from .picture_ph import acidity

_ALL: dict[str, Callable[[Worksheet, str], Picture | None]] = {
    "heat": heat,
    "ph": acidity,
    "free-acid": free_acid,
    "parts": parts,
}
BROKEN = "A picture that could not be drawn"


def pictures(sheet: Worksheet, prefix: str) -> Iterator[Picture]:
    """Those that the formula gives something to draw for. prefix: makes their ids unique on the page.

    One that fails is a fault of ours, said in its place; the page goes on.
    """
    for name, draw in _ALL.items():
        id = f"{prefix}-{name}"
        try:
            picture = draw(sheet, id)
        except Exception as error:
            reason = f"A fault of the program, not of the formula: {name}: {type(error).__name__}: {error}"
            picture = Picture(id, BROKEN, None, reason)
        if picture is not None:
            yield picture
