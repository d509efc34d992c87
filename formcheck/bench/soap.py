"""Soap that is made in the batch, from fatty acids or fats and a strong base, counted by the base.

A mole of strong alkali makes a mole of soap of a mole of fatty acid; fats bring one mole of acid for each of their ester
groups (saponification value: any handbook of fats). What the alkali leaves over stays fat, as in superfatted soap.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .waterphase import chemistry

if TYPE_CHECKING:
    from .worksheet import Worksheet

_FATS = ("vegetable oil", "butter")


def soap_made(sheet: Worksheet) -> float:
    """% w/w of soap that the strong bases of a formula make; 0 where they neutralise only a small part of the acids.

    The metal that comes in and the glycerol that leaves are taken as equal.
    """
    base = sum(_moles_of_base(sheet))
    if not base:
        return 0.0
    acids, moles = _fatty_acids(sheet)
    if sheet.emulsion.saponified:
        fats = sum(part.amount for part in sheet.inside(*_FATS))
        acids, moles = acids + fats, moles + fats / sheet.limit("fat for each mole of fatty acid")
    if not moles or base / moles < sheet.limit("share of fatty acid that makes it soap"):
        return 0.0
    return acids * min(base / moles, 1.0)


def _moles_of_base(sheet: Worksheet) -> list[float]:
    """Strong alkali in moles for 100 g, part by part."""
    found = ((part.amount, chemistry(part.material)) for part in sheet.inside("strong base"))
    return [amount * known.strong_charge / known.mass for amount, known in found if known is not None]


def _fatty_acids(sheet: Worksheet) -> tuple[float, float]:
    """Free fatty acids: % w/w, and moles for 100 g."""
    found = [(p.amount, p.material.molar_mass) for p in sheet.inside("fatty acid")]
    known = [(amount, mass) for amount, mass in found if mass]
    return sum(amount for amount, _ in known), sum(amount / mass for amount, mass in known)
