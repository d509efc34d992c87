"""Compiling the legal tables of shared/legal into the plain data that legal.Legal looks things up in."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from typing import Any, Protocol

from ..formula.names import fold
from .legal_rows import packed, scope_words

Row = dict[str, Any]
Index = dict[str, dict[str, int | list[int]]]
_LISTS = ("names", "chemical", "cas", "product", "not_product", "warnings", "under_3_only", "from")
_EU_LIMITS = {
    "III": "eu_restricted.csv",
    "IV": "eu_colourants.csv",
    "V": "eu_preservatives.csv",
    "VI": "eu_uv_filters.csv",
}
_OTHER_LIMITS = (
    ("EU", "eu_other_law.csv"),
    ("UK", "uk_restricted.csv"),
    ("US", "us_restricted.csv"),
    ("CA", "ca_restricted.csv"),
)
_BANS = (("EU", "II", "eu_banned.csv"), ("US", "21 CFR", "us_banned.csv"), ("CA", "Hotlist", "ca_banned.csv"))
_LONG_NAME = 48
"""Chemical names longer than this are not indexed: nobody writes them in a formula, and the CAS number finds them."""
_SHOWN_NAMES = 24


class Folder(Protocol):
    """A pathlib.Path, or a Traversable of importlib.resources."""

    def __truediv__(self, name: str, /) -> Any: ...


class LegalDataError(ValueError):
    """A legal table contradicts itself; the message says which and how."""


def build(sources: Folder) -> dict[str, Any]:
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
        "lines": [packed(line) for line in lines],
        **{f"line index {market}": index for market, index in line_index.items()},
        "bans": [packed(ban) for ban in bans],
        **{f"ban index {market}": index for market, index in ban_index.items()},
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
    _check([*lines, *bans], compiled["types"], compiled["warnings"])
    return compiled


def _yaml(sources: Folder, name: str) -> Any:
    """The file with every scalar as the text that is written."""
    import yaml

    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    return yaml.load((sources / name).read_text(encoding="utf-8"), Loader=loader)


def _rows(sources: Folder, name: str) -> list[Row]:
    """The lines of a table without its empty cells; cells that hold lists are split at semicolons."""
    text = (sources / name).read_text(encoding="utf-8")
    reader = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return [{key: _cell(key, value) for key, value in row.items() if value} for row in reader]


def _cell(key: str, value: str) -> str | list[str]:
    return [part.strip() for part in value.split(";")] if key in _LISTS else value


def _market_lines(sources: Folder) -> tuple[list[Row], Index]:
    rows = [("EU", {"table": table, **row}) for table, file in _EU_LIMITS.items() for row in _rows(sources, file)]
    rows += [(market, row) for market, file in _OTHER_LIMITS for row in _rows(sources, file)]
    return _collect((market, _with_totals(row)) for market, row in rows)


def _market_bans(sources: Folder) -> tuple[list[Row], Index]:
    return _collect((market, {"table": table, **row}) for market, table, file in _BANS for row in _rows(sources, file))


def _collect(rows: Iterable[tuple[str, Row]]) -> tuple[list[Row], Index]:
    """The lines, and for each market the numbers of the lines that a key finds: one number, or a list of them."""
    lines: list[Row] = []
    index: Index = {}
    for market, row in rows:
        for key in _keys(row):
            _enter(index.setdefault(market, {}), key, len(lines))
        shown = row.get("names") or row.get("chemical", [])
        kept = {key: value for key, value in row.items() if key not in ("names", "chemical", "cas", "match")}
        lines.append({**kept, "names": shown[:_SHOWN_NAMES], **({} if market == "EU" else {"market": market})})
    return lines, index


def _enter(index: dict[str, int | list[int]], key: str, number: int) -> None:
    known = index.get(key)
    if known is None:
        index[key] = number
    elif isinstance(known, int):
        index[key] = [known, number]
    else:
        known.append(number)


def _keys(row: Row) -> list[str]:
    """What a line is found by, without repeats."""
    keys = [fold(name) for name in [*row.get("names", ()), *row.get("chemical", ())] if len(name) <= _LONG_NAME]
    if row.get("match") != "name":
        keys += row.get("cas", ())
    return list(dict.fromkeys(keys))


def _with_totals(row: Row) -> Row:
    """The totals as [group, percent]: as written, or the line's own substances together."""
    rest = {key: value for key, value in row.items() if key != "totals"}
    totals = list(_totals(row))
    return {**rest, "totals": totals} if totals else rest


def _totals(row: Row) -> Iterator[list[str]]:
    own = str(row.get("max_percent", ""))
    written = str(row.get("totals", f"{row['table']}/{row['entry']}:="))
    for part in [] if written == "-" else written.split(";"):
        group, percent = part.rsplit(":", 1)
        most = own if percent == "=" else percent
        if most:
            yield [group, most]


def _changes(differences: list[Row], lines: list[Row]) -> dict[str, Row]:
    """Number of an EU line -> what is different about it. Later differences refine earlier ones."""
    changes: dict[str, Row] = {}
    for number, line in enumerate(lines):
        if line.get("market", "EU") != "EU":
            continue
        for difference in differences:
            if difference["table"] == line["table"] and _covers(difference["entries"], line["entry"]):
                told = {key: value for key, value in difference.items() if key not in ("table", "entries")}
                changes[str(number)] = told
    return changes


def _covers(spans: list[str], entry: str) -> bool:
    match = re.match(r"\d+", entry)
    for span in spans:
        low, _, high = span.partition("-")
        if entry == span or (high and match and int(low) <= int(match.group()) <= int(high)):
            return True
    return False


def _allergens(sources: Folder) -> list[Row]:
    return _rows(sources, "fragrance_allergens.csv")


def _as_table(rows: list[Row]) -> list[Row]:
    return [{"table": "allergens", **row} for row in rows]


def _indexed(rows: list[Row]) -> dict[str, Any]:
    index: dict[str, list[int]] = {}
    for number, row in enumerate(rows):
        for key in _keys(row):
            index.setdefault(key, []).append(number)
    return {"rows": rows, "index": index}


def _check(lines: Iterable[Row], types: Row, warnings: Row) -> None:
    for code, warning in warnings.items():
        for word in warning.get("not_product", ()):
            if word not in types:
                raise LegalDataError(f"warning «{code}»: no test explains the product word «{word}»")
    for line in lines:
        where = f"{line['table']}/{line['entry']}"
        for word in _product_words(line):
            if word not in types:
                raise LegalDataError(f"{where}: no test explains the product word «{word}»")
        for code in line.get("warnings", ()):
            if code.partition(":")[0] not in warnings:
                raise LegalDataError(f"{where}: no wording for the warning «{code}»")


def _product_words(line: Row) -> Iterator[str]:
    for key in ("product", "not_product", "under_3_only"):
        yield from line.get(key, ())
    yield from scope_words(line.get("scope", ""))
