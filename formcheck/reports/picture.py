"""What a picture is: a drawing, the same in words, and the numbers behind it as tables."""

from __future__ import annotations

from ..records import NamedTuple
from .drawing import WIDTH
from .markup import Markup


class Table(NamedTuple):
    """Numbers behind a picture. rows: as many cells as head has."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Picture(NamedTuple):
    """id: of the drawing, unique on its page. drawing: None where words say it better. key: how to read it.

    width: of the drawing, in its units.
    """

    id: str
    title: str
    drawing: Markup | None
    summary: str
    tables: tuple[Table, ...] = ()
    key: str = ""
    width: float = WIDTH
