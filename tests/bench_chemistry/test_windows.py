"""pH windows gathered from lines, and which of them agree: intervals on a line, worked by hand on made-up materials."""

from __future__ import annotations

import pytest

from formcheck.bench import windows
from formcheck.bench.windows import Window
from formcheck.bench.worksheet import Worksheet
from formcheck.review.run import Reviewer

HOUSE = """\
materials:
  Sour active: {class: active, pH window: [3, 4], dose: [1, 5]}
  Mild active: {class: active, pH window: [5, 6.5]}
  Mild thickener: {class: thickener, pH window: [5.5, 8]}
  Keeper: {class: preservative, pH window: [4, 7]}
  Second keeper: {class: [preservative, active], pH window: [3, 5]}
  Cleanser: {class: surfactant, pH window: [5, 9]}
  Guarding quat: {class: [surfactant, preservative], pH window: [4, 8]}
  Sturdy: {class: humectant, stable pH: [4, 9]}
  Oily: {class: [oil, active], pH window: [4, 5]}
  Blend of two: {contains: {Sour active: 50, Sturdy: 50}}
  Known blend: {class: active, pH window: [4, 5], contains: {Sour active: 50, Sturdy: 50}}
"""


def sheet_of(reviewer: Reviewer, lines: str, more: str = "", use: str = "rinse-off") -> Worksheet:
    text = f"formcheck: 1\nname: x\nproduct: {{use: {use}}}\nphases:\n  A: {{Aqua: q.s., {lines}}}\n{HOUSE}{more}"
    return reviewer.sheet("x.formula.yaml", text.encode())


def found(reviewer: Reviewer, lines: str, **more: str) -> dict[str, Window]:
    return {window.name: window for window in windows.windows(sheet_of(reviewer, lines, **more))}


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("Sour active: 2", {"Sour active": (3, 4, "active", "pH window")}),
        ("Sour active: 0", {}),
        ("Sturdy: 2", {"Sturdy": (4, 9, "other", "stable pH")}),
        ("Oily: 2", {}),
        # a blend is judged by itself where it can be, else by what is in it; each of those once
        ("Blend of two: 2", {"Sour active (in Blend of two)": (3, 4, "active", "pH window"), "Sturdy (in Blend of two)": (4, 9, "other", "stable pH")}),
        ("Known blend: 2", {"Known blend": (4, 5, "active", "pH window")}),
        ("Cleanser: 9", {"Cleanser": (5, 9, "surfactant", "pH window")}),
        ("Guarding quat: 1", {"Guarding quat": (4, 8, "preservative", "pH window")}),
        ("Mild thickener: 1", {"Mild thickener": (5.5, 8, "thickener", "pH window")}),
    ],
)  # fmt: skip
def test_windows_of_lines(reviewer: Reviewer, lines: str, expected: dict[str, tuple[object, ...]]) -> None:
    told = {name: (each.low, each.high, each.kind, each.says) for name, each in found(reviewer, lines).items()}
    assert told == expected


def test_skin_asks_only_of_what_stays_on_it(reviewer: Reviewer) -> None:
    assert list(found(reviewer, "Sour active: 2", use="leave-on")) == ["Sour active", "skin (leave-on)"]
    assert list(found(reviewer, "Sour active: 2", use="rinse-off")) == ["Sour active"]
    assert list(found(reviewer, "Glycerin: 2", use="leave-on")) == []


def test_much_of_a_preservative_beside_another_is_an_active(reviewer: Reviewer) -> None:
    least = float(reviewer.reference.limit("a preservative that is an active above").value)
    much, little = least * 1.5, least / 2
    assert found(reviewer, f"Second keeper: {much}, Keeper: 1")["Second keeper"].kind == "active"
    assert found(reviewer, f"Second keeper: {little}, Keeper: 1")["Second keeper"].kind == "preservative"
    assert found(reviewer, f"Second keeper: {much}")["Second keeper"].kind == "preservative"
    assert found(reviewer, f"Second keeper: 0.1, Keeper: {much}")["Keeper"].kind == "preservative"


def test_a_little_of_an_active_does_not_count(reviewer: Reviewer) -> None:
    assert found(reviewer, "Sour active: 1")["Sour active"].counts
    assert not found(reviewer, "Sour active: 0.001")["Sour active"].counts


