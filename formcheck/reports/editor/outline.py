"""The outline of a file, and where the name under the cursor is at home."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ...formula.names import fold, listed
from ...reading.document import Place
from ...records import NamedTuple
from .hover import names_material
from .opened import Opened, is_line, verb_of
from .pieces import Path, Piece


class Entry(NamedTuple):
    """One line of the outline.

    kind: part (of the file), phase, material or step; start, end: from where up to where it reaches; own: its name.
    """

    name: str
    detail: str
    kind: str
    start: int
    end: int
    own: Piece
    inside: tuple[Entry, ...] = ()


class Home(NamedTuple):
    """Where something is described. piece: in the open file; else file and place there."""

    piece: Piece | None
    file: str = ""
    place: Place = Place(1, 1)


# --- the outline


class _Reach:
    """How far what stands under every path reaches, and the single values in it."""

    def __init__(self, opened: Opened) -> None:
        self.ends: dict[Path, int] = {}
        self.values: dict[Path, list[str]] = {}
        for piece in opened.pieces:
            for length in range(1, len(piece.path) + 1):
                path = piece.path[:length]
                self.ends[path] = max(self.ends.get(path, 0), piece.end)
                if piece.role == "value":
                    self.values.setdefault(path, []).append(piece.text)

    def value(self, path: Path) -> str:
        return next(iter(self.values.get(path, ())), "")

    def entry(
        self, key: Piece, kind: str, name: str, detail: str = "", inside: Iterable[Entry] = (), path: Path = ()
    ) -> Entry:
        """path: of all that belongs to it, where that is more than what stands under its key."""
        return Entry(name, detail, kind, key.start, self.ends[path or key.path], key, tuple(inside))


def outline(opened: Opened) -> list[Entry]:
    """Phases with their materials, the steps, and the materials that the file describes."""
    reach = _Reach(opened)
    entries = []
    for part, inside in (("phases", _phases), ("procedure", _steps), ("materials", _described)):
        key = next((piece for piece in opened.pieces if piece.role == "key" and piece.path == (part,)), None)
        if key is not None:
            entries.append(reach.entry(key, "part", part, inside=inside(opened, reach)))
    return sorted(entries, key=lambda entry: entry.start)


def _phases(opened: Opened, reach: _Reach) -> Iterator[Entry]:
    for phase in opened.phases:
        lines = (line for line in opened.lines if line.path[1] == phase.path[1])
        inside = (reach.entry(line, "material", line.text, reach.value(line.path)) for line in lines)
        yield reach.entry(phase, "phase", f"phase {phase.text}", inside=inside)


def _steps(opened: Opened, reach: _Reach) -> Iterator[Entry]:
    conditions: dict[Path, list[Piece]] = {}
    verbs: dict[Path, Piece] = {}
    for piece in opened.pieces:
        if piece.role == "key" and len(piece.path) == 3 and piece.path[0] == "procedure":
            step: Path = piece.path[:2]
            if step not in verbs and verb_of(piece.text):
                verbs[step] = piece
            elif piece.text != "note":
                conditions.setdefault(step, []).append(piece)
    for path, verb in verbs.items():
        name = f"{int(path[1]) + 1} {verb.text} {listed(reach.values.get(verb.path, ()))}".rstrip()
        detail = ", ".join(f"{key.text} {reach.value(key.path)}".rstrip() for key in conditions.get(path, ()))
        yield reach.entry(verb, "step", name, detail, path=path)


def _described(opened: Opened, reach: _Reach) -> Iterator[Entry]:
    return (reach.entry(key, "material", key.text) for key in opened.under("materials"))


# --- where a name is at home


def homes(opened: Opened, offset: int) -> list[Home]:
    """Where what the cursor stands on is at home: a phase, the lines of a material, the description of a house material."""
    piece = opened.piece_at(offset)
    if piece is None:
        return []
    in_step = piece.role == "value" and piece.path[:1] == ("procedure",) and len(piece.path) > 2
    phase = opened.phase(piece.text) if in_step else None
    if phase is not None:
        return [Home(phase)]
    if not names_material(opened, piece):
        return []
    lines = [] if is_line(piece.path) else [Home(line) for line in _lines_of(opened, piece.text)]
    return [*lines, *(home for home in _descriptions(opened, piece.text) if home.piece != piece)]


def _lines_of(opened: Opened, name: str) -> Iterable[Piece]:
    """The lines of a material, under whatever name."""
    wanted = _heading(opened, name)
    return (line for line in opened.lines if _heading(opened, line.text) == wanted)


def _heading(opened: Opened, name: str) -> str:
    material = opened.book.find(name)
    return fold(material.name if material is not None else name)


def _descriptions(opened: Opened, name: str) -> Iterator[Home]:
    own = [key for key in opened.under("materials") if fold(key.text) == fold(name)]
    yield from (Home(key) for key in own)
    described = opened.book.described(name)
    if described is not None and not own and described.file != opened.path:
        yield Home(None, described.file, described.place)
