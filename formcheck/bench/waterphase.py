"""The water phase of a formula as acid-base chemistry sees it.

Of every substance: whether it gives or takes protons in the water, how much of it there is, and, where its chemistry is
not known, that it had to be left out, why, and how much charge it may bring all the same. Facts come from the
reference: pKa, charge of the fully protonated form, counter-ions, molar or equivalent mass.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from math import inf, sqrt
from typing import TYPE_CHECKING, Any

from ..formula.figures import number
from ..formula.units import Range
from ..records import NamedTuple
from ..reference.material import Material
from .acidbase import PH_HIGH, PKA_DOUBT, Prediction, Solute, missing_charge, predict, solve
from .composition import Component
from .emulsion import most_dissolved, solubility
from .errors import OutOfRange

if TYPE_CHECKING:
    from .worksheet import Worksheet

MOST_CONSTANTS = 8
"""As many pKa values as acidbase takes."""
USUAL_BATCH_G = 1000.0
"""Where no batch size is given; no pH depends on it."""
_ION = re.compile(r"([+-])(\d*)$")
_STRONG = ("strong acid", "strong base")
_SALT_OF_STRONG_ACID = ("surfactant", "anionic emulsifier", "cationic emulsifier", "cationic preservative")
_WATERY = ("water", "hot water", "alkali", "acid")
_NATURAL = ("clay", "plant water", "probiotic or ferment", "botanical extract", "protein", "peptide")
_TRIGLYCERIDES = ("vegetable oil", "butter")


class Chemistry(NamedTuple):
    """How one mole of a material behaves in water; see acidbase.Solute. mass: g/mol, or g per mole of groups."""

    pKa: tuple[float, ...]
    top_charge: int
    ions: tuple[tuple[int, float], ...]
    mass: float

    @property
    def strong_charge(self) -> float:
        """Charge of the strong ions of a mole."""
        return sum(charge * moles for charge, moles in self.ions)


class _Verdict(NamedTuple):
    """chemistry: to go by; why: what is left out or doubtful, "" for nothing; doubt: mol of charge per kg."""

    chemistry: Chemistry | None = None
    why: str = ""
    doubt: float = 0.0


class LeftOut(NamedTuple):
    """A material of the water phase that the model knows too little of.

    percent: % w/w of the formula. why: in words. doubt: charge of either sign that it may bring, mol per kg of it.
    """

    name: str
    percent: float
    why: str
    doubt: float


class WaterPhase(NamedTuple):
    """What acidbase needs of a whole batch.

    batch_kg: the batch's mass, a kilogram where the formula gives none. charge_doubt_mol: what the materials left out
    may bring. refusal: why no pH can be predicted from it, "" where one can. extra_charge_mol: strong charge (positive:
    alkali) of what was added to taste up to a known pH. ceiling: the pH of a saturated solution of the bases in it, where
    none of them dissolves freely; no more of them takes it higher.
    """

    solutes: tuple[Solute, ...]
    water_kg: float
    batch_kg: float
    left_out: tuple[LeftOut, ...] = ()
    charge_doubt_mol: float = 0.0
    pKa_doubt: float = PKA_DOUBT
    refusal: str = ""
    extra_charge_mol: float = 0.0
    ceiling: float = PH_HIGH

    def plus(self, solute: Solute, water_kg: float = 0.0) -> WaterPhase:
        """The same with something more in it."""
        ceiling = self.ceiling if solute.strong_charge_mol <= 0.0 else PH_HIGH
        return self._replace(solutes=(*self.solutes, solute), water_kg=self.water_kg + water_kg, ceiling=ceiling)

    def brought_to(self, pH: float) -> WaterPhase:
        """The same after an unknown amount of strong acid or base has brought it to a pH. Raises OutOfRange."""
        return self._replace(extra_charge_mol=missing_charge(self.solutes, self.water_kg, pH))

    def pH(self) -> float:
        """The pH without a band: quick. Raises OutOfRange."""
        return min(solve(self.solutes, self.water_kg, extra_charge_mol=self.extra_charge_mol).pH, self.ceiling)

    def predict(self) -> Prediction:
        """The pH with its band, which allows for what is left out. Raises OutOfRange.

        Glycols and solubilisers dissolve more of a solid acid than water does: the band reaches to where all of it is
        dissolved.
        """
        found = self._predict(self.solutes)
        if found.pH > self.ceiling:
            return found._replace(pH=self.ceiling, low=min(found.low, self.ceiling - self.pKa_doubt), high=self.ceiling)
        if not any(solute.mol > solute.soluble * self.water_kg for solute in self.solutes):
            return found
        clear = self._predict([solute._replace(soluble=inf) for solute in self.solutes])
        return found._replace(low=min(found.low, clear.low), high=max(found.high, clear.high))

    def _predict(self, solutes: Sequence[Solute]) -> Prediction:
        return predict(
            solutes,
            self.water_kg,
            left_out=[each.name for each in self.left_out],
            extra_charge_mol=self.extra_charge_mol,
            charge_doubt_mol=self.charge_doubt_mol,
            pKa_doubt=self.pKa_doubt,
        )


def ion_charge(name: str) -> int:
    """The charge in the name of an ion: Na+ 1, SO4-2 -2. Raises ValueError."""
    match = _ION.search(name)
    if match is None:
        raise ValueError(f"«{name}» shows no charge; an ion is written as Na+, Cl- or Mg+2")
    return int(match.group(1) + (match.group(2) or "1"))


def chemistry(material: Material) -> Chemistry | None:
    """What the reference knows of a material's acids, bases and ions; None where that is nothing or not enough."""
    return material.once("chemistry", lambda: _chemistry(material))


