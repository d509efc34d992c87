"""The procedure, walked through: what is in every vessel after every step, and how hot it is.

Mixing is an enthalpy balance, T = sum(m c T) / sum(m c), without heats of melting or solution (any textbook of
physics or physical chemistry under calorimetry). A vessel left to itself cools by Newton's law with the time constant
m c / (h A) of an upright cylinder as high as it is wide. Materials enter at room temperature. A temperature that the
procedure leaves open is None from there on, until a step sets it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import TypeAlias

from ..formula.model import Formula, Step
from ..formula.names import fold
from ..formula.vocabulary import SETTING_PH
from ..lazy import cached_property
from ..records import NamedTuple
from ..reference.material import Material
from .composition import Item

PUTTING_IN = ("add", "sprinkle", "disperse")
SETTLED_K = 0.5
"""A vessel this close to the room counts as being at room temperature."""


class Physics(NamedTuple):
    """Figures from the reference. specific_heat: J/(g K) of an item; heat_loss: W/(m2 K); density: g/mL.

    usual_batch_g: the batch where the formula gives none, g.
    """

    specific_heat: Callable[[Item], float]
    heat_loss: float
    density: float
    usual_batch_g: float


class Moment:
    """A vessel's state after something happened to it.

    step: the step that did it, None for the start; celsius: its temperature, None where the procedure leaves it open;
    items: what is in it; seconds: how long it stays in this state by the step's own words; next: the moment that comes
    after, for what is in it now (in another vessel, if it was emptied there).
    """

    __slots__ = ("celsius", "hotter_later", "items", "next", "seconds", "step", "vessel")

    def __init__(self, step: Step | None, vessel: str, celsius: float | None, items: tuple[Item, ...], seconds: float):
        self.step = step
        self.vessel = vessel
        self.celsius = celsius
        self.items = items
        self.seconds = seconds
        self.next: Moment | None = None
        self.hotter_later: Moment | None = None

    @property
    def hottest(self) -> Moment | None:
        """The first of the hottest states from here on; None where no temperature is known."""
        return self.hotter_later or (None if self.celsius is None else self)


class Entry(NamedTuple):
    """A material entering a vessel.

    how: "start" (there from the beginning), "add", "sprinkle" or "disperse"; medium: what it was dispersed in, as
    written; before: what was in the vessel already; before_celsius: how warm that was; moment: the state right after.
    """

    item: Item
    how: str
    step: Step | None
    medium: tuple[str, ...]
    before: tuple[Item, ...]
    before_celsius: float | None
    moment: Moment


class Merging(NamedTuple):
    """One vessel emptied into another: both contents and temperatures just before, and the state after."""

    step: Step
    poured: str
    into: str
    poured_items: tuple[Item, ...]
    into_items: tuple[Item, ...]
    poured_celsius: float | None
    into_celsius: float | None
    moment: Moment


class Filling(NamedTuple):
    """What is filled, and how warm."""

    step: Step
    vessel: str
    items: tuple[Item, ...]
    celsius: float | None


class Unknown(NamedTuple):
    """A name in a step that is neither a phase nor a material of the formula."""

    step: Step
    name: str
    key: str


class Emptied(NamedTuple):
    """A step that works on a vessel which an earlier step had emptied into another."""

    step: Step
    vessel: str
    earlier: Step
    into: str


class History(NamedTuple):
    """Everything that the walk through the procedure showed, in the order of the steps."""

    moments: tuple[Moment, ...]
    entries: tuple[Entry, ...]
    mergings: tuple[Merging, ...]
    fillings: tuple[Filling, ...]
    unknown: tuple[Unknown, ...]
    emptied: tuple[Emptied, ...]
    open_steps: tuple[Step, ...]
    never_in: tuple[Item, ...]
    by_item: dict[int, Entry]

    def entry_of(self, item: Item) -> Entry | None:
        """How this line came into a vessel; None where no step brings it in."""
        return self.by_item.get(id(item))

    def path_of(self, item: Item) -> list[Moment]:
        """Every state of the vessels that hold this line, from its entry on."""
        entry = self.entry_of(item)
        result = []
        moment = entry.moment if entry else None
        while moment is not None:
            result.append(moment)
            moment = moment.next
        return result

    def hottest(self, item: Item) -> Moment | None:
        """The first of the hottest states this line is in; None where no temperature is known."""
        entry = self.entry_of(item)
        return entry.moment.hottest if entry else None


def time_constant_s(mass_g: float, specific_heat: float, physics: Physics) -> float:
    """Seconds in which an open vessel's difference to the room falls to 1/e: m c / (h A).

    A is the whole surface of a cylinder as high as wide, 1.5 pi d^2 with m = density pi d^3 / 4.
    """
    diameter_m = math.pow(4 * mass_g / (math.pi * physics.density * 1e6), 1 / 3)
    area_m2 = 1.5 * math.pi * diameter_m**2
    return mass_g * specific_heat / (physics.heat_loss * area_m2)


def cooled(celsius: float, room_celsius: float, seconds: float, time_constant: float) -> float:
    """Newton's law of cooling: the temperature after a time."""
    return room_celsius + (celsius - room_celsius) * math.exp(-seconds / time_constant)


