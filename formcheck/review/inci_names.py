"""Every known material under its INCI name, wherever the file speaks of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from ..bench.worksheet import Worksheet
from ..formula.names import fold
from ..reading.document import Mapping, Node, Place, Scalar, Sequence
from ..reading.editing import Edit, Editor, below
from ..reference.material import Material


def inci_names(sheet: Worksheet, edits: Editor) -> Iterator[tuple[Place, str, Callable[[], tuple[Edit, ...]]]]:
    """For every material that goes by another name: its place, what changes, and what makes the edits, one a mention.

    Materials that the house describes itself and blends, which have no INCI name of their own, keep their names.
    """
    told = set()
    for line in sheet.formula.lines:
        material = sheet.book.find(line.name)
        wanted = _wanted(sheet, material, line.name) if material is not None else None
        if wanted is None or wanted == line.name or fold(line.name) in told:
            continue
        told.add(fold(line.name))
        yield line.place, f"«{line.name}» becomes «{wanted}»", partial(_mentions, sheet, edits, line.name, wanted)


def _wanted(sheet: Worksheet, material: Material, name: str) -> str | None:
    """The name it should have; None where the one it has may stay."""
    if material.house or material.contains:
        return None
    american = material.value("INCI US")
    if american and "US" in sheet.product.markets and fold(american) == fold(name):
        return None
    return material.inci


def _mentions(sheet: Worksheet, edits: Editor, name: str, wanted: str) -> tuple[Edit, ...]:
    """The keys among the phases, and what the steps and deviations name. Raises CannotEdit."""
    return (*_keys(sheet, edits, name, wanted), *_named(sheet, edits, name, wanted))


def _keys(sheet: Worksheet, edits: Editor, name: str, wanted: str) -> Iterator[Edit]:
    for line in sheet.formula.lines:
        if line.name == name:
            yield edits.key(line.path, wanted)


def _named(sheet: Worksheet, edits: Editor, name: str, wanted: str) -> Iterator[Edit]:
    root = sheet.formula.document.root
    for part, keys in (("procedure", None), ("deviations", ("of",))):
        node = root.get(part)
        if node is not None:
            yield from _values(edits, node, below("", part), name, wanted, keys)


def _values(
    edits: Editor, node: Node, path: str, name: str, wanted: str, keys: tuple[str, ...] | None, key: str = ""
) -> Iterator[Edit]:
    if isinstance(node, Scalar):
        if fold(node.text) == fold(name) and key != "note" and (keys is None or key in keys):
            yield edits.value(path, wanted)
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from _values(edits, item, below(path, index), name, wanted, keys, key)
    elif isinstance(node, Mapping):
        for entry in node.entries:
            below_it = below(path, entry.key.text)
            yield from _values(edits, entry.value, below_it, name, wanted, keys, entry.key.text)
