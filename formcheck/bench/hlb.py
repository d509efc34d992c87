"""Hydrophile-lipophile balance: what the oils require, what the emulsifiers offer, and the pair that would
meet it.

W. C. Griffin, J. Soc. Cosmet. Chem. 1 (1949) 311 and 5 (1954) 249: values of a mixture add by weight. They
are guides for nonionic emulsifiers, good to about one unit; R. C. Pasquali and others, Int. J. Pharm. 356
(2008) 44, show how loose they are. Nothing is said of how much emulsifier is enough.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..records import NamedTuple
from .errors import OutOfRange, Unreachable, within

HLB_LOW, HLB_HIGH = 0.0, 40.0


class Part(NamedTuple):
    """An oil with the HLB it requires, or an emulsifier with the HLB it has; percent: % w/w. None: not known."""

    name: str
    percent: float
    hlb: float | None


class Balance(NamedTuple):
    """Required and offered HLB, how far apart (offered less required), and the names without a value."""

    required: float
    offered: float
    apart: float
    left_out: tuple[str, ...]


class Pair(NamedTuple):
    """Two emulsifiers that meet a required HLB together; percents are % w/w, the share of the high one is 0 to 1."""

    low_percent: float
    high_percent: float
    high_share: float


def weighted(parts: Sequence[Part]) -> float:
    """Return the mean HLB by weight of the parts that have one. Raises OutOfRange when none has."""
    total = product = 0.0
    for name, percent, hlb in parts:
        within(f"amount of {name}", percent, 0.0, 100.0, "%")
        if hlb is not None:
            total += percent
            product += percent * within(f"HLB of {name}", hlb, HLB_LOW, HLB_HIGH)
    if not total:
        raise OutOfRange("amount of material with an HLB", "0 %", "more than 0 %")
    return product / total


def balance(oils: Sequence[Part], emulsifiers: Sequence[Part]) -> Balance:
    """Return the HLB that the oils require beside that which the emulsifiers offer. Raises as weighted."""
    required, offered = weighted(oils), weighted(emulsifiers)
    unknown = tuple(part.name for part in (*oils, *emulsifiers) if part.hlb is None)
    return Balance(required, offered, offered - required, unknown)


def pair(required: float, low_hlb: float, high_hlb: float, total_percent: float) -> Pair:
    """Return how total_percent (% w/w) divides between two emulsifiers so that their mean meets `required`.

    Raises Unreachable when `required` lies outside the two, OutOfRange when they are alike or a value is
    outside 0 to 40.
    """
    within("emulsifier", total_percent, 0.0, 100.0, "%")
    for value in (low_hlb, high_hlb):
        within("HLB", value, HLB_LOW, HLB_HIGH)
    if not low_hlb < high_hlb:
        raise OutOfRange("HLB of the lipophilic emulsifier", f"{low_hlb:g}", f"below that of the other, {high_hlb:g}")
    if not low_hlb <= required <= high_hlb:
        raise Unreachable("required HLB", f"{required:.1f}", f"{low_hlb:g} to {high_hlb:g} with these two")
    share = (required - low_hlb) / (high_hlb - low_hlb)
    return Pair(total_percent * (1.0 - share), total_percent * share, share)
