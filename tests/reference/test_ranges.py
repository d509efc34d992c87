"""Every fact within what chemistry and the bench allow; wider than any sound value, narrower than a slip of the pen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from formcheck.formula.model import Fact
from formcheck.formula.units import Range
from formcheck.reference.material import Material
from formcheck.reference.store import Reference, compiled

SHARED = Path(__file__).parents[2] / "shared"
# least and greatest; common sense of the bench unless a source is named
BOUNDS: dict[str, tuple[float, float]] = {
    "pH window": (0, 14),
    "stable pH": (0, 14),
    "as supplied pH": (0, 14),
    "pKa": (-3, 15),  # water levels what is stronger or weaker
    "density": (0.6, 5),  # pentane to titanium dioxide; pigments of heavy metals and metals apart
    "specific heat": (0.4, 4.2),  # metals to water (CRC Handbook)
    "maximum temperature": (25, 125),  # a warm room to the autoclave
    "cool-down temperature": (30, 80),
    "withstands": (50, 160),  # from the tenderest to benzoic acid, which sublimes
    "melting point": (-130, 400),
    "boiling point": (30, 450),
    "flash point": (-25, 350),  # acetone -20 °C, triglycerides above 300 °C
    "dissolving temperature": (40, 100),
    "hydration temperature": (0, 100),
    "hot hydration temperature": (30, 100),
    "hydration time": (60, 2 * 86400),
    "hot hydration time": (60, 86400),
    "dose": (0, 100),
    "maximum dose": (0, 100),
    "solubility": (0, 100),
    "salt tolerance": (0.05, 40),
    "alcohol tolerance": (0, 100),
    "HLB": (0.5, 40),  # Griffin's scale runs to 20; sodium lauryl sulfate is put at 40
    "required HLB": (4, 20),
    "emulsifies": (0.5, 2000),  # a solubiliser takes many parts to one of oil
    "log P": (-8, 25),
    "minimum free acid": (0.0001, 1),
    "preserves from": (0.5, 60),
    "Norrish K": (-2, 60),  # long glycols are far from ideal
    "equivalent mass": (20, 5000),
}
HEAVY = ("pigment", "powder", "colourant")


@pytest.fixture(scope="module")
def reference() -> Reference:
    return Reference(compiled(str(SHARED)))


def facts(reference: Reference, property: str) -> Iterator[tuple[Material, Fact]]:
    for material in reference.all():
        for fact in material.facts.get(property, ()):
            yield material, fact


def ends(fact: Fact) -> list[float]:
    value = fact.value
    if isinstance(value, Range):
        return [end for end in value if end is not None]
    return [float(each) for each in value] if isinstance(value, tuple) else [float(value)]


@pytest.mark.parametrize("property", BOUNDS)
def test_within_bounds(reference: Reference, property: str) -> None:
    low, high = BOUNDS[property]
    outside = [
        f"{material.name}: {end:g}"
        for material, fact in facts(reference, property)
        for end in ends(fact)
        if not low <= end <= high and not (property == "density" and material.is_a(*HEAVY))
    ]
    assert not outside, f"{property} outside {low:g} to {high:g}: {', '.join(outside)}"


def test_the_bounds_speak_of_something(reference: Reference) -> None:
    unused = [property for property in BOUNDS if not any(True for _ in facts(reference, property))]
    assert not unused


def test_windows_are_open_at_one_end_at_most(reference: Reference) -> None:
    for property in ("pH window", "stable pH", "dose"):
        for material, fact in facts(reference, property):
            assert ends(fact), f"{material.name}: {property} says nothing"


def test_a_window_meets_where_the_material_keeps(reference: Reference) -> None:
    """No material has to work at a pH that destroys it."""
    apart = []
    for material in reference.all():
        works, keeps = material.value("pH window"), material.value("stable pH")
        if works and keeps:
            low = max(works.low or 0, keeps.low or 0)
            high = min(14 if works.high is None else works.high, 14 if keeps.high is None else keeps.high)
            if low > high:
                apart.append(f"{material.name}: works at {works}, keeps at {keeps}")
    assert not apart, "\n".join(apart)


def test_the_usual_dose_is_no_more_than_the_most_advised(reference: Reference) -> None:
    """For one and the same condition; a most advised dose for a tender area may lie below the general dose."""
    above = [
        f"{material.name}: {fact.value.low} over {most.value} ({', '.join(fact.when) or 'always'})"
        for material, fact in facts(reference, "dose")
        for most in material.facts.get("maximum dose", ())
        if fact.used and most.used and fact.when == most.when and (fact.value.low or 0) > most.value
    ]
    assert not above, "\n".join(above)


def test_a_solid_melts_above_the_room_and_a_liquid_below(reference: Reference) -> None:
    """form is that at 20 °C; a few degrees are left for what sets slowly."""
    odd = []
    for material, fact in facts(reference, "melting point"):
        form, value = material.value("form"), fact.value
        if form == "liquid" and value.low is not None and value.low > 27:
            odd.append(f"{material.name}: a liquid that melts at {value.low:g} °C")
        if form in ("powder", "crystals", "flakes", "granules", "wax") and value.high is not None and value.high < 20:
            odd.append(f"{material.name}: {form} that melts at {value.high:g} °C")
    assert not odd, "\n".join(odd)


def test_boiling_lies_above_melting_and_the_flash_point(reference: Reference) -> None:
    odd = []
    for material in reference.all():
        boils, melts, flash = (material.value(name) for name in ("boiling point", "melting point", "flash point"))
        if boils is not None and melts is not None and melts.low is not None and melts.low >= boils:
            odd.append(f"{material.name} boils at {boils:g} °C and melts at {melts.low:g} °C")
        if boils is not None and flash is not None and flash >= boils:
            odd.append(f"{material.name} boils at {boils:g} °C and flashes at {flash:g} °C")
    assert not odd, "\n".join(odd)


def test_the_cool_down_begins_at_the_heat_limit_or_below(reference: Reference) -> None:
    for material in reference.all():
        begins, limit = material.value("cool-down temperature"), material.value("maximum temperature")
        assert begins is None or limit is None or begins <= limit, material.name


def test_what_it_withstands_is_no_less_than_the_heat_limit(reference: Reference) -> None:
    for material in reference.all():
        limit, stands = material.value("maximum temperature"), material.value("withstands")
        assert stands is None or (limit is not None and stands >= limit), material.name


def test_swelling_hot_is_no_slower(reference: Reference) -> None:
    for material in reference.all():
        cold, hot = material.value("hydration time"), material.value("hot hydration time")
        assert cold is None or hot is None or hot <= cold, material.name


def test_allergens_and_contents_fit_into_the_material(reference: Reference) -> None:
    """The high ends of usual ranges may add to a little over 100 %."""
    for material, fact in facts(reference, "allergens"):
        total = sum(amount for _, amount in fact.value)
        assert total <= 135, f"{material.name}: allergens add to {total:g} %"
    for material in reference.all():
        total = sum(amount for _, amount in material.contains)
        assert not material.contains or 85 <= total <= 100.01, f"{material.name} adds to {total:g} %"


def test_what_is_released_is_hardly_more_than_the_whole(reference: Reference) -> None:
    """By mass, water taken up included: methenamine gives six formaldehydes, 1.285 g a gram."""
    for material, fact in facts(reference, "release share"):
        for name, share in fact.value:
            assert 0.05 < share < 1.3, f"{material.name} gives {share:g} g of {name} a gram"


def test_heat_limits_leave_ordinary_work_alone(reference: Reference) -> None:
    """What creams are made of stands the 70 to 75 °C of an ordinary hot phase (common practice, no source)."""
    for name in ("Niacinamide", "Panthenol", "Glycerin", "Allantoin", "Xanthan Gum", "Sodium Hyaluronate", "Tocopherol",
                 "Sodium Benzoate", "Potassium Sorbate", "Disodium EDTA", "Cetearyl Alcohol", "Polysorbate 20",
                 "Citric Acid", "Sodium Lactate", "Betaine", "Caffeine", "Squalane"):  # fmt: skip
        material = reference.find(name)
        assert material is not None
        limit = material.value("maximum temperature")
        assert limit is None or limit >= 80, f"{name}: {limit}"


def test_what_heat_destroys_has_a_limit(reference: Reference) -> None:
    """Vitamin C and A, peptides and enzymes belong into the cool-down (common practice, no source)."""
    for name in ("Ascorbic Acid", "Retinol", "Retinal", "Acetyl Hexapeptide-8", "Palmitoyl Pentapeptide-4", "Papain",
                 "Dihydroxyacetone", "sh-Oligopeptide-1"):  # fmt: skip
        material = reference.find(name)
        assert material is not None
        assert material.value("maximum temperature") <= 45, name
