"""What was made of a spreadsheet, for the person who has to trust it: columns, guesses, and cells not understood."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from ..formula import table_words as words
from ..formula.from_table import Understood
from ..formula.table_columns import Column
from .safe_text import one_line

_LABEL = 14


def text(table: Understood, width: int) -> str:
    """Several lines, the last with a line end."""
    return "\n".join(line for line in _lines(table, width)) + "\n"


def where(table: Understood) -> str:
    """The file and the sheet of a table, in words."""
    sheet = f", sheet «{table.sheet.name}»" if table.sheet.name else ""
    return f"{one_line(table.sheet.file)}{one_line(sheet)}"


def _lines(table: Understood, width: int) -> Iterator[str]:
    rows = " and ".join(map(str, table.head.rows))
    yield f"{where(table)}, {f'headings in row {rows}' if rows else 'no headings'}"
    for column in table.columns:
        if (said := _column(column)) is not None:
            yield from _labelled(f"column {column.letter}", said, width)
    for remark in table.remarks:
        yield from _labelled("taken", remark, width)
    if table.asides:
        cells = ", ".join(aside.cell for aside in table.asides)
        yield from _labelled("kept", f"as comments: {cells}", width)
    if table.unclear:
        yield "not understood, and kept as comments"
        for each in table.unclear:
            yield from _labelled(each.cell, f"«{each.text}»: {each.why}", width)


def _column(column: Column) -> str | None:
    """What a column was taken for; None for one that says nothing."""
    heading = f"«{column.heading}»" if column.heading else "without a heading"
    if column.meaning != words.OTHER:
        return f"{heading} is {column.meaning}"
    if words.is_numbering(column.heading):
        return f"{heading} numbers the rows and is left out"
    return f"{heading} goes into the notes of the lines" if column.heading else None


def _labelled(label: str, said: str, width: int) -> list[str]:
    return textwrap.wrap(
        one_line(said),
        width,
        initial_indent=f"  {label:<{_LABEL}}",
        subsequent_indent=" " * (_LABEL + 2),
        break_on_hyphens=False,
        break_long_words=False,
    )
