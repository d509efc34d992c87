"""What goes where, and how warm it gets: conservation of mass and heat, and procedures walked through by hand.

What a step means is the formula file's own language; temperatures are worked by hand from the enthalpy balance and
Newton's law of cooling (any textbook of physics), with the reference's figures for water.
"""

from __future__ import annotations

import math

import pytest

from formcheck.bench.thermal import History, seconds_to_cool
from formcheck.bench.worksheet import Worksheet
from formcheck.plugins import gather
from formcheck.review.run import Reviewer

EXAMPLES = {f"{rule.id}-{kind}": getattr(rule, kind) for rule in gather().rules() for kind in ("flawed", "mended")}


def sheet_of(reviewer: Reviewer, phases: str, *steps: str, more: str = "") -> Worksheet:
    lines = "".join(f"  - {{{step}}}\n" for step in steps)
    text = f"formcheck: 1\nname: x\n{more}phases: {{{phases}}}\nprocedure:\n{lines}"
    return reviewer.sheet("x.formula.yaml", text.encode())


def states(history: History) -> list[tuple[int, str, str, float | None]]:
    """(step, vessel, what is in it, °C) of every state after the start."""
    return [
        (moment.step.number, moment.vessel, " ".join(item.name for item in moment.items), moment.celsius)
        for moment in history.moments
        if moment.step is not None
    ]


@pytest.mark.parametrize("text", EXAMPLES.values(), ids=EXAMPLES)
def test_nothing_is_lost_and_nothing_comes_twice(text: str, reviewer: Reviewer) -> None:
    """Conservation of mass: a line enters one vessel once, or never; two vessels poured together hold what both held."""
    sheet = reviewer.sheet("x.formula.yaml", text.lstrip().encode())
    history = sheet.thermal
    entered = [id(entry.item) for entry in history.entries]
    assert sorted([*entered, *map(id, history.never_in)]) == sorted(map(id, sheet.items))
    for merging in history.mergings:
        assert sorted(map(id, merging.moment.items)) == sorted(map(id, merging.poured_items + merging.into_items))


@pytest.mark.parametrize("text", EXAMPLES.values(), ids=EXAMPLES)
def test_heat_is_conserved_where_two_vessels_meet(text: str, reviewer: Reviewer) -> None:
    """First law: what the warmer gives, the cooler takes."""
    sheet = reviewer.sheet("x.formula.yaml", text.lstrip().encode())
    for merging in sheet.thermal.mergings:
        after = merging.moment.celsius
        sides = ((merging.poured_items, merging.poured_celsius), (merging.into_items, merging.into_celsius))
        if after is None or not all(items for items, _ in sides):
            continue
        given = [
            sum(float(item.amount) * sheet.specific_heat(item) * (celsius - after) for item in items)
            for items, celsius in sides
            if celsius is not None
        ]
        assert sum(given) == pytest.approx(0, abs=1e-6)


def test_a_small_batch_mixes_as_a_large_one(reviewer: Reviewer) -> None:
    """The enthalpy balance knows shares alone: 60 parts of water at 80 °C and 40 at 20 °C give 56 °C, a gram or a tonne."""
    for size in ("1 g", "1000 kg"):
        sheet = sheet_of(
            reviewer,
            "A: {Aqua: 60}, B: {Water: 40}",
            "heat: A, to: 80 °C",
            "add: B, into: A",
            more=f"batch: {{size: {size}}}\nroom: 20 °C\n",
        )
        (merging,) = sheet.thermal.mergings
        assert merging.moment.celsius == pytest.approx(56)


def test_an_hour_of_rest_by_hand(reviewer: Reviewer) -> None:
    """Newton's law for an upright cylinder as high as wide: wall pi d², two ends pi d²/4 each, volume pi d³/4."""
    steps = ("heat: A, to: 70 °C", "rest: A, for: 1 h")
    sheet = sheet_of(reviewer, "A: {Aqua: 100}", *steps, more="batch: {size: 500 g}\n")
    diameter_m = (4 * 0.0005 / sheet.physics.density / math.pi) ** (1 / 3)
    surface_m2 = math.pi * diameter_m**2 + 2 * math.pi * diameter_m**2 / 4
    rate = sheet.physics.heat_loss * surface_m2 / (500 * sheet.specific_heat(sheet.items[0]))
    before, after = sheet.thermal.moments[-2:]
    assert (before.celsius, before.seconds) == (70, 3600)
    assert after.celsius == pytest.approx(22 + 48 * math.exp(-3600 * rate))


