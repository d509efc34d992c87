"""Water activity against published solutions, and the low-risk criteria against their limits."""

from __future__ import annotations

from math import exp

import pytest

from formcheck.bench.errors import OutOfRange
from formcheck.bench.wateractivity import (
    WATER_KG_MOL,
    Activity,
    Humectant,
    LowRiskLimits,
    Pitzer,
    Salt,
    iso29621,
    low_risk_limits,
    norrish,
    osmotic_coefficient,
    salt_activity,
    water_activity,
)

LN10 = 2.302585
# Norrish constants in the natural form as collected by J. Chirife and C. Ferro Fontan; glycerol was seen in
# a stored table of alditols (PMC2836749, table 3), sucrose from memory. Divided by ln 10 for the decadic
# form.
GLYCEROL_K, SUCROSE_K = 1.16 / LN10, 6.47 / LN10
GLYCEROL_G_MOL, GLUCOSE_G_MOL = 92.09, 180.16

# K. S. Pitzer and G. Mayorga, J. Phys. Chem. 77 (1973) 2300; from memory, and close to pitzer.dat of PHREEQC.
SODIUM_CHLORIDE = Pitzer(0.0765, 0.2664, 0.00127)
POTASSIUM_CHLORIDE = Pitzer(0.04835, 0.2122, -0.00084)
SODIUM_SULFATE = Pitzer(0.01958, 1.113, 0.00497)


def _glycerol(percent: float) -> float:
    return norrish((100 - percent) / 18.015, [Humectant("Glycerin", percent / GLYCEROL_G_MOL, GLYCEROL_K)])


def test_glycerol_of_18_percent() -> None:
    # A. D. Hocking and J. I. Pitt, Appl. Environ. Microbiol. 39 (1980) 488: 18 % w/w glycerol, aw 0.95 or
    # 0.955; abstract seen. The few salts and the sugar of that medium lower it a little too.
    assert _glycerol(18.0) == pytest.approx(0.955, abs=0.005)


def test_mould_medium_with_its_sugar() -> None:
    # FDA, Bacteriological Analytical Manual, medium M184, seen in a stored copy: 220 g glycerol and 10 g
    # glucose to about 1000 g of water, final aw 0.955. Glucose constant 2.25 (natural form) from memory.
    phase = [
        Humectant("Glycerin", 220 / GLYCEROL_G_MOL, GLYCEROL_K),
        Humectant("Glucose", 10 / GLUCOSE_G_MOL, 2.25 / LN10),
    ]
    found = water_activity(1.0, phase)
    assert found.aw == pytest.approx(0.955, abs=0.004)
    assert found.low < 0.955 < found.high


# Glycerol in water and relative humidity above it near 25 °C (C. G. Grover and J. Nicol, J. Soc. Chem. Ind.
# 59 (1940) 175; the curve behind ASTM D5032); from memory, hence the wide tolerance.
@pytest.mark.parametrize(("percent", "expected"), [(33.0, 0.90), (51.0, 0.80), (62.0, 0.70)])
def test_glycerol_humidity_chambers(percent: float, expected: float) -> None:
    assert _glycerol(percent) == pytest.approx(expected, abs=0.015)


# G. Scatchard, W. J. Hamer and S. E. Wood, J. Am. Chem. Soc. 60 (1938) 3061, and R. A. Robinson and R. H.
# Stokes, Electrolyte Solutions (1965): sucrose at 25 °C, mol/kg and water activity; from memory.
@pytest.mark.parametrize(
    ("molality", "expected"), [(1.0, 0.9806), (2.0, 0.9581), (3.0, 0.9328), (4.0, 0.9057), (5.0, 0.8776), (6.0, 0.8493)]
)
def test_sucrose(molality: float, expected: float) -> None:
    assert norrish(1 / WATER_KG_MOL, [Humectant("Sucrose", molality, SUCROSE_K)]) == pytest.approx(expected, abs=0.002)


# Robinson and Stokes (1965), sodium chloride at 25 °C: osmotic coefficient; that of 6 mol/kg and its water
# activity of 0.760 were seen quoted in a stored manual, the others from memory.
@pytest.mark.parametrize(
    ("molality", "expected"), [(0.1, 0.9324), (1.0, 0.9355), (2.0, 0.9833), (3.0, 1.0453), (4.0, 1.1158), (6.0, 1.271)]
)
def test_osmotic_coefficient_of_sodium_chloride(molality: float, expected: float) -> None:
    salt = Salt("Sodium Chloride", molality, pitzer=SODIUM_CHLORIDE)
    assert osmotic_coefficient(salt, molality) == pytest.approx(expected, abs=0.003)


