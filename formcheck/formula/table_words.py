"""The words of formula tables in English, German, French and Spanish: headings, totals, phases, q.s. and amounts."""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal

from ..records import NamedTuple
from .units import MASSES

PHASE, INGREDIENT, INCI, PERCENT, GRAMS, LOT, NOTE, OTHER = (
    "phase", "ingredient", "INCI", "percent", "grams", "lot", "note", "other",
)  # fmt: skip
MEANINGS = (PHASE, INGREDIENT, INCI, PERCENT, GRAMS, LOT, NOTE)
AMOUNT = "amount"
"""A heading that says how much and not in what; the figures decide."""


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_PHASE = _words("phase phases phasen fase fases part parts teil teile partie parties parte partes")
_NUMBERING = _words("no nr n num number nummer numero pos position # id item")
_INGREDIENT = _words(
    "ingredient ingredients raw material materials substance substances component components constituent constituents name "
    "rohstoff rohstoffe zutat zutaten inhaltsstoff inhaltsstoffe bestandteil bestandteile substanz substanzen stoff stoffe "
    "komponente komponenten bezeichnung handelsname rohstoffname matiere matieres composant composants constituant nom "
    "ingrediente ingredientes materia materias componente componentes sustancia sustancias nombre"
)
_PERCENT = _words(
    "% percent percentage prozent pourcentage porcentaje pct w/w m/m p/p wt% gew% gewichtsprozent massenprozent"
)
_SHARE = _words("anteil konzentration concentration concentracion teneur level share proportion")
_AMOUNT = _words("amount quantity qty menge quantite qte cantidad cant dosage dosierung dosis dose")
_MASS = _words("weight mass masse gewicht einwaage poids pesee peso masa")
_UNITS = {
    **dict.fromkeys(_words("g gr gram grams gramm gramme grammes gramo gramos"), Decimal(1)),
    **{unit: MASSES[unit] for unit in ("kg", "mg", "lb", "oz")},
    "lbs": MASSES["lb"],
}
_LOT = _words("lot lots lote lotes charge chargen chargennummer batch")
_NOTE = _words(
    "note notes remark remarks comment comments bemerkung bemerkungen anmerkung anmerkungen hinweis hinweise kommentar "
    "remarque remarques commentaire commentaires observation observations observacion observaciones nota notas comentario "
    "comentarios notiz notizen"
)
_ASIDE = _words(
    "max maximum maximal min minimum minimal recommended usual limit limits empfohlen empfehlung grenzwert recommande "
    "recomendado usage range active aktiv aktivgehalt wirkstoff wirkstoffgehalt actif activo purity reinheit purete pureza "
    "solids cumulative kumuliert price preis prix precio cost costs kosten cout coste eur usd gbp € $ £ ml l g/l g/ml mg/ml mg/kg g/kg density dichte "
    "densite densidad ph hlb temperature temperatur function funktion fonction funcion supplier lieferant fournisseur "
    "proveedor cas ec stock bestand"
)
"""Beside one of these a word for an amount or a name speaks of something else."""
_TOTAL = _words(
    "total totals sum summe gesamt gesamtsumme insgesamt somme suma totale subtotal zwischensumme teilsumme sous-total sub-total"
)
_TOTAL_COMPANY = _words(
    "% g kg mg oz lb w/w in en general gesamt phase fase teil part partie parte sum summe total formula batch a b c d e f g h"
)
_REMAINDER = re.compile(
    r"(?:(?:q\.? ?s\.?(?: ?p\.?)?|c\.? ?s\.? ?p\.?|c\.? ?b\.? ?p\.?|ad|add|to|up to|make up to|bis|auf|hasta|"
    r"rest|reste|resto|restmenge|balance|remainder|aufzufüllen|auffüllen)"
    r"[ .]*(?:(?:to|ad|auf|pour|para|for|a|à)\b)?)[ .]*(?P<to>[0-9][0-9.,]*)?\s*(?P<unit>%|g|kg|ml)?",
    re.I,
)
_NEEDED = re.compile(r"q\.? ?s\.?(?: ?p\.?)?|c\.? ?s\.? ?p\.?", re.I)
_NUMBER = re.compile(
    r"(?P<sign>[-+−]?)\s*(?P<digits>[0-9][0-9.,'’\u00a0\u202f ]*|[.,][0-9]+)\s*(?P<unit>%|[A-Za-z]{1,5}\.?)?"
)
_PHASE_HEAD = re.compile(
    r"(?:phasen?|fases?|teil|part|partie|parte)\s+(?P<letter>[A-Z]?[0-9]{0,2}|[IVX]{1,4})(?=$|[\s:.,;()\-–—])"
    r"[\s:.,;\-–—]*(?P<rest>.*)",
    re.I,
)
_LETTER_HEAD = re.compile(r"(?P<letter>[A-Z][0-9]?)\s*(?:[:.)\-–—]\s*(?P<rest>.*))?")
_NAMED_PHASE = re.compile(r".*(?:phase\b|\bfase\b|\bcool[- ]?down\b|abkühlphase).*", re.I)