def test_a_rest_without_a_time_leaves_only_the_hot_open(reviewer: Reviewer) -> None:
    hot = sheet_of(reviewer, "A: {Aqua: 100}", "heat: A, to: 60 °C", "rest: A")
    cold = sheet_of(reviewer, "A: {Aqua: 100}", "heat: A, to: 22 °C", "rest: A")
    mixed = sheet_of(reviewer, "A: {Aqua: 100}", "heat: A, to: 60 °C", "mix: A")
    assert [step.number for step in hot.thermal.open_steps] == [2]
    assert not cold.thermal.open_steps
    assert not mixed.thermal.open_steps


def test_nothing_warms_by_resting_and_a_cold_vessel_does(reviewer: Reviewer) -> None:
    """Newton's law both ways: towards the room, never beyond it."""
    for start in (5, 60):
        sheet = sheet_of(
            reviewer, "A: {Aqua: 100}", f"cool: A, to: {start} °C", "rest: A, for: 2 h", "rest: A, for: 3 d"
        )
        middle, end = (moment.celsius for moment in sheet.thermal.moments[-3::2])
        assert middle is not None
        assert min(start, 22) < middle < max(start, 22)
        assert end == 22


def test_an_empty_vessel_rests_too(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "A: {Aqua: 90}, B: {Glycerin: 10}", "rest: B, for: 1 h", "add: Glycerin, into: A")
    assert sheet.thermal.moments[-1].celsius == pytest.approx(22)


def test_a_vessel_that_rests_with_nothing_weighed(reviewer: Reviewer) -> None:
    """A line at 0 % has no heat to lose: it is as warm as the room at once."""
    sheet = sheet_of(reviewer, "A: {Aqua: 0}", "heat: A, to: 60 °C", "rest: A, for: 1 h")
    assert sheet.thermal.moments[-1].celsius == 22