def _chemistry(material: Material) -> Chemistry | None:
    pKa: tuple[float, ...] = tuple(sorted(float(value) for value in material.value("pKa") or ()))
    counter: Iterable[tuple[str, Any]] = material.value("counter-ions") or ()
    mass = material.value("equivalent mass") or material.molar_mass
    if not mass or not (pKa or counter):
        return None
    try:
        ions = tuple((ion_charge(name), float(moles)) for name, moles in counter)
    except ValueError:
        return None
    top = int(material.value("charge when protonated") or 0)
    # Protons that are lost at any pH of a product, or never, need no constant of their own.
    surplus = max(0, len(pKa) - MOST_CONSTANTS)
    return Chemistry(pKa[surplus:], top - surplus, ions, float(mass))


def build(sheet: Worksheet, without: Collection[int] = ()) -> WaterPhase:
    """The water phase of a formula.

    without: ids of lines (id(item)) to leave away, as those of acids and bases that are added later.
    """
    return _Builder(sheet, float(sheet.formula.batch.size_g or USUAL_BATCH_G), frozenset(without)).build()


class _Builder:
    def __init__(self, sheet: Worksheet, batch_g: float, without: frozenset[int]) -> None:
        self.sheet = sheet
        self.batch_g = batch_g
        self.without = without
        self.alkaline = _meets_base(sheet)
        self.solutes: list[Solute] = []
        self.left_out: list[LeftOut] = []
        self.water_g = 0.0
        self.soap_made = False

    def build(self) -> WaterPhase:
        for component in self.sheet.components:
            grams = self.grams(component)
            if grams > 0.0:
                self.take(component, grams)
        doubts = [each.doubt * each.percent / 100.0 * self.batch_g / 1000.0 for each in self.left_out]
        impurity = self.limit("impurity of a weak acid or base")
        doubts += [impurity * solute.mol for solute in self.solutes if solute.pKa and not solute.ions]
        return WaterPhase(
            tuple(self.solutes),
            self.water_g / 1000.0,
            self.batch_g / 1000.0,
            tuple(self.left_out),
            sqrt(sum(doubt * doubt for doubt in doubts)),
            self.pKa_doubt(),
            self.refusal(),
            ceiling=self.ceiling(),
        )

    def ceiling(self) -> float:
        """The pH of a saturated solution of the strong bases, where all of them hardly dissolve."""
        if not self.sheet.inside("strong base"):
            return PH_HIGH
        bases = [c.material for c in self.sheet.components if c.material.is_a("strong base") and self.grams(c) > 0.0]
        saturated = [(chemistry(base), solubility(base)) for base in bases]
        pHs = [
            solve([Solute("base", 10.0 * most_dissolved(most) / known.mass, ions=known.ions)], 1.0).pH
            for known, most in saturated
            if known is not None
            and most is not None
            and most_dissolved(most) < self.limit("base that hardly dissolves")
        ]
        return max(pHs) if pHs and len(pHs) == len(bases) else PH_HIGH

    def pKa_doubt(self) -> float:
        """How sure the constants are that set the pH: those of polyacids and of soap move with the pH itself."""
        doubt = PKA_DOUBT
        if self.sheet.holds("acrylic acid polymer"):
            doubt = max(doubt, self.limit("pKa doubt, acrylic acid polymer"))
        return max(doubt, self.limit("pKa doubt, fatty acid in soap")) if self.soap_made else doubt

    def limit(self, name: str) -> float:
        return self.sheet.limit(name)

    def grams(self, component: Component) -> float:
        if not self.without:
            return component.amount / 100.0 * self.batch_g
        kept = (part.amount for part in component.parts if id(part.item) not in self.without)
        return sum(kept) / 100.0 * self.batch_g

    def take(self, component: Component, grams: float) -> None:
        material = component.material
        if material.is_a("water"):
            self.water_g += grams
            if not material.is_a("plant water", "electrolyte"):
                return
        verdict = self.judge(material)
        if verdict.chemistry is not None:
            known = verdict.chemistry
            soluble = material.once("soluble in water", lambda: _soluble(material, known))
            self.dissolve(component.name, known, grams, soluble)
        if verdict.why:
            percent = 100.0 * grams / self.batch_g
            self.left_out.append(LeftOut(component.name, percent, verdict.why, verdict.doubt))

    def dissolve(self, name: str, known: Chemistry, grams: float, soluble: float) -> None:
        self.solutes.append(Solute(name, grams / known.mass, known.pKa, known.top_charge, known.ions, soluble))

    def judge(self, material: Material) -> _Verdict:
        if self.alkaline and material.is_a("fatty acid"):
            self.soap_made = True
            return _Verdict(chemistry(material))
        return material.once("verdict in water", lambda: self.judged(material))

    def judged(self, material: Material) -> _Verdict:
        """The verdict on a material wherever it is: it rests on the material and on limits of the reference alone."""
        known = chemistry(material)
        outside = _outside(material)
        if outside:
            return _Verdict(None, outside if known else "")
        if known is None:
            return self.without_constants(material)
        if known.pKa or not known.strong_charge or material.is_a(*_STRONG):
            return self.trusted(known)
        if material.is_a(*_SALT_OF_STRONG_ACID) and not material.is_a("soap"):
            return _Verdict(
                None, "salt of a strong acid or base; taken as neutral", self.limit("charge doubt, surfactant")
            )
        share = self.limit("charge doubt, salt without constants")
        doubt = share * abs(known.strong_charge) / known.mass * 1000.0
        return _Verdict(None, "salt of an acid or base without known constants", doubt)

    def trusted(self, known: Chemistry) -> _Verdict:
        if known.strong_charge <= self.limit("most counter-ions taken at their word"):
            return _Verdict(known)
        doubt = self.limit("counter-ions in doubt") * known.strong_charge / known.mass * 1000.0
        return _Verdict(known, "sold more or less neutralised; taken as the full salt", doubt)

    def without_constants(self, material: Material) -> _Verdict:
        kind, why = _kind(material, self.limit("skin, high pH"), self.limit("pH of nearly plain water"))
        if not kind:
            return _Verdict()
        doubt = self.limit(f"charge doubt, {kind}")
        return _Verdict(None, why, max(doubt, _charge_of_pH(material.value("as supplied pH"))))

    def refusal(self) -> str:
        sheet = self.sheet
        if any(item.percent is None for item in sheet.items):
            return "the percents cannot be worked out"
        if self.water_g < self.limit("least water for a pH") / 100.0 * self.batch_g:
            return f"it holds less than {self.limit('least water for a pH'):g} % of water"
        if sheet.holds("soap"):
            return "the soap in it sets the pH by itself; true soap lies at pH 9 to 10"
        alcohol, polyol = (float(sheet.percent_of(name)) for name in ("volatile alcohol", "polyol"))
        liquid = self.water_g / self.batch_g * 100.0 + alcohol + polyol
        if alcohol > self.limit("most alcohol for a predicted pH") / 100.0 * liquid:
            return "it holds so much alcohol that constants measured in water do not apply"
        if alcohol + polyol > self.limit("most solvent for a predicted pH") / 100.0 * liquid:
            return "it holds so much solvent that constants measured in water do not apply"
        return ""