class Amount(NamedTuple):
    """What a cell says of an amount.

    value: the number; remainder: q.s., as much as is missing; to: what the whole is to be, where it says so; needed: a
    bare q.s., which may also mean as much as it takes; unit: as written; why: why it could not be understood.
    """

    value: Decimal | None = None
    remainder: bool = False
    to: Decimal | None = None
    needed: bool = False
    unit: str = ""
    why: str = ""


def plain(text: str) -> str:
    """Lower case, without accents and brackets, single spaces; the % sign stands by itself."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(character for character in decomposed if not unicodedata.combining(character))
    bare = re.sub(r"\bw ?/ ?w\b", " w/w ", bare.replace("gew.-%", " gew% ").replace("wt.-%", " wt% "))
    bare = re.sub(r"\bm ?/ ?m\b", " m/m ", re.sub(r"\bg ?/ ?100 ?g\b", " % ", bare))
    bare = re.sub(r"\bp ?/ ?p\b", " p/p ", bare)
    bare = re.sub(r"[()\[\]{}:;,.\"'’_\n\r\t*]|(?<![a-z])[-–/](?![a-z])", " ", bare)
    return " ".join(re.sub(r"(?<!gew)(?<!wt)%", " % ", bare).split())


def tokens(text: str) -> frozenset[str]:
    """The words of a text, plain."""
    return frozenset(plain(text).split())


def meaning_of(heading: str) -> str:
    """What a column with this heading holds: one of MEANINGS, AMOUNT, OTHER; "" for a heading without words."""
    words = tokens(heading)
    if not words:
        return ""
    for meaning, fits in (
        (INCI, "inci" in words),
        (OTHER, bool(words & _ASIDE)),
        (PHASE, bool(words & _PHASE) and words <= _PHASE | _NUMBERING),
        (PERCENT, bool(words & _PERCENT)),
        (GRAMS, bool(words & (_UNITS.keys() | _MASS))),
        (PERCENT, bool(words & _SHARE)),
        (AMOUNT, bool(words & _AMOUNT)),
        (NOTE, bool(words & _NOTE)),
        (LOT, bool(words & _LOT)),
        (INGREDIENT, bool(words & _INGREDIENT)),
    ):
        if fits:
            return meaning
    return OTHER


def is_numbering(heading: str) -> bool:
    """Whether a heading only numbers the rows."""
    words = tokens(heading)
    return bool(words) and words <= _NUMBERING


def unit_of(text: str) -> Decimal:
    """Grams in one of the unit that a heading names; 1 where it names none."""
    return next((factor for unit, factor in _UNITS.items() if unit in tokens(text)), Decimal(1))


def is_total(text: str) -> bool:
    """Whether a row that begins with this text sums others up."""
    words = plain(text).split()
    return bool(words) and bool(_TOTAL & set(words[:2])) and set(words) <= _TOTAL | _TOTAL_COMPANY


def is_subtotal(text: str) -> bool:
    """Whether a row that sums up does so for one phase only."""
    words = set(plain(text).split())
    return bool(words & (_PHASE | _words("subtotal zwischensumme teilsumme sous-total sub-total")))


def phase_heading(text: str) -> tuple[str, str] | None:
    """The phase that a heading names, and what else it says: «Phase B - water» is B and water. None for no heading."""
    text = " ".join(text.split())
    match = _PHASE_HEAD.fullmatch(text)
    if match and match.group("letter"):
        return match.group("letter").upper(), match.group("rest").strip()
    match = _LETTER_HEAD.fullmatch(text)
    if match:
        return match.group("letter"), (match.group("rest") or "").strip()
    return (text, "") if _NAMED_PHASE.fullmatch(text) and len(text) <= 60 else None


def phase_name(text: str) -> tuple[str, str]:
    """The phase in a cell of the phase column, and what else the cell says."""
    return phase_heading(text) or (" ".join(text.split()), "")


def amount(text: str, comma: bool, most: Decimal | None = None) -> Amount:
    """What a text says of an amount; comma: numbers of this table have a decimal comma.

    most: an amount over it is read with the other mark, if that brings it below: 1.234 % are no 1234 %.
    """
    shown = " ".join(text.split())
    match = _REMAINDER.fullmatch(shown)
    if match:
        to = number(match.group("to"), comma) if match.group("to") else None
        needed = _NEEDED.fullmatch(shown) is not None
        return Amount(remainder=True, to=to, needed=needed, unit=match.group("unit") or "")
    match = _NUMBER.fullmatch(shown)
    value = number(match.group("digits"), comma) if match else None
    if match is None or value is None:
        return Amount(why=_why(shown))
    if most is not None and value > most:
        other = number(match.group("digits"), not comma)
        value = other if other is not None and other <= most else value
    return Amount(-value if match.group("sign") in ("-", "−") else value, unit=match.group("unit") or "")


def number(text: str, comma: bool) -> Decimal | None:
    """A number as written; comma: the comma marks decimals and the point thousands, else the other way round."""
    digits = re.sub(r"['’\u00a0\u202f ]", "", text)
    point, other = (",", ".") if comma else (".", ",")
    if other in digits and point not in digits and digits.count(other) == 1:
        tail = digits.partition(other)[2]
        if len(tail) != 3 or digits.startswith("0"):
            point, other = other, point  # 4.5 in a table of commas: no thousands look like that
    whole, _, decimals = digits.partition(point)
    groups = whole.split(other)
    if other in decimals or point in decimals or any(len(group) != 3 for group in groups[1:]):
        return None
    plain_digits = "".join(groups) + ("." + decimals if decimals else "")
    return Decimal(plain_digits) if re.fullmatch(r"[0-9]*\.?[0-9]+", plain_digits) else None


def has_comma(text: str) -> bool | None:
    """Whether a number is written with a decimal comma; None where it does not tell."""
    match = _NUMBER.fullmatch(" ".join(text.split()))
    digits = match.group("digits") if match else ""
    if "," in digits and "." in digits:
        return digits.rindex(",") > digits.rindex(".")
    for mark, answer in ((",", True), (".", False)):
        tail = digits.partition(mark)[2]
        if digits.count(mark) == 1 and (len(tail) != 3 or digits.startswith("0")):
            return answer
    return None


def grams_in(unit: str) -> Decimal | None:
    """Grams in one of a unit; None for no unit of mass."""
    return _UNITS.get(unit.casefold().rstrip("."))


def _why(text: str) -> str:
    if re.search(r"[0-9]\s*(?:-|–|to|bis|à|a)\s*[0-9]", text):
        return "a range, where one amount is needed"
    if re.match(r"[<>≤≥~≈]|ca\b|approx|about|env\b|aprox", text, re.I):
        return "no definite amount"
    return "no amount"
