"""Density of a mixture, and how much to make to fill so many containers.

Model: the volumes of the parts add (ideal mixing). Water and lower alcohols contract on mixing, by up to
3.6 % at equal masses of ethanol and water (tables of density, Perry's Chemical Engineers' Handbook), other
cosmetic liquids by about 1 %; the band allows for both. Holds at 20 °C for a product without air:
stirred-in air and foam make it lighter.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, nextafter, sqrt

from ..records import NamedTuple
from .errors import OutOfRange, within

JUST_ABOVE_NOTHING = nextafter(0.0, inf)
MIXING_DOUBT = 0.015
CONTRACTION = 0.16  # times the mass shares of alcohol and of water


class Part(NamedTuple):
    """A component: % w/w, density and its doubt (plus or minus) in g/mL.

    typical: the density is that of its kind, not its own. role: "water", "alcohol" or "" for the contraction.
    """

    name: str
    percent: float
    density_g_ml: float
    doubt_g_ml: float = 0.0
    typical: bool = False
    role: str = ""


class Density(NamedTuple):
    """Density of a mixture in g/mL with its band, and the names whose density is only that of their kind."""

    g_ml: float
    low: float
    high: float
    typical: tuple[str, ...]


class Fill(NamedTuple):
    """Mass to make, in g, so that the containers are filled; high_g is enough at the upper end of the
    density.

    net_g: what the containers hold in the end.
    """

    net_g: float
    batch_g: float
    low_g: float
    high_g: float


def mixture_density(parts: Sequence[Part]) -> Density:
    """Return the density of a mixture of parts; their percents need not add to 100. Raises OutOfRange."""
    mass = sum(within(f"amount of {part.name}", part.percent, 0.0, 100.0, "%") for part in parts)
    if not mass:
        raise OutOfRange("amount of material", "0 %", "more than 0 %")
    volume = squares = 0.0
    for part in parts:
        own = part.percent / within(f"density of {part.name}", part.density_g_ml, 0.5, 5.0, "g/mL")
        volume += own
        squares += (own * part.doubt_g_ml / part.density_g_ml) ** 2
    shares = {role: sum(p.percent for p in parts if p.role == role) / mass for role in ("water", "alcohol")}
    mixing = MIXING_DOUBT if len(parts) > 1 else 0.0
    contraction = CONTRACTION * shares["water"] * shares["alcohol"]
    doubt = sqrt(squares) / volume
    density = mass / volume
    low, high = 1.0 - sqrt(doubt**2 + mixing**2), 1.0 + contraction + sqrt(doubt**2 + mixing**2)
    return Density(density, density * low, density * high, tuple(part.name for part in parts if part.typical))


def to_fill(units: int, unit_ml: float, density: Density, *, loss_percent: float = 0.0) -> Fill:
    """Return the batch that fills `units` containers of unit_ml (mL) each when loss_percent of it is lost
    on the way.

    units: 1 or more. loss_percent: 0 to below 100. Raises OutOfRange.
    """
    within("number of containers", units, 1, 1e9)
    within("volume of a container", unit_ml, JUST_ABOVE_NOTHING, 1e6, "mL")
    within("loss", loss_percent, 0.0, nextafter(100.0, 0.0), "%")
    millilitres = units * unit_ml
    made = millilitres / (1.0 - loss_percent / 100.0)
    return Fill(millilitres * density.g_ml, made * density.g_ml, made * density.low, made * density.high)
