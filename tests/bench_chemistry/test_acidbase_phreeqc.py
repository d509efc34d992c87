"""Ten mixed systems against PHREEQC (Parkhurst and Appelo, USGS), which solves the same species in its own
way.

Constants are entered here for both; PHREEQC takes the activities of sodium, chloride and hydrogen from its
own database and Davies for the rest.
"""

from __future__ import annotations

from typing import Any

import pytest

from formcheck.bench.acidbase import Solute, solve

phreeqpython = pytest.importorskip("phreeqpython")

BENZOIC, SORBIC, LACTIC = (4.20,), (4.76,), (3.86,)
CITRIC, PHOSPHORIC = (3.128, 4.761, 6.396), (2.148, 7.198, 12.375)
GLYCINE, ARGININE, TRIS = (2.350, 9.778), (1.82, 8.99, 12.48), (8.072,)
EDTA = (2.0, 2.7, 6.16, 10.26)
NA, NA2, NA3, CL = ((1, 1.0),), ((1, 2.0),), ((1, 3.0),), ((-1, 1.0),)
SODA = ((1, 1.0),)

SYSTEMS: dict[str, list[Solute]] = {
    "benzoate and citric acid": [Solute("Benz", 0.030, BENZOIC, 0, NA), Solute("Citr", 0.010, CITRIC)],
    "sorbate and lactic acid": [Solute("Sorb", 0.020, SORBIC, 0, NA), Solute("Lact", 0.040, LACTIC)],
    "lactic acid half neutralised": [Solute("Lact", 0.100, LACTIC), Solute("base", 0.050, (), 0, SODA)],
    "citrate and phosphate": [Solute("Citr", 0.020, CITRIC), Solute("Phos", 0.040, PHOSPHORIC, 0, NA2)],
    "glycine and hydrochloric acid": [Solute("Glyc", 0.100, GLYCINE, 1), Solute("acid", 0.030, (), 0, CL)],
    "arginine and citric acid": [Solute("Argi", 0.060, ARGININE, 2), Solute("Citr", 0.015, CITRIC)],
    "tris, phosphate and salt": [
        Solute("Tris", 0.050, TRIS, 1),
        Solute("Phos", 0.030, PHOSPHORIC, 0, NA),
        Solute("salt", 0.100, (), 0, ((1, 1.0), (-1, 1.0))),
    ],
    "disodium edetate, sorbate, citric acid": [
        Solute("Edta", 0.005, EDTA, 0, NA2),
        Solute("Sorb", 0.015, SORBIC, 0, NA),
        Solute("Citr", 0.006, CITRIC),
    ],
    "trisodium citrate and lactic acid": [Solute("Citr", 0.030, CITRIC, 0, NA3), Solute("Lact", 0.050, LACTIC)],
    "ten at once": [
        Solute("Benz", 0.020, BENZOIC, 0, NA),
        Solute("Sorb", 0.010, SORBIC, 0, NA),
        Solute("Lact", 0.030, LACTIC),
        Solute("Citr", 0.008, CITRIC),
        Solute("Phos", 0.010, PHOSPHORIC, 0, NA2),
        Solute("Glyc", 0.040, GLYCINE, 1),
        Solute("Argi", 0.020, ARGININE, 2),
        Solute("Tris", 0.010, TRIS, 1),
        Solute("Edta", 0.002, EDTA, 0, NA2),
        Solute("salt", 0.050, (), 0, ((1, 1.0), (-1, 1.0))),
    ],
}


@pytest.fixture(scope="module")
def engine() -> Any:
    engine = phreeqpython.PhreeqPython(database="phreeqc.dat")
    engine.ip.run_string(_species({s.name: s for solutes in SYSTEMS.values() for s in solutes if s.pKa}))
    return engine


@pytest.mark.parametrize("name", SYSTEMS)
def test_agrees_with_phreeqc(engine: Any, name: str) -> None:
    solutes = SYSTEMS[name]
    state = solve(solutes, 1.0)
    assert state.converged
    assert state.pH == pytest.approx(_phreeqc_pH(engine, solutes), abs=0.05)


def _species(solutes: dict[str, Solute]) -> str:
    masters, species = ["SOLUTION_MASTER_SPECIES"], ["SOLUTION_SPECIES"]
    for name, solute in solutes.items():
        bare = _formula(name, 0, solute.top_charge - len(solute.pKa))
        masters.append(f"{name} {bare} 0 100 100")
        species += [f"{bare} = {bare}", " log_k 0"]
        constant = 0.0
        for protons, pKa in enumerate(reversed(solute.pKa), start=1):
            constant += pKa
            formed = _formula(name, protons, solute.top_charge - len(solute.pKa) + protons)
            hydrogen = f"{protons}H+" if protons > 1 else "H+"
            species += [f"{bare} + {hydrogen} = {formed}", f" log_k {constant:.4f}"]
    return "\n".join([*masters, *species, "END"])


def _formula(name: str, protons: int, charge: int) -> str:
    hydrogen = "" if protons == 0 else "H" if protons == 1 else f"H{protons}"
    sign = "" if charge == 0 else f"{charge:+d}" if abs(charge) > 1 else "+" if charge > 0 else "-"
    return f"{hydrogen}{name}{sign}"


def _phreeqc_pH(engine: Any, solutes: list[Solute]) -> float:
    lines = {"units": "mol/kgw", "temp": "25", "pH": "7 charge", "pe": "4"}
    totals = {solute.name: f"{solute.mol:.8f}" for solute in solutes if solute.pKa}
    ions = {"Na": 0.0, "Cl": 0.0}
    for solute in solutes:
        for charge, moles in solute.ions:
            ions["Na" if charge > 0 else "Cl"] += solute.mol * moles
    totals |= {ion: f"{mol:.8f}" for ion, mol in ions.items() if mol}
    return float(engine.add_solution(lines | totals).pH)
