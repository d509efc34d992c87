"""Where a preservative goes in an emulsion: into the oil, into micelles, or free in the water, where it
works.

The concentration free in the water is C (phi + 1) / (K phi + R), with C the overall concentration, phi the
volume ratio of oil to water, K the oil-water partition coefficient of the neutral form and R the ratio of
total to free preservative in the water when emulsifier binds it (1 without): H. S. Bean, S. M. Heman-Ackah
and J. Thomas, J. Soc. Cosmet. Chem. 16 (1965) 15; with R, H. S. Bean, ibid. 23 (1972) 703. For an acid only
the undissociated form, of share f, enters the oil, so that (1 - f) / f joins R: E. R. Garrett and O. R.
Woods, J. Am. Pharm. Assoc. 42 (1953) 736.

Holds at rest near 25 °C for dilute preservative that neither dimerises in the oil nor saturates a phase. K
belongs to one oil: octanol's is much greater than that of hydrocarbons, so log P alone gives a lower bound
of what stays.
"""

from __future__ import annotations

from math import inf, nextafter

from ..records import NamedTuple
from .errors import within

JUST_ABOVE_NOTHING = nextafter(0.0, inf)


class Distribution(NamedTuple):
    """Shares of all the preservative, adding to one.

    in_oil; bound: in micelles; ionised: as the ion in the water; free: neutral and unbound in the water.
    free_concentration: of that last form in the water phase, in the unit of the overall concentration.
    """

    in_oil: float
    bound: float
    ionised: float
    free: float
    free_concentration: float

    @property
    def in_water(self) -> float:
        """Share of the preservative in the water phase, in whatever form."""
        return self.bound + self.ionised + self.free


def coefficient(log_P: float, *, shift: float = 0.0) -> float:
    """Return the partition coefficient of the neutral form.

    log_P: decadic logarithm for octanol and water, -30 to 40. shift: what the decadic logarithm for the oil
    at hand differs from that, -6 to 2; 0 takes the oil for octanol.
    """
    within("log P", log_P, -30.0, 40.0)
    within("shift of log P", shift, -6.0, 2.0)
    return float(10.0 ** (log_P + shift))


def distribute(
    concentration: float, K: float, ratio: float, *, undissociated: float = 1.0, total_to_free: float = 1.0
) -> Distribution:
    """Return how a preservative spreads.

    concentration: overall, in % w/v, % w/w or mol/L of the emulsion. K: partition coefficient of the
    neutral form, 0 or more. ratio: oil to water by volume, 0 to 100. undissociated: share of the acid in
    the water that is neutral, more than 0 to 1. total_to_free: R of Bean's equation, 1 to 1000. Raises
    OutOfRange.
    """
    within("concentration", concentration, 0.0, 100.0)
    within("partition coefficient", K, 0.0, 1e12)
    within("oil to water ratio", ratio, 0.0, 100.0)
    within("undissociated share", undissociated, JUST_ABOVE_NOTHING, 1.0)
    within("ratio of total to free preservative", total_to_free, 1.0, 1000.0)
    # Everything is counted in parts of the free neutral form in one volume of water.
    oil, bound, ionised = K * ratio, total_to_free - 1.0, (1.0 - undissociated) / undissociated
    total = oil + bound + ionised + 1.0
    return Distribution(oil / total, bound / total, ionised / total, 1.0 / total, concentration * (ratio + 1.0) / total)
