"""What rules need is there for every material of a class, and the document that says so is current."""

from __future__ import annotations

from pathlib import Path

import pytest

from formcheck.commands.reference import COVERAGE_FILE, completeness, coverage_document
from formcheck.reference.sources import Compiled, compile_folder
from formcheck.reference.store import Reference, compiled

SHARED = Path(__file__).parents[2] / "shared"
# a strong conjugate base or acid, a mixture or an acid anhydride without one constant (any textbook of chemistry)
WITHOUT_A_CONSTANT = {"pKa": 6}


@pytest.fixture(scope="module")
def result() -> Compiled:
    return compile_folder(str(SHARED))


@pytest.fixture(scope="module")
def reference() -> Reference:
    return Reference(compiled(str(SHARED)))


def test_every_class_has_what_rules_need_of_it(reference: Reference) -> None:
    lacking = []
    for name, needs, members, have in completeness(reference):
        for need in needs:
            if members - have[need] > WITHOUT_A_CONSTANT.get(need, 0):
                without = [m.name for m in reference.all() if m.is_a(name) and not m.contains and need not in m.facts]
                lacking.append(f"{name} without {need}: {', '.join(without)}")
    assert not lacking, "\n".join(lacking)


def test_there_is_something_to_count(reference: Reference) -> None:
    classes = {name for name, *_ in completeness(reference)}
    assert {"preservative", "gum", "emulsifier", "wax", "essential oil", "peptide", "vegetable oil"} <= classes


def test_the_reference_is_as_large_as_it_says(reference: Reference) -> None:
    """At least 600 materials, 60 carrier oils, 60 preservatives and boosters, 60 essential oils."""
    materials = list(reference.all())
    assert len(materials) >= 600
    for classes in (("vegetable oil",), ("preservative", "preservative booster"), ("essential oil",)):
        assert sum(material.is_a(*classes) for material in materials) >= 60, classes


def test_every_material_says_what_it_is_in_a_sentence(reference: Reference) -> None:
    silent = [
        material.name for material in reference.all() if not str(material.value("about") or "").endswith((".", "!"))
    ]
    assert not silent, ", ".join(silent)


def test_the_coverage_document_is_current(result: Compiled, reference: Reference) -> None:
    path = SHARED / COVERAGE_FILE
    written = path.read_text(encoding="utf-8") if path.exists() else ""
    assert written == coverage_document(result, reference), "run: formcheck reference --coverage --write"