def test_strong_brine() -> None:
    assert salt_activity(1.0, Salt("Sodium Chloride", 6.0, pitzer=SODIUM_CHLORIDE)) == pytest.approx(0.760, abs=0.001)


# Robinson and Stokes (1965), osmotic coefficients at 25 °C: potassium chloride 0.897 and sodium sulfate
# 0.640, both at 1 mol/kg; from memory.
@pytest.mark.parametrize(
    ("salt", "expected"),
    [
        (Salt("Potassium Chloride", 1.0, pitzer=POTASSIUM_CHLORIDE), 0.897),
        (Salt("Sodium Sulfate", 1.0, 2, 1, 1, -2, SODIUM_SULFATE), 0.640),
    ],
)
def test_other_salts(salt: Salt, expected: float) -> None:
    assert osmotic_coefficient(salt, salt.mol) == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize(
    ("elements", "salt"),
    [
        ({"Na": 3.0, "Cl": 3.0}, Salt("Sodium Chloride", 3.0, pitzer=SODIUM_CHLORIDE)),
        ({"K": 2.0, "Cl": 2.0}, Salt("Potassium Chloride", 2.0, pitzer=POTASSIUM_CHLORIDE)),
        ({"Na": 2.0, "S(6)": 1.0}, Salt("Sodium Sulfate", 1.0, 2, 1, 1, -2, SODIUM_SULFATE)),
        ({"Mg": 1.0, "Cl": 2.0}, Salt("Magnesium Chloride", 1.0, 1, 2, 2, -1, Pitzer(0.35235, 1.6815, 0.00519))),
        ({"Mg": 3.0, "Cl": 6.0}, Salt("Magnesium Chloride", 3.0, 1, 2, 2, -1, Pitzer(0.35235, 1.6815, 0.00519))),
    ],
)
def test_salts_against_phreeqc(elements: dict[str, float], salt: Salt) -> None:
    # PHREEQC with its own Pitzer data base, whose parameters were fitted anew in 2011.
    phreeqpython = pytest.importorskip("phreeqpython")
    engine = phreeqpython.PhreeqPython(database="pitzer.dat").ip
    totals = [f" {name} {mol}" for name, mol in elements.items()]
    asked = [
        "SELECTED_OUTPUT",
        " -reset false",
        " -activities H2O",
        "SOLUTION 1",
        " units mol/kgw",
        " temp 25",
        *totals,
    ]
    engine.run_string("\n".join([*asked, "END"]))
    heading, row = engine.get_selected_output_array()
    assert heading == ["la_H2O"]
    assert salt_activity(1.0, salt) == pytest.approx(10 ** row[0], abs=0.003)


def test_a_salt_without_parameters_lies_within_its_band() -> None:
    # Osmotic coefficients at 1 mol/kg, Robinson and Stokes (1965), from memory: sodium chloride 0.936,
    # potassium chloride 0.897, sodium sulfate 0.640, magnesium chloride 1.108.
    for salt, osmotic in (
        (Salt("Sodium Chloride", 1.0), 0.936),
        (Salt("Potassium Chloride", 1.0), 0.897),
        (Salt("Sodium Sulfate", 1.0, 2, 1, 1, -2), 0.640),
        (Salt("Magnesium Chloride", 1.0, 1, 2, 2, -1), 1.108),
    ):
        found = water_activity(1.0, salts=[salt])
        assert found.low < exp(-(salt.cations + salt.anions) * osmotic * WATER_KG_MOL) < found.high
        assert "common salts" in " ".join(found.assumed)


def test_ross_multiplies_the_groups() -> None:
    sweet = water_activity(1.0, [Humectant("Glycerin", 3.0, GLYCEROL_K)])
    salty = water_activity(1.0, salts=[Salt("Sodium Chloride", 1.0, pitzer=SODIUM_CHLORIDE)])
    both = water_activity(
        1.0, [Humectant("Glycerin", 3.0, GLYCEROL_K)], [Salt("Sodium Chloride", 1.0, pitzer=SODIUM_CHLORIDE)]
    )
    assert both.aw == pytest.approx(sweet.aw * salty.aw)


