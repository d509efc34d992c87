"""Water activity of a water phase from what is dissolved in it, and the low-risk criteria of ISO 29621.

Non-electrolytes: R. S. Norrish, J. Food Technol. 1 (1966) 25, for mixtures log10(aw / xw) = -(sum of
sqrt(K) x)^2, with x the mole fractions and K positive for sugars and polyols. Salts: K. S. Pitzer's osmotic
coefficient (K. S. Pitzer and G. Mayorga, J. Phys. Chem. 77 (1973) 2300) with A_phi = 0.3915 at 25 °C where
its parameters are known, to 6 mol/kg; else one osmotic coefficient for all, to 1 or 2 mol/kg. Both are
joined by K. D. Ross, Food Technol. 29 (1975) 26: the water activity is the product of those that each group
would give in all of the water.

Norrish is used up to a mole fraction of solute of 0.5 (R. Baeza and others, Food Bioprocess Technol. 3
(2010) 87, found it to hold from aw 0.99 to about 0.3); beyond, the value there is an upper bound and said
to be one. Oils and polymers count for nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import exp, inf, nextafter, sqrt

from ..records import NamedTuple
from .errors import OutOfRange, within

WATER_KG_MOL = 0.018015
PITZER_A = 0.3915
PITZER_B, PITZER_ALPHA = 1.2, 2.0
PITZER_LIMIT_MOL_KG, PLAIN_LIMIT_MOL_KG, MULTIPLE_LIMIT_MOL_KG = 6.0, 2.0, 1.0
NORRISH_LIMIT = 0.5

# Osmotic coefficient and its doubt where nothing better is known; R. A. Robinson and R. H. Stokes,
# Electrolyte Solutions (1965): sodium and potassium salts of single charge 0.86 to 1.1 up to 2 mol/kg,
# other common salts 0.64 to 1.11 to 1.
PLAIN_OSMOTIC, MULTIPLE_OSMOTIC = (0.93, 0.13), (0.87, 0.26)
MODEL_DOUBT, MODEL_DOUBT_SLOPE = 0.005, 0.08  # of Norrish and Ross, against measured mixtures
UNKNOWN_DOUBT = 0.5  # share of the depression by solutes without a constant


class Humectant(NamedTuple):
    """A dissolved non-electrolyte: amount in mol, and its Norrish constant (decadic form), None when unknown."""

    name: str
    mol: float
    norrish_K: float | None


class Pitzer(NamedTuple):
    """Pitzer parameters of one salt at 25 °C, with C as C_phi."""

    beta0: float
    beta1: float
    c: float


class Salt(NamedTuple):
    """A dissolved salt: amount in mol of formula units, ions of each sort in one, their charges, its parameters."""

    name: str
    mol: float
    cations: int = 1
    anions: int = 1
    cation_charge: int = 1
    anion_charge: int = -1
    pitzer: Pitzer | None = None


class Activity(NamedTuple):
    """A water activity with the band it should lie in. at_most: the true one may be lower still. assumed: sentences."""

    aw: float
    low: float
    high: float
    at_most: bool
    assumed: tuple[str, ...]


def norrish(water_mol: float, humectants: Sequence[Humectant]) -> float:
    """Return the water activity that non-electrolytes give; one without a constant counts as ideal (K = 0).

    Raises OutOfRange beyond a solute mole fraction of 0.5 or without water.
    """
    within("amount of water", water_mol, nextafter(0.0, inf), 1e9, "mol")
    total = water_mol + sum(_amount(one.name, one.mol) for one in humectants)
    within("mole fraction of solutes", 1.0 - water_mol / total, 0.0, NORRISH_LIMIT)
    return _norrish(water_mol / total, [(one.mol / total, one.norrish_K or 0.0) for one in humectants])


def _norrish(water: float, solutes: Sequence[tuple[float, float]]) -> float:
    pull = 0.0
    for fraction, K in solutes:
        pull += fraction * sqrt(within("Norrish constant", K, 0.0, 20.0))
    return float(water * 10.0 ** -(pull * pull))


def _amount(name: str, mol: float) -> float:
    return within(f"amount of {name}", mol, 0.0, 1e9, "mol")


def osmotic_coefficient(salt: Salt, molality: float) -> float:
    """Return the osmotic coefficient of a salt alone in water at a molality in mol/kg, 25 °C.

    By Pitzer up to 6 mol/kg; without parameters 0.93 up to 2 mol/kg for ions of single charge, else 0.87 up
    to 1 mol/kg. Raises OutOfRange above.
    """
    within(f"molality of {salt.name}", molality, 0.0, _limit(salt), "mol/kg")
    if salt.pitzer is None:
        return _plain(salt)[0]
    ions, pairs = salt.cations + salt.anions, salt.cations * salt.anions
    charges = salt.cations * salt.cation_charge**2 + salt.anions * salt.anion_charge**2
    root = sqrt(molality * charges / 2.0)
    long_range = abs(salt.cation_charge * salt.anion_charge) * -PITZER_A * root / (1.0 + PITZER_B * root)
    short_range = salt.pitzer.beta0 + salt.pitzer.beta1 * exp(-PITZER_ALPHA * root)
    triple = 2.0 * pairs**1.5 / ions * salt.pitzer.c
    return float(1.0 + long_range + molality * 2.0 * pairs / ions * short_range + molality**2 * triple)


def _single(salt: Salt) -> bool:
    return salt.cation_charge == 1 and salt.anion_charge == -1


def _plain(salt: Salt) -> tuple[float, float]:
    return PLAIN_OSMOTIC if _single(salt) else MULTIPLE_OSMOTIC


def _limit(salt: Salt) -> float:
    if salt.pitzer is not None:
        return PITZER_LIMIT_MOL_KG
    return PLAIN_LIMIT_MOL_KG if _single(salt) else MULTIPLE_LIMIT_MOL_KG


def salt_activity(water_kg: float, salt: Salt) -> float:
    """Return the water activity that one salt gives in water_kg of water. Raises as osmotic_coefficient."""
    within("amount of water", water_kg, nextafter(0.0, inf), 1e9, "kg")
    molality = _amount(salt.name, salt.mol) / water_kg
    ions = salt.cations + salt.anions
    return exp(-ions * molality * osmotic_coefficient(salt, molality) * WATER_KG_MOL)


def water_activity(
    water_kg: float, humectants: Sequence[Humectant] = (), salts: Sequence[Salt] = (), *, left_out: Sequence[str] = ()
) -> Activity:
    """Return the water activity of a water phase with its band.

    left_out: names of dissolved things that were not counted; each can only lower it. Raises OutOfRange
    without water or for a negative amount; beyond the range of a formula the result is the value at its
    end, marked at_most.
    """
    within("amount of water", water_kg, nextafter(0.0, inf), 1e9, "kg")
    assumed = ["25 °C; the water phase alone, oils and polymers not counted"]
    sweet, doubt, capped = _humectant_part(water_kg / WATER_KG_MOL, humectants, assumed)
    product = sweet
    for salt in salts:
        value, spread, at_end = _salt_part(water_kg, salt, assumed)
        product *= value
        doubt += spread
        capped = capped or at_end
    if left_out:
        assumed.append("not counted: " + ", ".join(left_out))
    doubt += (MODEL_DOUBT + MODEL_DOUBT_SLOPE * (1.0 - product)) if humectants or salts else 0.0
    low = 0.0 if capped else max(0.0, product - doubt)
    return Activity(product, low, min(1.0, product + doubt), capped or bool(left_out), tuple(assumed))


def _humectant_part(water_mol: float, humectants: Sequence[Humectant], assumed: list[str]) -> tuple[float, float, bool]:
    solute_mol = sum(_amount(one.name, one.mol) for one in humectants)
    if not solute_mol:
        return 1.0, 0.0, False
    unknown = [one for one in humectants if one.norrish_K is None]
    if unknown:
        assumed.append("taken as ideal for want of a constant: " + ", ".join(one.name for one in unknown))
    unknown_mol = sum(one.mol for one in unknown)
    doubt = UNKNOWN_DOUBT * unknown_mol / (water_mol + solute_mol)
    solutes = min(solute_mol / (water_mol + solute_mol), NORRISH_LIMIT)
    parts = [(solutes * one.mol / solute_mol, one.norrish_K or 0.0) for one in humectants]
    return _norrish(1.0 - solutes, parts), doubt, solute_mol > water_mol


def _salt_part(water_kg: float, salt: Salt, assumed: list[str]) -> tuple[float, float, bool]:
    capped = salt._replace(mol=min(_amount(salt.name, salt.mol), _limit(salt) * water_kg))
    value = salt_activity(water_kg, capped)
    if salt.pitzer is not None:
        return value, 0.0, salt.mol > capped.mol
    osmotic, doubt = _plain(salt)
    assumed.append(f"{salt.name}: osmotic coefficient {osmotic:g} as for common salts")
    return value, doubt / osmotic * (1.0 - value), salt.mol > capped.mol


class LowRiskLimits(NamedTuple):
    """Limits of ISO 29621: water activity and pH at or below, pH and alcohol (% w/w) and °C at or above."""

    water_activity: float
    acid_pH: float
    alkaline_pH: float
    alcohol_percent: float
    process_celsius: float
    filling_celsius: float


def low_risk_limits(limit: Callable[[str], float]) -> LowRiskLimits:
    """Return the limits of ISO 29621 as a look-up by name gives them (shared/limits/iso29621.yaml)."""
    return LowRiskLimits(
        limit("low risk, water activity"),
        limit("low risk, acid pH"),
        limit("low risk, alkaline pH"),
        limit("low risk, alcohol"),
        limit("low risk, process temperature"),
        limit("low risk, filling temperature"),
    )


class Criterion(NamedTuple):
    """One criterion: the value found (None if not known), its limit, whether it is met (None if not known).

    at: "at most" or "at least". alone: being met is enough for a finished product. Heat in the making is
    not: it says nothing about what gets in later.
    """

    name: str
    value: float | None
    at: str
    limit: float
    unit: str
    met: bool | None
    alone: bool


class Verdict(NamedTuple):
    """All criteria, and whether the product counts as low risk: True, False, or None where something is unknown."""

    criteria: tuple[Criterion, ...]
    low_risk: bool | None

    @property
    def reasons(self) -> tuple[Criterion, ...]:
        """The criteria that make the product low risk by themselves."""
        return tuple(one for one in self.criteria if one.met and one.alone)


def iso29621(
    limits: LowRiskLimits,
    *,
    activity: Activity | None = None,
    pH: tuple[float, float] | None = None,
    alcohol_percent: float | None = None,
    process_celsius: float | None = None,
    filling_celsius: float | None = None,
) -> Verdict:
    """Return the low-risk criteria of ISO 29621 one by one, and what follows.

    activity: judged by the upper end of its band. pH: lowest and highest finished pH, both of which have to
    comply. alcohol_percent: ethanol and other lower alcohols, % w/w of the product. process_celsius,
    filling_celsius: highest temperature that everything met, and that of filling. What is None is not
    known. Raises OutOfRange for a pH outside 0 to 14 or a percentage outside 0 to 100.
    """
    if pH is not None:
        for end in pH:
            within("pH", end, 0.0, 14.0)
        if pH[0] > pH[1]:
            raise OutOfRange("pH range", f"{pH[0]:g} to {pH[1]:g}", "the lower end first")
    if alcohol_percent is not None:
        within("alcohol", alcohol_percent, 0.0, 100.0, "%")
    criteria = (
        _at_most("water activity", activity and activity.high, limits.water_activity, ""),
        _at_most("acid pH", pH and pH[1], limits.acid_pH, ""),
        _at_least("alkaline pH", pH and pH[0], limits.alkaline_pH, ""),
        _at_least("alcohol", alcohol_percent, limits.alcohol_percent, "%"),
        _at_least("process temperature", process_celsius, limits.process_celsius, "°C", alone=False),
        _at_least("filling temperature", filling_celsius, limits.filling_celsius, "°C", alone=False),
    )
    telling = [one.met for one in criteria if one.alone]
    return Verdict(criteria, True if any(telling) else None if None in telling else False)


def _at_most(name: str, value: float | None, limit: float, unit: str) -> Criterion:
    return Criterion(name, value, "at most", limit, unit, None if value is None else value <= limit, True)


def _at_least(name: str, value: float | None, limit: float, unit: str, *, alone: bool = True) -> Criterion:
    return Criterion(name, value, "at least", limit, unit, None if value is None else value >= limit, alone)
