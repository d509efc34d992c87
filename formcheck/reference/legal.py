"""Legal limits, bans and duties by market: what the law says of a substance in this product.

Substances are found by CAS number or by name (folded: case, hyphens and runs of spaces do not count), never by part
of a name. What depends on something that the formula does not state is given with certain=False. The tables stand
in shared/legal; they are facts for a first look, and the official text decides.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from ..formula.names import fold, listed
from ..lazy import cached_property
from .legal_claims import Claim, ClaimFound, find
from .legal_facts import Allergen, Ban, Colourant, Guidance, LabelWarning, Limit, Monograph, Total
from .legal_product import ProductLike, ProductWords
from .legal_rows import scope_words, unpacked

if TYPE_CHECKING:
    from .legal_build import Folder

__all__ = [
    "Allergen", "Ban", "Claim", "ClaimFound", "Colourant", "Guidance", "LabelWarning", "Legal", "Limit", "Monograph",
    "ProductLike", "Total", "binding", "build", "open_legal",
]  # fmt: skip

Line = Mapping[str, Any]
T = TypeVar("T")

MOST_PRODUCTS = 500
"""Kinds of product whose answers are kept; past them they are worked out anew."""


class Legal:
    """The look-up over the compiled tables (see build)."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        self._data = data
        self._words: dict[tuple[object, ...], ProductWords] = {}
        self._allergens: dict[str, dict[str, Allergen]] = {}
        self._claims: dict[str, tuple[Claim, ...]] = {}
        self._kept: dict[tuple[object, ...], Any] = {}

    # --- markets

    @cached_property
    def markets(self) -> tuple[str, ...]:
        """The markets with tables: "EU", "UK", "US", "CA"."""
        return tuple(self._data["markets"])

    def date(self, market: str) -> str:
        """What the tables of the market are true for, in one line for the report."""
        about = self._market(market)
        return f"{about['name']}: {about['date']}"

    def _market(self, market: str) -> Line:
        found: Line | None = self._data["markets"].get(market)
        if found is None:
            raise ValueError(f"no legal tables for the market «{market}»; known are {', '.join(self.markets)}")
        return found

    # --- limits

    def limits(self, market: str, names: Iterable[str], cas: Iterable[str], product: ProductLike) -> tuple[Limit, ...]:
        """Every limit that holds, or may hold, for a material with any of these names or CAS numbers.

        An entry that has no use for this product gives one Limit with permitted=False. Raises ValueError for a market
        without tables.
        """
        words = self.words(product)
        entries: dict[tuple[str, str], list[Line]] = {}
        for line in self._lines(market, "line", _keys(names, cas)):
            entries.setdefault((line["table"], line["entry"]), []).append(line)
        return tuple(limit for lines in entries.values() for limit in self._of_entry(market, lines, words))

    def _of_entry(self, market: str, lines: list[Line], words: ProductWords) -> Iterator[Limit]:
        answers = [_answer(line, words) for line in lines]
        if all(answer is False for answer in answers):
            if not any(line.get("outside") == "open" for line in lines):
                yield self._forbidden(market, lines)
            return
        for line, answer in zip(lines, answers):
            if answer is not False:
                yield self._limit(market, line, words, bool(answer) and "unsure" not in line)

    def _limit(self, market: str, line: Line, words: ProductWords, certain: bool) -> Limit:
        young = words.any_of(line.get("under_3_only", ()))
        return Limit(
            market=market,
            table=line["table"],
            entry=line["entry"],
            names=tuple(line["names"]),
            max_percent=_decimal(line.get("max_percent")),
            min_percent=_decimal(line.get("min_percent")),
            expressed_as=line.get("expressed_as", ""),
            permitted=True,
            scope=_scope(line),
            purpose=_purpose(line),
            totals=tuple(Total(group, Decimal(most)) for group, most in line.get("totals", ())),
            ph=_range(line.get("ph", "")),
            not_under_3="not_under_3" in line and not young,
            not_inhaled="not_inhaled" in line,
            not_in_sprays="not_in_sprays" in line,
            professional_only=line.get("user") == "professional",
            warnings=tuple(self._warnings(market, line, words)),
            releases_formaldehyde="releases_formaldehyde" in line,
            condition="; ".join(text for text in (line.get("condition"), line.get("unsure")) if text),
            basis=line.get("basis", ""),
            kind=line.get("kind", ""),
            applies_from=line.get("applies_from", ""),
            source=self._source(market, line),
            source_ids=tuple(line["from"]),
            certain=certain,
            certainty=line.get("certainty", "high"),
        )

    def _forbidden(self, market: str, lines: list[Line]) -> Limit:
        """No line of the entry fits: the substance may not be in this product at all."""
        empty = ProductWords({}, {}, _Nothing())
        first = self._limit(market, {**lines[0], "under_3_only": (), "warnings": ()}, empty, True)
        scopes = dict.fromkeys(_scope(line) for line in lines)
        purposes = {_purpose(line) for line in lines}
        return first._replace(
            names=tuple(dict.fromkeys(name for line in lines for name in line["names"])),
            purpose=purposes.pop() if len(purposes) == 1 else "",
            max_percent=Decimal(0),
            min_percent=None,
            permitted=False,
            scope="only " + "; ".join(scopes),
            totals=(),
            ph=None,
            condition="",
            basis="",
            kind="",
            not_under_3=False,
            not_inhaled=False,
            not_in_sprays=False,
            professional_only=False,
        )

    # --- bans

    def bans(self, market: str, names: Iterable[str], cas: Iterable[str], product: ProductLike) -> tuple[Ban, ...]:
        """Every ban that holds, or may hold, for a material with any of these names or CAS numbers.

        A ban with conditional=True leaves ordinary cosmetic grades alone. Where another entry allows the substance in
        this product there is no ban, only that entry's limit. Raises ValueError for a market without tables.
        """
        words = self.words(product)
        keys = _keys(names, cas)
        found = (self._ban(market, line, words, keys) for line in self._lines(market, "ban", keys))
        return tuple(ban for ban in found if ban is not None)

    def _ban(self, market: str, line: Line, words: ProductWords, keys: tuple[str, ...]) -> Ban | None:
        holds = _in_scope(line.get("scope", ""), words)
        allowed, allowed_in = self._allowed_otherwise(market, line.get("also_in", ""), words, keys)
        if holds is False or allowed is True:
            return None
        return Ban(
            market=market,
            table=line["table"],
            entry=line["entry"],
            names=tuple(line["names"]),
            scope=line.get("scope", ""),
            conditional="condition" in line,
            condition=line.get("condition", ""),
            trace_percent=_decimal(line.get("max_percent")),
            allowed_in=allowed_in,
            applies_from=line.get("applies_from", ""),
            source=self._source(market, line),
            source_ids=tuple(line["from"]),
            certain=bool(holds) and allowed is False and "unsure" not in line,
        )

    def _allowed_otherwise(
        self, market: str, entry: str, words: ProductWords, keys: tuple[str, ...]
    ) -> tuple[bool | None, str]:
        """Whether another entry allows the substance in this product, and where it does."""
        if not entry:
            return False, ""
        lines = [line for line in self._lines(market, "line", keys) if f"{line['table']}/{line['entry']}" == entry]
        answers = {_answer(line, words) for line in lines}
        scope = "; ".join(dict.fromkeys(_scope(line) for line in lines))
        return True if True in answers else None if None in answers else False, scope

    # --- allergens, colours, filters, monographs

    def allergens(self, market: str) -> Mapping[str, Allergen]:
        """Folded name -> fragrance allergen to be named. Group names and their members both lead to the entry."""
        if market not in self._allergens:
            self._market(market)
            self._allergens[market] = dict(self._allergen_names(market))
        return self._allergens[market]

    def allergen(self, market: str, names: Iterable[str], cas: Iterable[str]) -> Allergen | None:
        """The allergen that a material is: by name first, for some oils share a CAS number."""
        known = self.allergens(market)
        for name in names:
            if fold(name) in known:
                return known[fold(name)]
        wanted = set(cas)
        return next((entry for entry in known.values() if wanted & set(entry.cas)), None)

    def _allergen_names(self, market: str) -> Iterator[tuple[str, Allergen]]:
        about = self._market(market)
        if "allergens" not in about:
            return
        changes = self._data["allergen changes"].get(market, {})
        for number, row in enumerate(self._data["allergens"]):
            if changes.get(str(number), {}).get("what") == "absent":
                continue
            allergen = self._allergen(market, row, about.get("allergens from"))
            for name in row["names"]:
                yield fold(name), allergen._replace(name=name)

    def _allergen(self, market: str, row: Line, dates: Line | None) -> Allergen:
        since, ids = row.get("applies_from", ""), tuple(row["from"])
        if dates:
            since, ids = dates["new" if since else "old"], (dates["from"],)
        source = self._source(market, {"table": "III", "entry": row["entry"]}) if not dates else "Cosmetic Regulations"
        return Allergen(
            row["declare_as"],
            row["declare_as"],
            tuple(row.get("cas", ())),
            Decimal(row["leave_on"]),
            Decimal(row["rinse_off"]),
            row["entry"],
            since,
            row.get("shelf_until", "") if not dates else "",
            source,
            ids,
        )

    def colourant(
        self, market: str, names: Iterable[str], cas: Iterable[str], product: ProductLike | None = None
    ) -> tuple[Colourant, ...]:
        """How a colourant may be used in the market, and in the product where one is given.

        One number can cover several colours of the United States: it is in order where any of them is permitted.
        """
        keys = _keys(names, cas)
        words = self.words(product or _Nothing())
        if market == "US":
            return tuple(self._us_colour(row, words) for row in _hits(self._data["us colours"], keys))
        lines = (line for line in self._lines(market, "line", keys) if line["table"] == "IV")
        return tuple(self._eu_colour(market, line, words) for line in lines)

    def _eu_colour(self, market: str, line: Line, words: ProductWords) -> Colourant:
        return Colourant(
            market,
            line["entry"],
            tuple(line["names"]),
            line["names"][0],
            _answer(line, words),
            _scope(line),
            _decimal(line.get("max_percent")),
            False,
            line.get("condition", ""),
            line.get("applies_from", ""),
            self._source(market, line),
            tuple(line["from"]),
            line.get("certainty", "high"),
        )

    def _us_colour(self, row: Line, words: ProductWords) -> Colourant:
        fields = {"eye": "the eye area", "lips": "lips and general use", "external": "the outside of the body"}
        allowed = [text for key, text in fields.items() if row[key] == "yes"]
        return Colourant(
            "US",
            row["entry"],
            tuple(row["names"]),
            row["us_name"],
            _us_permitted(row, words),
            "for " + ", ".join(allowed) if allowed else "not allowed in cosmetics",
            _decimal(row.get("max_percent")),
            row["certified"] == "yes",
            row.get("condition", ""),
            "",
            row["entry"],
            tuple(row["from"]),
            row["certainty"],
        )

    def uv_filters(
        self, market: str, names: Iterable[str], cas: Iterable[str], product: ProductLike
    ) -> tuple[Limit, ...]:
        """The limits as UV filter. In the United States the monograph's maximum for sunscreens, which are drugs."""
        if market != "US":
            return tuple(limit for limit in self.limits(market, names, cas, product) if limit.purpose == "UV filter")
        self._market(market)
        rows = _hits(self._data["monographs"], _keys(names, cas))
        words = self.words(product)
        return tuple(self._sunscreen(row, words) for row in rows if row["kind"] == "sunscreen")

    def _sunscreen(self, row: Line, words: ProductWords) -> Limit:
        line = {
            "table": "OTC monograph",
            "entry": row["monograph"],
            "names": row["names"],
            "max_percent": row.get("max_percent"),
            "purpose": "UV filter",
            "warnings": ["us-sunscreen-drug"],
            "condition": row.get("condition", ""),
            "applies_from": row.get("applies_from", ""),
            "from": row["from"],
            "certainty": row["certainty"],
        }
        return self._limit("US", line, words, True)

    def monographs(self, market: str, names: Iterable[str], cas: Iterable[str]) -> tuple[Monograph, ...]:
        """The OTC monographs that list the material as an active; empty outside the United States."""
        self._market(market)
        if market != "US":
            return ()
        rows = _hits(self._data["monographs"], _keys(names, cas))
        return tuple(
            Monograph(
                row["monograph"],
                row["kind"],
                row["active"],
                tuple(row["names"]),
                _decimal(row.get("min_percent")),
                _decimal(row.get("max_percent")),
                row.get("condition", ""),
                row.get("applies_from", ""),
                f"OTC monograph {row['monograph']}",
                tuple(row["from"]),
                row["certainty"],
            )
            for row in rows
        )

    def label_name(self, market: str, name: str) -> str:
        """The name for the list of ingredients in the market, where it differs; else the name itself.

        A colour index number that covers several colours of the United States gives them all: "Red 6 or Red 7".
        """
        self._market(market)
        if market != "US":
            return name
        colours = _hits(self._data["us colours"], _keys([name], ()))
        if name.upper().startswith("CI ") and colours:
            return " or ".join(dict.fromkeys(colour["us_name"] for colour in colours))
        return str(self._data["us names"].get(fold(name), name))

    # --- words

    def claims(self, market: str) -> tuple[Claim, ...]:
        """The kinds of claim that the market reads as more than cosmetic, protection from the sun among them."""
        if market not in self._claims:
            self._claims[market] = self._claims_of(market)
        return self._claims[market]

    def _claims_of(self, market: str) -> tuple[Claim, ...]:
        self._market(market)
        return tuple(
            Claim(market, claim["kind"], claim["why"], "sun" in claim, claim["from"].get(market, "from-memory"), claim)
            for claim in self._data["claims"]["claims"]
            if market in claim["markets"]
        )

    def find_claims(self, market: str, text: str) -> tuple[ClaimFound, ...]:
        """Such claims in the words of a label."""
        return find(self.claims(market), self._data["claims"]["not after"], text)

    def product_warnings(self, market: str, product: ProductLike) -> tuple[LabelWarning, ...]:
        """Wording due because of the kind of product, whatever it contains; none where the kind is not to be told."""
        words = self.words(product)
        return self._once(("product warnings", market, words), lambda: self._product_warnings(market, words))

    def _product_warnings(self, market: str, words: ProductWords) -> tuple[LabelWarning, ...]:
        return tuple(
            LabelWarning(row["product"], row["text"], when=row["source"])
            for row in self._data["product warnings"]
            if row["market"] == market and words.answer(row["product"])
        )

    # --- guidance

    @property
    def guidance_subjects(self) -> tuple[str, ...]:
        """What there is published guidance on."""
        return tuple(self._data["guidance"]["guidance"])

    def guidance(self, subject: str, product: ProductLike) -> tuple[Guidance, ...]:
        """The published limits on a subject that fit the product. Raises KeyError for an unknown subject."""
        words = self.words(product)
        return self._once(("guidance", subject, words), lambda: self._guidance(subject, words))

    def guided_names(self, subject: str, product: ProductLike) -> frozenset[str]:
        """The folded names of what the published limits on a subject speak of in such a product."""
        levels = self.guidance(subject, product)
        names = ("guided names", subject, self.words(product))
        return self._once(names, lambda: frozenset(fold(name) for level in levels for name in level.names))

    def _guidance(self, subject: str, words: ProductWords) -> tuple[Guidance, ...]:
        about = self._data["guidance"]["guidance"][subject]
        found = []
        for level in about["levels"]:
            answer = words.fits(level.get("product", ()), level.get("not_product", ()))
            if answer is not False:
                found.append(_guidance(subject, about, level, bool(answer)))
        return tuple(found)

    def guidance_warnings(self, market: str, subject: str) -> tuple[LabelWarning, ...]:
        """The label wording that guidance asks for where a product contains substances of the subject."""
        return self._once(("wording", market, subject), lambda: self._guidance_warnings(market, subject))

    def _guidance_warnings(self, market: str, subject: str) -> tuple[LabelWarning, ...]:
        rows = self._data["guidance"]["wording"]
        return tuple(
            self._warning(market, row["warning"], subject)
            for row in rows
            if row["names of"] == subject and market in row["markets"]
        )

    # --- inside

    def _once(self, asked: tuple[object, ...], work: Callable[[], T]) -> T:
        """What work() gives, worked out once. asked: what is worked out, with all that it depends on beside the tables."""
        if asked not in self._kept:
            self._kept[asked] = work()
        found: T = self._kept[asked]
        return found

    def words(self, product: ProductLike) -> ProductWords:
        """The law's product words answered for a product, one object for all products that are stated alike."""
        key = (product.use, product.form, product.area, product.users)
        if key not in self._words:
            if len(self._words) >= MOST_PRODUCTS:
                self._words.clear()
                self._kept.clear()
            self._words[key] = ProductWords(self._data["types"], self._data["implied"], product)
        return self._words[key]

    def _lines(self, market: str, kind: str, keys: tuple[str, ...]) -> Iterator[Line]:
        """The lines found by any key, each once, as the market has them."""
        base = self._market(market).get("like", market)
        changes = self._data[f"{kind} changes"].get(market, {})
        for place in dict.fromkeys((base, market)):
            index = self._data.get(f"{kind} index {place}", {})
            for number in _numbers(index, keys):
                change = changes.get(str(number), {}) if place != market else {}
                if change.get("what") not in ("absent", "own"):
                    yield _changed(unpacked(self._data[f"{kind}s"][number]), change)

    def _source(self, market: str, line: Line) -> str:
        table, entry = line["table"], line["entry"].replace(";", " and ")
        if table in ("II", "III", "IV", "V", "VI"):
            return f"{self._market(market)['law']}, Annex {table}, entry {entry}"
        if table == "REACH XVII":
            return f"REACH, Regulation (EC) No 1907/2006, Annex XVII, entry {entry}"
        if table == "Hotlist":
            return f"Cosmetic Ingredient Hotlist, {entry}"
        return entry if entry.startswith(table) else f"{table} {entry}"

    def _warnings(self, market: str, line: Line, words: ProductWords) -> Iterator[LabelWarning]:
        """The wordings of a line but for those that are not meant for this kind of product."""
        for code in line.get("warnings", ()):
            excluded = self._data["warnings"][code.partition(":")[0]].get("not_product", ())
            if not words.any_of(excluded):
                yield self._warning(market, code, line["names"][0])

    def _warning(self, market: str, code: str, name: str) -> LabelWarning:
        code, _, above = code.partition(":")
        code = self._data["warning changes"].get(market, {}).get(code, code)
        row = self._data["warnings"][code]
        text = row["text"] if code != "contains-name" else f"contains {name}"
        return LabelWarning(
            code, text, _decimal(above or row.get("above")), row.get("when", ""), row.get("duty", "law")
        )


