"""The steps of a procedure as sentences for the bench: what to do, what to watch, what to write down."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from ..bench.composition import Item, total
from ..bench.making import Act, Heat
from ..bench.weighing import to_step
from ..bench.worksheet import Worksheet
from ..formula.model import Step
from ..formula.names import fold
from ..records import NamedTuple
from ..review.words import celsius, listed, names, number, span, time

_MELTS = ("wax", "butter", "fatty alcohol", "fatty acid")
BLANK = "____"


class StepWords(NamedTuple):
    """One numbered step. do: one sentence; watch: what to look at; record: what to write down, with blanks; note: the
    writer's own."""

    number: int
    do: str
    watch: tuple[str, ...]
    record: tuple[str, ...]
    note: str


class Teller:
    """Puts the steps of one formula into words. fill: what the containers are, "" where none were asked for."""

    def __init__(self, sheet: Worksheet, fill: str = "", unit_g: float | None = None) -> None:
        self.sheet = sheet
        self.fill = fill
        self.unit_g = unit_g
        self.room = sheet.formula.room_celsius
        self.letters = {fold(phase.letter): phase.letter for phase in sheet.formula.phases}
        self._tellers: dict[str, Callable[[Act], tuple[str, list[str], list[str]]]] = {
            "add": self._add,
            "sprinkle": self._sprinkle,
            "disperse": self._disperse,
            "heat": self._heat,
            "cool": self._cool,
            "hold": self._hold,
            "hydrate": self._hydrate,
            "mix": self._mix,
            "homogenise": self._homogenise,
            "neutralise": self._adjust,
            "adjust pH": self._adjust,
            "measure pH": self._measure,
            "rest": self._rest,
            "filter": self._filter,
            "fill": self._fill,
        }

    def tell(self, act: Act) -> StepWords:
        """One step in words."""
        do, watch, record = self._tellers[act.step.verb](act)
        return StepWords(act.step.number, f"{do}.", tuple(watch), tuple(record), act.step.note or "")

    # --- things going in

    def _add(self, act: Act) -> tuple[str, list[str], list[str]]:
        do = f"Add {self._coming(act)}{self._into(act, 'to')}{_over(act.step)}{_at(act.step)}"
        watch = [*self._warmth(act), "stir until even"]
        return do, watch, self._thermometer(act)

    def _sprinkle(self, act: Act) -> tuple[str, list[str], list[str]]:
        do = f"Sprinkle {self._coming(act)} slowly{self._into(act, 'into')}{_over(act.step)}{_at(act.step)}"
        watch = [*self._warmth(act), "stir hard enough to draw the grains under, and wait for them; no lumps"]
        return do, watch, self._thermometer(act)

    def _disperse(self, act: Act) -> tuple[str, list[str], list[str]]:
        wetted = [item for item in act.lines if not self._is(item, act.step.in_)]
        medium = [item for item in act.held if self._is(item, act.step.in_)]
        shown = self._lines(wetted) or listed(act.step.objects)
        inside = self._lines(medium) or listed(act.step.in_) or f"vessel {act.vessel}"
        do = f"Wet out {shown} in {inside}"
        return do, ["a smooth slurry without dry lumps before anything else goes in"], []

    # --- warm and cold

    def _heat(self, act: Act) -> tuple[str, list[str], list[str]]:
        step = act.step
        held = f" and hold it there for {time(step.hold_seconds)}" if step.hold_seconds else ""
        to = f" to {celsius(step.to.celsius)}" if step.to else " (the file does not say how far)"
        watch = []
        if any(item.material.is_a(*_MELTS) for item in act.held):
            watch.append("all molten and clear, with nothing left on the wall")
        hot = step.to is not None and step.to.celsius >= self.sheet.limit("vessel that loses water")
        if hot and any(item.material.is_a("water") for item in act.held):
            watch.append("covered; weigh the vessel before and after, and make steamed-off water good")
        record = [f"reached {BLANK} °C at {BLANK}"]
        if step.hold_seconds:
            record.append(f"held until {BLANK}")
        return f"Heat {self._vessels(step)}{to}{held}", [*watch, *self._bears(act)], record

    def _cool(self, act: Act) -> tuple[str, list[str], list[str]]:
        to = f" to {celsius(act.step.to.celsius)}" if act.step.to else ""
        watch = ["stir gently, so that nothing sets on the wall"]
        if act.cooling_s:
            watch.append(f"by itself, in an open vessel, about {time(act.cooling_s)}")
        return f"Let {self._vessels(act.step)} cool{to}", watch, [f"reached {BLANK} °C at {BLANK}"]

    def _hold(self, act: Act) -> tuple[str, list[str], list[str]]:
        return (
            f"Keep {self._vessels(act.step)}{_at(act.step)}{_for(act.step)}",
            self._bears(act),
            [f"from {BLANK} to {BLANK}, at {BLANK} °C"],
        )

    def _hydrate(self, act: Act) -> tuple[str, list[str], list[str]]:
        do = f"Let {self._vessels(act.step)} swell{_for(act.step)}{_at(act.step)}, stirring now and then"
        return do, ["done when no grains or specks are left", *self._bears(act)], [f"from {BLANK} to {BLANK}"]

    # --- working

    def _mix(self, act: Act) -> tuple[str, list[str], list[str]]:
        with_ = f" with {listed(act.step.with_)}" if act.step.with_ else ""
        return f"Stir {self._vessels(act.step)}{with_}{_for(act.step)}", ["even, and without drawing air in"], []

    def _homogenise(self, act: Act) -> tuple[str, list[str], list[str]]:
        watch = ["keep the head below the surface; even and glossy when done"]
        return (
            f"Homogenise {self._vessels(act.step)}{_for(act.step)}",
            watch,
            [f"from {BLANK} to {BLANK}, speed {BLANK}"],
        )

    def _adjust(self, act: Act) -> tuple[str, list[str], list[str]]:
        step = act.step
        strength = f" ({number(step.strength_percent)} %)" if step.strength_percent is not None else ""
        with_ = f" with {listed(step.with_)}{strength}" if step.with_ else ""
        amount = f", {number(step.amount_g, 5)} g as written" if step.amount_g is not None else ""
        verb = "Neutralise" if step.verb == "neutralise" else "Bring"
        to = f" to pH {span(step.to_pH)}" if step.to_pH is not None else ""
        if step.to_pH is not None and step.to_pH.low == step.to_pH.high:
            to = f" to pH {number(step.to_pH.low or 0)}"
        watch = ["measure first; then in portions, as in the pH plan, stirring and measuring after each"]
        record = [f"pH before {BLANK}", f"added {BLANK} g", f"pH after {BLANK}"]
        return f"{verb} {self._vessels(step)}{to}{with_}{amount}", watch, record

    def _measure(self, act: Act) -> tuple[str, list[str], list[str]]:
        wanted = self.sheet.stated_pH
        watch = ["meter calibrated today with two buffers; sample at room temperature"]
        if wanted is not None:
            watch.append(f"wanted: {_between(*wanted)}")
        return f"Measure the pH of {self._vessels(act.step)}", watch, [f"pH {BLANK} at {BLANK} °C"]

    def _rest(self, act: Act) -> tuple[str, list[str], list[str]]:
        return f"Let {self._vessels(act.step)} stand{_for(act.step)}, covered", [], [f"from {BLANK} to {BLANK}"]

    def _filter(self, act: Act) -> tuple[str, list[str], list[str]]:
        return f"Filter {self._vessels(act.step)}", ["clear of specks; note what stays behind"], [f"mesh {BLANK}"]

    def _fill(self, act: Act) -> tuple[str, list[str], list[str]]:
        into = f" into {self.fill}" if self.fill else ""
        watch = ["batch number on every pack"]
        if self.unit_g is not None:
            watch.insert(0, f"net weight of one: {number(self.unit_g, 4)} g")
        if act.after is not None and act.after > self.sheet.limit("fill above which pours go wrong"):
            watch.insert(
                0, f"by the sums it is at about {celsius(act.after)}: see what the pack bears, close when cool"
            )
        record = [f"filled {BLANK} packs", f"first {BLANK} g, middle {BLANK} g, last {BLANK} g", f"left over {BLANK} g"]
        return f"Fill {self._vessels(act.step)}{into}{_at(act.step)}", watch, record

    # --- parts of sentences

    def _is(self, item: Item, names: Iterable[str]) -> bool:
        return not {fold(name) for name in names}.isdisjoint(fold(each) for each in (item.name, *item.material.names))

    def _vessels(self, step: Step) -> str:
        """What a step works on: vessels by their letters, materials by their names."""
        letters = [self.letters.get(fold(name).removeprefix("phase ")) for name in step.objects]
        if letters and all(letters):
            return f"vessel{'s' if len(letters) > 1 else ''} {listed(filter(None, letters))}"
        return listed(step.objects)

    def _coming(self, act: Act) -> str:
        whole = [
            f"all of vessel {letter}{self._weight(items)}"
            + (f" at about {celsius(warm)}" if warm is not None and self._warm(warm) else "")
            for letter, items, warm in act.poured
        ]
        single = self._lines(act.lines)
        return listed([*whole, *([single] if single else [])]) or listed(act.step.objects)

    def _lines(self, items: Iterable[Item]) -> str:
        return listed(f"{item.name}{self._weight([item])}" for item in items)

    def _weight(self, items: Iterable[Item]) -> str:
        step_g = self.sheet.formula.batch.balance_g
        known = [item.grams for item in items if item.grams is not None]
        if step_g is None or not known:
            return ""
        return f" ({total(to_step(each, step_g) for each in known):f} g)"

    def _into(self, act: Act, word: str) -> str:
        if act.vessel:
            return f" {word} vessel {act.vessel}"
        return f" {word} {act.step.into}" if act.step.into else ""

    def _warm(self, value: float) -> bool:
        return value - self.room > self.sheet.limit("warm enough to matter")

    def _warmth(self, act: Act) -> Iterator[str]:
        """What the thermometer has to show before something goes in."""
        limit = act.goes_in_below
        if act.before is None or not self._warm(act.before):
            if act.before is None and limit:
                yield f"vessel {act.vessel} at {celsius(limit.celsius)} or below: {names(limit.names)}"
            return
        yield f"by the sums vessel {act.vessel} is at about {celsius(act.before)}"
        if limit is not None and limit.celsius < self.sheet.limit("heat limit worth a word"):
            yield f"not above {celsius(limit.celsius)} when it goes in: {names(limit.names)}"
            if act.cooling_s:
                yield f"TOO WARM by the sums: by itself it needs about {time(act.cooling_s)} to cool to that"

    def _thermometer(self, act: Act) -> list[str]:
        return [f"at {BLANK} °C"] if act.before is None or self._warm(act.before) else []

    def _bears(self, act: Act) -> list[str]:
        limit: Heat | None = act.bears
        if limit is None or limit.celsius >= self.sheet.limit("heat limit worth a word"):
            return []
        return [f"nothing above {celsius(limit.celsius)}: {names(limit.names)}"]


def _over(step: Step) -> str:
    return f" over {time(step.over_seconds)}" if step.over_seconds else ""


def _for(step: Step) -> str:
    return f" for {time(step.for_seconds)}" if step.for_seconds else ""


def _at(step: Step) -> str:
    if step.at is None:
        return ""
    return " at room temperature" if step.at.room else f" at {celsius(step.at.celsius)}"


def _between(low: float, high: float) -> str:
    return f"pH {number(low)}" if low == high else f"pH {number(low)} to {number(high)}"
