"""How far a run is: said only where somebody looks, after a while, and gone at the end."""

from __future__ import annotations

import io

import pytest

from formcheck.commands import progress
from formcheck.commands.progress import Progress


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    now = [100.0]
    monkeypatch.setattr(progress.time, "monotonic", lambda: now[0])
    return now


def test_a_short_run_says_nothing(clock: list[float]) -> None:
    stream = io.StringIO()
    with Progress(stream, shown=True) as shown:
        clock[0] += progress.PATIENCE_S * 0.9
        shown.say("5 formulas done", 5)
    assert stream.getvalue() == ""


def test_nobody_looks(clock: list[float]) -> None:
    stream = io.StringIO()
    with Progress(stream, shown=False) as shown:
        clock[0] += 100
        shown.say("5 formulas done", 5)
    assert stream.getvalue() == ""


def test_it_says_how_many_a_second_and_goes_away(clock: list[float]) -> None:
    stream = io.StringIO()
    with Progress(stream, shown=True) as shown:
        for done, after in ((100, 2.0), (101, 0.01), (400, 2.0)):
            clock[0] += after
            shown.say(f"{done} formulas done", done)
    parts = [part.rstrip() for part in stream.getvalue().split("\r")]
    assert parts == ["", "100 formulas done (50 a second)", "400 formulas done (100 a second)", "", ""]


def test_it_keeps_to_one_line(clock: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "20")
    stream = io.StringIO()
    with Progress(stream, shown=True) as shown:
        clock[0] += 2
        shown.say("x" * 100, 1)
    assert max(map(len, stream.getvalue().split("\r"))) < 20