@pytest.mark.parametrize(
    ("lines", "soap"),
    [
        ("Stearic Acid: 5, Triethanolamine: 1", True),
        ("Stearic Acid: 5", False),
        ("Triethanolamine: 1", False),
        ("Stearic Acid: 5, Triethanolamine: 1, Polysorbate 60: 2", False),
        ("Stearic Acid: 5, Triethanolamine: 1, Carbomer: 0.3", False),
    ],
)
def test_soap_holds_a_cream_where_nothing_else_does(reviewer: Reviewer, lines: str, soap: bool) -> None:
    """Vanishing creams: common practice, no source."""
    assert any(name.startswith("soap of") for name in found(reviewer, lines)) == soap


CLASH = "Sour active: 2, Mild active: 2, Mild thickener: 1"


def test_the_larger_set_of_a_clash(reviewer: Reviewer) -> None:
    best = windows.clash(sheet_of(reviewer, CLASH))
    assert best is not None
    assert (best.low, best.high) == (5.5, 6.5)
    assert [window.name for window in best.outside] == ["Sour active"]
    assert windows.clash(sheet_of(reviewer, "Mild active: 2, Mild thickener: 1")) is None


def test_within_the_grace_of_a_meter_nothing_clashes(reviewer: Reviewer) -> None:
    grace = float(reviewer.reference.limit("grace at the edge of a pH window").value)
    for gap, clashes in ((grace - 0.05, False), (grace + 0.05, True)):
        more = f"  Neighbour: {{class: active, pH window: [{4 + gap:.2f}, 9]}}\n  Between: {{class: active, pH window: [2, 9]}}\n"
        sheet = sheet_of(reviewer, "Between: 1, Sour active: 2, Neighbour: 1", more=more)
        assert (windows.clash(sheet) is not None) == clashes


@pytest.mark.parametrize(
    ("stated", "suited"),
    [("6", 6.0), ("5.5", 5.5), ("6.5", 6.5), ("3.5", 6.0), ("9", 6.0), (None, 6.0)],
)
def test_the_stated_pH_is_kept_where_it_suits(reviewer: Reviewer, stated: str | None, suited: float) -> None:
    """Elsewhere the most ordinary pH that suits: 5 to 7 (the reference's own, common practice)."""
    sheet = sheet_of(reviewer, CLASH, more=f"finished: {{pH: {stated}}}\n" if stated else "")
    best = windows.clash(sheet)
    assert best is not None
    assert windows.suited(sheet, best) == pytest.approx(suited, abs=0.01)


def test_a_window_that_covers_the_product_depends_on_nothing() -> None:
    wide = Window("x", "active", 4.0, 7.0)
    assert not wide.depends(4.0, 7.0)
    assert wide.depends(3.9, 7.0)
    assert wide.depends(4.0, 7.1)
    assert not Window("x", "active", None, None).depends(0.0, 14.0)
    assert [wide.apart(pH) for pH in (3.0, 4.0, 5.0, 8.0)] == [1, 0, 0, 1]


def test_who_may_rest_a_clash_on() -> None:
    """What only keeps there, is hardly sure, too little or there for nothing in particular gives way without a word."""
    sure = Window("sure", "active", 3.0, 4.0)
    others = (
        sure._replace(says=windows.KEEPS),
        sure._replace(certainty="low"),
        sure._replace(counts=False),
        sure._replace(kind="other"),
    )
    sheet = Reviewer().sheet("x.formula.yaml", b"formcheck: 1\nname: x\nphases: {A: {Aqua: 100}}\n")
    assert windows.firm(sheet, [sure, *others]) == [sure]
    skin = windows.skin(sheet)
    (firm,) = windows.firm(sheet, [skin])
    assert firm.low is not None
    assert skin.low is not None
    assert firm.low < skin.low
    assert firm.counts


def test_alternatives_suit_the_pH_and_are_like_what_they_replace(reviewer: Reviewer) -> None:
    sheet = sheet_of(reviewer, "Carbomer: 0.5, Xanthan Gum: 0.2")
    carbomer = next(window for window in windows.windows(sheet) if window.name == "Carbomer")
    names = windows.alternatives(sheet, carbomer, 4.0)
    assert 0 < len(names) <= 3
    assert "Xanthan Gum" not in names  # it is there already
    own = reviewer.reference.find("Carbomer")
    assert own is not None
    shared = []
    for name in names:
        other = reviewer.reference.find(name)
        assert other is not None
        assert reviewer.reference.file_of(other.name) == reviewer.reference.file_of("Carbomer")
        assert other.value("pH window").holds(4.0)
        shared.append(len((own.classes & other.classes) - {"electrolyte", "humectant", "powder", "active"}))
    assert shared == sorted(shared, reverse=True)
    assert windows.alternatives(sheet, windows.skin(sheet), 4.0) == []
