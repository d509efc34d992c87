"""The pH windows of all that a formula holds, where they meet, and, where they do not, which of them agree.

A window is the finished pH at which something works (or, where only that is known, keeps). Windows are intervals, so
the largest set that agrees is found by walking along their ends: the overlap of most intervals of a line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ..formula.model import Fact
from ..formula.names import fold
from ..formula.units import Range
from ..records import NamedTuple
from ..reference.material import Material
from .composition import Part

if TYPE_CHECKING:
    from .worksheet import Worksheet

SCALE = (0.0, 14.0)
SKIN = "skin"
WORKS, KEEPS = "pH window", "stable pH"
_KINDS = (
    ("preservative", ("preservative",)),
    ("booster", ("preservative booster",)),
    ("thickener", ("thickener",)),
    ("emulsifier", ("emulsifier",)),
    ("surfactant", ("surfactant",)),
    ("active", ("active",)),
)
_COUNTS_FROM = {
    "active": "share of its least dose at which a material counts",
    "preservative": "trace of a preservative",
    "booster": "trace of a preservative",
}
_MAIN_WORK = ("active", "thickener", "emulsifier")
_TOO_WIDE_TO_COMPARE = frozenset(
    ("electrolyte", "humectant", "powder", "acid", "base", "buffer", "solvent", "oil", "active", "fragrance allergen")
)
_NEVER_PROPOSED = ("formaldehyde releaser", "isothiazolinone", "halogenated preservative", "medicinal", "soap")
MOST_ALTERNATIVES = 3


class Window(NamedTuple):
    """The finished pH that something wants.

    name: its label. kind: preservative, booster, thickener, emulsifier, surfactant, active, other or skin. low, high:
    None where that end is open. says: whether it works there ("pH window") or only keeps ("stable pH"). certainty:
    of the fact. counts: whether there is enough of it to do its work. part, fact: None for skin and for soap that the
    batch makes.
    """

    name: str
    kind: str
    low: float | None
    high: float | None
    says: str = WORKS
    certainty: str = "high"
    counts: bool = True
    part: Part | None = None
    fact: Fact | None = None

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends, an open one at the end of the scale."""
        return (SCALE[0] if self.low is None else self.low, SCALE[1] if self.high is None else self.high)

    @property
    def range(self) -> Range:
        """It as a range of pH, an open end None."""
        return Range(self.low, self.high)

    @property
    def material(self) -> Material | None:
        """What it is the window of; None for a window of no material."""
        return None if self.part is None else self.part.material

    def apart(self, pH: float) -> float:
        """How far a pH lies outside it; 0 inside."""
        low, high = self.ends
        return max(low - pH, pH - high, 0.0)

    def depends(self, low: float, high: float) -> bool:
        """Whether it does not cover all of low to high, so that it matters which pH the product has."""
        ends = self.ends
        return ends[0] > low or ends[1] < high


class Agreement(NamedTuple):
    """The largest set of windows that a pH suits. low, high: what they share; outside: those it does not suit."""

    low: float
    high: float
    agreeing: tuple[Window, ...]
    outside: tuple[Window, ...]


def windows(sheet: Worksheet) -> tuple[Window, ...]:
    """Every window of the formula, each material once, in the order of the lines; skin last."""
    found = {fold(window.name): window for window in reversed(list(_of_materials(sheet)))}
    result = list(reversed(found.values()))
    result.extend(_soap_made(sheet))
    if sheet.product.use == "leave-on" and result:
        result.append(skin(sheet))
    return tuple(result)


def _of_materials(sheet: Worksheet) -> Iterator[Window]:
    works = list(sheet.with_fact(WORKS))
    whole = {id(part.item) for part, _ in works if part.blend is None}
    covered = {(id(part.item), part.material.name) for part, _ in works}
    keeps = [
        (part, fact)
        for part, fact in sheet.with_fact(KEEPS)
        if id(part.item) not in whole and (id(part.item), part.material.name) not in covered
    ]
    order = {id(item): number for number, item in enumerate(sheet.items)}
    both = sorted([*works, *keeps], key=lambda each: order.get(id(each[0].item), 0))
    for part, fact in both:
        if not part.material.is_a("oil") and part.percent > 0:
            yield _window(sheet, part, fact)


def _window(sheet: Worksheet, part: Part, fact: Fact) -> Window:
    value: Range = fact.value
    kind = "active" if _more_than_preserves(sheet, part) else kind_of(part.material)
    return Window(
        part.label, kind, value.low, value.high, fact.property, fact.certainty, _counts(sheet, part, kind), part, fact
    )


def _more_than_preserves(sheet: Worksheet, part: Part) -> bool:
    """Whether a preservative is there as the active that it is as well: much of it, beside another preservative."""
    if not (part.material.is_a("preservative") and part.material.is_a("active")):
        return False
    others = (each.material.name for each in sheet.outer("preservative"))
    much = part.amount > sheet.limit("a preservative that is an active above")
    return much and any(name != part.material.name for name in others)


def kind_of(material: Material) -> str:
    """What a material is there for, of the kinds that pH rules tell apart."""
    if material.is_a("surfactant") and not material.is_a("preservative", "thickener", "soap", "cationic emulsifier"):
        return "surfactant"
    return next((kind for kind, classes in _KINDS if material.is_a(*classes)), "other")


