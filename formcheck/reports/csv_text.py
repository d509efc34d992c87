"""Tables for spreadsheets (RFC 4180), in which no cell can act as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from .safe_text import one_line

_ACTS = ("=", "+", "-", "@", "\t", "\r")
"""What a cell must not begin with: spreadsheets would compute it (OWASP, CSV injection)."""


def table(rows: Iterable[Sequence[str]]) -> str:
    """The rows as CSV with CRLF line ends, as RFC 4180 wants them."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    for row in rows:
        writer.writerow([cell(text) for text in row])
    return stream.getvalue()


def cell(text: str) -> str:
    """A text on one line that a spreadsheet takes as text: an apostrophe goes before what would act. Numbers stay."""
    plain = one_line(text)
    return f"'{plain}" if plain.startswith(_ACTS) and not _is_number(plain) else plain


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
