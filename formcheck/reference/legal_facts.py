"""What the legal tables answer with: limits, bans, allergens, colourants, monographs, guidance."""

from __future__ import annotations

from decimal import Decimal

from ..records import NamedTuple


class LabelWarning(NamedTuple):
    """A wording for the label, in our own words.

    above: percent, as the limit counts it, over which it is due; None where it always is. when: a condition in words.
    duty: "law" or "guidance".
    """

    code: str
    text: str
    above: Decimal | None = None
    when: str = ""
    duty: str = "law"


class Total(NamedTuple):
    """Substances that are counted together: the sum of all that carry this group may reach max_percent."""

    group: str
    max_percent: Decimal


class Limit(NamedTuple):
    """What one line of a list allows.

    table, entry: "V", "29". names: the substances of the line, INCI names first.
    max_percent, min_percent: % w/w of the finished product, counted as expressed_as (an INCI name, or words), or as the
    substance itself where that is empty; None where the law gives no number. permitted: False where the entry has no
    use that fits this product; max_percent is then 0. scope: the products it is for.
    purpose: "preservative", "not as preservative", "UV filter", "colourant", "hair dye", "pH adjuster" ...; one
    substance may have lines for several purposes (see legal.binding). totals: what is counted together.
    ph: bounds of the product's pH. basis: "on hair after mixing" or the like where it is not the product as sold.
    kind: why there is no number. applies_from: first day for new products, ISO date, "" where long in force.
    source_ids: ids in shared/sources.
    certain: False where the answer depends on something not stated. certainty: how sure the line itself is.
    """

    market: str
    table: str
    entry: str
    names: tuple[str, ...]
    max_percent: Decimal | None
    min_percent: Decimal | None
    expressed_as: str
    permitted: bool
    scope: str
    purpose: str
    totals: tuple[Total, ...]
    ph: tuple[Decimal | None, Decimal | None] | None
    not_under_3: bool
    not_inhaled: bool
    not_in_sprays: bool
    professional_only: bool
    warnings: tuple[LabelWarning, ...]
    releases_formaldehyde: bool
    condition: str
    basis: str
    kind: str
    applies_from: str
    source: str
    source_ids: tuple[str, ...]
    certain: bool
    certainty: str

    @property
    def id(self) -> str:
        """The entry, as "V/29"."""
        return f"{self.table}/{self.entry}"


class Ban(NamedTuple):
    """A substance that the product must not contain.

    scope: the products it is banned in, "" for all. conditional: banned only, or except, under condition; ordinary
    cosmetic grades of such materials are lawful. trace_percent: a trace that is tolerated. allowed_in: the uses that
    are left. certain: False where the product or the comparison of the markets leaves it open.
    """

    market: str
    table: str
    entry: str
    names: tuple[str, ...]
    scope: str
    conditional: bool
    condition: str
    trace_percent: Decimal | None
    allowed_in: str
    applies_from: str
    source: str
    source_ids: tuple[str, ...]
    certain: bool

    @property
    def id(self) -> str:
        """The entry, as "II/1339"."""
        return f"{self.table}/{self.entry}"


class Allergen(NamedTuple):
    """A fragrance material that the list of ingredients has to name above these percents of the product."""

    name: str
    declare_as: str
    cas: tuple[str, ...]
    leave_on_percent: Decimal
    rinse_off_percent: Decimal
    entry: str
    applies_from: str
    shelf_until: str
    source: str
    source_ids: tuple[str, ...]


class Colourant(NamedTuple):
    """How a colourant is allowed. permitted: in this product; None where that depends on something not stated.

    market_name: the name for the label. certified: batches need certification (United States).
    """

    market: str
    entry: str
    names: tuple[str, ...]
    market_name: str
    permitted: bool | None
    scope: str
    max_percent: Decimal | None
    certified: bool
    condition: str
    applies_from: str
    source: str
    source_ids: tuple[str, ...]
    certainty: str


class Monograph(NamedTuple):
    """An active ingredient of a United States OTC monograph: with such a claim, the product is a drug.

    kind: "sunscreen", "acne", "skin protectant", ... min_percent, max_percent: the range the monograph allows.
    """

    monograph: str
    kind: str
    active: str
    names: tuple[str, ...]
    min_percent: Decimal | None
    max_percent: Decimal | None
    condition: str
    applies_from: str
    source: str
    source_ids: tuple[str, ...]
    certainty: str


class Guidance(NamedTuple):
    """A published limit that is not law. min_pH: of the finished product. with_: what else it asks for."""

    subject: str
    about: str
    names: tuple[str, ...]
    cas: tuple[str, ...]
    max_percent: Decimal | None
    min_pH: Decimal | None
    with_: str
    used: bool
    note: str
    source_ids: tuple[str, ...]
    certain: bool
