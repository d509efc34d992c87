"""The tables of shared/legal against lists of the EU annexes that are kept outside the project, row by row.

The lists are exports of the European Chemicals Agency (2024-05-16) and of the Commission's database of cosmetic
substances (2026-08-20), brought into columns. Where they are not at hand, the comparison is skipped.
"""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Iterable
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[2]
OURS = ROOT / "shared" / "legal"
LISTS = Path(os.environ.get("FORMCHECK_ANNEXES", ROOT.parent / "shared" / "legal"))
Row = dict[str, str]

BY_NAME_ONLY = {"23a", "27a", "30a", "34", "372"}
"""Nano forms share the CAS number of the ordinary form, so our lines are found by name."""
CAS_LEFT_OUT = {
    ("V", "39"): {"2682-20-4"},  # methylisothiazolinone by itself is entry 57
    ("V", "59"): {"77-92-9", "5949-29-1"},  # citric acid is no preservative
}
OTHER_WORD = {
    "leave-on hair, inhalable": "inhalable leave-on hair",
    "shower gel, bath, hand wash, shampoo, hair conditioner, body, face and hand care, "
    "lip and fragrance products for under 3 years": "listed care for under 3 years",
}
NANO_BANS = {"1725", "1726", "1727", "1728", "1729"}
NOT_MEANT = {
    ("68", "16984-36-4"),  # a sugar, among the cadmium compounds by mistake
    ("359", "84603-73-6"),  # shared with the lawful leaf oil of the bay laurel
    ("450", "8024-12-2"),  # shared with verbena absolute, III/196
    ("1136", "8007-00-9"),  # shared with the distilled oil of Peru balsam, III/154
}
BOTH_USES = {"leave-on", "rinse-off"}


