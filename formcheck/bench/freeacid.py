"""How much of an acid preservative is there as the free acid, the form that preserves.

Henderson-Hasselbalch at 25 °C: the share of undissociated acid is 1 / (1 + 10^(pH - pKa)), with pKa moved
by the Davies activity coefficients when an ionic strength is given. Source: L. J. Henderson, Am. J.
Physiol. 21 (1908) 173; K. A. Hasselbalch, Biochem. Z. 78 (1917) 112.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, nextafter

from ..records import NamedTuple
from .acidbase import DAVIES_LIMIT_MOL_KG, fractions
from .errors import OutOfRange, within


class FreeAcid(NamedTuple):
    """The free acid of a preservative at one pH.

    undissociated_percent: share of the acid that is undissociated, %. acid_percent: all of it, counted as
    acid, % w/w of the product. free_percent: undissociated acid, % w/w of the water phase.
    """

    undissociated_percent: float
    acid_percent: float
    free_percent: float


def free_acid(
    acid_percent: float, pKa: Sequence[float], pH: float, water_percent: float, *, ionic_strength: float = 0.0
) -> FreeAcid:
    """Return the free acid at a pH.

    acid_percent: % w/w of the product, counted as acid; all of it is taken to be in the water
    phase. water_percent: water phase, % w/w of the product, more than 0. pH: 0 to 14. ionic_strength:
    mol/kg, up to 0.5. Raises OutOfRange.
    """
    within("content", acid_percent, 0.0, 100.0, "% w/w")
    within("pH", pH, 0.0, 14.0)
    within("water phase", water_percent, nextafter(0.0, inf), 100.0, "% w/w")
    within("ionic strength", ionic_strength, 0.0, DAVIES_LIMIT_MOL_KG, "mol/kg")
    if not pKa:
        raise OutOfRange("number of pKa values", "0", "one or more")
    share = fractions(pKa, pH, ionic_strength=ionic_strength)[0]
    return FreeAcid(100.0 * share, acid_percent, 100.0 * acid_percent * share / water_percent)


def highest_pH(
    acid_percent: float, pKa: Sequence[float], water_percent: float, least_free_percent: float
) -> float | None:
    """Return the highest pH, 0 to 14, at which the water phase still holds least_free_percent of free acid.

    None when even at pH 0 there is less. Arguments as in free_acid; raises as free_acid.
    """
    within("least free acid", least_free_percent, nextafter(0.0, inf), 100.0, "% w/w")
    if free_acid(acid_percent, pKa, 0.0, water_percent).free_percent < least_free_percent:
        return None
    low, high = 0.0, 14.0
    for _ in range(50):
        middle = (low + high) / 2.0
        enough = free_acid(acid_percent, pKa, middle, water_percent).free_percent >= least_free_percent
        low, high = (middle, high) if enough else (low, middle)
    return low