def seconds_to_cool(celsius: float, target: float, room_celsius: float, time_constant: float) -> float | None:
    """How long a vessel takes from celsius down to target; None where the room is too warm for that."""
    if target >= celsius:
        return 0.0
    if target <= room_celsius:
        return None
    return time_constant * math.log((celsius - room_celsius) / (target - room_celsius))


def mixed(parts: Iterable[tuple[float, float, float]]) -> float:
    """Temperature of a mixture of (mass, specific heat, temperature): the enthalpy balance."""
    heat = capacity = 0.0
    for mass, specific_heat, celsius in parts:
        heat += mass * specific_heat * celsius
        capacity += mass * specific_heat
    return heat / capacity


Find: TypeAlias = Callable[[str], Material | None]


def walk(formula: Formula, items: tuple[Item, ...], physics: Physics, find: Find = lambda name: None) -> History:
    """Goes through the procedure step by step. find: the material that a name means, however it is spelled."""
    return _Walk(formula, items, physics, find).run()


_Weight: TypeAlias = tuple[float, float]
"""Grams in the batch, and the J/K that they take up."""
EMPTY: _Weight = (0.0, 0.0)


class _Vessel:
    def __init__(self, letter: str, room: float) -> None:
        self.letter = letter
        self.items: list[Item] = []
        self.weight = EMPTY
        self.celsius: float | None = room
        self.last: Moment | None = None
        self.emptied: tuple[Step, str] | None = None