def _rows(path: Path) -> list[Row]:
    lines = (line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#"))
    return list(csv.DictReader(lines))


def _listed(name: str) -> list[Row]:
    path = LISTS / name
    if not path.is_file():
        pytest.skip(f"{path} is not here: the lists of the annexes are kept outside the project")
    return _rows(path)


def _parts(cell: str | None) -> set[str]:
    return {part.strip() for part in (cell or "").split(";") if part.strip()}


def _products(cell: str) -> set[str]:
    """The product words of a list in ours; leave-on and rinse-off together are every product."""
    words = {OTHER_WORD.get(word, word) for word in [cell, *_parts(cell)] if word in OTHER_WORD} or _parts(cell)
    return set() if "all" in words or words >= BOTH_USES else words


def _same_number(listed: Row, ours: Iterable[Row]) -> list[Row]:
    return [
        row
        for row in ours
        if row["entry"] == listed["reference_number"]
        and row["max_percent"]
        and float(row["max_percent"]) == float(listed["max_percent"])
    ]


def _missing(table: str, listed: Row, ours: list[Row]) -> str:
    """What of a listed row our table lacks, in words; empty where nothing is."""
    entry = listed["reference_number"]
    rows = _same_number(listed, ours)
    if not rows:
        return f"{table}/{entry}: no line with {listed['max_percent']} %"
    wanted = _products(listed["product_type"])
    rows = [row for row in rows if _products(row["product"]) == wanted]
    if table == "III" and entry == "322":  # self-tanners come in any form; the law's word is the same
        return ""
    if not rows:
        return f"{table}/{entry}: {listed['max_percent']} % is not for {listed['product_type']}"
    cas = _parts(listed["cas"]) - CAS_LEFT_OUT.get((table, entry), set())
    if entry not in BY_NAME_ONLY and not any(cas <= _parts(row["cas"]) for row in rows):
        return f"{table}/{entry}: lacks {cas}"
    return ""


@pytest.mark.parametrize(
    ("table", "listed", "ours", "least"),
    [
        ("III", "annex_iii_restricted.csv", "eu_restricted.csv", 600),
        ("V", "annex_v_preservatives.csv", "eu_preservatives.csv", 60),
        ("VI", "annex_vi_uv_filters.csv", "eu_uv_filters.csv", 35),
    ],
)
def test_every_number_of_the_list_is_ours(table: str, listed: str, ours: str, least: int) -> None:
    rows = [row for row in _listed(listed) if row["max_percent"]]
    own = _rows(OURS / ours)
    assert len(rows) >= least
    assert [problem for row in rows if (problem := _missing(table, row, own))] == []


@pytest.mark.parametrize(
    ("listed", "ours"),
    [
        ("annex_iii_restricted.csv", "eu_restricted.csv"),
        ("annex_v_preservatives.csv", "eu_preservatives.csv"),
        ("annex_vi_uv_filters.csv", "eu_uv_filters.csv"),
    ],
)
def test_no_number_of_ours_is_unknown_to_the_list(listed: str, ours: str) -> None:
    numbers = {(row["reference_number"], float(row["max_percent"])) for row in _listed(listed) if row["max_percent"]}
    own = {(row["entry"], float(row["max_percent"])) for row in _rows(OURS / ours) if row["max_percent"]}
    assert own - numbers == set()


@pytest.mark.parametrize(
    ("listed", "ours"),
    [("annex_v_preservatives.csv", "eu_preservatives.csv"), ("annex_vi_uv_filters.csv", "eu_uv_filters.csv")],
)
def test_the_conditions_of_preservatives_and_filters_are_kept(listed: str, ours: str) -> None:
    own = _rows(OURS / ours)
    problems = []
    for row in _listed(listed):
        kept = [line for line in _same_number(row, own) if _products(line["product"]) == _products(row["product_type"])]
        for flag in ("not_under_3", "not_inhaled", "not_in_sprays"):
            if row.get(flag) == "yes" and not any(line.get(flag) == "yes" for line in kept):
                problems.append((row["reference_number"], flag))
        left_out = _parts(row["product_type_excluded"])
        if not any(left_out <= _parts(line["not_product"]) for line in kept):
            problems.append((row["reference_number"], row["product_type_excluded"]))
        if row.get("formaldehyde_releaser") == "yes" and not any(line["releases_formaldehyde"] for line in kept):
            problems.append((row["reference_number"], "formaldehyde"))
    assert problems == []


def test_every_ban_of_the_list_is_ours() -> None:
    """By CAS number. Those of nano forms and of the ordinary material are the same, so ours are found by name."""
    own: dict[str, set[str]] = {}
    for row in _rows(OURS / "eu_banned.csv"):
        for entry in _parts(row["entry"]):
            own.setdefault(entry, set()).update(_parts(row["cas"]))
    listed = _listed("annex_ii_prohibited.csv")
    entries = {entry for row in listed for entry in _parts(row["reference_number"])}
    missing = {
        (row["reference_number"], cas)
        for row in listed
        for cas in _parts(row["cas"])
        if _check_digit_holds(cas)
        and not any(cas in own.get(entry, set()) for entry in _parts(row["reference_number"]))
    }
    assert len(entries) > 1600
    assert entries <= set(own)
    assert {(entry, cas) for entry, cas in missing if entry not in NANO_BANS} == NOT_MEANT


# --- the tables by themselves


def _tables() -> list[Path]:
    return sorted(OURS.glob("*.csv"))


def _check_digit_holds(cas: str) -> bool:
    digits = cas.replace("-", "")
    if not re.fullmatch(r"\d{2,7}-\d{2}-\d", cas):
        return False
    total = sum(place * int(digit) for place, digit in enumerate(reversed(digits[:-1]), start=1))
    return total % 10 == int(digits[-1])


@pytest.mark.parametrize("path", _tables(), ids=lambda path: path.name)
def test_check_digits_of_cas_numbers(path: Path) -> None:
    """The last digit of a registry number follows from the others (rule of the Chemical Abstracts Service)."""
    wrong = {cas for row in _rows(path) for cas in _parts(row.get("cas")) if not _check_digit_holds(cas)}
    assert wrong == set()


@pytest.mark.parametrize("path", _tables(), ids=lambda path: path.name)
def test_cells_are_whole(path: Path) -> None:
    """No cell too many or too few, percents are percents, days are days, certainties are one of three."""
    for row in _rows(path):
        assert None not in row, row
        assert None not in row.values(), row
        for key in ("max_percent", "min_percent", "leave_on", "rinse_off"):
            assert not row.get(key) or 0 <= float(row[key]) <= 100, row
        for key in ("applies_from", "shelf_until", "since"):
            assert not row.get(key) or re.fullmatch(r"\d{4}-\d{2}-\d{2}", row[key]), row
        assert row.get("certainty", "high") in ("high", "medium", "low"), row
        assert row["from"], row


def test_every_source_is_described() -> None:
    known: set[str] = set()
    for path in (ROOT / "shared" / "sources").glob("*.yaml"):
        known |= set(yaml.safe_load(path.read_text(encoding="utf-8"))["sources"])
    cited = {source for path in _tables() for row in _rows(path) for source in _parts(row["from"])}
    for path in OURS.glob("*.yaml"):
        cited |= set(re.findall(r"\bfrom: ([a-z][a-z0-9-]+)", path.read_text(encoding="utf-8")))
    assert len(cited) > 30
    assert cited - known == set()
