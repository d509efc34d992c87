"""Written quantities. Conversion factors: SI Brochure (9th edition) and NIST Special Publication 811."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.formula import units
from formcheck.formula.units import Misread, Range
from formcheck.reading.document import Place, Scalar, Sequence


def scalar(text: str, kind: str = "text") -> Scalar:
    return Scalar(text, kind, Place(1, 1))


@pytest.mark.parametrize("text", ["5", "5 %", "5%", " 5 % ", "5.0", "5.00 %"])
def test_one_percent_many_spellings(text: str) -> None:
    assert units.percent(scalar(text)) == Decimal(5)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("75 °C", 75),
        ("75C", 75),
        ("167 °F", 75),
        ("167 F", 75),
        ("348.15 K", 75),
        ("room", 21),
        ("-5 °C", -5),
        ("212 °F", 100),
    ],
)
def test_temperatures(text: str, celsius: float) -> None:
    assert units.temperature(scalar(text), 21).celsius == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("text", "seconds"), [("20 min", 1200), ("12 h", 43200), ("30 s", 30), ("2 d", 172800), ("1.5 hours", 5400)]
)
def test_times(text: str, seconds: float) -> None:
    assert units.duration(scalar(text)) == seconds


@pytest.mark.parametrize(
    ("text", "grams"),
    # NIST SP 811, appendix B.8: 1 lb = 453.592 37 g exactly; 1 oz = 28.349 523 125 g
    [("200 g", "200"), ("1.5 kg", "1500"), ("250 mg", "0.25"), ("1 lb", "453.59237"), ("1 oz", "28.349523125")],
)
def test_masses(text: str, grams: str) -> None:
    assert units.mass(scalar(text)) == Decimal(grams)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("5.5", 5.5, 5.5),
        ("5.5 ± 0.3", 5.2, 5.8),
        ("5.5 +/- 0.3", 5.2, 5.8),
        ("4 to 5", 4, 5),
        ("up to 5", None, 5),
        ("from 8", 8, None),
    ],
)
def test_ph(text: str, low: float | None, high: float | None) -> None:
    assert units.ph(scalar(text)) == Range(low, high)


def test_ph_as_a_list() -> None:
    assert units.ph(Sequence((scalar("5.2"), scalar("5.8")), Place(1, 1))) == Range(5.2, 5.8)
    assert units.ph(Sequence((scalar("", "null"), scalar("5.8")), Place(1, 1))) == Range(None, 5.8)


@pytest.mark.parametrize(
    ("read", "text", "words"),
    [
        (units.percent, "0,5", "write 0.5"),
        (units.percent, "0,5 %", "write 0.5 %"),
        (units.percent, ".nan", "not a number one can weigh"),
        (units.percent, "inf", "not a number one can weigh"),
        (units.percent, "5 g", "with or without %"),
        (units.percent, "a bit", "a percent was expected"),
        (units.percent, "1e99", "out of all proportion"),
        (units.duration, "20", "has no unit; a time needs s, min, h or d"),
        (units.duration, "20 weeks", "the unit «weeks»"),
        (units.duration, "-5 min", "negative"),
        (units.mass, "200", "has no unit; a mass needs g, kg, mg, oz or lb"),
        (units.mass, "50 ml", "volumes need a density"),
        (lambda node: units.temperature(node, 22), "75", "has no unit; a temperature needs °C, °F or K"),
        (lambda node: units.temperature(node, 22), "75 bar", "the unit «bar»"),
        (lambda node: units.temperature(node, 22), "7500 °C", "between -200 and 400"),
        (units.ph, "15", "between 0 and 14"),
        (units.ph, "6 to 5", "the lower end comes first"),
        (units.ph, "5,5", "write 5.5"),
    ],
)
def test_what_cannot_be_meant(read: object, text: str, words: str) -> None:
    with pytest.raises(Misread) as caught:
        read(scalar(text))  # type: ignore[operator]
    assert words in str(caught.value)


@given(st.decimals(min_value=0, max_value=100, places=6))
def test_percent_is_exact(value: Decimal) -> None:
    assert units.percent(scalar(f"{value:f} %")) == value


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in (units.percent, units.duration, units.mass, units.volume, units.ph, lambda n: units.temperature(n, 22)):
        try:
            read(scalar(text))  # type: ignore[operator]
        except Misread as error:
            assert str(error)
