"""A formula that was understood from a table, as the text of a formula file; what found no place in it as comments."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from ..formula.from_table import Line, Understood
from ..formula.names import fold
from ..formula.table_shares import written
from ..reading.edit_yaml import spelled_text
from .safe_text import one_line

Find = Callable[[str], "str | None"]
"""Name -> the heading under which the reference knows it; None where it does not."""


def formula_text(table: Understood, name: str, source: str, find: Find) -> str:
    """The file as YAML. source: where the table comes from, in words."""
    return "\n".join(_lines(table, name, source, find)) + "\n"


def _lines(table: Understood, name: str, source: str, find: Find) -> Iterator[str]:
    yield "formcheck: 1"
    yield f"name: {_text(name)}"
    for key in ("code", "version"):
        if key in table.titles:
            yield f"{key}: {_text(table.titles[key])}"
    if table.batch_g is not None:
        yield f"batch: {{size: {written(table.batch_g)} g}}"
    yield "phases:"
    for phase, lines in table.phases.items():
        yield f"  {_text(phase)}:"
        for line in lines:
            yield f"    {_text(line.name)}: {_value(line, find)}"
        for unclear in table.unclear:
            if unclear.phase == phase:
                yield _comment(f"    # {unclear.cell}, {unclear.why}: {unclear.row or unclear.text}")
    yield from _materials(table, find)
    if "pH" in table.titles:
        yield f"finished: {{pH: {_text(table.titles['pH'], True)}}}"
    yield from _comments(table, source)


def _value(line: Line, find: Find) -> str:
    """The percent, or a mapping where there is more to say."""
    percent = "q.s." if line.percent is None else written(line.percent)
    inci = f"INCI: {line.inci}" if line.inci and _unknown(line, find) else ""
    note = "; ".join(text for text in (inci, line.note) if text)
    more = {
        "grams": _grams(line.grams),
        "lot": _text(line.lot, True) if line.lot else "",
        "note": _text(note, True) if note else "",
    }
    pairs = [f"{key}: {text}" for key, text in more.items() if text]
    return f"{{percent: {percent}, {', '.join(pairs)}}}" if pairs else percent


def _grams(value: Decimal | None) -> str:
    return "" if value is None else written(value)


def _unknown(line: Line, find: Find) -> bool:
    """An INCI name that the reference does not know says nothing of the material; it stays a note."""
    return find(line.inci) is None and fold(line.inci) != fold(line.name)


def _materials(table: Understood, find: Find) -> Iterator[str]:
    """The house's own names, each with the INCI name beside it, where the reference would not find that by itself."""
    told: set[str] = set()
    for line in (line for lines in table.phases.values() for line in lines):
        heading = find(line.inci) if line.inci else None
        if heading is None or heading == find(line.name) or fold(line.name) in told:
            continue
        if not told:
            yield "materials:"
        told.add(fold(line.name))
        yield f"  {_text(line.name)}: {{INCI: {_text(line.inci, True)}}}"


def _comments(table: Understood, source: str) -> Iterator[str]:
    lost = [each for each in table.unclear if each.phase not in table.phases]
    yield _comment(f"# From {source}.")
    for unclear in lost:
        phase = f" (phase {unclear.phase})" if unclear.phase else ""
        yield _comment(f"# {unclear.cell}{phase}, {unclear.why}: {unclear.row or unclear.text}")
    for aside in table.asides:
        yield _comment(f"# {aside.cell}: {aside.text}")
    pH = "" if "pH" in table.titles else "finished pH, "
    yield f"# Still to say: product (use, form, area, users, markets), procedure, {pH}packaging."


def _comment(text: str) -> str:
    """A comment on one line, its indentation kept."""
    indent = text[: len(text) - len(text.lstrip())]
    return indent + _printable(text)


def _text(text: str, inside: bool = False) -> str:
    return spelled_text(_printable(text), inside)


def _printable(text: str) -> str:
    """On one line; signs that are no character, and those of private use, are shown by their numbers too."""
    return "".join(sign if sign.isprintable() else f"<U+{ord(sign):04X}>" for sign in one_line(text))
