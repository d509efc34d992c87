"""Numbers as people read them."""

from __future__ import annotations

from decimal import Decimal


def number(value: Decimal | float, digits: int = 4) -> str:
    """At most so many significant digits, without trailing zeros or an exponent."""
    text = f"{float(value):.{digits}g}"
    if "e" in text:
        text = f"{float(value):.10f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
