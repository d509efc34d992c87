"""The pictures: the numbers of the bench stand in them, at the right places, in words and shapes as well as in colour."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from html_tree import Node, parsed
from hypothesis import given
from hypothesis import strategies as st

from formcheck.bench.worksheet import Worksheet
from formcheck.reports.drawing import Scale, fitting, spread
from formcheck.reports.markup import Markup, tag, text
from formcheck.reports.picture import Picture
from formcheck.reports.pictures import BROKEN, pictures
from formcheck.review.run import Reviewer

HOME = Path(__file__).resolve().parents[2]
FLAWED = HOME / "examples" / "flawed"


@pytest.fixture
def drawn(reviewer: Reviewer) -> Callable[[str], dict[str, Picture]]:
    """The pictures of a formula, by name; its text, or the name of a flawed example."""

    def run(formula: str) -> dict[str, Picture]:
        sheet = worksheet(reviewer, formula)
        return {picture.id[2:]: picture for picture in pictures(sheet, "x")}

    return run


def worksheet(reviewer: Reviewer, formula: str) -> Worksheet:
    if "\n" in formula:
        return reviewer.sheet(str(FLAWED / "x.formula.yaml"), formula.encode())
    return reviewer.sheet(str(FLAWED / f"{formula}.formula.yaml"))


def svg(picture: Picture) -> Node:
    assert picture.drawing is not None
    return parsed(f"<!doctype html>{picture.drawing}")


def labels(picture: Picture) -> list[str]:
    return [node.text for node in svg(picture).all("text")]


def box_of(nodes: Iterator[Node]) -> list[tuple[float, float, float, float]]:
    keys = ("x", "y", "width", "height")
    return [tuple(float(node.attributes[key]) for key in keys) for node in nodes]  # type: ignore[misc]


def label_at(picture: Picture, wanted: str) -> tuple[float, float]:
    node = next(node for node in svg(picture).all("text") if node.text == wanted)
    return float(node.attributes["x"]), float(node.attributes["y"])


# --- how warm it gets


def test_temperatures_limits_and_steps_stand_in_the_picture_of_heat(drawn: Callable[..., dict[str, Picture]]) -> None:
    heat = drawn("bean-flower-gel")["heat"]
    shown = labels(heat)
    assert {"75°", "73°", "60°", "60 °C"} <= set(shown)
    assert {"start", "1 add", "2 heat", "3 add", "4 fill"} <= set(shown)
    assert {"A", "B", "C"} <= set(shown)
    assert "Nettle Row preserver meets 73 °C and bears 60 °C" in heat.summary
    steps, limits = heat.tables
    assert ("2", "heat A to 75 °C, hold 20 min", "A", "75 °C", "20 min") in steps.rows
    assert any("Nettle Row preserver" in row and "over it at step 3" in row for row in limits.rows)


def test_a_breach_is_drawn_from_the_limit_up_to_the_temperature(drawn: Callable[..., dict[str, Picture]]) -> None:
    heat = drawn("bean-flower-gel")["heat"]
    areas = box_of(svg(heat).of_class("breach-area"))
    assert len(areas) == 1
    x, _, width, height = areas[0]
    ticks = {int(node.text): float(node.attributes["y"]) for node in svg(heat).all("text") if node.text.isdigit()}
    per_degree = (ticks[20] - ticks[60]) / 40
    assert height / per_degree == pytest.approx(73.42 - 60, abs=0.05)
    assert len(list(svg(heat).of_class("breach"))) == 1
    steps = {node.text: float(node.attributes["x"]) for node in svg(heat).all("text") if node.text[:2] in ("3 ", "4 ")}
    assert abs(x + width / 2 - steps["3 add"]) < abs(x + width / 2 - steps["4 fill"])


def test_nothing_is_marked_where_nothing_gets_too_hot(drawn: Callable[..., dict[str, Picture]]) -> None:
    cool = (FLAWED / "bean-flower-gel.formula.yaml").read_text().replace("to: 75 °C", "to: 42 °C")
    heat = drawn(cool.replace("at: 60 °C", "at: 30 °C"))["heat"]
    assert not list(svg(heat).of_class("breach-area"))
    assert not list(svg(heat).of_class("breach"))
    assert "Nothing gets hotter than it bears; the lowest limit is 60 °C" in heat.summary


def test_cold_work_needs_no_drawing_of_heat(drawn: Callable[..., dict[str, Picture]]) -> None:
    heat = drawn("gooseberry-toner")["heat"]
    assert heat.drawing is None
    assert "Nothing is heated" in heat.summary
    assert heat.tables


MANY = """\
formcheck: 1
name: Many steps
batch: {size: 1 kg}
phases:
  A: {Aqua: q.s.}
  B: {Thing: 1}
