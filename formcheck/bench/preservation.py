"""What keeps germs out of a product: its water, what makes it poor soil by itself, its preservatives and what is left of
each where it has to work.

A preservative's share is its amount over the least that works in common practice, so that 1 is enough; the shares of
several add (as fractional inhibitory concentrations do: H. S. Bean, J. Soc. Cosmet. Chem. 23 (1972) 703). Boosters
count for less. An acid counts by its undissociated part in the water phase (freeacid), anything by what the oil and
micelles leave free (partition).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from ..formula.model import Fact
from ..formula.names import fold
from ..formula.units import Range
from ..lazy import cached_property
from ..records import NamedTuple
from ..reference.material import Material
from . import freeacid, partition, wateractivity
from .composition import Part
from .wateractivity import Activity, Humectant, Salt, Verdict

if TYPE_CHECKING:
    from .worksheet import Worksheet

KINGDOMS = ("bacteria", "yeast", "mould")
GRADES = {"none": 0, "weak": 1, "fair": 2, "strong": 3}
FAIR = 2
_WATERY = (
    "water", "polyol", "humectant", "sugar", "volatile alcohol", "solvent", "electrolyte", "acid", "base", "buffer",
    "amino acid", "chelator", "alpha-hydroxy acid", "organic acid preservative",
)  # fmt: skip
_SOLUTES = ("polyol", "sugar", "humectant", "volatile alcohol", "amino acid")
_DRY_FORMS = ("bar", "soap", "powder", "bath")
_SOLID_OR_MINERAL = ("hydrocarbon", "silicone", "wax", "fatty alcohol", "fatty acid")
_GUARDING = ("preservative", "preservative booster")
_PHENOLS = ("paraben", "phenolic preservative")


class Guard(NamedTuple):
    """A preservative or booster in the formula, as a single substance or a blend that is not taken apart.

    percent: % w/w of the product, summed over all that brings it. scale: by how much it counts for more than its own
    dose says, because the blend it comes in is dosed as a whole. least: the least that works, % w/w.
    """

    material: Material
    percent: float
    parts: tuple[Part, ...]
    booster: bool
    least: float | None
    scale: float

    @property
    def share(self) -> float:
        """Amount over the least that works; 1 where that is not known."""
        return 1.0 if not self.least else self.scale * self.percent / self.least

    @property
    def label(self) -> str:
        """Its name, with the blends it comes in."""
        blends = list(dict.fromkeys(part.blend.name for part in self.parts if part.blend))
        return f"{self.material.name} (in {', '.join(blends)})" if blends else self.material.name

    @property
    def is_acid(self) -> bool:
        """Whether it works only as the undissociated acid, and its pKa is known."""
        return self.material.is_a("organic acid preservative") and bool(self.material.value("pKa"))

    @property
    def is_phenol(self) -> bool:
        """Whether it is a paraben or phenol of known pKa, which alkali turns into a weak ion."""
        return self.material.is_a(*_PHENOLS) and bool(self.material.value("pKa"))


class AcidState(NamedTuple):
    """An acid preservative at the finished pH. least: the free acid that works, % w/w of the water phase, if known."""

    guard: Guard
    acid: freeacid.FreeAcid
    least: float | None

    @property
    def share(self) -> float:
        """Free acid over the least that works; where that is not known, the amount over its own."""
        return self.acid.free_percent / self.least if self.least else self.guard.share


class Preservation:
    """The preservation of one formula, each part worked out when first asked for."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet = sheet

    # --- water

    @cached_property
    def leaves(self) -> tuple[Part, ...]:
        """Every single substance of the formula, where it comes from."""
        return self.sheet.parts

    @cached_property
    def water_phase_percent(self) -> float:
        """% w/w of water and of what is dissolved in it."""
        return sum(part.amount for part in self.sheet.inside(*_WATERY) if not part.material.is_a("oil"))

    @cached_property
    def holds_water(self) -> bool:
        """Whether there is more water than the traces that raw materials bring, or than a bar or powder binds."""
        dry = self.sheet.product.form in _DRY_FORMS
        kind = "least water that needs preserving, bars and powders" if dry else "least water that needs preserving"
        return self.sheet.water_percent >= self.sheet.limit(kind)

    @cached_property
    def activity(self) -> Activity | None:
        """Water activity of the water phase; None without water."""
        if self.sheet.water_percent <= 0:
            return None
        humectants, salts, left = [], [], []
        for part in self.sheet.inside(*_SOLUTES, "electrolyte"):
            material = part.material
            if material.is_a("water", "oil"):
                continue
            if material.is_a(*_SOLUTES):
                if material.molar_mass:
                    moles = max(part.amount, 0.0) / material.molar_mass
                    humectants.append(Humectant(material.name, moles, material.value("Norrish K")))
                else:
                    left.append(material.name)
            elif salt := _salt(material, max(part.amount, 0.0)):
                salts.append(salt)
        return wateractivity.water_activity(self.sheet.water_percent / 1000, humectants, salts, left_out=left)

    @cached_property
    def low_risk(self) -> Verdict:
        """The criteria of ISO 29621, judged by the stated pH and the computed water activity."""
        sheet = self.sheet
        measured = sheet.formula.finished.measured_pH
        pH = (measured, measured) if measured is not None else sheet.stated_pH
        alcohol = sum(part.amount for part in self.sheet.inside("volatile alcohol"))
        return wateractivity.iso29621(
            wateractivity.low_risk_limits(sheet.limit),
            activity=self.activity,
            pH=None if pH is None else (_on_scale(min(pH)), _on_scale(max(pH))),
            alcohol_percent=min(max(alcohol, 0.0), 100.0),
        )

    @cached_property
    def solvent_share(self) -> float:
        """How far alcohols, glycols and the like suffice by themselves: 1 is enough."""
        whole = self.water_phase_percent
        return sum(100 * amount / whole / least for _, amount, least in self.keepers) if whole > 0 else 0.0

    @cached_property
    def keepers(self) -> tuple[tuple[Part, float, float], ...]:
        """Materials that keep a product from some amount on: (part, % w/w of the product, least % of the water phase)."""
        kept = (part for part in self.leaves if "preserves from" in part.material.facts)
        found = ((part, self.sheet.value(part.material, "preserves from")) for part in kept)
        return tuple((part, part.amount, float(least)) for part, least in found if least)

    @cached_property
    def soap_percent(self) -> float:
        """% w/w of soap, bought as such or made in the batch."""
        from .soap import soap_made

        return sum(part.amount for part in self.sheet.inside("soap")) + soap_made(self.sheet)

    @cached_property
    def kept_by_soap(self) -> bool:
        """Whether it is concentrated soap, or a soap alkaline enough to keep reasonably well."""
        limit, pH = self.sheet.limit, self.sheet.pH
        alkaline = pH is not None and pH >= limit("alkaline soap pH") and self.soap_percent >= limit("liquid soap")
        return alkaline or self.soap_percent >= limit("concentrated soap")

    @cached_property
    def astringent_share(self) -> float:
        """Antiperspirant salts over what makes a product low risk by ISO 29621: 1 is enough."""
        salts = sum(part.amount for part in self.sheet.inside("antiperspirant"))
        return salts / self.sheet.limit("low risk, aluminium chlorohydrate")

    @cached_property
    def keeps_itself(self) -> bool:
        """Whether it needs no preservative: hardly any water, low risk by the standard, solvents, or soap."""
        if not self.holds_water or self.solvent_share >= 1 or self.astringent_share >= 1:
            return True
        return bool(self.low_risk.low_risk) or self.kept_by_soap

    # --- preservatives

    @cached_property
    def present(self) -> tuple[Guard, ...]:
        """All preservatives and boosters, traces too."""
        return tuple(_guards(self.sheet))

    @cached_property
    def guards(self) -> tuple[Guard, ...]:
        """Preservatives and boosters that are more than traces carried in by raw materials."""
        trace = self.sheet.limit("trace of a preservative")
        return tuple(guard for guard in self.present if guard.share >= trace)

    @cached_property
    def preservatives(self) -> tuple[Guard, ...]:
        """The guards that preserve by themselves."""
        return tuple(guard for guard in self.guards if not guard.booster)

    @cached_property
    def boosters(self) -> tuple[Guard, ...]:
        """The guards that only help others."""
        return tuple(guard for guard in self.guards if guard.booster)

    def strength(self, share: Callable[[Guard], float] | None = None, without: Iterable[Guard] = ()) -> float:
        """The sum of all shares, boosters at their lower weight and never more than their most: 1 is enough."""
        limit = self.sheet.limit
        gone = {id(guard) for guard in without}
        rest = [guard for guard in self.guards if id(guard) not in gone]
        of = share or (lambda guard: guard.share)
        boosters = limit("weight of a booster") * sum(of(guard) for guard in rest if guard.booster)
        most = limit("most that boosters count")
        return sum(of(guard) for guard in rest if not guard.booster) + min(boosters, most)

    def coverage(self, without: Iterable[Guard] = ()) -> dict[str, int]:
        """Best grade for bacteria, yeast and mould (see GRADES) of what is there near its least dose or more.

        Weak grades of several, or of one with a booster beside it, make a fair one. A blend's own grades count as well.
        """
        gone = {id(guard) for guard in without}
        enough = self.sheet.limit("share that counts for the spectrum")
        rest = [guard for guard in self.guards if id(guard) not in gone and guard.share >= enough]
        grades = [_grades(guard.material) for guard in rest]
        if not gone:
            grades += [_grades(blend) for blend in self._blends]
        boosted = len(rest) > 1 and any(guard.booster for guard in rest)
        return {kingdom: _combined([grade.get(kingdom, 0) for grade in grades], boosted) for kingdom in KINGDOMS}

    @cached_property
    def _blends(self) -> tuple[Material, ...]:
        """Blends that are preservatives as a whole, near their least dose or more."""
        found = []
        enough = self.sheet.limit("share that counts for the spectrum")
        for item in self.sheet.items:
            if item.percent is not None and item.material.contains and _guarding(item.material):
                least = _least(self.sheet, item.material)
                if least and item.amount >= enough * least:
                    found.append(item.material)
        return tuple(found)

    @property
    def ungraded(self) -> tuple[Guard, ...]:
        """Preservatives of which no spectrum is known."""
        return tuple(guard for guard in self.preservatives if not guard.material.value("spectrum"))

    # --- what pH leaves

    @cached_property
    def acids(self) -> tuple[AcidState, ...]:
        """The acid preservatives at the finished pH; empty where none is stated."""
        return () if self.sheet.pH is None else self.acids_at(self.sheet.pH)

    def acids_at(self, pH: float) -> tuple[AcidState, ...]:
        """The acid preservatives at a pH."""
        water = max(self.water_phase_percent, self.sheet.water_percent)
        if water <= 0:
            return ()
        return tuple(
            AcidState(guard, _free(guard, pH, water), self.sheet.value(guard.material, "minimum free acid"))
            for guard in self.preservatives
            if guard.is_acid
        )

    def highest_pH(self, enough: Callable[[float], bool]) -> float | None:
        """The highest pH, to a hundredth, at which enough() still holds; None where it does not even at pH 3."""
        low, high = 3.0, 10.0
        if not enough(low):
            return None
        while high - low > 0.005:
            middle = (low + high) / 2
            low, high = (middle, high) if enough(middle) else (low, middle)
        return low

    def working(self, guard: Guard) -> float:
        """The share of one guard that works at the finished pH."""
        pH = self.sheet.pH
        if pH is None:
            return guard.share
        if guard.is_acid:
            states = [state for state in self.acids if state.guard is guard]
            return states[0].share if states else guard.share
        if guard.is_phenol:
            return guard.share * undissociated(guard.material, pH)
        return guard.share if self.inside_window(guard, pH) else 0.0

    def inside_window(self, guard: Guard, pH: float) -> bool:
        """Whether the pH is inside the window of a guard, with the grace that meters need."""
        window: Range | None = self.sheet.value(guard.material, "pH window")
        grace = self.sheet.limit("grace beyond a pH window")
        return window is None or (
            (window.low is None or pH >= window.low - grace) and (window.high is None or pH <= window.high + grace)
        )

    # --- what oil and micelles leave

    @cached_property
    def oil_ratio(self) -> float:
        """Volume of oil over that of water, densities taken as equal."""
        water = self.water_phase_percent
        return min(max(self.sheet.oil_percent / water, 0.0), 100.0) if water > 0 else 0.0

    @cached_property
    def _oil_shares(self) -> tuple[float, float]:
        """Shares of the oil phase that hardly dissolve a preservative (hydrocarbons, silicones, solid waxes), and the rest."""
        poor = sum(part.amount for part in self.sheet.inside(*_SOLID_OR_MINERAL))
        whole = self.sheet.oil_percent
        share = min(max(poor / whole, 0.0), 1.0) if whole > 0 else 0.0
        return share, 1.0 - share

    def oil_coefficient(self, log_P: float) -> float:
        """Partition coefficient between this oil phase and water, from that for octanol and the kind of oils."""
        poor, good = self._oil_shares
        mineral = partition.coefficient(log_P, shift=self.sheet.limit("log K less log P, hydrocarbon"))
        vegetable = partition.coefficient(log_P, shift=self.sheet.limit("log K less log P, vegetable oil"))
        return poor * mineral + good * vegetable

    def free(self, guard: Guard, oil: bool = True, micelles: bool = False) -> float:
        """The share of one guard that works at the finished pH when oil, or micelles, take what they take."""
        log_P = guard.material.value("log P")
        base = self.working(guard)
        if log_P is None:
            return base
        K = self.oil_coefficient(float(log_P)) if oil else 0.0
        ratio = self.oil_ratio if oil else 0.0
        bound = self.total_to_free(guard) if micelles else 1.0
        neutral = self.neutral_share(guard)
        plain = partition.distribute(1.0, 0.0, 0.0, undissociated=neutral).free_concentration
        left = partition.distribute(
            1.0, min(K, 1e12), ratio, undissociated=neutral, total_to_free=min(bound, 1000.0)
        ).free_concentration
        taken = left / plain
        return base * (taken / (ratio + 1.0) if guard.is_acid else taken)

    def in_water(self, guard: Guard) -> float:
        """Share of all of a guard that is not in the oil, at rest; 1 where log P is unknown."""
        log_P = guard.material.value("log P")
        if log_P is None:
            return 1.0
        K = min(self.oil_coefficient(float(log_P)), 1e12)
        return partition.distribute(1.0, K, self.oil_ratio, undissociated=self.neutral_share(guard)).in_water

    def neutral_share(self, guard: Guard) -> float:
        """Share of a guard in the water that is undissociated; 1 where it has no acid group or no pH is stated."""
        pH = self.sheet.pH
        if pH is None or not (guard.is_acid or guard.is_phenol):
            return 1.0
        return max(undissociated(guard.material, pH), 1e-9)

    @cached_property
    def micelles_percent(self) -> float:
        """Ethoxylated nonionics that form micelles, % of the water phase."""
        whole = self.water_phase_percent
        amount = sum(
            part.amount
            for part in self.sheet.inside("ethoxylated nonionic")
            if not part.material.is_a("polyol", "humectant")
        )
        return max(100 * amount / whole, 0.0) if whole > 0 else 0.0

    def total_to_free(self, guard: Guard) -> float:
        """Total over free preservative beside the micelles (R of Kostenbauder and of Bean); 1 where log P is unknown."""
        log_P = guard.material.value("log P")
        if log_P is None or not self.micelles_percent:
            return 1.0
        limit = self.sheet.limit
        exponent = limit("micelle binding at log P 0") + limit("micelle binding by log P") * float(log_P)
        return float(1.0 + 10.0**exponent * self.micelles_percent)


