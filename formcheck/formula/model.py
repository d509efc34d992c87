"""What a formula is, once understood: immutable, typed, each part with its place in the file.

Percents are % w/w of the whole formula as exact decimals; temperatures °C; times seconds; masses grams.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from ..reading.document import Document, Place
from ..records import NamedTuple
from .units import ROOM_CELSIUS, Range, Temperature


class Line(NamedTuple):
    """One material in one phase. percent is None for the q.s. line; grams, lot and note only where written."""

    name: str
    percent: Decimal | None
    place: Place
    percent_place: Place
    path: str
    grams: Decimal | None = None
    lot: str | None = None
    note: str | None = None

    @property
    def is_remainder(self) -> bool:
        """Whether it is the q.s. line, which takes what is left."""
        return self.percent is None


class Phase(NamedTuple):
    """One vessel; letter is its name."""

    letter: str
    lines: tuple[Line, ...]
    place: Place
    path: str


class Fact(NamedTuple):
    """One thing known of a material.

    value: by the kind of its property: a Range, a number, a word, a tuple of words, a mapping as a tuple of pairs.
    when: words of the product's use, form, area or users; of one kind one has to hold, of several kinds one of each.
    Empty means always.
    source: ids of the works it comes from, or () for the formula's own file. certainty: high, medium or low.
    """

    property: str
    value: Any
    unit: str = ""
    when: tuple[str, ...] = ()
    source: tuple[str, ...] = ()
    certainty: str = "high"
    used: bool = True
    note: str = ""
    extra: tuple[tuple[str, str], ...] = ()
    place: Place | None = None


class HouseMaterial(NamedTuple):
    """A raw material described in the formula's own file or in a materials file beside it."""

    name: str
    facts: tuple[Fact, ...]
    place: Place
    path: str
    file: str


class Step(NamedTuple):
    """One step of the procedure.

    verb: in British spelling; objects: phase letters or materials as written. The conditions that the verb does not
    take, or that the writer left out, are None. to is a Temperature on heat and cool, a Range on adjust pH.
    places: where each key of the step stands.
    """

    number: int
    verb: str
    objects: tuple[str, ...]
    place: Place
    path: str
    object_places: tuple[Place, ...]
    places: dict[str, Place]
    into: str | None = None
    in_: tuple[str, ...] = ()
    at: Temperature | None = None
    to: Temperature | None = None
    to_pH: Range | None = None
    hold_seconds: float | None = None
    for_seconds: float | None = None
    over_seconds: float | None = None
    with_: tuple[str, ...] = ()
    strength_percent: Decimal | None = None
    amount_g: Decimal | None = None
    note: str | None = None


class Packaging(NamedTuple):
    """container, material and wall as written (lower case), None where not given; carton: sold in an outer carton."""

    place: Place
    container: str | None = None
    material: str | None = None
    wall: str | None = None
    carton: bool | None = None
    size_ml: Decimal | None = None
    places: dict[str, Place] = {}


class Product(NamedTuple):
    """What it is and who it is for."""

    place: Place
    use: str | None = None
    form: str | None = None
    area: tuple[str, ...] = ()
    users: tuple[str, ...] = ()
    markets: tuple[str, ...] = ("EU",)
    places: dict[str, Place] = {}


class Batch(NamedTuple):
    """How much is made, and the smallest step of the balance."""

    place: Place
    size_g: Decimal | None = None
    balance_g: Decimal | None = None
    places: dict[str, Place] = {}


class Finished(NamedTuple):
    """What the finished product is meant to be, and what the meter showed."""

    place: Place
    pH: Range | None = None
    measured_pH: float | None = None
    places: dict[str, Place] = {}


class Claim(NamedTuple):
    """A sentence of the label."""

    text: str
    place: Place
    path: str


class Deviation(NamedTuple):
    """A finding accepted on purpose. until is the last day on which the acceptance holds."""

    rule: str
    reason: str
    place: Place
    path: str
    accepted_by: str | None = None
    until: date | None = None
    of: str | None = None


class Unstated(NamedTuple):
    """What is taken where a formula does not state it: room temperature, step of the balance, markets."""

    room_celsius: float = ROOM_CELSIUS
    balance_g: Decimal | None = None
    markets: tuple[str, ...] = ("EU",)


AS_USUAL = Unstated()


class Formula(NamedTuple):
    """A formula file, understood."""

    document: Document
    name: str
    place: Place
    phases: tuple[Phase, ...]
    phases_place: Place
    product: Product
    batch: Batch
    finished: Finished
    room_celsius: float = ROOM_CELSIUS
    code: str | None = None
    version: str | None = None
    materials: tuple[HouseMaterial, ...] = ()
    procedure: tuple[Step, ...] = ()
    procedure_place: Place | None = None
    packaging: Packaging | None = None
    claims: tuple[Claim, ...] = ()
    deviations: tuple[Deviation, ...] = ()

    @property
    def path(self) -> str:
        """Where the file lies, as it was asked for."""
        return self.document.path

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of all phases, in the order written."""
        return tuple(line for phase in self.phases for line in phase.lines)