class _Nothing:
    """A product of which nothing is stated."""

    use: str | None = None
    form: str | None = None
    area: tuple[str, ...] = ()
    users: tuple[str, ...] = ()


def binding(limits: Iterable[Limit], purpose: str = "", on: str = "") -> tuple[Limit, ...]:
    """The limits that hold whatever is left unstated, for a material that is in the formula for a purpose.

    Of each entry the strictest certain line is kept; where no line is certain, the loosest, so that what passes it is
    over the limit in any case. Of entries for different purposes (a preservative's limit, and another entry for other
    uses) the loosest is kept, unless purpose names the one that counts. on: ISO date; lines that apply only later are
    left out. Lines without a number may come back for their other conditions.
    """
    entries: dict[tuple[str, str], list[Limit]] = {}
    for limit in limits:
        if not (on and limit.applies_from > on):
            entries.setdefault((limit.market, limit.id), []).append(limit)
    chosen = [_of_one_entry(group) for group in entries.values()]
    always = [limit for limit in chosen if not limit.purpose]
    others = [limit for limit in chosen if limit.purpose]
    if purpose and any(limit.purpose == purpose for limit in others):
        others = [limit for limit in others if limit.purpose == purpose]
    elif others:
        others = [max(others, key=_looseness)]
    return (*always, *others)