def undissociated(material: Material, pH: float) -> float:
    """Share of an acid or phenol that is undissociated at a pH, by its pKa."""
    return freeacid.free_acid(1.0, material.value("pKa"), _on_scale(pH), 100.0).undissociated_percent / 100


def _on_scale(pH: float) -> float:
    return min(max(pH, 0.0), 14.0)


def _free(guard: Guard, pH: float, water_percent: float) -> freeacid.FreeAcid:
    """The free acid of a preservative: a salt counted as its acid, two pKa of a double salt as one."""
    material = guard.material
    share = next(iter(material.releases.values()), 1.0)
    pKa = material.value("pKa")
    if len(set(pKa)) == 1:
        pKa = pKa[:1]
    percent = min(max(guard.percent * share, 0.0), 100.0)
    return freeacid.free_acid(percent, pKa, _on_scale(pH), min(water_percent, 100.0))


def _guarding(material: Material) -> bool:
    return material.is_a(*_GUARDING)


def _least(sheet: Worksheet, material: Material) -> float | None:
    dose = sheet.value(material, "dose")
    if dose is None:
        facts: tuple[Fact, ...] = material.facts.get("dose", ())
        lows = [fact.value.low for fact in facts if fact.used and fact.value.low]
        return min(lows) if lows else None
    return dose.low or None


