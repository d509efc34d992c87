"""The pictures of a lesson by name. Each is drawn from the worksheet in plain characters and says below what it shows."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable

from ..review.lesson_sheet import Picture
from . import lesson_pictures_paper as paper
from . import lesson_pictures_vessel as vessel
from . import lesson_pictures_water as water
from .lesson_values import NoValue, Scene

Drawing = Callable[[Scene, Picture, int], Iterable[str]]

PICTURES: dict[str, Drawing] = {
    "sum": paper.total,
    "grams": paper.written_grams,
    "weighing": paper.weighing,
    "amount": paper.amount,
    "make-up": paper.make_up,
    "light": paper.light,
    "route": vessel.route,
    "heat": vessel.heat,
    "cooling": vessel.cooling,
    "pH windows": water.pH_windows,
    "pouring": water.pouring,
    "free acid": water.free_acid,
    "water activity": water.activity,
    "oil and water": water.partition,
    "micelles": water.micelles,
    "germs": water.germs,
    "charges": water.charges,
    "HLB": water.hlb_axis,
}


def draw(picture: Picture, scene: Scene, width: int) -> list[str]:
    """The lines of a picture, its caption last. Raises NoValue where it cannot be drawn for the formula."""
    drawing = PICTURES.get(picture.show)
    if drawing is None:
        raise NoValue(f"«{picture.show}» is no picture; there are {', '.join(PICTURES)}")
    *lines, caption = drawing(scene, picture, width)
    return [*lines, *textwrap.wrap(caption, width)]