class _Walk:
    def __init__(self, formula: Formula, items: tuple[Item, ...], physics: Physics, find: Find) -> None:
        self.formula = formula
        self.find = find
        self.physics = physics
        self.room = formula.room_celsius
        self.batch_g = float(formula.batch.size_g or physics.usual_batch_g)
        self.vessels = {phase.letter: _Vessel(phase.letter, self.room) for phase in formula.phases}
        self.letters = {fold(letter): letter for letter in self.vessels}
        putting = (step for step in formula.procedure if step.verb in PUTTING_IN)
        self.poured_by_step = {self.letter(name) for step in putting for name in step.objects}
        self.waiting: dict[str, list[Item]] = {}
        self.items = items
        self.by_name: dict[str, list[Item]] = {}
        for item in items:
            for name in dict.fromkeys((fold(item.name), fold(item.material.name))):
                self.by_name.setdefault(name, []).append(item)
        self.moments: list[Moment] = []
        self.entries: list[Entry] = []
        self.mergings: list[Merging] = []
        self.fillings: list[Filling] = []
        self.unknown: list[Unknown] = []
        self.emptied: list[Emptied] = []
        self.open_steps: list[Step] = []
        self.current: str | None = None
        self.weights: dict[int, tuple[float, float]] = {}

    def run(self) -> History:
        self.start()
        for step in self.formula.procedure:
            self.take(step)
        never = tuple(item for waiting in self.waiting.values() for item in waiting)
        for moment in reversed(self.moments):
            later = moment.next.hottest if moment.next else None
            if later is not None and (moment.celsius is None or (later.celsius or 0) > moment.celsius + 1e-9):
                moment.hotter_later = later
        return History(
            tuple(self.moments),
            tuple(self.entries),
            tuple(self.mergings),
            tuple(self.fillings),
            tuple(self.unknown),
            tuple(self.emptied),
            tuple(self.open_steps),
            never,
            {id(entry.item): entry for entry in self.entries},
        )

    def start(self) -> None:
        """Whatever no step names by itself is in its vessel from the start."""
        named: dict[int, Item] = {}
        for step in self.formula.procedure:
            if step.verb in PUTTING_IN:
                for name in step.objects:
                    if self.letter(name) is None:
                        named.update((id(item), item) for item in self.meant(name, step))
            elif step.verb in SETTING_PH and step.amount_g is None:
                named.update((id(item), item) for name in step.with_ for item in self.base_beside(name, step))
        for item in self.items:
            vessel = self.vessels[item.phase.letter]
            if id(item) in named:
                self.waiting.setdefault(fold(item.material.name), []).append(item)
            else:
                vessel.items.append(item)
        for vessel in self.vessels.values():
            if vessel.items:
                vessel.weight = self.weight(vessel.items)
                moment = self.moment(None, vessel)
                self.entries.extend(Entry(item, "start", None, (), (), None, moment) for item in vessel.items)

    def meant(self, name: str, step: Step) -> list[Item]:
        """The lines that a material's name in a step can mean: of several, that of the vessel it goes into, if any."""
        found = self.by_name.get(fold(name)) or self.by_name.get(fold(self.known_as(name)), [])
        target = self.letter(step.into) or self.letter(step.in_[0] if step.in_ else None)
        return [item for item in found if item.phase.letter == target] or found

    def base_beside(self, name: str, step: Step) -> list[Item]:
        """Lines of a base that stands in the vessel it neutralises: it waits for that step. Acids may be there for more."""
        found = self.by_name.get(fold(name)) or self.by_name.get(fold(self.known_as(name)), [])
        own = {self.letter(each) for each in step.objects}
        return [item for item in found if item.material.is_a("base") and item.phase.letter in own]

    def known_as(self, name: str) -> str:
        listed = self.other_names.get(fold(name))
        if listed is not None:
            return listed
        material = self.find(name)
        return name if material is None else material.name

    @cached_property
    def other_names(self) -> dict[str, str]:
        """Every name of the lines' materials, folded -> the material's own; of two materials the first one."""
        found: dict[str, str] = {}
        for item in reversed(self.items):
            found.update(dict.fromkeys(item.material.folded_names, item.material.name))
        return found

    def letter(self, name: str | None) -> str | None:
        """The phase of this name; `phase A` means A."""
        if name is None:
            return None
        folded = fold(name)
        return self.letters.get(folded) or self.letters.get(folded.removeprefix("phase "))

    # --- one step

    def take(self, step: Step) -> None:
        if step.verb in ("add", "sprinkle"):
            self.add(step)
        elif step.verb == "disperse":
            self.disperse(step)
        else:
            for name in step.objects:
                letter = self.vessel_of(name, step)
                if letter is not None:
                    if step.verb in SETTING_PH:
                        self.bring(step, self.vessels[letter])
                    self.work(step, self.vessels[letter])

    def vessel_of(self, name: str, step: Step) -> str | None:
        """The vessel that a step works on, by its letter or by a material in it."""
        letter = self.letter(name)
        if letter is None:
            found = self.by_name.get(fold(name)) or self.by_name.get(fold(self.known_as(name)))
            if not found:
                self.unknown.append(Unknown(step, name, step.verb))
                return None
            holders = [v.letter for v in self.vessels.values() if any(item in v.items for item in found)]
            return holders[0] if holders else self.live_quietly(found[0].phase.letter)
        return self.live(letter, step)

    def live(self, letter: str, step: Step) -> str:
        """The vessel that holds now what stood under this letter; noted when it had been emptied."""
        gone = self.vessels[letter].emptied
        if gone is None:
            return letter
        self.emptied.append(Emptied(step, letter, gone[0], gone[1]))
        while gone is not None:
            letter = gone[1]
            gone = self.vessels[letter].emptied
        return letter

    def work(self, step: Step, vessel: _Vessel) -> None:
        self.current = vessel.letter
        seconds = step.for_seconds or step.hold_seconds or 0.0
        if step.verb in ("heat", "cool"):
            if step.to is None:
                self.open_steps.append(step)
            vessel.celsius = step.to.celsius if step.to else None
            self.moment(step, vessel, seconds)
        elif step.verb in ("hold", "hydrate") and step.at is not None:
            vessel.celsius = step.at.celsius
            self.moment(step, vessel, seconds)
        elif step.verb in ("rest", "hydrate", "mix"):
            self.moment(step, vessel, seconds)
            self.cool_down(step, vessel, seconds)
        elif step.verb == "fill":
            celsius = step.at.celsius if step.at else vessel.celsius
            self.fillings.append(Filling(step, vessel.letter, tuple(vessel.items), celsius))
            vessel.celsius = celsius
            self.moment(step, vessel)
        else:
            self.moment(step, vessel, seconds)

    def cool_down(self, step: Step, vessel: _Vessel, seconds: float) -> None:
        if vessel.celsius is None or not vessel.items:
            return
        if not seconds:
            if step.verb == "rest" and abs(vessel.celsius - self.room) > SETTLED_K:
                self.open_steps.append(step)
            return
        mass, capacity = vessel.weight
        constant = time_constant_s(mass, capacity / mass, self.physics) if mass else 1.0
        vessel.celsius = cooled(vessel.celsius, self.room, seconds, constant)
        if abs(vessel.celsius - self.room) < SETTLED_K:
            vessel.celsius = self.room
        self.moment(step, vessel)

    def weight(self, items: Iterable[Item], before: _Weight = EMPTY) -> _Weight:
        """What items weigh together with what was there before them."""
        mass, heat = before
        for item in items:
            weight = self.weights.get(id(item))
            if weight is None:
                grams = item.amount / 100 * self.batch_g
                weight = self.weights[id(item)] = (grams, grams * self.physics.specific_heat(item))
            mass += weight[0]
            heat += weight[1]
        return mass, heat

    # --- things going into vessels

    def add(self, step: Step) -> None:
        target = self.target(step)
        if target is None:
            return
        vessel = self.vessels[target]
        self.current = target
        if step.at is not None and vessel.items:
            vessel.celsius = step.at.celsius
            self.moment(step, vessel)
        materials: list[Item] = []
        for name in step.objects:
            letter = self.letter(name)
            if letter is None:
                materials.extend(self.claim(name, step, vessel))
            elif self.live_for_pouring(letter, step) and letter != target:
                self.pour(step, self.vessels[letter], vessel)
        self.enter(step, materials, vessel, step.verb, ())

    def live_for_pouring(self, letter: str, step: Step) -> bool:
        gone = self.vessels[letter].emptied
        if gone is not None:
            self.emptied.append(Emptied(step, letter, gone[0], gone[1]))
        return gone is None

    def target(self, step: Step) -> str | None:
        """The receiving vessel: `into`, else the material's own phase, else the vessel last worked on."""
        if step.into is not None:
            letter = self.letter(step.into)
            if letter is not None:
                return self.live(letter, step)
            held = self.by_name.get(fold(step.into)) or self.by_name.get(fold(self.known_as(step.into)))
            if not held:
                self.unknown.append(Unknown(step, step.into, "into"))
                return None
            return self.live_quietly(held[0].phase.letter)
        for name in step.objects:
            if self.letter(name) is None:
                found = self.meant(name, step)
                if found:
                    return self.live_quietly(found[0].phase.letter)
        poured = [self.letter(name) for name in step.objects]
        others = [v.letter for v in self.vessels.values() if v.emptied is None and v.letter not in poured]
        if self.current in others:
            return self.current
        if others:
            return others[0]
        return next((self.live_quietly(letter) for letter in poured if letter), None)

    def live_quietly(self, letter: str) -> str:
        gone = self.vessels[letter].emptied
        while gone is not None:
            letter = gone[1]
            gone = self.vessels[letter].emptied
        return letter

    def claim(self, name: str, step: Step, vessel: _Vessel) -> list[Item]:
        """The waiting lines that this step puts in; a name the formula lacks is noted."""
        candidates = self.meant(name, step)
        if not candidates:
            self.unknown.append(Unknown(step, name, step.verb))
            return []
        waiting = self.waiting.get(fold(candidates[0].material.name), [])
        ready = [item for item in candidates if item in waiting]
        own = [item for item in ready if item.phase.letter == vessel.letter] or ready
        taken = own[:1] if len(own) > 1 and self.named_again(name, step) else own
        for item in taken:
            waiting.remove(item)
        return taken

    def named_again(self, name: str, step: Step) -> bool:
        """Whether a later step puts the same material in as well, so that this one takes only one of its lines."""
        same = {fold(name), fold(self.known_as(name))}
        return any(
            fold(other) in same
            for later in self.formula.procedure[step.number :]
            if later.verb in ("add", "sprinkle", "disperse")
            for other in later.objects
        )

    def bring(self, step: Step, vessel: _Vessel) -> None:
        """What the pH is set with goes in, its own vessel with it where no other step empties that one."""
        for name in step.with_:
            letter = self.letter(name)
            found = self.by_name.get(fold(name)) or self.by_name.get(fold(self.known_as(name)), [])
            letters = [letter] if letter else list(dict.fromkeys(item.phase.letter for item in found))
            waiting = [item for item in found if any(item in held for held in self.waiting.values())]
            if waiting:
                self.enter(step, self.claim(name, step, vessel), vessel, "add", ())
            for each in letters:
                source = self.vessels[each]
                if source is not vessel and source.emptied is None and source.items and each not in self.poured_by_step:
                    self.pour(step, source, vessel)

    def disperse(self, step: Step) -> None:
        medium = self.letter(step.in_[0] if step.in_ else None)
        target: str | None = self.live(medium, step) if medium else None
        carried: list[Item] = []
        for name in step.in_ if target is None or len(step.in_) > 1 else ():
            if self.letter(name) is not None:
                continue
            found = self.by_name.get(fold(name)) or self.by_name.get(fold(self.known_as(name)))
            if not found:
                self.unknown.append(Unknown(step, name, "in"))
                continue
            held = [v for v in self.vessels.values() if any(item in v.items for item in found)]
            target = target or (held[0].letter if held else self.live_quietly(found[0].phase.letter))
            if not held:
                carried += self.claim(name, step, self.vessels[target])
        if target is None:
            own = [item for name in step.objects for item in self.meant(name, step)]
            if not own:
                self.unknown.extend(
                    Unknown(step, name, step.verb) for name in step.objects if self.letter(name) is None
                )
                return
            target = self.live_quietly(own[0].phase.letter)
        vessel = self.vessels[target]
        self.current = target
        self.enter(step, carried, vessel, "add", ())
        dispersed: list[Item] = []
        for name in step.objects:
            letter = self.letter(name)
            if letter is None:
                dispersed.extend(self.claim(name, step, vessel))
            elif letter != target and self.live_for_pouring(letter, step):
                self.pour(step, self.vessels[letter], vessel)
        self.enter(step, dispersed, vessel, "disperse", step.in_)

    def enter(self, step: Step, items: list[Item], vessel: _Vessel, how: str, medium: tuple[str, ...]) -> None:
        if not items:
            return
        before, before_celsius = tuple(vessel.items), vessel.celsius if vessel.items else self.room
        vessel.celsius = balance(vessel.weight, before_celsius, self.weight(items), self.room)
        vessel.weight = self.weight(items, vessel.weight)
        vessel.items = [*before, *items]
        moment = self.moment(step, vessel, step.over_seconds or 0.0)
        self.entries.extend(Entry(item, how, step, medium, before, before_celsius, moment) for item in items)

    def pour(self, step: Step, source: _Vessel, vessel: _Vessel) -> None:
        before, before_celsius = tuple(vessel.items), vessel.celsius
        poured, poured_celsius = tuple(source.items), source.celsius
        vessel.celsius = balance(vessel.weight, before_celsius, source.weight, poured_celsius)
        vessel.weight, source.weight = self.weight(poured, vessel.weight), EMPTY
        vessel.items = [*before, *poured]
        moment = self.moment(step, vessel, step.over_seconds or 0.0)
        if source.last is not None:
            source.last.next = moment
        source.items = []
        source.emptied = (step, vessel.letter)
        self.mergings.append(
            Merging(step, source.letter, vessel.letter, poured, before, poured_celsius, before_celsius, moment)
        )

    def moment(self, step: Step | None, vessel: _Vessel, seconds: float = 0.0) -> Moment:
        moment = Moment(step, vessel.letter, vessel.celsius, tuple(vessel.items), seconds)
        if vessel.last is not None:
            vessel.last.next = moment
        vessel.last = moment
        self.moments.append(moment)
        return moment


def balance(here: _Weight, here_celsius: float | None, coming: _Weight, coming_celsius: float | None) -> float | None:
    """How warm two contents become together; None where that of either is not known."""
    if not here[0] or not coming[0]:
        return here_celsius if here[0] else coming_celsius
    if here_celsius is None or coming_celsius is None:
        return None
    return (here[1] * here_celsius + coming[1] * coming_celsius) / (here[1] + coming[1])