def _guards(sheet: Worksheet) -> Iterable[Guard]:
    groups: dict[str, list[tuple[Part, float]]] = {}
    by_line: dict[int, list[Part]] = {}
    for part in sheet.inside(*_GUARDING):
        by_line.setdefault(id(part.item), []).append(part)
    for parts in by_line.values():
        item = parts[0].item
        scale = _scale(sheet, item.material, item.amount, parts)
        for part in parts:
            groups.setdefault(fold(part.material.name), []).append((part, scale))
    for pairs in groups.values():
        material = pairs[0][0].material
        percent = sum(part.amount for part, _ in pairs)
        weighted = sum(part.amount * scale for part, scale in pairs)
        yield Guard(
            material,
            percent,
            tuple(part for part, _ in pairs),
            _is_booster(sheet, material),
            _least(sheet, material),
            weighted / percent if percent else 1.0,
        )


def _scale(sheet: Worksheet, blend: Material, amount: float, parts: list[Part]) -> float:
    """A blend is dosed as a whole: at the low end of its dose its parts count as enough together."""
    if not blend.contains or not _guarding(blend):
        return 1.0
    least = _least(sheet, blend)
    own = sum(part.amount / low for part in parts if (low := _least(sheet, part.material)))
    return max(1.0, amount / least / own) if least and own else 1.0