def _soluble(material: Material, known: Chemistry) -> float:
    """mol in a kg of water of a free acid that hardly dissolves; infinite for all else."""
    fact = solubility(material)
    if known.ions or known.top_charge or fact is None or not material.is_a("acid"):
        return inf
    return 10.0 * most_dissolved(fact) / known.mass


def _meets_base(sheet: Worksheet) -> bool:
    """Whether a base is among the phases or neutralises them."""
    if sheet.holds("base"):
        return True
    named = (name for step in sheet.formula.procedure if step.verb == "neutralise" for name in step.with_)
    return any(material.is_a("base") for material in map(sheet.book.find, named) if material is not None)


def _outside(material: Material) -> str:
    """Why something is not in the water, constants or not."""
    if material.is_a("fatty acid"):
        return "a fatty acid stays in the oil where there is no base"
    if material.is_a("oil"):
        return "belongs to the oil"
    media = material.value("dissolves in")
    if media and "oil" in media and not any(each in media for each in _WATERY):
        return "dissolves in the oil rather than in the water"
    return ""


def _kind(material: Material, alkaline: float, neutral: float) -> tuple[str, str]:
    """Which charge doubt a material without constants has, and why it is left out; ("", "") for what has no charge."""
    if not material.known:
        return "unknown material", "nothing is known of it"
    if material.is_a(*_NATURAL):
        return next(kind for kind in _NATURAL if material.is_a(kind)), "a natural mixture of changing acidity"
    supplied = material.value("as supplied pH")
    if material.is_a("powder") and supplied is not None:
        if (supplied.low or 0.0) >= alkaline:
            return "mineral that acid dissolves", "a mineral that takes up acid"
        return "powder", "not dissolved"
    if material.is_a("acid", "base"):
        return "acid or base without constants", "an acid or base without known constants"
    if material.is_a("electrolyte", "buffer", "amino acid", "chelator"):
        return "electrolyte", "a salt without known constants"
    charged = material.value("charge") in ("anionic", "cationic", "amphoteric")
    if material.is_a("surfactant", "emulsifier") and (charged or supplied is not None):
        return "surfactant", "brings traces of alkali or acid"
    if material.is_a("thickener") and charged:
        return "thickener", "its few acid groups are not modelled"
    if supplied is not None and not supplied.holds(neutral):
        return "electrolyte", "an acid or base without known constants"
    return "", ""