def test_more_solute_never_raises_it() -> None:
    found = [water_activity(0.5, [Humectant("Glycerin", 0.5 * n, GLYCEROL_K)]).aw for n in range(120)]
    assert found == sorted(found, reverse=True)
    assert found[0] == 1.0


def test_beyond_norrish_only_an_upper_bound_is_given() -> None:
    drops = water_activity(0.02, [Humectant("Glycerin", 10.0, GLYCEROL_K)])
    assert drops.at_most
    assert drops.low == 0.0
    assert drops.high < 0.5
    with pytest.raises(OutOfRange, match="mole fraction of solutes"):
        norrish(1.0, [Humectant("Glycerin", 2.0, GLYCEROL_K)])


def test_a_solute_without_a_constant_widens_the_band() -> None:
    known = water_activity(0.5, [Humectant("Glycerin", 2.0, GLYCEROL_K)])
    vague = water_activity(0.5, [Humectant("Some Glycol", 2.0, None)], left_out=["Plant Extract"])
    assert vague.high - vague.low > known.high - known.low
    assert vague.at_most
    assert "Some Glycol" in " ".join(vague.assumed)
    assert "Plant Extract" in " ".join(vague.assumed)


def test_without_water_there_is_no_water_activity() -> None:
    with pytest.raises(OutOfRange, match="amount of water"):
        water_activity(0.0)


# The figures of ISO 29621:2017 as two laboratories quote them in stored pages.
LIMITS = LowRiskLimits(0.75, 3.0, 10.0, 20.0, 65.0, 65.0)


def _activity(aw: float) -> Activity:
    return Activity(aw, aw - 0.02, aw + 0.02, False, ())


@pytest.mark.parametrize(
    ("asked", "low_risk", "reasons"),
    [
        ({"activity": _activity(0.60), "pH": (5.0, 5.5), "alcohol_percent": 0.0}, True, ["water activity"]),
        ({"activity": _activity(0.74), "pH": (5.0, 5.5), "alcohol_percent": 0.0}, False, []),
        ({"activity": _activity(0.98), "pH": (2.5, 3.0), "alcohol_percent": 0.0}, True, ["acid pH"]),
        ({"activity": _activity(0.98), "pH": (2.8, 3.2), "alcohol_percent": 0.0}, False, []),
        ({"activity": _activity(0.98), "pH": (10.0, 10.5), "alcohol_percent": 0.0}, True, ["alkaline pH"]),
        ({"activity": _activity(0.98), "pH": (5.0, 5.5), "alcohol_percent": 20.0}, True, ["alcohol"]),
        ({"activity": _activity(0.98), "alcohol_percent": 5.0}, None, []),
        ({"alcohol_percent": 60.0}, True, ["alcohol"]),
        ({}, None, []),
    ],
)
def test_low_risk_criteria(asked: dict[str, object], low_risk: bool | None, reasons: list[str]) -> None:
    verdict = iso29621(LIMITS, **asked)  # type: ignore[arg-type]
    assert verdict.low_risk is low_risk
    assert [one.name for one in verdict.reasons] == reasons
    assert len(verdict.criteria) == 6


def test_hot_filling_alone_preserves_nothing() -> None:
    verdict = iso29621(
        LIMITS,
        activity=_activity(0.98),
        pH=(5.0, 6.0),
        alcohol_percent=0.0,
        process_celsius=75.0,
        filling_celsius=70.0,
    )
    filling = verdict.criteria[-1]
    assert filling.met
    assert not filling.alone
    assert verdict.low_risk is False


def test_limits_come_from_the_shared_data() -> None:
    from importlib.resources import files
    from pathlib import Path

    yaml = pytest.importorskip("yaml")
    folder = Path(str(files("formcheck_shared"))) / "limits"
    data = yaml.safe_load((folder / "iso29621.yaml").read_text(encoding="utf-8"))["limits"]
    assert low_risk_limits(lambda name: float(data[name]["is"])) == LIMITS


def test_a_range_upside_down_is_refused() -> None:
    with pytest.raises(OutOfRange, match="lower end first"):
        iso29621(LIMITS, pH=(6.0, 5.0))


