"""A step of the procedure as a person would say it."""

from __future__ import annotations

from ..formula.model import Step
from ..formula.units import Temperature
from ..review.words import celsius, grams, listed, number, span, time

_SPOKEN = {"adjust pH": "adjust the pH of", "measure pH": "measure the pH of"}


def sentence(step: Step) -> str:
    """`heat A to 75 °C, hold 15 min`, without capital or full stop."""
    parts = [f"{_SPOKEN.get(step.verb, step.verb)} {listed(step.objects)}"]
    if step.in_:
        parts.append(f"in {listed(step.in_)}")
    if step.into:
        parts.append(f"into {step.into}")
    if step.to is not None:
        parts.append(f"to {_warm(step.to)}")
    if step.to_pH is not None:
        parts.append(f"to pH {_ph(step)}")
    if step.at is not None:
        parts.append(f"at {_warm(step.at)}")
    if step.with_:
        parts.append(f"with {listed(step.with_)}")
    if step.strength_percent is not None:
        parts.append(f"of {number(step.strength_percent)} %")
    if step.amount_g is not None:
        parts.append(f"({grams(step.amount_g)})")
    text = " ".join(parts)
    for word, seconds in (("over", step.over_seconds), ("for", step.for_seconds), ("hold", step.hold_seconds)):
        if seconds is not None:
            text += f"{',' if word == 'hold' else ''} {word} {time(seconds)}"
    return text + (f" [{step.note}]" if step.note else "")


def _warm(value: Temperature) -> str:
    return "room temperature" if value.room else celsius(value.celsius)


def _ph(step: Step) -> str:
    wanted = step.to_pH
    assert wanted is not None
    return number(wanted.low or 0) if wanted.low == wanted.high else span(wanted)