def _charge_of_pH(supplied: Range | None) -> float:
    """mol of strong acid or base in a kg of what gives a 1 % solution this pH, at the end that needs more."""
    if supplied is None:
        return 0.0
    acid = 10.0**-supplied.low if supplied.low is not None else 0.0
    base = 10.0 ** (supplied.high - 14.0) if supplied.high is not None else 0.0
    return 100.0 * max(acid, base)


def saponifying(sheet: Worksheet, pH: float) -> bool:
    """Whether a predicted pH means that lye makes soap of the oils, which the model does not know."""
    if pH <= sheet.limit("highest pH of a finished batch with oils"):
        return False
    return sheet.holds("strong base") and sheet.holds(*_TRIGLYCERIDES)


def predicted(sheet: Worksheet, phase: WaterPhase) -> tuple[Prediction | None, str]:
    """The predicted pH of a water phase, or why there is none."""
    if phase.refusal:
        return None, phase.refusal
    try:
        prediction = phase.predict()
    except OutOfRange as error:
        return None, str(error)
    if saponifying(sheet, prediction.pH):
        return None, "the lye makes soap of the oils; its pH is not modelled"
    return prediction, ""


def reasons(phase: WaterPhase) -> Iterator[str]:
    """What was left out and why, one line each."""
    for each in phase.left_out:
        yield f"{each.name} ({number(each.percent, 3)} %): {each.why}"
