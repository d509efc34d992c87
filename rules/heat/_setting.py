"""What sets as it cools, so that it has to be poured hot and scented warm."""

from __future__ import annotations

from formcheck.bench.soap import soap_made
from formcheck.bench.worksheet import Worksheet

POURED_HOT = ("bar", "soap", "stick", "lip balm", "lipstick", "solid perfume")
OTHER_STICKS = ("deodorant", "antiperspirant")
SOFT = ("balm", "salve", "ointment")
SOLID = ("powder", "flakes", "granules", "solid")
SODIUM = "Na+"


def sets(sheet: Worksheet) -> bool:
    """Whether it has to be poured hot because it sets as it cools: bars and sticks, by name or by what sets them."""
    waxes = _solid_fat(sheet)
    return sheet.product.form in SOFT or sets_hot(sheet) or waxes >= sheet.limit("wax that sets a product")


def sets_hot(sheet: Worksheet) -> bool:
    """Whether it sets while it is still hot, so that perfume goes in hot as well."""
    if sheet.product.form in POURED_HOT or sheet.holds("heat-set gum"):
        return True
    fat = _solid_fat(sheet)
    if fat >= sheet.limit("wax that sets while hot") or (
        _stick(sheet) and fat >= sheet.limit("wax that sets a product")
    ):
        return True
    return hard_soap(sheet) >= sheet.limit("soap that sets a product")


def _solid_fat(sheet: Worksheet) -> float:
    """% w/w of wax, and of fatty alcohol where there is no water that it would thicken instead."""
    return float(sheet.percent_of("wax")) + (float(sheet.percent_of("fatty alcohol")) if _dry(sheet) else 0.0)


def _stick(sheet: Worksheet) -> bool:
    """Whether it may be a stick by another word."""
    return sheet.product.form in OTHER_STICKS and _dry(sheet)


def _dry(sheet: Worksheet) -> bool:
    return bool(sheet.water_percent < sheet.limit("least water that needs preserving"))


def hard_soap(sheet: Worksheet) -> float:
    """% w/w of soap that is solid as bought, or made with soda rather than potash."""
    bought = sum(p.amount for p in sheet.outer("soap") if sheet.value(p.material, "form") in SOLID)
    soda = any(
        SODIUM in dict(p.material.value("counter-ions") or ()) for p in sheet.parts if p.material.is_a("strong base")
    )
    return bought + (soap_made(sheet) if soda else 0.0)
