"""Wording that has to stand on the label: because of what is in the product, or because of what kind of product it is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..formula.names import fold
from ..records import NamedTuple
from ..reference.legal import LabelWarning
from . import law
from .composition import Component

if TYPE_CHECKING:
    from .worksheet import Worksheet

THE_PRODUCT = "this kind of product"
_PEELING = "alpha-hydroxy acid"
_STAYS = ("mask", "peel")
_DISSOLVED = ("bath", "toothpaste", "mouthwash")


class Wording(NamedTuple):
    """A wording that is due.

    text: the gist, in our own words; when: a condition in words, "" for always; duty: law or guidance; cause: the
    substance, or THE_PRODUCT; source: the entry or section, "" where guidance asks for it.
    """

    text: str
    when: str
    duty: str
    cause: str
    source: str

    @property
    def shown(self) -> str:
        """The gist with its condition."""
        if self.cause == THE_PRODUCT:
            return self.text
        return f"«{self.text}»" + (f" (when {self.when})" if self.when else "")


def due(sheet: Worksheet, market: str) -> list[Wording]:
    """What the label in a market has to say, each gist once, in the order of the formula; the product's own last."""
    found: dict[str, Wording] = {}
    for each in (*_by_substance(sheet, market), *_by_guidance(sheet, market), *_by_product(sheet, market)):
        found.setdefault(each.shown, each)
    return list(found.values())


def _by_substance(sheet: Worksheet, market: str) -> Iterator[Wording]:
    for held in law.limits_of_all(sheet, market):
        if not held.limit.certain or not held.limit.permitted:
            continue
        for warning in held.limit.warnings:
            if warning.above is None or (held.counted or held.component.percent) > warning.above:
                yield _wording(warning, held.component, held.limit.source)


def _by_guidance(sheet: Worksheet, market: str) -> Iterator[Wording]:
    for subject in sheet.legal.guidance_subjects:
        warnings = sheet.legal.guidance_warnings(market, subject)
        if not warnings:
            continue
        names = sheet.legal.guided_names(subject, sheet.product)
        meant = [c for c in sheet.components if fold(c.name) in names]
        if not meant:
            continue
        acids = _exfoliating(sheet, meant)
        cause = next((c for c in meant if c in acids or (not c.material.is_a(_PEELING) and c.percent >= 1)), None)
        if cause is not None:
            yield from (_wording(warning, cause, "") for warning in warnings)


def _by_product(sheet: Worksheet, market: str) -> Iterator[Wording]:
    if sheet.product.form is not None:
        for warning in sheet.legal.product_warnings(market, sheet.product):
            yield Wording(warning.text, "", warning.duty, THE_PRODUCT, warning.when)


def _exfoliating(sheet: Worksheet, among: list[Component]) -> list[Component]:
    """Free alpha-hydroxy acids, where there is enough of them on the skin at a pH known to be low enough to peel it.

    Their salts moisten, and what is rinsed off in a bath or at once peels nothing.
    """
    product = sheet.product
    stays = product.form in _STAYS or (product.use == "leave-on" and product.form not in _DISSOLVED)
    if not stays or sheet.pH is None or sheet.pH > sheet.limit("pH up to which an alpha-hydroxy acid exfoliates"):
        return []
    acids = [c for c in among if c.material.is_a(_PEELING) and not c.material.is_a("electrolyte")]
    enough = sheet.limit("share of an alpha-hydroxy acid that asks for its wording")
    return acids if sum(c.amount for c in acids) > enough else []


def _wording(warning: LabelWarning, cause: Component, source: str) -> Wording:
    return Wording(warning.text, warning.when, warning.duty, cause.name, source)