def _is_booster(sheet: Worksheet, material: Material) -> bool:
    """Whether it only helps: a booster, a perfume material, or a quaternary dosed to condition, far above what preserves."""
    if not material.is_a("preservative") or material.is_a("fragrance"):
        return True
    if not material.is_a("cationic surfactant"):
        return False
    dose = sheet.value(material, "dose")
    return dose is not None and (dose.high or 0) > sheet.limit("conditioner quaternary")


def _grades(material: Material) -> Mapping[str, int]:
    return {kingdom: GRADES[grade] for kingdom, grade in material.value("spectrum") or () if grade in GRADES}


def _combined(grades: list[int], boosted: bool) -> int:
    best = max(grades, default=0)
    if best == 1 and (boosted or sum(1 for grade in grades if grade) > 1):
        return FAIR
    return best


def _salt(material: Material, percent: float) -> Salt | None:
    """A dissolved salt with its strong ions; the ion of a weak acid makes up the charge. None where nothing is known."""
    mass = material.molar_mass
    ions = material.once("strong ions", lambda: _strong_ions(material)) if mass else None
    return Salt(material.name, percent / mass, *ions) if mass and ions else None


def _strong_ions(material: Material) -> tuple[int, int, int, int] | None:
    """Cations and anions of a salt, and their charges."""
    ions = [(_charge(name), float(number)) for name, number in material.value("counter-ions") or ()]
    plus = [(charge, number) for charge, number in ions if charge > 0]
    minus = [(-charge, number) for charge, number in ions if charge < 0]
    if not plus and not minus:
        return None
    charge = sum(c * n for c, n in plus or minus)
    cations = sum(n for _, n in plus) or 1.0
    anions = sum(n for _, n in minus) or 1.0
    return (
        max(1, round(cations)),
        max(1, round(anions)),
        max(1, round(charge / cations)),
        -max(1, round(charge / anions)),
    )


def _charge(ion: str) -> int:
    """Na+, Mg+2, Cl-: the charge at the end of the name."""
    for sign in "+-":
        name, mark, size = ion.rpartition(sign)
        if mark and name:
            return int(f"{sign}{size or 1}")
    return 0