WALKS = {
    "at: the vessel is that warm before anything goes in": (
        "A: {Aqua: 50}, B: {Water: 50}",
        ("add: B, into: A, at: 42 °C",),
        [(1, "A", "Aqua", 42), (1, "A", "Aqua Water", 32)],
    ),
    "at: on a vessel that is empty it says nothing": (
        "A: {Glycerin: 5}, B: {Aqua: 95}",
        ("add: Glycerin, into: A, at: 42 °C",),
        [(1, "A", "Glycerin", 22)],
    ),
    "one of two lines, where a later step puts in the other": (
        "A: {Aqua: 97}, B: {Panthenol: 1}, C: {Panthenol: 2}",
        ("add: Panthenol, into: A", "add: Panthenol, into: A"),
        [(1, "A", "Aqua Panthenol", 22), (2, "A", "Aqua Panthenol Panthenol", 22)],
    ),
    "both lines, where no later step names it": (
        "A: {Aqua: 97}, B: {Panthenol: 1}, C: {Panthenol: 2}",
        ("add: Panthenol, into: A",),
        [(1, "A", "Aqua Panthenol Panthenol", 22)],
    ),
    "its own line first": (
        "A: {Panthenol: 1}, B: {Aqua: 97, Panthenol: 2}",
        ("heat: B, to: 40 °C", "add: Panthenol, into: B", "add: Panthenol, into: A"),
        [(1, "B", "Aqua", 40), (2, "B", "Aqua Panthenol", None), (3, "A", "Panthenol", 22)],
    ),
    "a medium that waits for a later step goes in first": (
        "A: {Glycerin: 4, Xanthan Gum: 1, Aqua: 95}",
        ("disperse: Xanthan Gum, in: Glycerin", "add: [Glycerin, Aqua], into: A"),
        [(1, "A", "Glycerin", 22), (1, "A", "Glycerin Xanthan Gum", 22), (2, "A", "Glycerin Xanthan Gum Aqua", 22)],
    ),
    "into a material: the vessel that holds it": (
        "A: {Aqua: 90}, B: {Glycerin: 5}, C: {Panthenol: 5}",
        ("add: C, into: Glycerin",),
        [(1, "B", "Glycerin Panthenol", 22)],
    ),
    "without into: the vessel last worked on": (
        "A: {Aqua: 90}, B: {Glycerin: 5}, C: {Panthenol: 5}",
        ("heat: B, to: 22 °C", "add: C"),
        [(1, "B", "Glycerin", 22), (2, "B", "Glycerin Panthenol", 22)],
    ),
    "without into, and no vessel worked on: the first of the others": (
        "A: {Aqua: 90}, B: {Glycerin: 5}, C: {Panthenol: 5}",
        ("add: A",),
        [(1, "B", "Glycerin Aqua", 22)],
    ),
    "a vessel emptied twice over is found by its first name": (
        "A: {Aqua: 90}, B: {Glycerin: 5}, C: {Panthenol: 5}",
        ("add: C, into: B", "add: B, into: A", "heat: C, to: 40 °C"),
        [(1, "B", "Glycerin Panthenol", 22), (2, "A", "Aqua Glycerin Panthenol", 22), (3, "A", "Aqua Glycerin Panthenol", 40)],
    ),
    "a vessel named as a phase, and by another name of what is in it": (
        "A: {Aqua: 90}, B: {Glycerin: 5, Panthenol: 5}",
        ("heat: phase B, to: 40 °C", "heat: Glycerol, to: 50 °C", "add: phase B, into: phase A"),
        [(1, "B", "Glycerin Panthenol", 40), (2, "B", "Glycerin Panthenol", 50), (3, "A", "Aqua Glycerin Panthenol", None)],
    ),
    "a state for every step that works on a vessel": (
        "A: {Aqua: 95, Glycerin: 5}",
        ("homogenise: A, for: 5 min", "hold: A, at: 60 °C, for: 10 min", "filter: A"),
        [(1, "A", "Aqua Glycerin", 22), (2, "A", "Aqua Glycerin", 60), (3, "A", "Aqua Glycerin", 60)],
    ),
    "a vessel dispersed in another is emptied into it": (
        "A: {Aqua: 90}, B: {Glycerin: 8, Panthenol: 2}",
        ("disperse: B, in: A", "heat: B, to: 40 °C"),
        [(1, "A", "Aqua Glycerin Panthenol", 22), (2, "A", "Aqua Glycerin Panthenol", 40)],
    ),
    "dispersed in a vessel and something else": (
        "A: {Aqua: 89}, B: {Glycerin: 8, Panthenol: 2}, C: {Xanthan Gum: 1}",
        ("disperse: Xanthan Gum, in: [B, Aqua]",),
        [(1, "B", "Glycerin Panthenol Xanthan Gum", 22)],
    ),
    "into a material by another of its names": (
        "A: {Aqua: 90}, B: {Glycerin: 8}, C: {Panthenol: 2}",
        ("add: C, into: Glycerol",),
        [(1, "B", "Glycerin Panthenol", 22)],
    ),
    "without into: a material goes where it is listed": (
        "A: {Aqua: 90}, B: {Glycerin: 8, Panthenol: 2}",
        ("heat: A, to: 40 °C", "add: [A, Panthenol]"),
        [(1, "A", "Aqua", 40), (2, "B", "Glycerin Aqua", None), (2, "B", "Glycerin Aqua Panthenol", None)],
    ),
    "all vessels at once: into the one that is named first": (
        "A: {Aqua: 90}",
        ("add: A",),
        [],
    ),
    "an empty vessel of unknown warmth cools nothing": (
        "A: {Aqua: 90}, B: {Glycerin: 10}",
        ("add: Glycerin, into: A", "heat: A, to: 60 °C", "heat: B", "add: B, into: A"),
        [(1, "A", "Aqua Glycerin", 22), (2, "A", "Aqua Glycerin", 60), (3, "B", "", None), (4, "A", "Aqua Glycerin", 60)],
    ),
    "resting does not close what was left open": (
        "A: {Aqua: 100}",
        ("heat: A", "rest: A, for: 1 h"),
        [(1, "A", "Aqua", None), (2, "A", "Aqua", None)],
    ),
    "of two vessels that hold a material the first": (
        "A: {Aqua: 90, Glycerin: 3}, B: {Glycerin: 5, Panthenol: 2}",
        ("heat: Glycerin, to: 40 °C",),
        [(1, "A", "Aqua Glycerin", 40)],
    ),
    "of two lines the one of the vessel it is dispersed in": (
        "A: {Aqua: 90, Panthenol: 3}, B: {Glycerin: 5, Panthenol: 2}",
        ("disperse: Panthenol, in: B", "add: Panthenol, into: A"),
        [(1, "B", "Glycerin Panthenol", 22), (2, "A", "Aqua Panthenol", 22)],
    ),
    "a vessel named by a material in it": (
        "A: {Aqua: 90}, B: {Glycerin: 5, Panthenol: 5}",
        ("heat: Panthenol, to: 40 °C",),
        [(1, "B", "Glycerin Panthenol", 40)],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("phases", "steps", "expected"), WALKS.values(), ids=WALKS)
def test_walk(phases: str, steps: tuple[str, ...], expected: list[object], reviewer: Reviewer) -> None:
    found = states(sheet_of(reviewer, phases, *steps).thermal)
    assert [each[:3] for each in found] == [each[:3] for each in expected]
    for (*_, celsius), (*_, wanted) in zip(found, expected):
        assert wanted is None or celsius == pytest.approx(wanted)
        assert celsius is None or -273 < celsius < 200


def test_how_long_something_takes_to_go_in(reviewer: Reviewer) -> None:
    steps = ("add: B, into: A, over: 10 min", "sprinkle: Xanthan Gum, into: A, over: 5 min", "add: D, into: A")
    sheet = sheet_of(reviewer, "A: {Aqua: 90}, B: {Glycerin: 5}, C: {Xanthan Gum: 1}, D: {Panthenol: 4}", *steps)
    assert [moment.seconds for moment in sheet.thermal.moments if moment.step is not None] == [600, 300, 0]


@pytest.mark.parametrize(
    ("step", "name", "key"),
    [
        ("disperse: Unobtainium", "Unobtainium", "disperse"),
        ("disperse: Xanthan Gum, in: Unobtainium", "Unobtainium", "in"),
        ("add: Unobtainium, into: A", "Unobtainium", "add"),
        ("add: Xanthan Gum, into: Z", "Z", "into"),
        ("heat: Z, to: 40 °C", "Z", "heat"),
    ],
)
def test_a_name_that_stands_nowhere_is_told(step: str, name: str, key: str, reviewer: Reviewer) -> None:
    history = sheet_of(reviewer, "A: {Aqua: 99}, B: {Xanthan Gum: 1}", step).thermal
    assert [(each.name, each.key) for each in history.unknown] == [(name, key)]


def test_what_was_emptied_cannot_be_poured_again(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "A: {Aqua: 90}, B: {Glycerin: 10}", "add: B, into: A", "add: B, into: A")
    assert len(sheet.thermal.mergings) == 1
    (emptied,) = sheet.thermal.emptied
    assert (emptied.step.number, emptied.vessel, emptied.earlier.number, emptied.into) == (2, "B", 1, "A")


def test_the_hottest_state_is_the_first_of_equal_ones(reviewer: Reviewer) -> None:
    steps = ("heat: A, to: 60 °C", "cool: A, to: 40 °C", "heat: A, to: 60 °C", "heat: A", "cool: A, to: 30 °C")
    sheet = sheet_of(reviewer, "A: {Aqua: 99}, B: {Panthenol: 1}", *steps, "add: B, into: A")
    water, late = (sheet.thermal.hottest(item) for item in sheet.items)
    assert water is not None
    assert late is not None
    assert water.step is not None
    assert (water.step.number, water.celsius) == (1, 60)
    # B stood at room temperature; 1 % of it hardly cools what it is poured into
    assert late.celsius == pytest.approx(30, abs=0.2)
    assert [moment.celsius for moment in sheet.thermal.path_of(sheet.items[1])] == [22, pytest.approx(30, abs=0.2)]


@pytest.mark.parametrize(("first", "second", "step"), [(-0.5, 0, 2), (0, 0.5, 2), (0, -0.5, 1), (0.5, 0, 1)])
def test_freezing_is_a_temperature_like_others(first: float, second: float, step: int, reviewer: Reviewer) -> None:
    steps = (f"cool: A, to: {first} °C", f"cool: A, to: {second} °C")
    sheet = sheet_of(reviewer, "A: {Aqua: 100}", *steps, more="room: -30 °C\n")
    hottest = sheet.thermal.hottest(sheet.items[0])
    assert hottest is not None
    assert hottest.step is not None
    assert hottest.step.number == step


def test_what_is_cool_enough_has_no_time_to_wait() -> None:
    assert seconds_to_cool(40, 40, 22, 1000) == 0
    assert seconds_to_cool(40, 70, 22, 1000) == 0
    assert seconds_to_cool(40, 22, 22, 1000) is None


def test_a_frozen_vessel_has_a_hottest_state_too(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "A: {Aqua: 100}", "cool: A, to: -10 °C", "cool: A, to: -20 °C", more="room: -30 °C\n")
    hottest = sheet.thermal.hottest(sheet.items[0])
    assert hottest is not None
    assert hottest.celsius == -10


def test_of_two_lines_that_of_the_vessel_meant_goes_in(reviewer: Reviewer) -> None:
    """Panthenol stands in two vessels: a step takes that of the vessel it names, by `into` as by `in`."""
    phases = "A: {Aqua: 90, Panthenol: 3}, B: {Glycerin: 5, Panthenol: 2}"
    for steps in (
        ("disperse: Panthenol, in: B", "add: Panthenol, into: A"),
        ("add: Panthenol, into: B", "add: Panthenol, into: A"),
    ):
        history = sheet_of(reviewer, phases, *steps).thermal
        entered = [(entry.step.number, entry.item.phase.letter) for entry in history.entries if entry.step is not None]
        assert entered == [(1, "B"), (2, "A")]


def test_where_everything_is_named_the_first_vessel_takes_it(reviewer: Reviewer) -> None:
    history = sheet_of(reviewer, "A: {Aqua: 90}, B: {Glycerin: 10}", "add: [A, B]").thermal
    (merging,) = history.mergings
    assert {merging.poured, merging.into} == {"A", "B"}
    assert len(merging.moment.items) == 2
