"""Molar masses against a general chemistry library, and a dozen against hand-checked values."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from formcheck.reference.masses import molar_mass, share_of
from formcheck.reference.sources import compile_folder

SHARED = Path(__file__).parents[2] / "shared"

# CRC Handbook of Chemistry and Physics, 95th edition, sections 3 and 4 (physical constants of organic and of
# inorganic compounds), g/mol to the two decimals that all editions share
HANDBOOK = {
    "H2O": 18.02,
    "C3H8O3": 92.09,
    "C6H8O7": 192.12,
    "C6H8O7·H2O": 210.14,
    "NaOH": 40.00,
    "KOH": 56.11,
    "Ca(OH)2": 74.09,
    "C7H6O2": 122.12,
    "C7H5NaO2": 144.10,
    "C6H8O2": 112.13,
    "C6H7KO2": 150.22,
    "C8H10O2": 138.16,
    "MgSO4·7H2O": 246.47,
    "Na2B4O7·10H2O": 381.37,
    "C6H15NO3": 149.19,
    "C10H12CaN2Na2O8": 374.27,
}


@pytest.mark.parametrize(("formula", "expected"), HANDBOOK.items())
def test_against_the_handbook(formula: str, expected: float) -> None:
    assert molar_mass(formula) == pytest.approx(expected, abs=0.011)


def test_brackets_dots_and_leading_numbers() -> None:
    """Worked by hand from the conventional atomic weights of IUPAC, 2021: Al 26.982, S 32.06, O 15.999, K 39.098, H 1.008."""
    alum = 39.098 + 26.982 + 2 * (32.06 + 4 * 15.999) + 12 * (2 * 1.008 + 15.999)
    assert molar_mass("KAl(SO4)2·12H2O") == pytest.approx(alum)
    assert molar_mass("K Al (S O4)2 . 12 H2O") == pytest.approx(alum)
    assert molar_mass("[Al2(OH)5]Cl") == pytest.approx(2 * 26.982 + 5 * (15.999 + 1.008) + 35.45)


@pytest.mark.parametrize("text", ["", "water", "C6H8O7)", "(C6H8O7", "Xx2", "C6-H8", "2"])
def test_what_is_no_formula(text: str) -> None:
    with pytest.raises(ValueError, match=r"formula|element|bracket"):
        molar_mass(text)


def test_every_formula_against_a_chemistry_library() -> None:
    """molmass (C. Gohlke) takes its atomic masses from NIST; ours are IUPAC's abridged ones, so four digits agree."""
    molmass = pytest.importorskip("molmass")
    materials = compile_folder(str(SHARED)).materials
    formulas = {name: facts["formula"][0][0] for name, facts in materials.items() if "formula" in facts}
    assert len(formulas) > 400
    apart = []
    for name, formula in formulas.items():
        theirs = sum(_mass(molmass, part) for part in re.split(r"[·.]", formula.replace(" ", "")))
        ours = materials[name]["molar mass"][0][0]
        if abs(ours - theirs) > 2e-4 * theirs:
            apart.append(f"{name} {formula}: {ours} here, {theirs:.3f} there")
    assert not apart, "\n".join(apart)


def _mass(molmass: object, part: str) -> float:
    lead = re.match(r"\d*", part)
    number = lead.group() if lead else ""
    return int(number or 1) * float(molmass.Formula(part[len(number) :].replace("[", "(").replace("]", ")")).mass)  # type: ignore[attr-defined]


# Fluoride contents that regulations and textbooks of dentistry give: 45.2 % of sodium fluoride, 13.2 % of sodium
# monofluorophosphate; zinc sulfate
# heptahydrate is 22.7 % zinc (any table of mineral supplements).
@pytest.mark.parametrize(
    ("element", "formula", "percent"),
    [("F", "NaF", 45.2), ("F", "Na2PO3F", 13.2), ("Zn", "ZnSO4·7H2O", 22.7), ("Zn", "Zn", 100)],
)
def test_share_of_an_element(element: str, formula: str, percent: float) -> None:
    assert 100 * share_of(element, formula) == pytest.approx(percent, abs=0.05)