def _of_one_entry(limits: list[Limit]) -> Limit:
    certain = [limit for limit in limits if limit.certain]
    return min(certain, key=_looseness) if certain else max(limits, key=_looseness)


def _looseness(limit: Limit) -> Decimal:
    return limit.max_percent if limit.max_percent is not None else Decimal("Infinity")


def _keys(names: Iterable[str], cas: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*(fold(name) for name in names), *cas)))


def _hits(table: Mapping[str, Any], keys: tuple[str, ...]) -> list[Line]:
    numbers = dict.fromkeys(number for key in keys for number in table["index"].get(key, ()))
    return [table["rows"][number] for number in numbers]


def _numbers(index: Mapping[str, int | list[int]], keys: tuple[str, ...]) -> Iterable[int]:
    """The numbers of the lines that any key finds, each once."""
    found: dict[int, None] = {}
    for key in keys:
        numbers = index.get(key, ())
        found.update(dict.fromkeys((numbers,) if isinstance(numbers, int) else numbers))
    return found


def _changed(line: Line, change: Line) -> Line:
    """A line as another market has it: with its own date, or left open where the two were not compared."""
    if change.get("what") == "later":
        certainty = change.get("certainty", line.get("certainty", "high"))
        return {**line, "applies_from": change["applies_from"], "from": [change["from"]], "certainty": certainty}
    if change.get("what") == "unsure":
        return {**line, "unsure": change["why"]}
    return line


