"""Which columns a table has and what each holds, from its headings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from ..reading.tables import BadTable, Cell, Sheet, letters
from ..records import NamedTuple
from . import table_words as words
from .names import listed

_LONGEST_HEADING = 60
_SHOWN = 4


class Column(NamedTuple):
    """One column. heading: as written, "" where there is none; meaning: one of the words of table_words."""

    number: int
    heading: str
    meaning: str

    @property
    def letter(self) -> str:
        return letters(self.number)

    @property
    def label(self) -> str:
        """What it is called in a note or a message."""
        return self.heading or f"column {self.letter}"


class Head(NamedTuple):
    """The row or the two rows of headings. columns: by their number."""

    rows: tuple[int, ...]
    columns: dict[int, Column]

    @property
    def texts(self) -> tuple[tuple[int, str], ...]:
        return tuple((number, column.heading) for number, column in sorted(self.columns.items()))


def heads(sheet: Sheet) -> list[Head]:
    """Every row of headings of the sheet, from the top."""
    found: list[Head] = []
    for index, row in enumerate(sheet.rows):
        if found and row[0].row in found[-1].rows:
            continue
        head = _head((row,))
        following = sheet.rows[index + 1] if index + 1 < len(sheet.rows) else ()
        if head is None and following and following[0].row == row[0].row + 1 and _speaks(row):
            head = _head((row, following))
        if head is not None:
            found.append(head)
    return found


def with_table(sheets: list[Sheet]) -> Sheet:
    """The only sheet that has a table of a formula. Raises BadTable where none or several have one."""
    found = [sheet for sheet in sheets if heads(sheet)]
    if len(found) > 1:
        names = listed(f"«{sheet.name}»" for sheet in found)
        raise BadTable(f"there are tables in the sheets {names}; name one with --sheet")
    if found:
        return found[0]
    raise BadTable(f"{_where(sheets[0])} has no row of headings: {_missing(sheets[0])}")


def head_of(sheet: Sheet, given: Mapping[str, int]) -> tuple[Head, tuple[Head, ...]]:
    """The headings of the sheet's only table, those named by hand put in; and repetitions of the same headings.

    given: meaning -> column. Raises BadTable where there is no table, or more than one.
    """
    found = heads(sheet)
    if not found and not given:
        raise BadTable(f"{_where(sheet)} has no row of headings: {_missing(sheet)}")
    head = found[0] if found else Head((), {})
    others = [other for other in found[1:] if other.texts != head.texts]
    if others:
        raise BadTable(_two_tables(sheet, head, others[0]))
    return _settled(sheet, head, given), tuple(found[1:])


def end_of(sheet: Sheet, head: Head, after: Head) -> str:
    """The cells of a table that ends above another's headings: A3:F18."""
    last = max(row[0].row for row in sheet.rows if row[0].row < after.rows[0])
    return f"{letters(min(head.columns))}{head.rows[0]}:{letters(max(head.columns))}{last}"


def _head(rows: tuple[tuple[Cell, ...], ...]) -> Head | None:
    """The headings in these rows; None where they are none of a formula's table."""
    texts: dict[int, str] = {}
    for row in rows:
        if any(_is_figure(cell) or len(cell.text) > _LONGEST_HEADING for cell in row):
            return None
        for cell in row:
            texts[cell.column] = " ".join(f"{texts.get(cell.column, '')} {cell.text}".split())
    columns = {number: Column(number, text, words.meaning_of(text)) for number, text in texts.items()}
    meanings = {column.meaning for column in columns.values()}
    named = meanings & {words.INGREDIENT, words.INCI}
    measured = meanings & {words.PERCENT, words.GRAMS, words.AMOUNT}
    return Head(tuple(row[0].row for row in rows), columns) if named and measured else None


def _speaks(row: Iterable[Cell]) -> bool:
    """Whether a row has at least one heading, so that the next may be its second half."""
    return any(words.meaning_of(cell.text) in (*words.MEANINGS, words.AMOUNT) for cell in row)


