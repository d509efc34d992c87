"""A file that is open in an editor: its text as it stands there, what is in it, and its review."""

from __future__ import annotations

import os
import re
from functools import cached_property

from ...bench.worksheet import Worksheet
from ...formula.build import build_materials
from ...formula.model import HouseMaterial
from ...formula.names import fold
from ...formula.vocabulary import OTHER_SPELLINGS, VERBS
from ...reading import files
from ...reading.document import Unreadable
from ...reference.store import MaterialBook
from ...review.model import READY, UNREAD, Review
from ...review.run import MATERIALS_FILES, Reviewed
from . import sketch
from .desk import Desk
from .pieces import Path, Piece, of_document
from .positions import BYTE_ORDER_MARK, Positions

FORMULA, MATERIALS, OTHER = "formula", "materials", ""
_SAYS_SO = re.compile(r"""^[ \t{]*["']?formcheck["']?[ \t]*[:=]""", re.MULTILINE)
_HEAD = 4000
"""Characters in which a file that is not named as one has to say that it is a formula."""


def what_is(path: str, text: str, desk: Desk) -> str:
    """Whether a file is a formula, a materials file, or none of ours: by its name, else by its first lines."""
    name = os.path.basename(path).lower()
    if name in MATERIALS_FILES:
        return MATERIALS
    if name.endswith((*files.ENDINGS, *desk.reviewer.readers)):
        return FORMULA
    return FORMULA if name.endswith((".yaml", ".yml", ".toml", ".json")) and _SAYS_SO.search(text[:_HEAD]) else OTHER


class Opened:
    """One text of one file; another text makes another Opened.

    units: those in which the editor counts columns; earlier: the last review of the file when it could be read, for what
    is asked while the text cannot.
    """

    def __init__(
        self, path: str, text: str, desk: Desk, units: str = "utf-16", earlier: Reviewed | None = None
    ) -> None:
        self.path = path
        self.text = text
        self.desk = desk
        self.what = what_is(path, text, desk)
        self.kind = files.kind_of(path, text, desk.reviewer.readers)
        self.units = units
        self.earlier = earlier

    @cached_property
    def positions(self) -> Positions:
        return Positions(self.text, self.kind, self.units)

    @property
    def data(self) -> bytes:
        """The text as a file holds it; a lone surrogate, which no file can hold, is left for the reader to refuse."""
        return self.text.encode("utf-8", "surrogatepass")

    @property
    def readable(self) -> str:
        """The text as readers get it, without a byte order mark."""
        return self.text.removeprefix(BYTE_ORDER_MARK)

    @cached_property
    def seen(self) -> Reviewed:
        """The review, with the worksheet where the text can be read."""
        if self.what == FORMULA:
            return self.desk.reviewer.review_sheet(self.path, self.data)
        name = os.path.basename(self.path)
        try:
            self._described_here()
        except Unreadable as error:
            return Reviewed(Review(self.path, name, UNREAD, errors=error.problems))
        return Reviewed(Review(self.path, name, READY))

    def _described_here(self) -> tuple[HouseMaterial, ...]:
        """What a materials file describes. Raises Unreadable."""
        if self.what != MATERIALS:
            return ()
        return build_materials(files.read(self.path, self.data), lambda: self.desk.reference.properties)

    @property
    def last_read(self) -> Reviewed | None:
        """The review of this text, else of the last one that could be read."""
        return self.seen if self.seen.sheet is not None else self.earlier

    @property
    def sheet(self) -> Worksheet | None:
        """The worksheet of this text, else of the last one that could be read."""
        return self.last_read.sheet if self.last_read is not None else None

    @cached_property
    def book(self) -> MaterialBook:
        """The names of this file: the house's materials as far as they can be read, then the reference."""
        if self.sheet is not None:
            return self.sheet.book
        try:
            house = (*self.desk.reviewer.materials_beside(self.path), *self._described_here())
        except Unreadable:
            house = ()
        return MaterialBook(self.desk.reference, house)

    @property
    def house_names(self) -> list[str]:
        """The materials that the file describes, and files beside it."""
        own = [piece.text for piece in self.under("materials")]
        try:
            beside = [material.name for material in self.desk.reviewer.materials_beside(self.path)]
        except Unreadable:
            beside = []
        return list(dict.fromkeys((*own, *beside)))

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """Keys and single values. Of half-written text only YAML has any."""
        if self.what == OTHER:
            return ()
        if self.kind == "yaml":
            return sketch.pieces(self.text)
        try:
            return of_document(files.read(self.path, self.data, self.desk.reviewer.readers), self.positions)
        except Unreadable:
            return ()

    def piece_at(self, offset: int) -> Piece | None:
        """The key or value that a character belongs to, or that ends there."""
        return next((piece for piece in self.pieces if piece.start <= offset <= piece.end), None)

    def under(self, *path: str) -> list[Piece]:
        """The keys right below a path."""
        return [
            piece
            for piece in self.pieces
            if piece.role == "key" and len(piece.path) == len(path) + 1 and piece.path[: len(path)] == path
        ]

    @property
    def phases(self) -> list[Piece]:
        """The names of the phases."""
        return self.under("phases")

    @property
    def lines(self) -> list[Piece]:
        """The names of the materials in phases."""
        return [piece for piece in self.pieces if piece.role == "key" and is_line(piece.path)]

    def phase(self, name: str) -> Piece | None:
        return next((piece for piece in self.phases if fold(piece.text) == fold(name)), None)

    def verb(self, path: Path) -> str:
        """The verb of the step that a path leads into; "" where there is none yet."""
        return next((verb for piece in self.step(path) if (verb := verb_of(piece.text))), "")

    def step(self, path: Path) -> list[Piece]:
        """The keys of the step that a path leads into."""
        return [
            piece
            for piece in self.pieces
            if piece.role == "key" and len(piece.path) == 3 and piece.path[:2] == path[:2] == ("procedure", path[1])
        ]


def is_line(path: Path) -> bool:
    """Whether a path leads to a material in a phase."""
    return len(path) == 3 and path[0] == "phases"


def verb_of(word: str) -> str:
    """The verb that a key means, in our spelling; "" for any other key."""
    name = OTHER_SPELLINGS.get(word.strip().lower(), word.strip())
    return next((verb for verb in (name, name.lower()) if verb in VERBS), "")
