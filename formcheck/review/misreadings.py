"""Slips of writing that keep a file from being understood and have one right answer: the decimal comma."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..reading import files
from ..reading.document import Document, Entry, Mapping, Node, Problem, Scalar, Sequence, Unreadable
from ..reading.editing import CannotEdit, Edit, Editor, applied, below, editor, scalars
from ..reading.files import Reader
from ..records import NamedTuple

_COMMA = re.compile(r"([-+]?[0-9]+),([0-9]+)(\s*[^\d,.]*)")
_TOLERANCE = re.compile(r"[0-9]+(?:[.,][0-9]+)?\s*(?:±|\+/-|\+-|\+/−)\s*[0-9]+(?:[.,][0-9]+)?")
_PERCENTS = re.compile(r"/phases/[^/]+/[^/]+(?:/percent)?")
_DIGITS = re.compile(r"[0-9]+")


class Better(NamedTuple):
    """A text in which the slips are mended. what: (line, what was changed) of each."""

    text: str
    what: tuple[tuple[int, str], ...]


def mended(path: str, text: str, problems: tuple[Problem, ...], readers: dict[str, Reader]) -> Better | None:
    """The text without its slips; None where a problem is something else or has two possible answers."""
    try:
        document = files.read(path, text.encode(), readers)
        edits = editor(document, files.kind_of(path, text, readers))
        found = [_mend(document, edits, problem) for problem in problems]
    except (Unreadable, CannotEdit):
        return None
    if not all(found):
        return None
    pairs = [pair for pair in found if pair]
    what = tuple((problem.place.line, said) for problem, (_, said) in zip(problems, pairs))
    return Better(applied(text, [edit for edit, _ in pairs]), what)


def _mend(document: Document, edits: Editor, problem: Problem) -> tuple[Edit, str] | None:
    for path, scalar in scalars(document.root):
        if scalar.place == problem.place and (point := _with_point(path, scalar.text)):
            return edits.value(path, point), f"«{scalar.text}» becomes «{point}»"
    for path, one, two in _torn(document.root, ""):
        if problem.place in (two.key.place, two.value.place):
            return _joined(edits, below(path, one.key.text), below(path, two.key.text), one, two)
    return None


def _with_point(path: str, text: str) -> str | None:
    """The number with a decimal point; None where the comma may set off thousands."""
    if _TOLERANCE.fullmatch(text.strip()) and "," in text:
        return text.replace(",", ".")
    match = _COMMA.fullmatch(text.strip())
    if match is None:
        return None
    whole, decimals, unit = match.groups()
    thousands = len(decimals) == 3 and whole.lstrip("+-0")
    if thousands and not _PERCENTS.fullmatch(path):
        return None
    return f"{whole}.{decimals}{unit}"


def _torn(node: Node, path: str) -> Iterator[tuple[str, Entry, Entry]]:
    """Neighbours such as `Glycerin: 4,5` within brackets, where the comma begins a new key 5 without a value."""
    if isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from _torn(item, below(path, index))
    if not isinstance(node, Mapping):
        return
    for one, two in zip(node.entries, node.entries[1:]):
        number = isinstance(one.value, Scalar) and not one.value.quoted and _DIGITS.fullmatch(one.value.text)
        bare = _DIGITS.fullmatch(two.key.text) and not two.key.quoted
        if number and bare and isinstance(two.value, Scalar) and two.value.kind == "null":
            yield path, one, two
    for entry in node.entries:
        yield from _torn(entry.value, below(path, entry.key.text))


def _joined(edits: Editor, first: str, second: str, one: Entry, two: Entry) -> tuple[Edit, str] | None:
    end, key = edits.spot(first).value[1], edits.spot(second).key
    if key is None or edits.text[end : key[0]] != "," or not isinstance(one.value, Scalar):
        return None
    whole, decimals = one.value.text, two.key.text
    return Edit(end, key[0], "."), f"«{whole},{decimals}» becomes «{whole}.{decimals}»"