def _is_figure(cell: Cell) -> bool:
    """An amount rather than a heading such as «100 g»."""
    said = words.amount(cell.text, False)
    return cell.number is not None or said.remainder or (said.value is not None and not said.unit)


def _settled(sheet: Sheet, head: Head, given: Mapping[str, int]) -> Head:
    """Every column with one meaning, and no meaning but «other» on two columns. Raises BadTable."""
    columns = {number: column for number, column in head.columns.items() if column.meaning}
    for number in {cell.column for row in sheet.rows for cell in row}:
        columns.setdefault(number, Column(number, "", words.OTHER))
    for meaning, number in given.items():
        columns[number] = Column(number, columns[number].heading if number in columns else "", meaning)
    result: dict[int, Column] = {}
    for number, column in sorted(columns.items()):
        meaning = column.meaning
        if given.get(meaning, number) != number or (meaning == words.AMOUNT and _said_otherwise(columns, given)):
            meaning = words.OTHER
        result[number] = column._replace(meaning=meaning)
    _check_one_beside_another(sheet, result)
    percents = [column for column in result.values() if column.meaning == words.PERCENT]
    if len(percents) > 1:
        named = listed(f"{column.letter} «{column.heading}»" for column in percents)
        raise BadTable(
            f"{_where(sheet)} has {len(percents)} columns of percents: {named}; name the one that counts with "
            f"--column percent={percents[0].letter}, or one table of two with --range"
        )
    return Head(head.rows, dict(_single(result)))


def _check_one_beside_another(sheet: Sheet, columns: Mapping[int, Column]) -> None:
    """Raises BadTable where names and amounts come again further to the right."""
    names = [n for n, column in sorted(columns.items()) if column.meaning == words.INGREDIENT]
    amounts = [n for n, c in sorted(columns.items()) if c.meaning in (words.PERCENT, words.GRAMS, words.AMOUNT)]
    again = [number for number in names if amounts and number > amounts[0]]
    if again and amounts[-1] > again[0]:
        top, bottom = sheet.rows[0][0].row, sheet.rows[-1][0].row
        raise BadTable(
            f"{_where(sheet)} has two tables side by side: names stand in column {letters(names[0])} and again in column "
            f"{letters(again[0])}; name one with --range, such as --range A{top}:{letters(again[0] - 1)}{bottom}"
        )


def _said_otherwise(columns: Mapping[int, Column], given: Mapping[str, int]) -> bool:
    """Whether percents and grams have columns of their own already."""
    meanings = {column.meaning for column in columns.values()} | set(given)
    return {words.PERCENT, words.GRAMS} <= meanings


def _single(columns: dict[int, Column]) -> Iterator[tuple[int, Column]]:
    """Of several columns with one meaning the first has it, the others are «other»."""
    seen: set[str] = set()
    for number, column in sorted(columns.items()):
        again = column.meaning in seen
        seen.add(column.meaning)
        yield number, column._replace(meaning=words.OTHER) if again else column


def _two_tables(sheet: Sheet, first: Head, second: Head) -> str:
    return (
        f"{_where(sheet)} has two tables: one begins in row {first.rows[0]}, another in row {second.rows[0]}; name one with "
        f"--range, such as --range {end_of(sheet, first, second)}"
    )


def _where(sheet: Sheet) -> str:
    return f"the sheet «{sheet.name}»" if sheet.name else "the table"


def _missing(sheet: Sheet) -> str:
    """What was looked for, and what stands in the first rows instead."""
    shown = [" | ".join(cell.text[:20] for cell in row[:5]) for row in sheet.rows[:_SHOWN]]
    return (
        "one with a column of names (ingredient, INCI) and one of percents or grams is needed. It begins with "
        + "; ".join(f"row {row[0].row}: {text}" for row, text in zip(sheet.rows, shown))
        + ". Where there are no headings, name the columns: --column ingredient=A --column percent=B"
    )