SALT = Salt("common salt", 1.0)


def test_water_alone_is_water() -> None:
    found = water_activity(1.0)
    assert (found.aw, found.low, found.high, found.at_most) == (1.0, 1.0, 1.0, False)
    assert water_activity(1.0, [Humectant("none of it", 0.0, 0.4)]).aw == 1.0


def test_the_band_never_leaves_the_scale() -> None:
    """A water activity lies between 0 and 1, whatever is unknown."""
    for mol in (1e-3, 1.0, 30.0, 55.0):
        found = water_activity(1.0, [Humectant("unknown", mol, None)], [SALT._replace(mol=1.5)])
        assert 0.0 <= found.low <= found.aw <= found.high <= 1.0


def test_of_two_salts_one_beyond_its_range_makes_it_an_upper_bound() -> None:
    much, little = SALT._replace(mol=5.0), SALT._replace(mol=0.5)
    for salts in ([much, little], [little, much]):
        found = water_activity(1.0, (), salts)
        assert found.at_most
        assert found.low == 0.0
    assert not water_activity(1.0, (), [little, little]).at_most
    known = SALT._replace(pitzer=Pitzer(0.0765, 0.2664, 0.00127))
    assert not water_activity(1.0, (), [known._replace(mol=5.9)]).at_most
    assert water_activity(1.0, (), [known._replace(mol=6.5)]).at_most


def test_a_constant_that_is_known_leaves_only_the_doubt_of_the_model() -> None:
    """Sodium chloride by Pitzer at 1 mol/kg: 0.9669 (Robinson and Stokes) within less than a hundredth."""
    known = water_activity(1.0, (), [SALT._replace(pitzer=Pitzer(0.0765, 0.2664, 0.00127))])
    plain = water_activity(1.0, (), [SALT])
    assert known.aw == pytest.approx(0.9669, abs=5e-4)
    assert 0 < known.high - known.aw < 0.01
    assert known.high - known.aw < plain.high - plain.aw < 0.02


def test_half_of_an_unknown_depression_is_in_doubt() -> None:
    """A mole of an ideal solute in 55.5 of water lowers it by 1/56.5 (Raoult); without its constant half of that is open."""
    found, known = (water_activity(1.0, [Humectant("x", 1.0, K)]) for K in (None, 0.0))
    assert found.aw == known.aw == pytest.approx(55.51 / 56.51, abs=1e-4)
    assert (found.high - found.aw) - (known.high - known.aw) == pytest.approx(0.5 / 56.51, rel=0.01)


def test_what_no_product_has_is_refused() -> None:
    for asked in ({"pH": (5.0, 14.5)}, {"pH": (-0.5, 5.0)}, {"alcohol_percent": 101.0}, {"alcohol_percent": -1.0}):
        with pytest.raises(OutOfRange):
            iso29621(LIMITS, **asked)  # type: ignore[arg-type]
    assert iso29621(LIMITS, pH=(14.0, 14.0)).low_risk
    assert iso29621(LIMITS, pH=(0.0, 0.0), alcohol_percent=100.0).low_risk
    with pytest.raises(OutOfRange, match="6 to 5"):
        iso29621(LIMITS, pH=(6.0, 5.0))


def test_a_salt_without_water_is_refused() -> None:
    for water_kg in (0.0, -1.0):
        with pytest.raises(OutOfRange):
            salt_activity(water_kg, SALT)
        with pytest.raises(OutOfRange):
            norrish(water_kg, [])


def test_without_a_constant_a_solute_is_ideal() -> None:
    """Raoult: the mole fraction of the water."""
    assert norrish(9.0, [Humectant("x", 1.0, None)]) == norrish(9.0, [Humectant("x", 1.0, 0.0)]) == pytest.approx(0.9)


def test_the_doubt_of_an_osmotic_coefficient_goes_into_the_band() -> None:
    """0.93 give or take 0.13 for common salts: at 1 mol/kg exp(-2 x 0.13 x 0.018015) to either side, beside the model's own."""
    plain, known = (water_activity(1.0, (), [SALT._replace(pitzer=each)]) for each in (None, SODIUM_CHLORIDE))
    of_the_model = known.high - known.aw
    assert plain.high - plain.aw - of_the_model == pytest.approx(plain.aw * 2 * 0.13 * 0.018015, rel=0.05)
