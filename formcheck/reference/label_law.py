"""What the label of a product has to carry in a market, and how its list of ingredients is made: shared/legal/label.yaml.

Read when a label is asked for; a review does without it.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any

from ..reading.document import plain
from ..reading.yaml_reader import read_yaml
from ..records import NamedTuple
from .store import shared_folder


class Duty(NamedTuple):
    """Something the label has to say.

    what: in our own words; where: the section, "" for none; given_by: the part of the formula file that says it, "" for
    none; forms: the forms of product it is for, () for all; source: id of the work.
    """

    what: str
    where: str
    given_by: str
    forms: tuple[str, ...]
    source: str


class LabelLaw(NamedTuple):
    """The rules of one market.

    heading: the word before the list. by_weight_from: % w/w from which the order is by weight. nano: whether nano
    materials are marked. perfume, flavour: the words for these. notes, duties, keeps: see label.yaml.
    """

    market: str
    law: str
    heading: str
    by_weight_from: Decimal
    nano: bool
    perfume: str
    flavour: str
    notes: tuple[str, ...]
    duties: tuple[Duty, ...]
    keeps: tuple[Duty, ...]
    source: str


@lru_cache(maxsize=1)
def markets() -> Mapping[str, LabelLaw]:
    """The markets whose labels are described. Raises OSError where the file is missing."""
    with open(os.path.join(shared_folder(), "legal", "label.yaml"), encoding="utf-8") as file:
        data: Any = plain(read_yaml(file.read()))  # type: ignore[arg-type]
    entries = data["markets"]
    return {market: _law(market, _with_base(entry, entries)) for market, entry in entries.items()}


def _with_base(entry: dict[str, Any], entries: dict[str, Any]) -> dict[str, Any]:
    base = entries[entry["like"]] if "like" in entry else {}
    parts = ("list", "notes", "duties", "keeps")
    return {"law": entry["law"], **{part: {**base.get(part, {}), **entry.get(part, {})} for part in parts}}


def _law(market: str, entry: dict[str, Any]) -> LabelLaw:
    about = entry["list"]
    return LabelLaw(
        market,
        entry["law"],
        about["heading"],
        Decimal(about["ordered down to"]),
        about["nano"] == "yes",
        about["perfume"],
        about["flavour"],
        tuple(entry["notes"].values()),
        tuple(_duty(each) for each in entry["duties"].values()),
        tuple(_duty(each) for each in entry["keeps"].values()),
        about["from"],
    )


def _duty(entry: dict[str, Any]) -> Duty:
    return Duty(entry["what"], entry["where"], entry.get("given by", ""), tuple(entry.get("form", ())), entry["from"])