def _answer(line: Line, words: ProductWords) -> bool | None:
    """Whether a line is for this product and its users."""
    professional = {"professional": words.professional, "general": not words.professional}
    if not professional.get(line.get("user", ""), True):
        return False
    return words.fits(line.get("product", ()), line.get("not_product", ()))


def _in_scope(scope: str, words: ProductWords) -> bool | None:
    if not scope:
        return True
    inside = words.any_of(scope_words(scope))
    if scope.startswith("all except "):
        return None if inside is None else not inside
    return inside


def _us_permitted(row: Line, words: ProductWords) -> bool | None:
    if row["external"] != "yes":
        return False
    near_eye = words.answer("eye")
    if row["eye"] != "yes" and near_eye is not False:
        return None if near_eye is None else False
    mucous = words.any_of(("lip", "oral"))
    if row["lips"] != "yes" and mucous is not False:
        return None if mucous is None else False
    return True


def _purpose(line: Line) -> str:
    return str(line.get("purpose", "colourant" if line["table"] == "IV" else ""))


def _scope(line: Line) -> str:
    inside = listed(line.get("product", ()), "or") or "all products"
    outside = f", but not in {listed(line['not_product'], 'or')}" if line.get("not_product") else ""
    user = {"professional": ", professional use", "general": ", general use"}.get(line.get("user", ""), "")
    return inside + user + outside


