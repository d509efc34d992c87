"""Small shapes for pictures: each function gives one piece of SVG, looked after by the style sheet of the page.

Lengths are in units of the drawing, of which a picture is some 400 wide, so that it reads on a telephone as it is and
on a desk enlarged. Colour is never the only sign: what differs, differs in shape, dashes, hatching or words too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from ..records import NamedTuple
from .markup import Content, Markup, rounded, tag

Point = tuple[float, float]
WIDTH = 400.0
WIDE = 1.02 * WIDTH
LETTER = 0.56
"""Width of a letter of the page's sans-serif type, in units of its size; on the generous side of the average."""


class Scale(NamedTuple):
    """From values to positions. low, high: values at the positions start and end; log: decades are equally long."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def __call__(self, value: float) -> float:
        """The position of a value; what lies beyond an end is put there."""
        inside = min(max(value, self.low), self.high)
        if self.log:
            share = math.log(inside / self.low) / math.log(self.high / self.low)
        else:
            share = (inside - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def line(x1: float, y1: float, x2: float, y2: float, style: str) -> Markup:
    return tag("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=style)


def box(x: float, y: float, width: float, height: float, style: str, fill: str | None = None) -> Markup:
    """A rectangle. fill: name of a pattern, see patterns()."""
    return tag("rect", x=x, y=y, width=max(width, 0.0), height=max(height, 0.0), class_=style, fill=_pattern(fill))


def polyline(points: Iterable[Point], style: str) -> Markup:
    return tag("polyline", points=_points(points), class_=style)


def polygon(points: Iterable[Point], style: str, fill: str | None = None) -> Markup:
    return tag("polygon", points=_points(points), class_=style, fill=_pattern(fill))


def dot(x: float, y: float, radius: float, style: str) -> Markup:
    return tag("circle", cx=x, cy=y, r=radius, class_=style)


def words(x: float, y: float, content: Content, style: str = "label", anchor: str = "start") -> Markup:
    """A line of text; anchor: start, middle or end."""
    return tag("text", content, x=x, y=y, class_=style, text_anchor=None if anchor == "start" else anchor)


def cross(x: float, y: float, radius: float, style: str) -> Markup:
    return tag(
        "g",
        line(x - radius, y - radius, x + radius, y + radius, style),
        line(x - radius, y + radius, x + radius, y - radius, style),
    )


def diamond(x: float, y: float, radius: float, style: str) -> Markup:
    return polygon([(x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y)], style)


def warning(x: float, y: float, radius: float) -> Markup:
    """A filled triangle with a bar in it."""
    corners = [(x, y - radius), (x + radius, y + 0.8 * radius), (x - radius, y + 0.8 * radius)]
    return tag("g", polygon(corners, "breach"), line(x, y - 0.35 * radius, x, y + 0.45 * radius, "breach-bar"))


def fitting(label: str, width: float, size: float = 12.0) -> str:
    """The label, cut so that it takes no more than width at a size of type."""
    most = max(1, int(width / (LETTER * size)))
    return label if len(label) <= most else label[: max(1, most - 1)].rstrip(" ,(/-") + "…"


def width_of(label: str, size: float = 12.0) -> float:
    """About how much room a label takes."""
    return LETTER * size * len(label)


def spread(positions: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Positions moved as little as that takes until neighbours are least apart, within low and high as far as there is room.

    The order is kept; the result belongs to the positions as given.
    """
    order = sorted(range(len(positions)), key=lambda index: positions[index])
    placed: list[float] = []
    for index in order:
        placed.append(max(positions[index], low if not placed else placed[-1] + least))
    over = placed[-1] - high if placed else 0.0
    if over > 0:
        placed[-1] -= over
        for rank in range(len(placed) - 2, -1, -1):
            placed[rank] = min(placed[rank], placed[rank + 1] - least)
    result = [0.0] * len(positions)
    for rank, index in enumerate(order):
        result[index] = placed[rank]
    return result


def picture(id: str, width: float, height: float, title: str, description: str, *shapes: Content) -> Markup:
    """A whole drawing, named and described for who cannot see it. One wider than others keeps its size and is scrolled."""
    wide = width > WIDE
    return tag(
        "svg",
        tag("title", title, id=f"{id}-title"),
        tag("desc", description, id=f"{id}-desc"),
        shapes,
        viewBox=f"0 0 {rounded(width)} {rounded(height)}",
        role="img",
        aria_labelledby=f"{id}-title",
        aria_describedby=f"{id}-desc",
        class_="wide" if wide else None,
        width=width if wide else None,
        height=height if wide else None,
    )


def patterns() -> Markup:
    """The hatchings that pictures fill with, once a page; nothing of it is seen by itself."""
    rising, falling = "M-2,2 l4,-4 M0,8 l8,-8 M6,10 l4,-4", "M-2,6 l4,4 M0,0 l8,8 M6,-2 l4,4"
    drawn = {
        "rising": tag("path", d=rising, class_="hatch"),
        "falling": tag("path", d=falling, class_="hatch"),
        "breach": tag("path", d=f"{rising} {falling}", class_="hatch breach-hatch"),
        "level": tag("path", d="M0,2 h8 M0,6 h8", class_="hatch"),
        "upright": tag("path", d="M2,0 v8 M6,0 v8", class_="hatch"),
        "grid": tag("path", d="M0,4 h8 M4,0 v8", class_="hatch"),
        "dots": [dot(2, 2, 1, "hatch-dot"), dot(6, 6, 1, "hatch-dot")],
        "empty": "",
    }
    return tag(
        "svg",
        tag(
            "defs",
            [
                tag("pattern", shape, id=f"fill-{name}", width="8", height="8", patternUnits="userSpaceOnUse")
                for name, shape in drawn.items()
            ],
        ),
        class_="patterns",
        width="0",
        height="0",
        aria_hidden="true",
        focusable="false",
    )


def _pattern(name: str | None) -> str | None:
    return None if name is None else f"url(#fill-{name})"


def _points(points: Iterable[Point]) -> str:
    return " ".join(f"{rounded(x)},{rounded(y)}" for x, y in points)
