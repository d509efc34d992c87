"""How much acid or base solution carries a batch from one pH to another, by which steps, and where too much
ends.

The chemistry is that of acidbase. A measured pH is honoured: the strong charge that the model lacks is
fitted so that it meets the measurement, and is kept while the solution is added. The uncertainty of the
amount comes from the band of the prediction, or from the doubt of the meter where a pH was measured, and
from the buffering that nobody listed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..records import NamedTuple
from .acidbase import Equilibrium, Solute, buffer_capacity, fractions, missing_charge, predict, solve
from .errors import NotGiven, OutOfRange, Unreachable, within

METER_DOUBT = 0.05  # a calibrated meter on a gel or emulsion
UNLISTED_BUFFERING = 0.1  # relative; extracts, polymers and impurities that take up acid or base too
ALREADY_THERE = 0.02
FEW_DROPS = 10
LITTLE_POWDER_G = 1.0
FIRST_SHARE, LEAST_FIRST_SHARE = 0.7, 0.25
HALVINGS = 44


class Reagent(NamedTuple):
    """An acid or base as it stands on the bench, pure or in water.

    pKa, top_charge, ions: as in Solute. molar_mass: g/mol of the substance. strength_percent: % w/w of it
    in the solution, 100 for the pure substance, None when unknown; what is left is taken as water.
    """

    name: str
    pKa: tuple[float, ...]
    top_charge: int
    ions: tuple[tuple[int, float], ...]
    molar_mass: float
    strength_percent: float | None

    def solute(self, grams: float) -> Solute:
        """Return what grams of the solution bring into the batch."""
        mol = grams * self.strength() / 100.0 / self.molar_mass
        return Solute(self.name, mol, self.pKa, self.top_charge, self.ions)

    def water_kg(self, grams: float) -> float:
        """Return the water that grams of the solution bring along."""
        return grams * (100.0 - self.strength()) / 1e5

    def strength(self) -> float:
        """Return the strength in % w/w; raise NotGiven or OutOfRange when it cannot be used."""
        if self.strength_percent is None:
            raise NotGiven(f"strength of the {self.name} solution", "one in % w/w, for example 20 %; 100 % if pure")
        if not 0.0 < self.strength_percent <= 100.0:
            raise OutOfRange(f"strength of {self.name}", f"{self.strength_percent:g} %", "more than 0 to 100 %")
        if not self.molar_mass > 0.0:
            raise OutOfRange(f"molar mass of {self.name}", f"{self.molar_mass:g} g/mol", "more than 0 g/mol")
        return self.strength_percent


class Point(NamedTuple):
    """One point of a titration curve: grams of solution added, and the pH then."""

    grams: float
    pH: float


class Step(NamedTuple):
    """One portion of a plan: grams and drops (None without a drop size) to add, and the pH the model expects then."""

    grams: float
    drops: int | None
    expected_pH: float
    then: str


class Plan(NamedTuple):
    """The way from a starting pH to a target.

    start: "measured" or "predicted". grams: of the solution, with the range low_g to high_g in which the
    true need should lie. drops: None without a drop size. percent_of_batch: % w/w. buffer_capacity: mol/(L
    pH) at the target. fitted_charge_mol: strong charge that was added to the model to meet the measurement.
    assumed, advice: sentences.
    """

    reagent: str
    strength_percent: float
    start: str
    start_pH: float
    target_pH: float
    grams: float
    low_g: float
    high_g: float
    drops: int | None
    percent_of_batch: float
    steps: tuple[Step, ...]
    buffer_capacity: float
    fitted_charge_mol: float
    assumed: tuple[str, ...]
    advice: tuple[str, ...]
    left_out: tuple[str, ...]


class Overshoot(NamedTuple):
    """Where a written amount of reagent ends: pH with its band, and how far past the target (negative: short of it)."""

    pH: float
    low: float
    high: float
    past_target: float


class _Batch(NamedTuple):
    solutes: tuple[Solute, ...]
    water_kg: float
    extra_charge_mol: float
    reagent: Reagent

    def pH_with(self, grams: float) -> float:
        return self.state_with(grams).pH

    def state_with(self, grams: float, near: Equilibrium | None = None) -> Equilibrium:
        """The state with so much of the reagent; near: that with another amount, to begin at."""
        mixture = (*self.solutes, self.reagent.solute(grams))
        water_kg = self.water_kg + self.reagent.water_kg(grams)
        return solve(mixture, water_kg, extra_charge_mol=self.extra_charge_mol, near=near)


def curve(
    solutes: Sequence[Solute],
    water_kg: float,
    reagent: Reagent,
    to_grams: float,
    *,
    points: int = 41,
    extra_charge_mol: float = 0.0,
) -> tuple[Point, ...]:
    """Return the titration curve from nothing to to_grams of the reagent solution, in equal portions.

    points: 2 to 1001. extra_charge_mol: as in acidbase.solve. Raises NotGiven without a strength, else
    OutOfRange.
    """
    within("number of points", points, 2, 1001)
    within("amount of solution", to_grams, 0.0, 1e9, "g")
    batch = _Batch(tuple(solutes), water_kg, extra_charge_mol, reagent)
    amounts = [to_grams * i / (points - 1) for i in range(points)]
    return tuple([Point(grams, batch.pH_with(grams)) for grams in amounts])


def charge_per_mol(reagent: Reagent, pH: float) -> float:
    """Return the charge in mol that a mole of reagent holds at a pH without the hydrogen it gave or took.

    Negative for what lowers the pH there, positive for what raises it.
    """
    shares = fractions(reagent.pKa, pH, top_charge=reagent.top_charge)
    own = sum(share * (reagent.top_charge - j) for j, share in enumerate(shares))
    return own + sum(charge * moles for charge, moles in reagent.ions)


def overshoot(
    solutes: Sequence[Solute],
    water_kg: float,
    reagent: Reagent,
    amount_g: float,
    target_pH: float,
    *,
    measured_pH: float | None = None,
    left_out: Sequence[str] = (),
) -> Overshoot:
    """Return where amount_g of the reagent solution carries the batch, and how far past target_pH that is.

    measured_pH: pH before the addition, when known. Raises NotGiven without a strength, OutOfRange for a pH
    outside 0 to 14 or a negative amount.
    """
    within("target pH", target_pH, 0.0, 14.0)
    within("amount of solution", amount_g, 0.0, 1e9, "g")
    extra = 0.0 if measured_pH is None else missing_charge(solutes, water_kg, measured_pH)
    mixture = (*solutes, reagent.solute(amount_g))
    end = predict(mixture, water_kg + reagent.water_kg(amount_g), extra_charge_mol=extra, left_out=left_out)
    before = measured_pH if measured_pH is not None else solve(solutes, water_kg).pH
    past = target_pH - end.pH if _lowers(reagent, before) else end.pH - target_pH
    return Overshoot(end.pH, end.low, end.high, past)


def plan(
    solutes: Sequence[Solute],
    water_kg: float,
    reagent: Reagent,
    target_pH: float,
    *,
    batch_g: float | None,
    measured_pH: float | None = None,
    drop_ml: float | None = 0.05,
    density_g_ml: float = 1.0,
    left_out: Sequence[str] = (),
    band: tuple[float, float] | None = None,
) -> Plan:
    """Return how much of a reagent solution brings a batch to target_pH, and by which steps.

    solutes and water_kg are those of the whole batch of batch_g. drop_ml: None for a powder. density_g_ml:
    of the reagent solution. band: of the predicted starting pH, where the caller knows it better than predict.
    Raises NotGiven without a batch size or strength; OutOfRange for a pH outside 0 to 14 or a reagent that works
    the other way; Unreachable where an amount as large as the batch would not do.
    """
    if batch_g is None:
        raise NotGiven("batch size", "the size of the batch, for example 200 g")
    within("batch size", batch_g, 1e-3, 1e9, "g")
    within("target pH", target_pH, 0.0, 14.0)
    reagent.strength()
    start_pH, doubt, extra = _start(solutes, water_kg, measured_pH, left_out)
    doubt = band if band is not None and measured_pH is None else doubt
    batch = _Batch(tuple(solutes), water_kg, extra, reagent)
    needed = _needed(batch, start_pH, target_pH, batch_g)
    low, high = _range(batch, start_pH, doubt, target_pH, batch_g, needed)
    drop_g = None if drop_ml is None else within("drop", drop_ml, 1e-4, 5.0, "ml") * density_g_ml
    end = (*batch.solutes, reagent.solute(needed))
    return Plan(
        reagent.name,
        reagent.strength(),
        "predicted" if measured_pH is None else "measured",
        start_pH,
        target_pH,
        needed,
        low,
        high,
        _drops(needed, drop_g),
        100.0 * needed / batch_g,
        _steps(batch.pH_with, needed, low, drop_g),
        buffer_capacity(end, water_kg + reagent.water_kg(needed), target_pH),
        extra,
        _assumptions(measured_pH, drop_ml, reagent),
        _advice(needed, drop_g, reagent),
        tuple(left_out),
    )


def _start(
    solutes: Sequence[Solute], water_kg: float, measured_pH: float | None, left_out: Sequence[str]
) -> tuple[float, tuple[float, float], float]:
    """Starting pH, the range it may lie in, and the charge fitted to a measurement."""
    if measured_pH is not None:
        extra = missing_charge(solutes, water_kg, measured_pH)
        return measured_pH, (measured_pH - METER_DOUBT, measured_pH + METER_DOUBT), extra
    guess = predict(solutes, water_kg, left_out=left_out)
    return guess.pH, (guess.low, guess.high), 0.0


def _lowers(reagent: Reagent, pH: float) -> bool:
    return charge_per_mol(reagent, pH) < 0.0


def _needed(batch: _Batch, start_pH: float, target_pH: float, batch_g: float) -> float:
    if abs(target_pH - start_pH) < ALREADY_THERE:
        return 0.0
    down = target_pH < start_pH
    if _lowers(batch.reagent, start_pH) != down:
        way = "raises" if down else "lowers"
        side = "below" if down else "above"
        raise OutOfRange(
            "target pH",
            f"{target_pH:g}, {side} the start of {start_pH:.2f}",
            f"the other side, since {batch.reagent.name} {way} the pH; {'an acid' if down else 'a base'} is needed",
        )
    return _crossing(batch, target_pH, down, batch_g)


def _crossing(batch: _Batch, target_pH: float, down: bool, batch_g: float) -> float:
    """Amount at which the pH passes the target; the amount is doubled until it does, then halved in."""
    low, high = 0.0, batch_g / 4096.0
    state = batch.state_with(high)
    while (state.pH > target_pH) == down:
        if high >= batch_g:
            reached = batch.pH_with(batch_g)
            allowed = f"{'down' if down else 'up'} to {reached:.2f} with as much {batch.reagent.name} solution as batch"
            raise Unreachable("target pH", f"{target_pH:g}", allowed)
        low, high = high, min(2.0 * high, batch_g)
        state = batch.state_with(high, state)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        state = batch.state_with(middle, state)
        low, high = (middle, high) if (state.pH > target_pH) == down else (low, middle)
    return (low + high) / 2.0


def _range(
    batch: _Batch, start_pH: float, doubt: tuple[float, float], target_pH: float, batch_g: float, needed: float
) -> tuple[float, float]:
    if needed == 0.0:
        return 0.0, 0.0
    ends = [needed]
    for pH in doubt:
        within_scale = min(14.0, max(0.0, pH))
        if (within_scale > target_pH) != (start_pH > target_pH):
            ends.append(0.0)
            continue
        charge = missing_charge(batch.solutes, batch.water_kg, within_scale)
        shifted = batch._replace(extra_charge_mol=charge)
        try:
            ends.append(_needed(shifted, within_scale, target_pH, batch_g))
        except OutOfRange:
            ends.append(needed)
    return min(ends) * (1.0 - UNLISTED_BUFFERING), max(ends) * (1.0 + UNLISTED_BUFFERING)


def _steps(pH_with: Callable[[float], float], needed: float, low: float, drop_g: float | None) -> tuple[Step, ...]:
    if needed <= 0.0:
        return ()
    first = max(LEAST_FIRST_SHARE * needed, min(FIRST_SHARE * needed, low))
    half = (needed - first) / 2.0
    slowly = "little by little, measuring" if drop_g is None else "drop by drop, measuring"
    stops = ((first, "stir until even, then measure"), (half, "stir, measure"), (half, slowly))
    steps, added = [], 0.0
    for grams, then in stops:
        added += grams
        steps.append(Step(grams, _drops(grams, drop_g), pH_with(added), then))
    return tuple(steps)


def _drops(grams: float, drop_g: float | None) -> int | None:
    return None if drop_g is None else round(grams / drop_g)


def _assumptions(measured_pH: float | None, drop_ml: float | None, reagent: Reagent) -> tuple[str, ...]:
    said = ["25 °C; acids and bases act in the water alone"]
    if measured_pH is None:
        said.append("the starting pH is predicted, not measured: measure before adding anything")
    else:
        said.append("what the model lacks to meet the measured pH is taken as strong acid or base")
    if reagent.strength() < 100.0:
        said.append(f"the solution holds {reagent.strength():g} % w/w {reagent.name}, the rest is water")
    if drop_ml is not None:
        said.append(f"one drop is {drop_ml:g} ml; droppers differ, so weigh twenty drops of yours")
    return tuple(said)


def _advice(needed: float, drop_g: float | None, reagent: Reagent) -> tuple[str, ...]:
    if needed <= 0.0 or needed >= (LITTLE_POWDER_G if drop_g is None else FEW_DROPS * drop_g):
        return ()
    if drop_g is None:
        return ("so little of the pure substance is hard to dose: dissolve it in water first",)
    weaker = reagent.strength() / 10.0
    return (f"this is fewer than {FEW_DROPS} drops: a solution of {weaker:g} % w/w is easier to dose",)
