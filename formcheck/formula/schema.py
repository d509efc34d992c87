"""The JSON Schema (draft 2020-12) of the formula file, with a description on every property for editors to show.

Made from the vocabulary and the properties of materials; the copy in formula.schema.json is kept current by a test.
The builder reads files without it: a schema cannot say where, or what was meant.
"""

from __future__ import annotations

from typing import Any

from . import vocabulary
from .properties import Properties
from .units import ROOM_CELSIUS

IDENTIFIER = "https://formcheck.invalid/formula-1.schema.json"
"""A name, not an address: nothing is ever fetched."""

_PERCENT_TEXT = r"^\s*[-+]?[0-9]*\.?[0-9]+\s*%?\s*$"
_REMAINDER = r"^\s*[qQ]\.?\s?[sS]\.?\s*$"
_TEMPERATURE = r"^\s*([-+]?[0-9]*\.?[0-9]+\s*(°|º|deg)?\s*[CFKcfk]|[Rr]oom( temperature)?)\s*$"
_DURATION = r"^\s*[0-9]*\.?[0-9]+\s*(s|sec|seconds?|min|mins|minutes?|h|hr|hours?|d|days?)\s*$"
_MASS = r"^\s*[0-9]*\.?[0-9]+\s*(mg|g|grams?|kg|oz|lb)\s*$"
_GRAMS = r"^\s*[0-9]*\.?[0-9]+\s*(mg|g|grams?|kg|oz|lb)?\s*$"
_VOLUME = r"^\s*[0-9]*\.?[0-9]+\s*(ml|cl|dl|l|mL|L)\s*$"