def _decimal(text: str | None) -> Decimal | None:
    return Decimal(text) if text else None


def _range(text: str) -> tuple[Decimal | None, Decimal | None] | None:
    """`7-9.5`, `-11` or `6-`."""
    if not text:
        return None
    low, _, high = text.partition("-")
    return _decimal(low), _decimal(high)


def _guidance(subject: str, about: Line, level: Line, certain: bool) -> Guidance:
    return Guidance(
        subject,
        level["about"],
        tuple(level.get("names", about["names"])),
        () if "names" in level else tuple(about["cas"]),
        _decimal(level.get("max_percent")),
        _decimal(level.get("min_pH")),
        level.get("with", ""),
        level.get("used") != "no",
        level.get("note", ""),
        (level["from"],),
        certain,
    )


def build(sources: Folder) -> dict[str, Any]:
    """The tables in shared/legal as JSON-able data for Legal.

    Raises LegalDataError where they contradict themselves, FileNotFoundError where one is missing.
    """
    from .legal_build import build as compile_tables

    return compile_tables(sources)


def open_legal() -> Legal:
    """The tables of shared/legal, compiled once into the user's cache."""
    from .kept import kept
    from .store import shared_folder

    folder = os.path.join(shared_folder(), "legal")
    files = sorted(os.path.join(folder, name) for name in os.listdir(folder) if name.endswith((".yaml", ".csv")))
    return Legal(kept("legal", files, lambda: _compiled(folder)))


def _compiled(folder: str) -> bytes:
    from pathlib import Path

    from .tables import written

    return written(build(Path(folder)))
