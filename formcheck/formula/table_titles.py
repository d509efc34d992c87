"""What stands above a table: the product's name, code, version, pH and batch, in one cell or in two."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from ..reading.tables import Cell
from . import table_words as words
from .table_rows import Aside

_WORDS = {
    "name": "name product produkt produktname produit producto formula formulation rezeptur rezept formel formule formulacion "
    "titel title titre titulo nombre nom",
    "code": "code codigo ref reference referenz referencia artikelnummer rezeptnummer",
    "version": "version rev revision",
    "batch": "batch ansatz ansatzgrosse chargengrosse lot lote size grosse menge charge taille tamano",
    "pH": "ph ph-wert",
}
_TITLES = {title: frozenset(text.split()) for title, text in _WORDS.items()}
_FILLING = "nr no n of der des de du del la le el in g kg target final soll ziel endprodukt wert value valeur valor cible objetivo"
_COMPANY = frozenset(_FILLING.split())

_PH = re.compile(r"[0-9]{1,2}(?:[.,][0-9]+)?(?:\s*(?:±|-|–|to|bis|à|a)\s*[0-9]{1,2}(?:[.,][0-9]+)?)?")


class Titles:
    """texts: name, code, version and pH as written, those that stand there; asides: cells that say something else."""

    def __init__(self, rows: Iterable[tuple[Cell, ...]]) -> None:
        self.texts: dict[str, str] = {}
        self.batch_g: Decimal | None = None
        self.asides: list[Aside] = []
        for row in rows:
            rest = self.without_pairs([cell for cell in row if cell.text])
            alone = [cell for cell in rest if ":" not in cell.text]
            if alone == rest[:1] and alone and alone[0].number is None and "name" not in self.texts:
                self.texts["name"] = " ".join(rest.pop(0).text.split())
            self.asides.extend(Aside(cell.reference, cell.text) for cell in rest)
            self.asides.extend(Aside(cell.reference, f"comment: {cell.note}") for cell in row if cell.note)

    def without_pairs(self, cells: list[Cell]) -> list[Cell]:
        """Takes every «Code: HG-03», in one cell or in two; the cells that are no part of one."""
        rest = []
        while cells:
            cell, *cells = cells
            key, _, value = cell.text.partition(":")
            if value.strip():
                taken = self.is_pair(key, value, None)
            else:
                taken = bool(cells) and self.is_pair(key, cells[0].text, cells[0].number)
                cells = cells[1:] if taken else cells
            if not taken:
                rest.append(cell)
        return rest

    def is_pair(self, key: str, value: str, number: Decimal | None) -> bool:
        said = words.tokens(key)
        for title, own in _TITLES.items():
            if value.strip() and said & own and said <= own | _COMPANY and title not in self.texts:
                return self.took(title, key, value.strip(), number)
        return False

    def took(self, title: str, key: str, value: str, number: Decimal | None) -> bool:
        if title == "batch":
            said = words.Amount(number) if number is not None else words.amount(value, "," in value)
            unit = words.grams_in(said.unit) if said.unit else words.unit_of(key)
            if not said.value or said.value <= 0 or unit is None:
                return False
            self.batch_g = said.value * unit
        elif title == "pH":
            if not _PH.fullmatch(value):
                return False
            value = re.sub(r"\s*(?:-|–|bis|à|a)\s*", " to ", value.replace(",", "."))
        self.texts[title] = " ".join(value.split())
        return True
