"""Tables of spreadsheets, as they stand: cells with their places. What the cells mean is decided elsewhere."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from decimal import Decimal

from ..records import NamedTuple

ENDINGS = (".xlsx", ".xlsm", ".csv", ".tsv")
MOST_BYTES = 20_000_000
MOST_TEXT_BYTES = 5_000_000
"""A table of a formula takes some 20 kB, a workbook may bring pictures; what is larger than this is something else."""
MOST_ROWS = 2_000
MOST_COLUMNS = 200
_REFERENCE = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})")
_RANGE = re.compile(r"\s*([A-Za-z]{1,3}[0-9]{1,7})\s*:\s*([A-Za-z]{1,3}[0-9]{1,7})\s*")
_DELIMITERS = (";", "\t", ",", "|")


class BadTable(Exception):
    """A spreadsheet that cannot be used; the message says what was found and what to do."""


class Cell(NamedTuple):
    """One cell that holds something.

    text: as written, or as a number is written with a decimal point; number: the number that a spreadsheet program
    keeps, a percent format worked in (0.04 shown as 4 % is 4); None for text. formula: what computes it, without the
    equals sign; computed: whether the value of that formula is known. note: a comment fixed to the cell. as_percent: the
    number was shown as a percent.
    """

    row: int
    column: int
    text: str
    number: Decimal | None = None
    formula: str = ""
    computed: bool = True
    note: str = ""
    as_percent: bool = False

    @property
    def reference(self) -> str:
        """As spreadsheets name it: D7."""
        return f"{letters(self.column)}{self.row}"


class Sheet(NamedTuple):
    """The filled cells of one sheet, by row and then by column, both counted from 1.

    name: of the sheet, "" for a text file; remarks: on how it was read; merged: place of a cell -> place of the cell
    whose value it shares.
    """

    file: str
    name: str
    rows: tuple[tuple[Cell, ...], ...]
    remarks: tuple[str, ...] = ()
    merged: dict[tuple[int, int], tuple[int, int]] = {}


class Area(NamedTuple):
    """A rectangle of cells, both corners included."""

    top: int
    left: int
    bottom: int
    right: int


def is_table(path: str) -> bool:
    """Whether a file is a spreadsheet by its name."""
    return path.lower().endswith(ENDINGS)


def read_sheets(path: str, name: str | None = None) -> list[Sheet]:
    """The sheets of a spreadsheet file, or the one of that name. Raises BadTable."""
    workbook = path.lower().endswith((".xlsx", ".xlsm"))
    data = _bytes(path, MOST_BYTES if workbook else MOST_TEXT_BYTES)
    if workbook:
        from .tables_xlsx import sheets

        return sheets(path, data, name)
    if name is not None:
        raise BadTable("a text file has no sheets to name")
    return [_text_table(path, data)]


def within(sheet: Sheet, area: Area) -> Sheet:
    """What lies in an area of a sheet."""
    rows = (
        tuple(cell for cell in row if area.left <= cell.column <= area.right)
        for row in sheet.rows
        if area.top <= row[0].row <= area.bottom
    )
    return sheet._replace(rows=tuple(row for row in rows if row))


def area_of(text: str) -> Area:
    """`A3:F20` as an area. Raises ValueError."""
    match = _RANGE.fullmatch(text)
    if match is None:
        raise ValueError(f"«{text}» is no range of cells; write it as A3:F20")
    (row, column), (other_row, other_column) = map(place_of, match.groups())
    return Area(min(row, other_row), min(column, other_column), max(row, other_row), max(column, other_column))


def place_of(reference: str) -> tuple[int, int]:
    """`D7` as (row, column) = (7, 4). Raises ValueError."""
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise ValueError(f"«{reference}» names no cell; write it as D7")
    return int(match.group(2)), column_of(match.group(1))


def column_of(name: str) -> int:
    """`A` is 1, `Z` 26, `AA` 27."""
    number = 0
    for letter in name.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def letters(column: int) -> str:
    """The inverse of column_of."""
    name = ""
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def check_size(rows: int, columns: int, where: str) -> None:
    """Raises BadTable for a table that is no formula by its size."""
    if rows > MOST_ROWS:
        raise BadTable(
            f"{where} has more than {MOST_ROWS} filled rows, and no formula has; "
            "name the part that is one with --range, or copy it into a sheet of its own"
        )
    if columns > MOST_COLUMNS:
        raise BadTable(f"{where} has {columns} columns; a formula's table has at most {MOST_COLUMNS}")


def _bytes(path: str, most: int) -> bytes:
    try:
        with open(path, "rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadTable(f"cannot be opened: {reason.lower()}") from None
    if len(data) > most:
        raise BadTable(f"the file has more than {most // 1_000_000} MB, and no table of a formula has")
    if not data.strip():
        raise BadTable("the file is empty")
    return data


# --- text files


def _text_table(path: str, data: bytes) -> Sheet:
    text, remarks = _decoded(data)
    if data.startswith(b"PK\x03\x04"):
        raise BadTable("the file is a workbook with the ending of a text file; name it .xlsx")
    delimiter = "\t" if path.lower().endswith(".tsv") else _delimiter(text)
    try:
        rows = list(_filled(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=False)))
    except csv.Error as error:
        raise BadTable(f"cannot be read as a table: {error}") from None
    if not rows:
        raise BadTable("the table is empty")
    return Sheet(path, "", tuple(rows), tuple(remarks))


def _filled(lines: Iterable[list[str]]) -> Iterable[tuple[Cell, ...]]:
    count = 0
    for number, line in enumerate(lines, 1):
        if number == 1 and len(line) == 1 and line[0].lower().startswith("sep="):
            continue
        row = tuple(Cell(number, column, shown) for column, text in enumerate(line, 1) if (shown := _bare(text)))
        if row:
            count += 1
            check_size(count, row[-1].column, "the table")
            yield row


def _bare(text: str) -> str:
    """A cell's text without the apostrophe that keeps a spreadsheet from computing it."""
    text = text.strip()
    return text[1:] if text[:1] == "'" and text[1:2] in ("=", "+", "-", "@") else text


def _decoded(data: bytes) -> tuple[str, list[str]]:
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            try:
                return data.decode(encoding), []
            except UnicodeDecodeError:
                raise BadTable(f"the file says it is {encoding[:6].upper()}, and is not") from None
    try:
        text, remarks = data.decode("utf-8"), []
    except UnicodeDecodeError:
        text, remarks = data.decode("cp1252", "replace"), ["the text is no UTF-8 and was read as Windows-1252"]
    if "\0" in text:
        raise BadTable("the file holds bytes that no text has; save the table as .xlsx or as .csv in UTF-8")
    return text, remarks


def _delimiter(text: str) -> str:
    """The delimiter that most lines have, and the same number of times; a semicolon before a comma."""
    lines = [line for line in text.splitlines() if line.strip()][:60]
    if lines and lines[0].lower().startswith("sep=") and len(lines[0]) == 5:
        return lines[0][4]

    def liked(delimiter: str) -> tuple[int, int]:
        counts = [line.count(delimiter) for line in lines]
        often = max(set(counts), key=counts.count, default=0)
        return (counts.count(often) if often else 0, sum(counts))

    best = max(_DELIMITERS, key=lambda delimiter: (liked(delimiter)[0], -_DELIMITERS.index(delimiter)))
    return best if liked(best)[1] else ","