def schema(properties: Properties) -> dict[str, Any]:
    """The schema as plain data."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": IDENTIFIER,
        "title": "formcheck formula file, format 1",
        "description": "One skincare formula: what is in it, how it is made, what it is for.",
        "type": "object",
        "required": ["formcheck", "name", "phases"],
        "additionalProperties": False,
        "properties": {
            "formcheck": {"description": "Version of this file format.", "enum": [1, "1"]},
            "name": _text("What the product is called."),
            "code": _scalar("The maker's own code."),
            "version": _scalar("The maker's version of this formula."),
            "note": _text("Anything the writer wants to keep beside the formula."),
            "product": _object("What it is and who it is for.", _product()),
            "batch": _object("How much is made at a time.", _batch()),
            "room": _pattern(f"Temperature of the room; {ROOM_CELSIUS:g} °C where it is left out.", _TEMPERATURE),
            "phases": {
                "description": "The vessels, each with its materials and their percents.",
                "type": "object",
                "minProperties": 1,
                "additionalProperties": {
                    "description": "One vessel; the letter is its name.",
                    "type": "object",
                    "additionalProperties": _line(),
                },
            },
            "materials": {
                "description": "Raw materials that the reference does not know, or whose supplier's sheet differs.",
                "type": "object",
                "additionalProperties": _material(properties),
            },
            "procedure": {
                "description": "The steps, read top to bottom: each a verb with its object and conditions.",
                "type": "array",
                "items": {"anyOf": [_step(name, verb) for name, verb in vocabulary.VERBS.items()]},
            },
            "finished": _object("What the finished product is meant to be.", _finished()),
            "packaging": _object("The pack.", _packaging()),
            "claims": _texts("What the label says, one claim a line."),
            "deviations": {
                "description": "Findings accepted on purpose; a reason is required.",
                "type": "array",
                "items": {**_object("One accepted finding.", _deviation()), "required": ["rule", "reason"]},
            },
        },
    }


def _product() -> dict[str, Any]:
    return {
        "use": {"description": "Left on the skin or rinsed off.", "enum": list(vocabulary.USES)},
        "form": {
            "description": "Kind of product.",
            "anyOf": [{"enum": list(vocabulary.FORMS)}, {"type": "string"}],
        },
        "area": _words("Where it is used.", vocabulary.AREAS, closed=False),
        "users": _words("Who uses it.", vocabulary.USERS, closed=True),
        "markets": _words("Whose legal limits apply; EU where it is left out.", ("EU", "UK", "US", "CA"), closed=False),
    }


def _batch() -> dict[str, Any]:
    return {
        "size": _pattern("Mass of one batch, such as 200 g.", _MASS),
        "balance": _pattern("The smallest step the balance shows, such as 0.01 g.", _MASS),
    }


def _finished() -> dict[str, Any]:
    return {
        "pH": {**_ph(), "description": "Finished pH: 5.5, 5.5 ± 0.3, 5.2 to 5.8 or [5.2, 5.8]."},
        "measured pH": {**_ph(), "description": "What the meter showed."},
    }


def _deviation() -> dict[str, Any]:
    return {
        "rule": _text("The rule whose finding is accepted."),
        "of": _text("The material it is accepted for; all of them where it is left out."),
        "reason": _text("Why it is accepted."),
        "accepted by": _text("Who accepted it."),
        "until": _pattern("The last day on which it holds, such as 2027-03-31.", r"^\d{4}-\d{2}-\d{2}$"),
    }


def _packaging() -> dict[str, Any]:
    return {
        "container": _text(
            "bottle, dropper bottle, airless bottle, pump bottle, tube, jar, spray bottle, tin, bag, ..."
        ),
        "material": _text("What it is made of: glass, PET, PP, HDPE, LDPE, PETG, PMMA, PS, aluminium, tin, ..."),
        "wall": {"description": "Whether light gets in.", "enum": list(vocabulary.WALLS)},
        "carton": {"description": "Sold in an outer carton.", "enum": ["yes", "no", True, False]},
        "size": _pattern("Contents of one pack, such as 50 ml.", _VOLUME),
    }


def _line() -> dict[str, Any]:
    percent = {
        "description": "% w/w of the whole formula, or q.s. for the one line that takes what is left.",
        "anyOf": [
            {"type": "number"},
            {"type": "string", "pattern": _PERCENT_TEXT},
            {"type": "string", "pattern": _REMAINDER},
        ],
    }
    detail = _object(
        "A line with more than its percent.",
        {
            "percent": percent,
            "grams": {"description": "Weight for the batch size.", "anyOf": [{"type": "number"}, _pattern("", _GRAMS)]},
            "lot": _scalar("Lot of the raw material."),
            "note": _text("A word on this line."),
        },
    )
    return {"description": percent["description"], "anyOf": [*percent["anyOf"], {**detail, "required": ["percent"]}]}


def _material(properties: Properties) -> dict[str, Any]:
    known = {name: {"description": _described(p.about, p.unit, p.words)} for name, p in properties.items()}
    return {
        "description": "One raw material: what it contains and any property the reference also holds.",
        "anyOf": [
            {"type": "null"},
            _object("Its properties.", {**known, "note": {"description": "A word on this material."}}),
        ],
    }


def _described(about: str, unit: str, words: tuple[str, ...]) -> str:
    tail = f" Unit: {unit}." if unit else ""
    return about + tail + (f" One of: {', '.join(words)}." if words else "")


def _step(name: str, verb: vocabulary.Verb) -> dict[str, Any]:
    spellings = [name, *(other for other, meant in vocabulary.OTHER_SPELLINGS.items() if meant == name)]
    objects = _texts(f"What is meant: {verb.object}.")
    conditions = {key: _condition(name, key) for key in verb.keys}
    return {
        **_object(
            f"The step «{name}».",
            {**{word: objects for word in spellings}, **conditions, "note": _text("A word on this step.")},
        ),
        "anyOf": [{"required": [word]} for word in spellings],
    }


def _condition(verb: str, key: str) -> dict[str, Any]:
    if key == "to" and verb in ("adjust pH", "neutralise"):
        return {**_ph(), "description": "The pH to reach."}
    return {
        "to": _pattern("The temperature to reach, such as 75 °C, or room.", _TEMPERATURE),
        "at": _pattern("The temperature to wait for or to keep, such as 40 °C, or room.", _TEMPERATURE),
        "hold": _pattern("How long it stays there, such as 15 min.", _DURATION),
        "for": _pattern("How long, such as 12 h.", _DURATION),
        "over": _pattern("Time over which it is added, such as 5 min.", _DURATION),
        "into": _text("The receiving phase."),
        "in": _texts("What it is wetted out in: a material, several, or a phase."),
        "with": _texts("What is used: an acid, a base or a tool."),
        "strength": {
            "description": "Strength of a solution, % w/w.",
            "anyOf": [{"type": "number"}, {"type": "string", "pattern": _PERCENT_TEXT}],
        },
        "amount": _pattern("How much of it, such as 1.2 g.", _MASS),
    }[key]


def _ph() -> dict[str, Any]:
    end = {"anyOf": [{"type": "number", "minimum": 0, "maximum": 14}, {"type": "null"}, {"type": "string"}]}
    return {
        "anyOf": [
            {"type": "number", "minimum": 0, "maximum": 14},
            {"type": "string", "pattern": r"[0-9]"},
            {"type": "array", "prefixItems": [end, end], "minItems": 2, "maxItems": 2},
        ]
    }


def _object(description: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {"description": description, "type": "object", "additionalProperties": False, "properties": properties}


def _text(description: str) -> dict[str, Any]:
    return {"description": description, "type": ["string", "number", "boolean"]}


def _scalar(description: str) -> dict[str, Any]:
    return {"description": description, "type": ["string", "number"]}


def _pattern(description: str, pattern: str) -> dict[str, Any]:
    return {"description": description, "type": "string", "pattern": pattern}


def _texts(description: str) -> dict[str, Any]:
    item = {"type": ["string", "number", "boolean"]}
    return {"description": description, "anyOf": [item, {"type": "array", "items": item}]}


def _words(description: str, words: tuple[str, ...], closed: bool) -> dict[str, Any]:
    item: dict[str, Any] = {"enum": list(words)} if closed else {"anyOf": [{"enum": list(words)}, {"type": "string"}]}
    return {"description": description, "anyOf": [item, {"type": "array", "items": item}]}
