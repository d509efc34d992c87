"""Compiling the legal tables of shared/legal into the plain data that legal.Legal looks things up in."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from ..formula.names import fold

Row = dict[str, Any]
_LISTS = ("names", "chemical", "cas", "product", "not_product", "warnings", "under_3_only", "from")
_TABLES = {
    "III": "eu_restricted.csv",
    "IV": "eu_colourants.csv",
    "V": "eu_preservatives.csv",
    "VI": "eu_uv_filters.csv",
}


class LegalDataError(ValueError):
    """A legal table contradicts itself; the message says which and how."""


def build(sources: Traversable | Path) -> dict[str, Any]:
    """All tables in JSON-able form. sources: the folder shared/legal.

    Every substance line is indexed by its CAS numbers and its folded names. Raises LegalDataError where a line uses
    a product word or a warning that is not explained, FileNotFoundError where a table is missing.
    """
    types = _yaml(sources, "product_types.yaml")
    warnings = _yaml(sources, "warnings.yaml")
    lines, line_index = _market_lines(sources)
    bans, ban_index = _market_bans(sources)
    differences = _yaml(sources, "uk_differences.yaml")
    compiled: dict[str, Any] = {
        "format": 1,
        "markets": _yaml(sources, "markets.yaml")["markets"],
        "types": types["types"],
        "implied": {form: use for use, forms in types["implied use"].items() for form in forms},
        "warnings": warnings["warnings"],
        "product warnings": warnings["products"],
        "warning changes": {"UK": differences["warnings"]},
        "lines": lines,
        "line index": line_index,
        "bans": bans,
        "ban index": ban_index,
        "line changes": {"UK": _changes(differences["differences"], lines)},
        "ban changes": {"UK": _changes(differences["differences"], bans)},
        "allergens": _allergens(sources),
        "allergen changes": {"UK": _changes(differences["differences"], _as_table(_allergens(sources)))},
        "monographs": _indexed(_rows(sources, "us_monographs.csv")),
        "us colours": _indexed(_rows(sources, "us_colours.csv")),
        "us names": {fold(name): us for name, us in _yaml(sources, "us_names.yaml")["names"].items()},
        "claims": _yaml(sources, "claims.yaml"),
        "guidance": _yaml(sources, "guidance.yaml"),
    }
    _check(compiled)
    return compiled


def _yaml(sources: Traversable | Path, name: str) -> Any:
    """The file with every scalar as the text that is written."""
    import yaml

    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    return yaml.load((sources / name).read_text(encoding="utf-8"), Loader=loader)


def _rows(sources: Traversable | Path, name: str) -> list[Row]:
    """The lines of a table without its empty cells; cells that hold lists are split at semicolons."""
    text = (sources / name).read_text(encoding="utf-8")
    reader = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return [{key: _cell(key, value) for key, value in row.items() if value} for row in reader]


def _cell(key: str, value: str) -> str | list[str]:
    return [part.strip() for part in value.split(";")] if key in _LISTS else value


def _market_lines(sources: Traversable | Path) -> tuple[list[Row], dict[str, dict[str, list[int]]]]:
    tables: list[tuple[str, Iterable[Row]]] = [
        ("EU", ({"table": table, **row} for row in _rows(sources, file))) for table, file in _TABLES.items()
    ]
    tables += [
        ("EU", _rows(sources, "eu_other_law.csv")),
        ("UK", _rows(sources, "uk_restricted.csv")),
        ("US", _rows(sources, "us_restricted.csv")),
        ("CA", _rows(sources, "ca_restricted.csv")),
    ]
    return _collect((market, _with_totals(row)) for market, rows in tables for row in rows)


def _market_bans(sources: Traversable | Path) -> tuple[list[Row], dict[str, dict[str, list[int]]]]:
    tables = (("EU", "II", "eu_banned.csv"), ("US", "21 CFR", "us_banned.csv"), ("CA", "Hotlist", "ca_banned.csv"))
    return _collect((market, {"table": table, **row}) for market, table, file in tables for row in _rows(sources, file))


def _collect(rows: Iterable[tuple[str, Row]]) -> tuple[list[Row], dict[str, dict[str, list[int]]]]:
    lines: list[Row] = []
    index: dict[str, dict[str, list[int]]] = {}
    for market, row in rows:
        for key in _keys(row):
            index.setdefault(market, {}).setdefault(key, []).append(len(lines))
        if row.get("match") == "name":
            row.pop("cas", None)
        lines.append({"market": market, **{key: value for key, value in row.items() if key != "chemical"}})
    return lines, index


def _keys(row: Row) -> list[str]:
    """What a line is found by, without repeats."""
    keys = [fold(name) for name in [*row.get("names", ()), *row.get("chemical", ())]]
    if row.get("match") != "name":
        keys += row.get("cas", ())
    return list(dict.fromkeys(keys))


def _with_totals(row: Row) -> Row:
    """The totals as [group, percent]: as written, or the line's own substances together."""
    written, most = row.get("totals", ""), row.get("max_percent")
    if written == "-" or (not written and not most):
        totals: list[list[str]] = []
    elif written:
        parts = (part.rsplit(":", 1) for part in written.split(";"))
        totals = [[group, most if percent == "=" else percent] for group, percent in parts if percent != "=" or most]
    else:
        totals = [[f"{row['table']}/{row['entry']}", most]]
    return {**{key: value for key, value in row.items() if key != "totals"}, **({"totals": totals} if totals else {})}


def _changes(differences: list[Row], lines: list[Row]) -> dict[str, Row]:
    """Number of an EU line -> what is different about it. Later differences refine earlier ones."""
    changes: dict[str, Row] = {}
    for number, line in enumerate(lines):
        if line.get("market", "EU") != "EU":
            continue
        for difference in differences:
            if difference["table"] == line["table"] and _covers(difference["entries"], line["entry"]):
                changes[str(number)] = {key: value for key, value in difference.items() if key not in ("table", "entries")}
    return changes


def _covers(spans: list[str], entry: str) -> bool:
    match = re.match(r"\d+", entry)
    for span in spans:
        low, _, high = span.partition("-")
        if entry == span or (high and match and int(low) <= int(match.group()) <= int(high)):
            return True
    return False


def _allergens(sources: Traversable | Path) -> list[Row]:
    return _rows(sources, "fragrance_allergens.csv")


def _as_table(rows: list[Row]) -> list[Row]:
    return [{"table": "allergens", **row} for row in rows]


def _indexed(rows: list[Row]) -> dict[str, Any]:
    index: dict[str, list[int]] = {}
    for number, row in enumerate(rows):
        for key in _keys(row):
            index.setdefault(key, []).append(number)
    return {"rows": rows, "index": index}


def _check(compiled: dict[str, Any]) -> None:
    for line in [*compiled["lines"], *compiled["bans"]]:
        where = f"{line['market']} {line['table']}/{line['entry']}"
        for word in _product_words(line):
            if word not in compiled["types"]:
                raise LegalDataError(f"{where}: no test explains the product word «{word}»")
        for code in line.get("warnings", ()):
            if code.partition(":")[0] not in compiled["warnings"]:
                raise LegalDataError(f"{where}: no wording for the warning «{code}»")


def _product_words(line: Row) -> Iterator[str]:
    for key in ("product", "not_product", "under_3_only"):
        yield from line.get(key, ())
    yield from scope_words(line.get("scope", ""))


def scope_words(scope: str) -> list[str]:
    """The product words of a ban's scope; `all except a;b` gives a and b."""
    return [word.strip() for word in scope.removeprefix("all except ").split(";") if word.strip()]
