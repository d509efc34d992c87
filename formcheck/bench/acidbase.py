"""Acid-base equilibrium of a water phase at 25 °C.

Model: every weak solute dissociates stepwise, the sum of all charges is zero, activity coefficients follow
Davies, log10 gamma = -A z^2 (sqrt(I) / (1 + sqrt(I)) - 0.3 I), and pH = -log10 of the hydrogen ion
activity. Holds for water at 20 to 30 °C with little other solvent, up to an ionic strength of 0.5 mol/kg;
above that the coefficients are kept at their value for 0.5 mol/kg, which is flagged, and the band of a
prediction widens.

Sources: C. W. Davies, Ion Association (Butterworths, 1962) for the activity coefficients; A = 0.509
(kg/mol)^1/2 and pKw = 13.995 at 25 °C (CRC Handbook of Chemistry and Physics; Bandura and Lvov, J. Phys.
Chem. Ref. Data 35 (2006) 15); D. D. Van Slyke, J. Biol. Chem. 52 (1922) 525 for the buffer capacity.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import inf, log, sqrt

from ..records import NamedTuple
from .errors import OutOfRange, within

PKW = 13.995
KW = 10.0**-PKW
DAVIES_A = 0.509
DAVIES_LINEAR = 0.3
DAVIES_LIMIT_MOL_KG = 0.5
PH_LOW, PH_HIGH = -1.0, 15.0

LN10 = log(10.0)
PH_TOLERANCE = 1e-9
LAST_STEP = 1e-5
"""A Newton step as small as this lands within PH_TOLERANCE: its error is of the order of its square."""
IONIC_TOLERANCE_MOL_KG = 1e-10
ROUNDS = 60

# What a prediction cannot know, as it enters the band.
PKA_DOUBT = 0.08  # spread between published pKa values, and 20 against 25 °C
TRACE_CHARGE_MOL_KG = 1e-5  # carbon dioxide of the air and traces of alkali in ordinary purified water
SALT_IMPURITY = 0.002  # free acid or alkali in a salt, mole per mole; pharmacopoeias allow about 0.003
ASSAY_DOUBT = 0.01  # content of a raw material and the weighing of it, relative
ACTIVITY_DOUBT = 0.02  # single-ion activities cannot be measured; two conventions differ by about this
DAVIES_DOUBT = 0.25  # relative, with ion pairs about; a published citrate and phosphate table needs as much
BEYOND_DAVIES_DOUBT = 0.3  # pH per mol/kg of ionic strength above the limit
BEYOND_DAVIES_MOST = 1.0


_Weak = list[tuple[float, int, tuple[float, ...], float]]
"""Molality, charge of the top form, dissociation constants (or pKa) and soluble molality of each weak solute."""


class Solute(NamedTuple):
    """A substance in the water phase.

    mol: amount. pKa: ascending, of the fully protonated form, in water at 25 °C and zero ionic strength;
    empty for what is only ions. top_charge: charge of the fully protonated form. ions: (charge, moles per
    mole) of each strong ion that comes with it; ((1, 1.0),) alone is a strong base such as a hydroxide,
    ((-1, 1.0),) a strong acid, ((1, 1.0), (-1, 1.0)) a neutral salt. soluble: mol in a kg of water of the fully
    protonated form, where that is uncharged and hardly dissolves; what is more lies there as a solid.
    """

    name: str
    mol: float
    pKa: tuple[float, ...] = ()
    top_charge: int = 0
    ions: tuple[tuple[int, float], ...] = ()
    soluble: float = inf

    def dissolved(self, top_share: float, water_kg: float) -> float:
        """mol in solution where so much of what is dissolved is in the fully protonated form, 0 to 1."""
        return min(self.mol, self.soluble * water_kg / top_share) if top_share > 0 else self.mol

    @property
    def strong_charge_mol(self) -> float:
        """Charge of the strong ions of the whole amount."""
        return self.mol * sum(charge * moles for charge, moles in self.ions)


class Equilibrium(NamedTuple):
    """The state of a water phase at rest.

    pH: on the activity scale. ionic_strength: mol/kg water. converged: both pH and ionic strength settled.
    activity_ok: the ionic strength lies within the range of the Davies equation. charge_error_mol_kg: what
    is left of the charge balance. rounds: outer iterations used.
    """

    pH: float
    ionic_strength: float
    converged: bool
    activity_ok: bool
    charge_error_mol_kg: float
    rounds: int


class Prediction(NamedTuple):
    """A predicted pH with the band in which a careful measurement should fall, about nineteen times in
    twenty.

    buffer_capacity: mol/(L pH). ionic_strength: mol/kg water. left_out: names of what the model knows
    nothing of; the band does not cover those. activity_ok: see Equilibrium.
    """

    pH: float
    low: float
    high: float
    buffer_capacity: float
    ionic_strength: float
    left_out: tuple[str, ...]
    activity_ok: bool


class _Phase:
    """Solutes per kg of water, sorted into what depends on pH and what does not."""

    __slots__ = ("fixed_charge", "fixed_ionic", "weak")

    def __init__(self, solutes: Sequence[Solute], water_kg: float, extra_charge_mol: float) -> None:
        if not 0.0 < water_kg < float("inf"):
            raise OutOfRange("amount of water", f"{water_kg:g} kg", "more than 0 kg")
        self.fixed_charge = extra_charge_mol / water_kg
        self.fixed_ionic = abs(self.fixed_charge) / 2.0
        self.weak: _Weak = []
        for solute in solutes:
            _check(solute)
            molality = solute.mol / water_kg
            for charge, moles in solute.ions:
                self.fixed_charge += molality * charge * moles
                self.fixed_ionic += molality * moles * charge * charge / 2.0
            if solute.pKa and molality:
                self.weak.append((molality, solute.top_charge, solute.pKa, solute.soluble))
            elif solute.top_charge:
                self.fixed_charge += molality * solute.top_charge
                self.fixed_ionic += molality * solute.top_charge**2 / 2.0

    def moved(self, by: Callable[[int, tuple[float, ...]], list[float]]) -> _Phase:
        """The same with other pKa; by: what top charge and pKa make of the pKa. Raises OutOfRange."""
        other = _Phase((), 1.0, 0.0)
        other.fixed_charge, other.fixed_ionic = self.fixed_charge, self.fixed_ionic
        for molality, top, values, soluble in self.weak:
            moved = tuple(by(top, values))
            _check_pKa("a solute", moved)
            other.weak.append((molality, top, moved, soluble))
        return other


def _check(solute: Solute) -> None:
    if not 0.0 <= solute.mol < float("inf"):
        raise OutOfRange(f"amount of {solute.name}", f"{solute.mol:g} mol", "0 mol or more")
    if len(solute.pKa) > 8:
        raise OutOfRange(f"number of pKa values of {solute.name}", str(len(solute.pKa)), "at most 8")
    _check_pKa(solute.name, solute.pKa)


def _check_pKa(name: str, pKa: tuple[float, ...]) -> None:
    before = -10.0
    for value in pKa:
        if not before <= value <= 20.0:
            raise OutOfRange(f"pKa of {name}", f"{value:g}", f"ascending, {before:g} to 20")
        before = value


def davies(ionic_strength: float) -> float:
    """Return -log10 of the activity coefficient of a singly charged ion at an ionic strength in mol/kg.

    An ion of charge z has z^2 times this. Above 0.5 mol/kg the value for 0.5 mol/kg is returned.
    """
    root = sqrt(min(ionic_strength, DAVIES_LIMIT_MOL_KG))
    return DAVIES_A * (root / (1.0 + root) - DAVIES_LINEAR * root * root)


def _constants(phase: _Phase, shift: float) -> _Weak:
    """Dissociation constants for hydrogen as activity and all else as molality, at one Davies term `shift`."""
    return [
        (m, top, tuple([10.0 ** (shift * (1 - 2 * (top - j)) - pKa) for j, pKa in enumerate(values)]), most)
        for m, top, values, most in phase.weak
    ]


def _charge(weak: _Weak, fixed: float, gamma: float, h: float) -> tuple[float, float]:
    """Charge in mol/kg at hydrogen activity h, and how fast it falls with pH (the buffer capacity)."""
    proton, hydroxide = h / gamma, KW / (h * gamma)
    charge, slope = fixed + proton - hydroxide, proton + hydroxide
    for m, top, constants, most in weak:
        term = total = 1.0
        lost = lost_squared = 0.0
        for j, constant in enumerate(constants, 1):
            term *= constant / h
            total += term
            lost += j * term
            lost_squared += j * j * term
        if m > most * total:  # a solid keeps the top form, which has no charge, at its solubility
            charge -= most * lost
            slope += most * lost_squared
            continue
        mean = lost / total
        charge += m * (top - mean)
        slope += m * (lost_squared / total - mean * mean)
    return charge, LN10 * slope


def _ionic_strength(phase: _Phase, weak: _Weak, gamma: float, h: float) -> float:
    double = h / gamma + KW / (h * gamma)
    for m, top, constants, most in weak:
        term = total = 1.0
        squared = float(top * top)
        z = top
        for constant in constants:
            z -= 1
            term *= constant / h
            total += term
            squared += z * z * term
        double += min(m / total, most) * squared
    return float(phase.fixed_ionic + double / 2.0)


def _root(weak: _Weak, fixed: float, gamma: float, guess: float, last_step: float) -> tuple[float, float]:
    """pH at which the charge is zero, and the charge left: Newton steps, bracketed and halved where they stray.

    last_step: a Newton step no larger than this is the last one.
    """
    low, high, pH = PH_LOW, PH_HIGH, guess
    charge = 0.0
    for _ in range(200):
        charge, slope = _charge(weak, fixed, gamma, 10.0**-pH)
        if charge > 0.0:
            low = pH
        elif charge < 0.0:
            high = pH
        else:
            return pH, charge
        step = charge / slope
        following = pH + step
        # A Newton step over a flat stretch lands far away; half of the bracket is then the better guess.
        if not low < following < high or abs(step) > 2.0:
            following = (low + high) / 2.0
        elif abs(step) < last_step:
            return following, charge
        if abs(following - pH) < PH_TOLERANCE:
            return following, charge
        pH = following
    return pH, charge


def _settle(phase: _Phase, ionic: float, guess: float, ideal: bool = False) -> tuple[float, float, float]:
    """pH, charge left and resulting ionic strength when coefficients are taken at `ionic`."""
    shift = 0.0 if ideal else davies(ionic)
    weak, gamma = _constants(phase, shift), 10.0**-shift
    # where this is one round of several, the next one starts from here and takes what is left of the way
    pH, charge = _root(weak, phase.fixed_charge, gamma, guess, PH_TOLERANCE if ideal else LAST_STEP)
    return pH, charge, _ionic_strength(phase, weak, gamma, 10.0**-pH)


def _inside(pH: float) -> float:
    """A root outside the range shows as its end, where the bracket closes."""
    if not PH_LOW + 1e-6 < pH < PH_HIGH - 1e-6:
        side = "below" if pH < 7.0 else "above"
        raise OutOfRange("pH of the water phase", f"{side} the range", f"{PH_LOW:g} to {PH_HIGH:g}")
    return pH


def solve(
    solutes: Sequence[Solute],
    water_kg: float,
    *,
    extra_charge_mol: float = 0.0,
    ideal: bool = False,
    near: Equilibrium | None = None,
) -> Equilibrium:
    """Return the equilibrium of solutes in water_kg of water.

    extra_charge_mol: charge of strong ions of unknown kind that are present as well (positive: alkali).
    ideal: take all activity coefficients as one, as school-book examples do; pH is then -log10 of the
    molality. near: the state of something much like it, to begin at; it changes how soon, not what is found.
    The charge falls steadily with pH, so a root is found whenever one lies between -1 and 15; the ionic
    strength is found by repetition, and by halving an interval should that not settle. Raises OutOfRange when
    no root exists, when there is no water, or when a pKa or an amount makes no sense.
    """
    phase = _Phase(solutes, water_kg, extra_charge_mol)
    if ideal:
        pH, charge, ionic = _settle(phase, 0.0, 7.0, ideal=True)
        return _equilibrium(pH, charge, ionic, True, 1)
    return _solve(phase, near)


def _solve(phase: _Phase, near: Equilibrium | None = None) -> Equilibrium:
    ionic, pH, charge = (phase.fixed_ionic, 7.0, 0.0) if near is None else (near.ionic_strength, near.pH, 0.0)
    for round_ in range(1, ROUNDS + 1):
        pH, charge, following = _settle(phase, ionic, pH)
        if abs(following - ionic) <= IONIC_TOLERANCE_MOL_KG + 1e-9 * ionic or _both_clamped(ionic, following):
            return _equilibrium(pH, charge, following, True, round_)
        ionic = following
    return _solve_by_halving(phase)


def _both_clamped(one: float, other: float) -> bool:
    return min(one, other) >= DAVIES_LIMIT_MOL_KG


def _solve_by_halving(phase: _Phase) -> Equilibrium:
    low, high = 0.0, DAVIES_LIMIT_MOL_KG
    pH, charge, following = _settle(phase, high, 7.0)
    if following >= high:
        return _equilibrium(pH, charge, following, True, ROUNDS)
    for _ in range(ROUNDS):
        ionic = (low + high) / 2.0
        pH, charge, following = _settle(phase, ionic, pH)
        low, high = (ionic, high) if following > ionic else (low, ionic)
    return _equilibrium(pH, charge, following, abs(following - high) < 1e-6, 2 * ROUNDS)


def _equilibrium(pH: float, charge: float, ionic: float, converged: bool, rounds: int) -> Equilibrium:
    return Equilibrium(_inside(pH), ionic, converged, ionic <= DAVIES_LIMIT_MOL_KG, charge, rounds)


def missing_charge(solutes: Sequence[Solute], water_kg: float, pH: float) -> float:
    """Return the strong charge in mol (positive: alkali) that has to be present beside solutes for this pH.

    It answers two questions: which unknown traces explain a measured pH, and how much strong acid or base
    makes a wanted one. pH: 0 to 14, else OutOfRange.
    """
    within("pH", pH, 0.0, 14.0)
    bare = _Phase(solutes, water_kg, 0.0)
    h, extra, ionic = 10.0**-pH, 0.0, bare.fixed_ionic
    for _ in range(ROUNDS):
        shift = davies(ionic)
        weak, gamma = _constants(bare, shift), 10.0**-shift
        following = -_charge(weak, bare.fixed_charge, gamma, h)[0]
        ionic = _ionic_strength(bare, weak, gamma, h) + abs(following) / 2.0
        if abs(following - extra) < 1e-12:
            break
        extra = following
    return following * water_kg


def charge_left(solutes: Sequence[Solute], water_kg: float, state: Equilibrium, extra_charge_mol: float = 0.0) -> float:
    """Return the sum of all charges at a state in mol/kg, counted afresh from the species: zero at rest."""
    proton = 10.0 ** (davies(state.ionic_strength) - state.pH)
    hydroxide = 10.0 ** (davies(state.ionic_strength) + state.pH - PKW)
    total = proton - hydroxide + extra_charge_mol / water_kg
    for solute in solutes:
        shares = fractions(solute.pKa, state.pH, top_charge=solute.top_charge, ionic_strength=state.ionic_strength)
        mean = sum(share * (solute.top_charge - j) for j, share in enumerate(shares))
        total += (solute.dissolved(shares[0], water_kg) * mean + solute.strong_charge_mol) / water_kg
    return float(total)


def fractions(
    pKa: Sequence[float], pH: float, *, top_charge: int = 0, ionic_strength: float = 0.0
) -> tuple[float, ...]:
    """Return the share of each form of a weak acid or base, the fully protonated form first; they add to one.

    With ionic_strength (mol/kg) zero these are the shares of the plain Henderson-Hasselbalch equation.
    """
    shift = davies(ionic_strength)
    exponents = [0.0]
    for j, value in enumerate(pKa):
        exponents.append(exponents[-1] + pH - value + shift * (1 - 2 * (top_charge - j)))
    most = max(exponents)
    terms = [10.0 ** (exponent - most) for exponent in exponents]
    total = sum(terms)
    return tuple([term / total for term in terms])


def undissociated(pKa: Sequence[float], pH: float) -> float:
    """Return the share, 0 to 1, of a weak acid that still holds all its protons (Henderson-Hasselbalch)."""
    return fractions(pKa, pH)[0]


def buffer_capacity(solutes: Sequence[Solute], water_kg: float, pH: float, ionic_strength: float = 0.0) -> float:
    """Return the moles of strong base per litre that raise the pH by one, in mol/(L pH), at a pH (Van Slyke).

    A kilogram of water counts as a litre; the ionic strength (mol/kg) is held.
    """
    phase = _Phase(solutes, water_kg, 0.0)
    shift = davies(ionic_strength)
    return _charge(_constants(phase, shift), phase.fixed_charge, 10.0**-shift, 10.0**-pH)[1]


def predict(
    solutes: Sequence[Solute],
    water_kg: float,
    *,
    left_out: Sequence[str] = (),
    extra_charge_mol: float = 0.0,
    charge_doubt_mol: float = 0.0,
    pKa_doubt: float = PKA_DOUBT,
) -> Prediction:
    """Return the predicted pH of a water phase with an honest band.

    The band joins, as root of the sum of squares, the doubt about pKa values, about activity coefficients,
    and about charge that nobody weighed: traces in the water, impurities of salts, contents of raw
    materials, and charge_doubt_mol where the caller knows of more. Where little buffers, the last makes it
    wide. Raises as solve.
    """
    phase = _Phase(solutes, water_kg, extra_charge_mol)
    state = _solve(phase)
    doubt = charge_doubt_mol + _charge_doubt(solutes, water_kg, state)
    spread = _activity_doubt(state.ionic_strength)
    stray = DAVIES_DOUBT * davies(state.ionic_strength)
    lower, higher = [spread], [spread]
    for sign, side in ((-1.0, lower), (1.0, higher)):
        charged = extra_charge_mol + sign * doubt
        for otherwise in (
            partial(phase.moved, partial(_shifted, sign * pKa_doubt)),
            partial(phase.moved, partial(_screened, sign * stray)),
            partial(_Phase, solutes, water_kg, charged),
        ):
            side.append(_pH_within_reach(otherwise, state) - state.pH)
    capacity = buffer_capacity(solutes, water_kg, state.pH, state.ionic_strength)
    return Prediction(
        state.pH,
        max(PH_LOW, state.pH - _root_of_squares(lower)),
        min(PH_HIGH, state.pH + _root_of_squares(higher)),
        capacity,
        state.ionic_strength,
        tuple(left_out),
        state.activity_ok,
    )


def _pH_within_reach(phase: Callable[[], _Phase], near: Equilibrium) -> float:
    """The pH of something much like what `near` is the state of; the pH of that where there is none in range."""
    try:
        return _solve(phase(), near).pH
    except OutOfRange:
        return near.pH


def _shifted(by: float, top: int, pKa: tuple[float, ...]) -> list[float]:
    return [value + by for value in pKa]


def _screened(by: float, top: int, pKa: tuple[float, ...]) -> list[float]:
    """The pKa as it would be if -log10 of the coefficient of a single charge were off by `by`."""
    return sorted([value - by * (1 - 2 * (top - j)) for j, value in enumerate(pKa)])


def _root_of_squares(parts: Sequence[float]) -> float:
    return sqrt(sum(part * part for part in parts))


def _charge_doubt(solutes: Sequence[Solute], water_kg: float, state: Equilibrium) -> float:
    traces, squares = TRACE_CHARGE_MOL_KG * water_kg, 0.0
    for solute in solutes:
        shares = fractions(solute.pKa, state.pH, top_charge=solute.top_charge, ionic_strength=state.ionic_strength)
        mean = sum(share * (solute.top_charge - j) for j, share in enumerate(shares))
        brought = solute.dissolved(shares[0], water_kg) * mean + solute.strong_charge_mol
        squares += (ASSAY_DOUBT * brought) ** 2
        if solute.pKa:
            traces += SALT_IMPURITY * solute.mol * sum(abs(charge) * moles for charge, moles in solute.ions)
    return traces + sqrt(squares)


def _activity_doubt(ionic_strength: float) -> float:
    beyond = max(0.0, ionic_strength - DAVIES_LIMIT_MOL_KG)
    return ACTIVITY_DOUBT + min(BEYOND_DAVIES_DOUBT * beyond, BEYOND_DAVIES_MOST)
