"""How true a weighing is on a balance, what to do when an amount is too small for it, and scaling of batches.

Model: a display with step d is off by up to d/2 at every reading, every value in between being as likely as
another (rectangular distribution, standard uncertainty d / sqrt(12); JCGM 100:2008, Guide to the expression
of uncertainty in measurement, 4.3.7 and F.2.2.1). A tared weighing takes two readings, the zero and the
load. Draughts, drift, buoyancy and a balance out of adjustment are not in it.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Context, Decimal
from math import ceil, inf, log10, nextafter, sqrt
from typing import TYPE_CHECKING

from ..formula.figures import number
from ..records import NamedTuple
from .errors import OutOfRange, within

if TYPE_CHECKING:
    from fractions import Fraction

JUST_ABOVE_NOTHING = nextafter(0.0, inf)
# a portion has half of the error and so needs twice the amount: what 50 % could do, the pure material does
HANDY_STRENGTHS = (25.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)


class WeighingError(NamedTuple):
    """What a balance leaves open about one amount.

    most_g: it cannot be off by more. standard_g: standard uncertainty. relative_percent: most_g as % of the
    amount.
    """

    most_g: float
    standard_g: float
    relative_percent: float


class Predilution(NamedTuple):
    """A solution to weigh instead of the pure material.

    strength_percent: % w/w. stock_g: how much of it to make, from active_g of the material. portion_g: how
    much of it the batch takes. carrier_g: the solvent in that portion, to be taken off the batch's own.
    relative_percent: error of the portion's content, that of making the stock included.
    """

    strength_percent: float
    stock_g: float
    active_g: float
    portion_g: float
    carrier_g: float
    relative_percent: float


def error(amount_g: float, step_g: float, *, readings: int = 2) -> WeighingError:
    """Return what a balance of step step_g (g) leaves open about amount_g (g); readings: 2 when tared, 1 when not."""
    within("amount to weigh", amount_g, JUST_ABOVE_NOTHING, 1e9, "g")
    most_g = _most(step_g, readings)
    return WeighingError(most_g, step_g * sqrt(readings / 12.0), 100.0 * most_g / amount_g)


def least_amount(step_g: float, most_relative_percent: float, *, readings: int = 2) -> float:
    """Return the smallest amount in g that is weighed with no more than most_relative_percent of error."""
    within("relative error", most_relative_percent, JUST_ABOVE_NOTHING, 100.0, "%")
    return 100.0 * _most(step_g, readings) / most_relative_percent


def _most(step_g: float, readings: int) -> float:
    within("step of the balance", step_g, 1e-6, 1e5, "g")
    within("number of readings", readings, 1, 2)
    return readings * step_g / 2.0


def predilution(
    amount_g: float, step_g: float, most_relative_percent: float, *, room_g: float | None = None, readings: int = 2
) -> Predilution | None:
    """Return the strongest handy solution that makes amount_g (g) weighable, or None when it is so already.

    most_relative_percent: error to stay within, the stock's making included. room_g: solvent of the same
    kind in the batch, which the portion must not exceed. Raises OutOfRange when no handy strength will do.
    """
    within("amount to weigh", amount_g, JUST_ABOVE_NOTHING, 1e9, "g")
    if amount_g >= least_amount(step_g, most_relative_percent, readings=readings):
        return None
    # Half of the error is left to making the stock, half to weighing the portion.
    least_g = least_amount(step_g, most_relative_percent / 2.0, readings=readings)
    for strength in HANDY_STRENGTHS:
        portion_g = 100.0 * amount_g / strength
        if portion_g >= least_g:
            break
    else:
        least_of_all_g = least_g * HANDY_STRENGTHS[-1] / 100.0
        raise OutOfRange(
            "amount to weigh", f"{number(amount_g)} g", f"at least {number(least_of_all_g)} g on this balance"
        )
    carrier_g = portion_g - amount_g
    if room_g is not None and carrier_g > room_g:
        raise OutOfRange(
            "solvent of the solution", f"{number(carrier_g, 3)} g", f"at most {number(room_g)} g, what the batch holds"
        )
    stock_g = _round_amount(max(100.0 * least_g / strength, portion_g))
    active_g = stock_g * strength / 100.0
    both = error(portion_g, step_g, readings=readings).relative_percent
    both += error(active_g, step_g, readings=readings).relative_percent
    return Predilution(strength, stock_g, active_g, portion_g, carrier_g, both)


def _round_amount(grams: float) -> float:
    """The next 1, 2 or 5 times a power of ten that is not smaller."""
    scale = 10.0 ** ceil(log10(grams) - 1.0)
    return next(step * scale for step in (0.5, 1.0, 2.0, 5.0, 10.0) if step * scale >= grams * (1.0 - 1e-12))


def with_loss(net_g: Decimal | Fraction, loss_percent: Decimal | Fraction) -> Fraction:
    """Return the batch in g to make so that net_g is left after loss_percent (0 to below 100) sticks to vessels."""
    return _exact(net_g) / (1 - _loss(loss_percent))


def scale(
    amounts_g: Mapping[str, Decimal | Fraction], from_g: Decimal | Fraction, to_g: Decimal | Fraction
) -> dict[str, Fraction]:
    """Return the amounts of a batch of from_g for one of to_g.

    Fractions, because a third of a gram has no exact decimal: scaling there and back gives the very amounts
    again. to_step turns one into what is weighed. Raises OutOfRange unless both sizes are more than 0 g.
    """
    for size in (from_g, to_g):
        if not size > 0:
            raise OutOfRange("batch size", f"{size} g", "more than 0 g")
    factor = _exact(to_g) / _exact(from_g)
    return {name: _exact(amount) * factor for name, amount in amounts_g.items()}


def to_step(amount_g: Decimal | Fraction, step_g: Decimal) -> Decimal:
    """Return an amount rounded to the step of a balance, half steps to the even one."""
    if not step_g > 0:
        raise OutOfRange("step of the balance", f"{step_g} g", "more than 0 g")
    steps = round(_exact(amount_g) / _exact(step_g))
    return Context(prec=60, rounding=ROUND_HALF_EVEN).multiply(Decimal(steps), step_g)


def _loss(percent: Decimal | Fraction) -> Fraction:
    if not 0 <= percent < 100:
        raise OutOfRange("loss", f"{percent} %", "0 to below 100 %")
    return _exact(percent) / 100


def _exact(value: Decimal | Fraction) -> Fraction:
    from fractions import Fraction

    return Fraction(value)
