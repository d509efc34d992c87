"""Cautions at the bench: there where they are worth a word, and silent where they would be noise."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from formcheck.review.model import Review
from formcheck.review.rule import Finding

Run = Callable[[str], Review]
CAUTIONS = ("caustic-handling", "powder-dust", "flammable-batch", "irritant-raw")


def cautions(review: Run, *lines: str, steps: str = "") -> dict[str, Finding]:
    text = "formcheck: 1\nname: Shed batch\nphases:\n  A: {" + ", ".join(lines) + "}\n" + steps
    result = review(text)
    assert not result.errors, result.errors
    found = [finding for finding in result.findings if finding.rule in CAUTIONS]
    assert len({finding.rule for finding in found}) == len(found), "a caution is given once"
    return {finding.rule: finding for finding in found}


@pytest.mark.parametrize(
    ("lines", "rules"),
    [
        # Regulation (EC) 1272/2008, annex VI: sodium and potassium hydroxide are corrosive
        (("Aqua: q.s.", "Sodium Hydroxide: 0.2"), {"caustic-handling"}),
        (("Aqua: q.s.", "Sodium Hydroxide Solution 20 Percent: 1"), {"caustic-handling"}),
        (("Olea Europaea Fruit Oil: q.s.", "Aqua: 25", "Potassium Hydroxide: 15"), {"caustic-handling"}),
        # a dash of lactic acid for the pH, a trace of citric acid, half a per cent of an essential oil: no word
        (("Aqua: q.s.", "Lactic Acid Solution 80 Percent: 0.3"), set()),
        (("Aqua: q.s.", "Citric Acid: 0.3"), set()),
        (("Helianthus Annuus Seed Oil: q.s.", "Lavandula Angustifolia Oil: 0.5"), set()),
        # a peel handles strong glycolic acid (same annex: corrosive from 10 % on, from memory)
        (("Aqua: q.s.", "Glycolic Acid Solution 70 Percent: 14"), {"caustic-handling"}),
        # common practice, no source: powders by the handful raise dust, a gum at half a per cent does not
        (("Aqua: q.s.", "Xanthan Gum: 0.5"), set()),
        (("Talc: q.s.", "Zinc Oxide: 5"), {"powder-dust"}),
        (("Petrolatum: q.s.", "Zinc Oxide: 25"), {"powder-dust"}),
        (("Helianthus Annuus Seed Oil: q.s.", "Zinc Oxide: 2"), set()),
        (("Petrolatum: q.s.", "Salicylic Acid: 3"), {"powder-dust"}),  # it irritates as well
        # ethanol-water flash points: near 50 °C at 10 %, 21 °C at 70 % (Chem. Eng. Trans. 31 (2013); tables from memory)
        (("Alcohol: 70", "Glycerin: 1", "Aqua: q.s."), {"flammable-batch"}),
        (("Isopropyl Alcohol: 75", "Glycerin: 1", "Aqua: q.s."), {"flammable-batch"}),
        (("Alcohol 70 Percent by Volume: 30", "Aqua: q.s."), {"flammable-batch"}),
        (("Alcohol: 5", "Aqua: q.s."), set()),
        (("Dimethicone: q.s.", "Isododecane: 30"), {"flammable-batch"}),
        # liniments of the old formularies
        (("Petrolatum: q.s.", "Camphor: 4"), {"irritant-raw"}),
        (("Helianthus Annuus Seed Oil: q.s.", "Melaleuca Alternifolia Leaf Oil: 5"), {"irritant-raw"}),
        (("Aqua: q.s.", "Cetrimonium Chloride: 2"), {"irritant-raw"}),
        (("Aqua: q.s.", "Phenoxyethanol: 0.9", "Glycerin: 5"), set()),
        (("Aqua: q.s.", "Cocamidopropyl Betaine: 4"), set()),
        (("Petrolatum: q.s.", "Lanolin: 10"), set()),
        (("Helianthus Annuus Seed Oil: q.s.", "Cera Alba: 20"), set()),
    ],
)
def test_when_a_caution_is_given(review: Run, lines: tuple[str, ...], rules: set[str]) -> None:
    assert set(cautions(review, *lines)) == rules


def test_cautions_never_stop_a_formula(review: Run) -> None:
    lines = ("Alcohol: 40", "Sodium Hydroxide: 3", "Talc: 20", "Camphor: 5", "Aqua: q.s.")
    found = cautions(review, *lines)
    assert set(found) == set(CAUTIONS)
    assert {finding.severity for finding in found.values()} == {"note"}


def test_a_caution_names_all_materials_and_defers_to_the_data_sheets(review: Run) -> None:
    found = cautions(review, "Talc: q.s.", "Zinc Oxide: 10", "Kaolin: 10", "Magnesium Stearate: 5")
    dust = found["powder-dust"]
    assert set(dust.materials) == {"Talc", "Zinc Oxide", "Kaolin", "Magnesium Stearate"}
    for finding in (dust, *cautions(review, "Aqua: q.s.", "Sodium Hydroxide: 3", "Alcohol: 30").values()):
        assert "safety data sheets decide" in finding.remedy
        assert "local rules" in finding.remedy
        assert "licence" in finding.remedy


def test_lye_that_stands_only_in_a_step(review: Run) -> None:
    steps = "procedure:\n  - {{adjust pH: A, to: 5.5, with: {0}}}\n  - {{fill: A}}\n"
    lye = cautions(review, "Aqua: q.s.", "Glycerin: 4", steps=steps.format("Sodium Hydroxide"))
    assert lye["caustic-handling"].path.startswith("/procedure/0")
    assert not cautions(review, "Aqua: q.s.", "Glycerin: 4", steps=steps.format("Citric Acid"))


def test_a_wax_with_a_dusty_part_raises_no_dust(review: Run) -> None:
    """Emulsifying Wax of the pharmacopoeias: flakes of cetostearyl alcohol with a tenth of sodium lauryl sulfate."""
    text = "materials:\n  Shed wax: {contains: {Cetearyl Alcohol: 90, Sodium Lauryl Sulfate: 10}}\n"
    assert "powder-dust" not in cautions(review, "Petrolatum: q.s.", "Shed wax: 30", steps=text)


def test_alcohol_of_all_lines_counts_together(review: Run) -> None:
    found = cautions(review, "Alcohol: 6", "Isopropyl Alcohol: 6", "Aqua: q.s.")
    assert "12 % of flammable liquid" in found["flammable-batch"].message


def test_a_solution_is_as_dangerous_as_it_is_strong(review: Run) -> None:
    """Regulation (EC) 1272/2008, annex I, table 3.2.3: mixtures with 5 % and more of a corrosive are corrosive (from memory)."""
    text = "materials:\n  Shed lye: {{contains: {{Sodium Hydroxide: {0}, Aqua: {1}}}}}\n"
    for strength, expected in ((30, {"caustic-handling"}), (1, set())):
        steps = text.format(strength, 100 - strength)
        assert set(cautions(review, "Aqua: q.s.", "Shed lye: 10", steps=steps)) == expected
