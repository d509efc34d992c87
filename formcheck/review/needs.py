"""What a rule may need from a formula, how to tell whether it is there, and what to say where it is not."""

from __future__ import annotations

from collections.abc import Callable

from ..bench.worksheet import Worksheet
from ..records import NamedTuple


class Need(NamedTuple):
    """there: whether the formula has it; ask: what to add, as the review says it."""

    there: Callable[[Worksheet], bool]
    ask: str


NEEDS: dict[str, Need] = {
    "procedure": Need(lambda sheet: bool(sheet.formula.procedure), "the procedure: add «procedure:» with its steps"),
    "pH": Need(lambda sheet: sheet.pH is not None, "the finished pH: add «finished: {pH: ...}»"),
    "packaging": Need(
        lambda sheet: sheet.formula.packaging is not None,
        "the pack: add «packaging: {container: ..., material: ..., wall: ...}»",
    ),
    "container": Need(
        lambda sheet: bool(sheet.formula.packaging and sheet.formula.packaging.container),
        "the container: add «packaging: {container: ...}»",
    ),
    "wall": Need(
        lambda sheet: bool(sheet.formula.packaging and sheet.formula.packaging.wall),
        "whether the pack lets light in: add «packaging: {wall: ...}»",
    ),
    "pack material": Need(
        lambda sheet: bool(sheet.formula.packaging and sheet.formula.packaging.material),
        "what the pack is made of: add «packaging: {material: ...}»",
    ),
    "batch size": Need(
        lambda sheet: sheet.formula.batch.size_g is not None, "the batch size: add «batch: {size: ... g}»"
    ),
    "balance": Need(
        lambda sheet: sheet.formula.batch.balance_g is not None,
        "the balance's smallest step: add «batch: {balance: ... g}»",
    ),
    "use": Need(lambda sheet: sheet.product.use is not None, "leave-on or rinse-off: add «product: {use: ...}»"),
    "form": Need(lambda sheet: sheet.product.form is not None, "the form of the product: add «product: {form: ...}»"),
    "area": Need(lambda sheet: bool(sheet.product.area), "where it is used: add «product: {area: [...]}»"),
    "users": Need(lambda sheet: bool(sheet.product.users), "who uses it: add «product: {users: [...]}»"),
    "claims": Need(lambda sheet: bool(sheet.formula.claims), "what the label says: add «claims: [...]»"),
    "total": Need(
        lambda sheet: sheet.composition.remainder is not None or all(i.percent is not None for i in sheet.items),
        "percents that can be worked out: at most one line is q.s.",
    ),
}


def missing(name: str, sheet: Worksheet) -> str | None:
    """What to add so that the need is met; None where it is."""
    need = NEEDS[name]
    return None if need.there(sheet) else need.ask
