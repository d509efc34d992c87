"""How much is made: from a mass, or from so many containers, with what is lost on the way; and the formula at that size.

A container's volume is turned into mass by the density of the mixture (see volume): each material's own density, else that
of its kind, with the doubt of either.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from ..formula.figures import number
from ..formula.model import Formula, Line, Step
from ..formula.units import MOST_BATCH_G
from ..records import NamedTuple
from ..reference.material import Material
from .composition import EXACT
from .errors import NotGiven, OutOfRange
from .volume import Density, mixture_density, to_fill
from .volume import Part as DensityPart
from .weighing import with_loss

if TYPE_CHECKING:
    from .worksheet import Worksheet

_KINDS = ("water", "volatile alcohol", "polyol", "oil", "powder")
_ROLES = {"water": "water", "volatile alcohol": "alcohol"}
OTHER = "other"


class Units(NamedTuple):
    """So many containers. number: how many; ml: the volume of one, None where its content is given by mass; g: that mass, else None."""

    number: int
    ml: Decimal | None = None
    g: Decimal | None = None

    @property
    def shown(self) -> str:
        """In words: `12 × 50 ml`."""
        one = f"{self.ml:f} ml" if self.ml is not None else f"{self.g:f} g"
        return f"{self.number} × {one}"


class Amount(NamedTuple):
    """How much is made.

    batch_g: to be weighed in all. net_g: what is left of it to fill. loss_percent: of what is weighed. units: what it is to
    fill, None where a mass was asked for. density: of the product, for containers given by volume; low_g, high_g: what is
    to be weighed at either end of its band.
    """

    batch_g: Decimal
    net_g: Decimal
    loss_percent: Decimal
    units: Units | None = None
    density: Density | None = None
    low_g: float | None = None
    high_g: float | None = None

    @property
    def unit_g(self) -> float | None:
        """What one container holds, g; None where none were asked for."""
        return None if self.units is None else float(self.net_g) / self.units.number


class Asked(NamedTuple):
    """What the maker asks for. size_g: to be left; units: to be filled; None: the file's own size. density_g_ml: measured."""

    size_g: Decimal | None = None
    units: Units | None = None
    loss_percent: Decimal = Decimal(0)
    density_g_ml: float | None = None


def amount(sheet: Worksheet, asked: Asked) -> Amount:
    """How much is made. Raises NotGiven where neither the file nor the maker says it, OutOfRange."""
    if asked.units is not None:
        found = by_units(sheet, asked.units, asked.loss_percent, asked.density_g_ml)
    else:
        size = asked.size_g if asked.size_g is not None else sheet.formula.batch.size_g
        if size is None:
            raise NotGiven("batch size", "--size 200 g, or «batch: {size: 200 g}» in the file")
        found = by_mass(size, asked.loss_percent)
    if found.batch_g > MOST_BATCH_G:
        raise OutOfRange("batch size", f"{number(found.batch_g)} g", f"up to {number(MOST_BATCH_G / 10**6)} t")
    return found


def by_mass(net_g: Decimal, loss_percent: Decimal) -> Amount:
    """The batch of which net_g (g) is left after a loss (%). Raises OutOfRange."""
    if not net_g > 0:
        raise OutOfRange("batch size", f"{net_g:f} g", "more than 0 g")
    return Amount(_decimal(with_loss(net_g, loss_percent)), net_g, loss_percent)


def by_units(sheet: Worksheet, units: Units, loss_percent: Decimal, density_g_ml: float | None = None) -> Amount:
    """The batch that fills containers. density_g_ml: as measured, else it is worked out. Raises OutOfRange."""
    if units.g is not None:
        return by_mass(units.g * units.number, loss_percent)._replace(units=units)
    assert units.ml is not None
    found = density(sheet)
    if density_g_ml is not None:
        found = Density(density_g_ml, density_g_ml, density_g_ml, ())
    fill = to_fill(units.number, float(units.ml), found, loss_percent=float(loss_percent))
    net_g, batch_g = (Decimal(repr(round(grams, 6))) for grams in (fill.net_g, fill.batch_g))
    return Amount(batch_g, net_g, loss_percent, units, found, fill.low_g, fill.high_g)


def density(sheet: Worksheet) -> Density:
    """The density of the product at 20 °C without air in it. Raises OutOfRange."""
    return mixture_density(
        [_density_part(sheet, part.material, part.amount) for part in sheet.parts if part.percent > 0]
    )


def _density_part(sheet: Worksheet, material: Material, percent: float) -> DensityPart:
    kind = next((kind for kind in _KINDS if material.is_a(kind)), OTHER)
    role = _ROLES.get(kind, "")
    own = material.value("density")
    if own is not None:
        return DensityPart(material.name, percent, float(own), role=role)
    usual, doubt = sheet.limit(f"density, {kind}"), sheet.limit(f"density doubt, {kind}")
    return DensityPart(material.name, percent, usual, doubt, True, role)


def scaled(formula: Formula, size_g: Decimal, balance_g: Decimal | None) -> Formula:
    """The formula for a batch of another size, the grams that it names scaled with it; on a balance of step balance_g.

    Raises OutOfRange where the balance shows no less than the whole batch.
    """
    if balance_g is not None and balance_g >= size_g:
        raise OutOfRange(
            "step of the balance", f"{balance_g:f} g for a batch of {number(size_g, 6)} g", "much less than the batch"
        )
    old = formula.batch.size_g
    if old is not None and old != size_g:
        factor = EXACT.divide(size_g, old)
        phases = tuple(
            phase._replace(lines=tuple(_scaled_line(line, factor) for line in phase.lines)) for phase in formula.phases
        )
        steps = tuple(_scaled_step(step, factor) for step in formula.procedure)
        formula = formula._replace(phases=phases, procedure=steps)
    return formula._replace(batch=formula.batch._replace(size_g=size_g, balance_g=balance_g))


def _scaled_line(line: Line, factor: Decimal) -> Line:
    return line if line.grams is None else line._replace(grams=EXACT.multiply(line.grams, factor))


def _scaled_step(step: Step, factor: Decimal) -> Step:
    return step if step.amount_g is None else step._replace(amount_g=EXACT.multiply(step.amount_g, factor))


def _decimal(value: Fraction) -> Decimal:
    return EXACT.divide(Decimal(value.numerator), Decimal(value.denominator))
