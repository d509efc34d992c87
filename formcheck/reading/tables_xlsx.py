"""Sheets of an xlsx workbook (ECMA-376), by openpyxl, with a clear word on workbooks that cannot be read."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from .tables import MOST_ROWS, BadTable, Cell, Sheet, area_of, check_size

INSTALL = "reading and writing .xlsx needs openpyxl: pip install openpyxl"
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MOST_SHEETS_BYTES, _MOST_OTHER_BYTES = 20_000_000, 6_000_000
"""Of XML, unpacked: in sheets, and in styles, texts and the like. A formula takes a thousandth; pictures do not count."""
_MOST_CELLS = 150_000
_MOST_SPREAD = 500_000
"""Cells, empty ones included, up to the last that is filled or joined to others."""
_DEEPEST = 50
_TOO_MANY = (
    "the workbook has more cells than a table of a formula; copy the part that is one into a workbook of its own"
)
_XML = (".xml", ".rels", ".vml")
_DOCTYPES = tuple("<!DOCTYPE".encode(encoding) for encoding in ("utf-8", "utf-16-le", "utf-16-be"))
"""ECMA-376, part 2 (Open Packaging Conventions) forbids them; entities declared there could name files, or blow up."""
_QUOTED = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')


def sheets(path: str, data: bytes, name: str | None) -> list[Sheet]:
    """The sheets with cells, or the one of that name. Raises BadTable."""
    _check_container(data)
    survey = _Survey()
    survey.of(data)
    large = _large_sheets(data)
    if not large and survey.cells > _MOST_CELLS:
        raise BadTable(_TOO_MANY)
    values = _open(data, data_only=True, read_only=bool(large))
    formulas = _open(data, data_only=False, read_only=bool(large))
    names = [sheet.title for sheet in values.worksheets]
    wanted = _named(names, name) if name is not None else names
    for title in wanted:
        if title in large and (name is not None or len(names) == 1):
            check_size(MOST_ROWS + 1, 1, f"the sheet «{title}»")
    found = [_sheet(path, values[title], formulas[title]) for title in wanted if title not in large]
    filled = [sheet for sheet in found if sheet.rows]
    if not filled:
        if large:
            check_size(MOST_ROWS + 1, 1, f"the sheet «{sorted(large)[0]}»")
        raise BadTable(f"the sheet «{wanted[0]}» is empty" if len(wanted) == 1 else "all sheets are empty")
    return filled


def _named(names: list[str], name: str) -> list[str]:
    same = [title for title in names if title == name] or [
        t for t in names if t.strip().lower() == name.strip().lower()
    ]
    if not same:
        raise BadTable(f"there is no sheet «{name}»; there are {', '.join(f'«{title}»' for title in names)}")
    return same[:1]


def _check_container(data: bytes) -> None:
    """What can be said before openpyxl looks at it. Raises BadTable."""
    if data.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise BadTable("the workbook is protected by a password; save a copy without one")
        raise BadTable("this is a workbook of the old kind (.xls); save it as .xlsx")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = set(archive.namelist())
            _check_sizes(archive)
    except (zipfile.BadZipFile, ValueError, OSError):
        raise BadTable("this is no xlsx workbook, or a damaged one") from None
    if "content.xml" in names and "[Content_Types].xml" not in names:
        raise BadTable("this is an OpenDocument spreadsheet; save it as .xlsx")


def _check_sizes(archive: zipfile.ZipFile) -> None:
    """Raises BadTable where reading would take all memory; a small file can unpack to a very large one."""
    sheets = others = 0
    for info in archive.infolist():
        if "/worksheets/" in info.filename:
            sheets += info.file_size
        elif info.filename.lower().endswith(_XML):
            others += info.file_size
    if sheets > _MOST_SHEETS_BYTES or others > _MOST_OTHER_BYTES:
        raise BadTable(
            f"the workbook unpacks to {(sheets + others) / 1e6:.0f} MB, and no table of a formula does; "
            "copy the part that is one into a workbook of its own"
        )


def _open(data: bytes, data_only: bool, read_only: bool) -> Any:
    try:
        import openpyxl
    except ImportError:
        raise BadTable(INSTALL) from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return openpyxl.load_workbook(io.BytesIO(data), data_only=data_only, read_only=read_only, keep_links=False)
    except Exception as error:  # a damaged workbook fails in as many ways as there are parts in it
        raise BadTable(f"this is no xlsx workbook, or a damaged one ({type(error).__name__})") from None


def _large_sheets(data: bytes) -> set[str]:
    """Titles of sheets with more filled rows than a formula has, found without reading them to the end."""
    book = _open(data, data_only=True, read_only=True)
    large: set[str] = set()
    for sheet in book.worksheets:
        filled = 0
        for row in _rows(sheet):
            filled += any(cell.value is not None for cell in row)
            if filled > MOST_ROWS:
                large.add(sheet.title)
                break
    book.close()
    return large


def _has_doctype(archive: zipfile.ZipFile, name: str) -> bool:
    """Raises BadTable where the part cannot be read."""
    try:
        part = archive.read(name)
    except Exception as error:  # damaged, of an unknown compression, under a password
        raise BadTable(f"this is no xlsx workbook, or a damaged one ({type(error).__name__})") from None
    return any(mark in part for mark in _DOCTYPES)


class _Survey:
    """Looks through the sheets of a workbook for what openpyxl would take minutes to load."""

    def __init__(self) -> None:
        self.cells = self.joined = self.depth = 0

    def of(self, data: bytes) -> None:
        """Raises BadTable."""
        from xml.parsers import expat

        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for name in archive.namelist():
                if name.lower().endswith(_XML) and _has_doctype(archive, name):
                    raise BadTable("the workbook declares a document type, which the format forbids")
                if "/worksheets/" in name and name.endswith(".xml"):
                    parser = expat.ParserCreate(namespace_separator=" ")
                    parser.StartElementHandler, parser.EndElementHandler = self.start, self.end
                    self.depth = 0
                    try:
                        parser.Parse(archive.read(name), True)
                    except (expat.ExpatError, zipfile.BadZipFile) as error:
                        raise BadTable(f"this is no xlsx workbook, or a damaged one ({type(error).__name__})") from None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        kind = name.rpartition(" ")[2]
        self.depth += 1
        self.cells += kind == "c"
        if kind == "mergeCell":
            self.joined += _size(attributes.get("ref", ""))
        if self.joined > _MOST_SPREAD or self.depth > _DEEPEST:
            raise BadTable(_TOO_MANY)

    def end(self, name: str) -> None:
        self.depth -= 1


def _size(reference: str) -> int:
    try:
        area = area_of(reference)
    except ValueError:
        return 1
    return (area.bottom - area.top + 1) * (area.right - area.left + 1)


def _rows(sheet: Any) -> Iterator[Any]:
    spread = 0
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for row in sheet.iter_rows():
                yield row
                spread += max(1, len(row))
                if spread > _MOST_SPREAD:
                    raise BadTable(
                        f"the cells of the sheet «{sheet.title}» are spread over more rows and columns than a table of a "
                        "formula has; copy the part that is one into a sheet of its own"
                    )
    except BadTable:
        raise
    except Exception as error:
        raise BadTable(f"the sheet «{sheet.title}» is damaged ({type(error).__name__})") from None


def _sheet(path: str, values: Any, formulas: Any) -> Sheet:
    rows: list[tuple[Cell, ...]] = []
    for row, same_row in zip(_rows(values), _rows(formulas)):
        cells = tuple(cell for pair in zip(row, same_row) if (cell := _cell(*pair)) is not None)
        if cells:
            check_size(len(rows), cells[-1].column, f"the sheet «{values.title}»")
            rows.append(cells)
    hidden = ["it is hidden"] if values.sheet_state != "visible" else []
    return Sheet(path, values.title, tuple(rows), tuple(hidden), _merged(values))


def _merged(sheet: Any) -> dict[tuple[int, int], tuple[int, int]]:
    found = {}
    for area in getattr(getattr(sheet, "merged_cells", None), "ranges", ()):
        for row in range(area.min_row, min(area.max_row, area.min_row + MOST_ROWS) + 1):
            for column in range(area.min_col, min(area.max_col, area.min_col + 50) + 1):
                found[row, column] = (area.min_row, area.min_col)
    return found


def _cell(value: Any, formula: Any) -> Cell | None:
    """A cell from its value and from what computes it; None where it is empty."""
    computes = _formula(formula)
    note = getattr(getattr(formula, "comment", None), "text", None) or ""
    content = value.value
    if content is None and not computes and not note:
        return None
    text, number, as_percent = _content(content, value)
    return Cell(
        value.row,
        value.column,
        text,
        number,
        computes.removeprefix("="),
        not computes or content is not None,
        " ".join(note.split()),
        as_percent,
    )


def _formula(cell: Any) -> str:
    """What computes a cell, with the equals sign; a formula over several cells is an object that knows its text."""
    if cell.data_type != "f":
        return ""
    return cell.value if isinstance(cell.value, str) else str(getattr(cell.value, "text", None) or "=")


def _content(content: Any, cell: Any) -> tuple[str, Decimal | None, bool]:
    """The text of a value, its number, and whether it is shown as a percent."""
    if content is None:
        return "", None, False
    if isinstance(content, bool):
        return str(content).upper(), None, False
    if isinstance(content, (int, float)):
        return _number(content, "%" in _QUOTED.sub("", cell.number_format or ""))
    if isinstance(content, datetime) and content.time() == time():
        content = content.date()
    if isinstance(content, (datetime, date, time)):
        return content.isoformat(), None, False
    return str(content).strip(), None, False


def _number(content: float, as_percent: bool) -> tuple[str, Decimal | None, bool]:
    """A double has 15 decimal digits to rely on (IEEE 754 binary64); what lies behind them is noise of the arithmetic."""
    number = Decimal(f"{content:.15g}")
    if not number.is_finite():
        return str(content), None, False
    number = number * 100 if as_percent else number
    text = f"{number:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text), number, as_percent