materials: {Thing: {maximum temperature: 30 °C}}
procedure:
"""


def test_a_long_procedure_makes_a_wide_picture(drawn: Callable[..., dict[str, Picture]]) -> None:
    steps = "".join(f"  - {{heat: A, to: {20 + number} °C}}\n" for number in range(40))
    heat = drawn(MANY + steps + "  - {add: B, into: A}\n")["heat"]
    root = next(svg(heat).all("svg"))
    assert root.attributes["class"] == "wide"
    width = float(root.attributes["viewbox"].split()[2])
    assert all(0 <= x <= width for x in xs(root))
    assert "40 heat" in labels(heat)


def xs(root: Node) -> Iterator[float]:
    for node in root.all():
        for name in ("x", "x1", "x2", "cx"):
            if name in node.attributes:
                yield float(node.attributes[name])
        for pair in node.attributes.get("points", "").split():
            yield float(pair.split(",")[0])


def test_a_temperature_left_open_breaks_the_line(drawn: Callable[..., dict[str, Picture]]) -> None:
    steps = "  - {heat: A, to: 60 °C}\n  - {cool: A}\n  - {add: B, into: A}\n  - {fill: A}\n"
    heat = drawn(MANY + steps)["heat"]
    assert "?" in labels(heat)
    assert any("left open" in row for row in heat.tables[0].rows)


# --- pH


def test_every_window_is_a_bar_from_its_low_to_its_high_end(drawn: Callable[..., dict[str, Picture]]) -> None:
    ph = drawn("bean-flower-gel")["ph"]
    shown = labels(ph)
    assert {"Niacinamide", "4.5 to 7.5", "Panthenol", "3 to 7", "up to 10", "target pH 5.7 to 6.3"} <= set(shown)
    ticks = {int(n.text): float(n.attributes["x"]) for n in svg(ph).all("text") if n.text.isdigit()}
    unit = ticks[3] - ticks[2]
    bars = {
        round((x - ticks[2]) / unit + 2, 2): round((x + width - ticks[2]) / unit + 2, 2)
        for x, _, width, _ in box_of(n for n in svg(ph).all("rect") if {"works", "keeps"} & {n.attributes["class"]})
    }
    assert bars[4.5] == 7.5
    assert bars[3.0] == 7.0
    (area,) = box_of(svg(ph).of_class("target-area"))
    assert (area[0] + area[2] / 2 - ticks[2]) / unit + 2 == pytest.approx(6.0, abs=0.01)


def test_what_the_target_does_not_suit_has_a_cross_and_a_word(drawn: Callable[..., dict[str, Picture]]) -> None:
    ph = drawn("dock-leaf-cream")["ph"]
    assert "The target does not suit Sodium Benzoate." in ph.summary
    assert len(list(svg(ph).of_class("cross"))) == 2  # the two strokes of one cross
    assert [row for row in ph.tables[0].rows if row[-1] == "no"] == [
        ("Sodium Benzoate", "preservative", "up to 5.5", "works", "no")
    ]


def test_a_target_at_the_edge_of_a_window_is_called_that(drawn: Callable[..., dict[str, Picture]]) -> None:
    ph = drawn("gooseberry-toner")["ph"]
    assert "just outside what skin (leave-on) wants" in ph.summary
    assert "suits everything" not in ph.summary


@pytest.mark.parametrize("pH", ["0.5", "13.5"])
def test_the_axis_reaches_as_far_as_what_is_drawn(drawn: Callable[..., dict[str, Picture]], pH: str) -> None:
    written = (FLAWED / "dock-leaf-cream.formula.yaml").read_text().replace("pH: 6.8", f"pH: {pH}")
    ph = drawn(written)["ph"]
    x, _ = label_at(ph, str(round(float(pH) - 0.5)))
    assert 0 < x < 400


def test_oils_have_no_picture_of_pH(drawn: Callable[..., dict[str, Picture]]) -> None:
    assert {"ph", "free-acid"}.isdisjoint(drawn("sum-of-parts"))


# --- free acid


def test_the_curve_of_benzoic_acid_is_that_of_its_pKa(reviewer: Reviewer) -> None:
    """Henderson and Hasselbalch: at the pKa, 4.20 for benzoic acid (CRC Handbook of Chemistry and Physics), half is free."""
    from formcheck.bench.acid_curves import acid_curves

    (curve,) = acid_curves(worksheet(reviewer, "dock-leaf-cream"), 1.2, 8.2)
    free = dict((round(pH, 4), amount) for pH, amount in curve.points)
    assert free[4.2] / free[1.2] == pytest.approx(0.5, abs=0.01)
    assert free[5.2] / free[1.2] == pytest.approx(1 / 11, abs=0.003)
    whole = 0.5 * 122.12 / 144.11  # benzoic acid in 0.5 % of its sodium salt, by molar masses
    water = free[1.2] / whole
    assert 1.0 < water < 2.0  # of the water phase, which is less than the whole product
    assert curve.up_to is not None
    assert curve.least is not None
    assert curve.short


def test_the_picture_of_free_acid_has_level_crossing_and_present_value(
    drawn: Callable[..., dict[str, Picture]],
) -> None:
    picture = drawn("dock-leaf-cream")["free-acid"]
    shown = labels(picture)
    assert {"pH 6.8", "0.0014 %", "0.025 % works", "Sodium Benzoate, 0.5 %"} <= set(shown)
    assert len(list(svg(picture).of_class("breach"))) == 1
    crossing = next(label for label in shown if re.fullmatch(r"pH 5\.\d", label))
    assert crossing[3:] in picture.summary
    assert any(row[0] == "6.8 (stated)" and row[1] == "0.0014 %" for row in picture.tables[0].rows)


def test_without_a_stated_pH_the_curves_stand_alone(drawn: Callable[..., dict[str, Picture]]) -> None:
    written = (FLAWED / "dock-leaf-cream.formula.yaml").read_text().replace("  pH: 6.8\n", "  measured pH: 5\n")
    assert "pH 5" in labels(drawn(written)["free-acid"])
    bare = written.replace("finished:\n  measured pH: 5\n", "")
    picture = drawn(bare)["free-acid"]
    assert not list(svg(picture).of_class("target"))
    assert "up to pH" in picture.summary


def test_enough_free_acid_is_no_breach(drawn: Callable[..., dict[str, Picture]]) -> None:
    written = (FLAWED / "dock-leaf-cream.formula.yaml").read_text().replace("pH: 6.8", "pH: 4.5")
    assert not list(svg(drawn(written)["free-acid"]).of_class("breach"))


# --- composition


def test_bars_are_as_long_as_phases_are_heavy(drawn: Callable[..., dict[str, Picture]]) -> None:
    picture = drawn("bean-flower-gel")["parts"]
    bars = [each for each in box_of(svg(picture).of_class("part")) if each[3] == 22]
    whole = sum(width for _, _, width, _ in bars)
    assert [width / whole for _, _, width, _ in bars] == pytest.approx([0.935, 0.05, 0.015], abs=1e-4)
    shown = labels(picture)
    assert {"Aqua", "q.s., 88.3 %", "441.5 g", "Panthenol", "1 %", "Phase B: 5 % of the whole"} <= set(shown)
    assert len(picture.tables[0].rows) == 7


def test_what_is_missing_to_100_is_drawn_and_said(drawn: Callable[..., dict[str, Picture]]) -> None:
    picture = drawn("sum-of-parts")["parts"]
    assert "4.5 % missing" in labels(picture)
    assert len(list(svg(picture).of_class("missing"))) == 1
    assert "95.5 %, not 100 %" in picture.summary


def test_what_is_too_much_is_marked(drawn: Callable[..., dict[str, Picture]]) -> None:
    written = (FLAWED / "sum-of-parts.formula.yaml").read_text().replace("Parfum: 1", "Parfum: 9")
    picture = drawn(written)["parts"]
    assert "3.5 % too much" in labels(picture)
    assert not list(svg(picture).of_class("missing"))


def test_a_long_phase_is_cut_in_the_picture_but_not_in_the_table(drawn: Callable[..., dict[str, Picture]]) -> None:
    lines = "".join(f"    Thing {number}: 1\n" for number in range(60))
    picture = drawn(f"formcheck: 1\nname: Long\nphases:\n  A:\n{lines}    Aqua: q.s.\n")["parts"]
    assert any(re.search(r"and \d+ more; the table has them all", label) for label in labels(picture))
    assert len(picture.tables[0].rows) == 61


@pytest.mark.parametrize("percents", ["{Aqua: 0}", "{Aqua: -5}", "{Aqua: 0, Glycerin: -1}"])
def test_nothing_in_it_is_no_picture(drawn: Callable[..., dict[str, Picture]], percents: str) -> None:
    assert "parts" not in drawn(f"formcheck: 1\nname: Empty\nphases:\n  A: {percents}\n")


# --- faults, small helpers


def test_a_picture_that_fails_is_said_and_the_others_go_on(
    drawn: Callable[..., dict[str, Picture]], monkeypatch: pytest.MonkeyPatch
) -> None:
    from formcheck.reports import pictures as module

    def broken(sheet: Worksheet, id: str) -> Picture:
        raise ZeroDivisionError("no paper")

    monkeypatch.setitem(module._ALL, "heat", broken)
    found = drawn("dock-leaf-cream")
    assert (found["heat"].title, found["heat"].drawing) == (BROKEN, None)
    assert "no paper" in found["heat"].summary
    assert len(found) == 4


@given(st.lists(st.floats(0, 200), min_size=1, max_size=12))
def test_labels_are_spread_in_order_and_within_bounds(positions: list[float]) -> None:
    placed = spread(positions, 10, 0, 200)
    order = sorted(range(len(positions)), key=lambda index: positions[index])
    gaps = [placed[b] - placed[a] for a, b in pairwise(order)]
    assert all(gap >= 10 - 1e-6 for gap in gaps)
    assert max(placed) <= 200 + 1e-6
    assert min(placed) >= -1e-6


def test_what_stands_apart_already_stays() -> None:
    assert spread([10, 50, 90], 20, 0, 100) == [10, 50, 90]


@given(st.floats(1e-4, 10))
def test_on_a_log_scale_ten_times_as_much_is_as_far_everywhere(value: float) -> None:
    scale = Scale(1e-5, 1e3, 300, 20, log=True)
    assert scale(value) - scale(10 * value) == pytest.approx((300 - 20) / 8, abs=1e-6)


def test_labels_are_cut_to_their_room() -> None:
    assert fitting("Glycerin", 100) == "Glycerin"
    assert fitting("Helianthus Annuus Seed Oil", 100) == "Helianthus An…"


def test_markup_is_escaped_once() -> None:
    inner = tag("b", "a < b & 'c'")
    assert inner == "<b>a &lt; b &amp; &#x27;c&#x27;</b>"
    assert (
        tag("p", inner, [" ", None, "x"], class_="y", hidden=True, title=None) == f'<p class="y" hidden>{inner} x</p>'
    )
    assert tag("i", data_x='"><script>') == '<i data-x="&quot;&gt;&lt;script&gt;"></i>'
    assert text("\u202ea\x00") == "&lt;U+202E&gt;a&lt;U+0000&gt;"
    assert isinstance(inner, Markup)