def _counts(sheet: Worksheet, part: Part, kind: str) -> bool:
    share = _COUNTS_FROM.get(kind)
    dose = None if share is None else sheet.value(part.material, "dose")
    if share is None or dose is None or dose.low is None:
        return True
    return bool(part.amount >= dose.low * sheet.limit(share))


def _soap_made(sheet: Worksheet) -> Iterator[Window]:
    """Soap of a fatty acid and a base, where nothing else holds oil and water together."""
    acids = sheet.outer("fatty acid")
    if not acids or not sheet.holds("base") or sheet.holds("emulsifier", "acrylic acid polymer"):
        return
    fact = sheet.reference.limit("soap made in the batch, lowest pH")
    name = f"soap of {acids[0].label} and the base"
    yield Window(name, "emulsifier", float(fact.value), None, WORKS, fact.certainty, True, acids[0], fact)


def skin(sheet: Worksheet, at_most: bool = False) -> Window:
    """What skin bears from a product left on it: comfortably, or at most."""
    low, high = ("skin, lowest pH", "skin, highest pH") if at_most else ("skin, low pH", "skin, high pH")
    fact = sheet.reference.limit(low)
    return Window("skin (leave-on)", SKIN, sheet.limit(low), sheet.limit(high), WORKS, "high", True, None, fact)


def firm(sheet: Worksheet, among: Iterable[Window]) -> list[Window]:
    """Those that a clash may rest on: what works there and is known well enough; skin by what it bears at most."""
    result = []
    for window in among:
        if window.kind == SKIN:
            result.append(skin(sheet, at_most=True))
        elif window.says == WORKS and window.certainty != "low" and window.counts and window.kind != "other":
            result.append(window)
    return result


def agree(among: Sequence[Window], wish: float | None = None) -> Agreement | None:
    """The largest set of windows that one pH suits; None without windows. Skin always belongs to it.

    Of sets of one size the one with more of what the product is made for (actives, thickeners, emulsifiers), then the
    one that suits the wished pH, then the wider one.
    """
    best: tuple[tuple[float, ...], Agreement] | None = None
    for low in dict.fromkeys(window.ends[0] for window in among):
        inside = tuple(window for window in among if window.ends[0] <= low <= window.ends[1])
        if any(window.kind == SKIN and window not in inside for window in among):
            continue
        high = min(window.ends[1] for window in inside)
        outside = tuple(window for window in among if window not in inside)
        main = sum(window.kind in _MAIN_WORK for window in inside)
        suits = wish is not None and low <= wish <= high
        rank = (len(inside), main, float(suits), high - low)
        if best is None or rank > best[0]:
            best = rank, Agreement(low, high, inside, outside)
    return best[1] if best else None


def clash(sheet: Worksheet) -> Agreement | None:
    """The best that can be had where no pH suits all; None where one does, within the grace at a window's edge."""
    held = firm(sheet, sheet.pH_windows)
    grace = sheet.limit("grace at the edge of a pH window")
    best = agree(held, sheet.pH)
    if best is None or not best.outside:
        return None
    lows, highs = max(window.ends[0] for window in held), min(window.ends[1] for window in held)
    return None if lows - highs <= grace else best


def suited(sheet: Worksheet, agreement: Agreement) -> float:
    """A pH for those that agree: the stated one where it suits them, else the most ordinary one that does."""
    wish = sheet.pH
    if wish is None or not agreement.low <= wish <= agreement.high:
        wish = (sheet.limit("ordinary finished pH, low") + sheet.limit("ordinary finished pH, high")) / 2
    return min(max(wish, agreement.low), agreement.high)


def alternatives(sheet: Worksheet, window: Window, pH: float) -> list[str]:
    """Materials of the same class, from the same file of the reference, whose window holds a pH.

    Best first: those that share most classes. Nothing that a market of the formula bans, or that it holds already.
    """
    material = window.material
    if material is None or not material.known:
        return []
    own = material.classes - _TOO_WIDE_TO_COMPARE
    held = {fold(component.name) for component in sheet.components}
    found: list[tuple[int, str]] = []
    for heading in sheet.reference.beside(material.name):
        if fold(heading) in held:
            continue
        other = sheet.reference.find(heading)
        if other is None or other.contains or other.is_a(*_NEVER_PROPOSED):
            continue
        shared = len(own & other.classes)
        value: Range | None = sheet.value(other, WORKS)
        if shared and value is not None and value.holds(pH):
            found.append((-shared, heading))
    found.sort(key=lambda each: each[0])
    lawful = (name for _, name in found if not _banned(sheet, name))
    return [name for _, name in zip(range(MOST_ALTERNATIVES), lawful)]


def _banned(sheet: Worksheet, name: str) -> bool:
    material = sheet.reference.find(name)
    if material is None:
        return True
    legal = sheet.legal
    markets = [market for market in sheet.product.markets if market in legal.markets]
    return any(
        not ban.conditional
        for market in markets
        for ban in legal.bans(market, material.names, material.cas, sheet.product)
    )
