"""The JSON Schemas (draft 2020-12) of the configuration and of house rule files, for editors to complete and describe.

Made from the vocabularies that the readers use; copies without the names of rules and classes, which change, lie beside
this module and are kept current by a test. The readers do without them: a schema cannot say where, or what was meant.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ..formula import vocabulary
from . import house, settings_file
from .house_terms import SOURCES
from .rule import HARMS, SEVERITIES, Rule

DRAFT = "https://json-schema.org/draft/2020-12/schema"
SETTINGS = "https://formcheck.invalid/settings-1.schema.json"
HOUSE = "https://formcheck.invalid/house-1.schema.json"
"""Names, not addresses: nothing is ever fetched."""

_HERE = r"^(?![A-Za-z][A-Za-z0-9+.-]+://|[/\\]{2})"
"""No address, and no share of another machine."""
_PLAIN = {"type": ["string", "number", "boolean"]}


def settings_schema(rules: Sequence[Rule] = ()) -> dict[str, Any]:
    """The schema of formcheck.toml, and of [tool.formcheck]; rules: those to name with their options."""
    families = list(dict.fromkeys(rule.family for rule in rules))
    return {
        "$schema": DRAFT,
        "$id": SETTINGS,
        "title": "formcheck configuration",
        "description": "How the formulas of a folder and of those below it are reviewed.",
        "type": "object",
        "additionalProperties": False,
        "properties": {
            "note": _text("Anything worth keeping here."),
            "builds-on": {
                **_text("Another configuration to start from, relative to this file."),
                "pattern": rf"{_HERE}.*\.toml$",
            },
            "threshold": {
                "description": "The lowest severity that puts a formula on hold; major where nobody says.",
                "enum": list(SEVERITIES),
            },
            "house-rules": _paths("House rule files, relative to this file.", settings_file.HOUSE_ENDINGS),
            "leave-out": _paths("Folders that a search passes by, relative to this file.", ()),
            "unstated": _object("Taken where a formula does not say.", _unstated()),
            "rules": _table("What is said of single rules.", {rule.id: _of_rule(rule) for rule in rules}),
            "families": _table(
                "What is said of whole families of rules; a rule's own line goes before.",
                {family: _ruling(f"All rules of the family {family}.", {}, True) for family in families},
            ),
        },
    }


def _unstated() -> dict[str, Any]:
    return {
        "room": _text("Temperature of the room, such as 19 °C."),
        "balance": _text("The smallest step the balance shows, such as 0.1 g."),
        "markets": _some_of("Whose legal limits apply, such as EU and UK.", {"type": "string"}),
    }


def _of_rule(rule: Rule) -> dict[str, Any]:
    options = {
        option.name: {
            "description": f"{option.about}; {option.default:g} {option.unit} unless set otherwise.",
            "type": ["number", "string"],
        }
        for option in rule.options
    }
    return _ruling(f"Finds {rule.finds}. Declared as {rule.severity}.", options, True)


def _ruling(description: str, options: Mapping[str, Any], closed: bool) -> dict[str, Any]:
    return {
        "description": description,
        "type": "object",
        "properties": {
            "silent": {"description": "Its findings do not count; the review says how many.", "type": "boolean"},
            "severity": {"description": "The severity of its findings instead of its own.", "enum": list(SEVERITIES)},
            "reason": _text("Why it is silent or of another severity."),
            **options,
        },
        "additionalProperties": False if closed else {"type": ["number", "string"]},
        "allOf": [
            {
                "if": {"properties": {"silent": {"const": True}}, "required": ["silent"]},
                "then": {"required": ["reason"]},
            },
            {"if": {"required": ["severity"]}, "then": {"required": ["reason"]}},
        ],
    }


def _table(description: str, named: Mapping[str, Any]) -> dict[str, Any]:
    table: dict[str, Any] = {"description": description, "type": "object"}
    if named:
        return {**table, "properties": dict(named), "additionalProperties": False}
    return {**table, "additionalProperties": _ruling("One of them.", {}, False)}


def house_schema(classes: Iterable[str] = ()) -> dict[str, Any]:
    """The schema of a house rule file; classes: those of materials, to name."""
    return {
        "$schema": DRAFT,
        "$id": HOUSE,
        "title": "formcheck house rules, format 1",
        "description": "Rules of a house, without Python.",
        "type": "object",
        "required": ["house", "rules"],
        "additionalProperties": False,
        "properties": {
            "house": {"description": "Version of this file format.", "enum": [1, "1"]},
            "note": _text("Anything worth keeping here."),
            "rules": {
                "description": "The rules by their names: small letters and figures, words joined by hyphens.",
                "type": "object",
                "propertyNames": {"pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"},
                "additionalProperties": _house_rule(),
            },
        },
        "$defs": {"condition": _condition(), **_materials(list(classes))},
    }


def _house_rule() -> dict[str, Any]:
    texts = {
        "finds": "What it finds, in lower case, without a full stop.",
        "why": "Why a maker should care.",
        "remedy": "What to do about it.",
        "source": "Where the rule comes from, such as a page of a handbook of the house.",
        "note": "A word on this rule.",
        "flawed": "A formula that sets it off.",
        "mended": "The same formula, mended.",
    }
    condition = {"$ref": "#/$defs/condition"}
    return {
        **_object(
            "One rule.",
            {
                **{key: _text(about) for key, about in texts.items()},
                "harm": {"description": "The kind of harm; it gives the severity.", "enum": list(HARMS)},
                "where": {**condition, "description": "Which formulas it looks at; all where it is left out."},
                "expect": {**condition, "description": "What has to hold for them; a finding where it does not."},
            },
        ),
        "required": list(house.NEEDED_KEYS),
    }


def _condition() -> dict[str, Any]:
    words = {key: _some_of("One of these words.", _word(key)) for key in SOURCES}
    figures = {key: {"$ref": "#/$defs/range"} for key in house.FIGURES}
    groups = {
        name: {
            "description": f"{name[0].upper()}{name[1:]} these conditions.",
            "type": "array",
            "minItems": 1,
            "items": {"$ref": "#/$defs/condition"},
        }
        for name in house.GROUPS
    }
    return {
        **_object("Every line of it has to hold.", {}),
        "minProperties": 1,
        "properties": {
            **words,
            **figures,
            "claim": _some_of("Words of which one claim of the label holds one.", _PLAIN),
            "steps": _some_of("Verbs that all stand in the procedure.", {"enum": _verbs()}),
            **{name: {"$ref": f"#/$defs/{name}"} for name in house.MATERIAL_TERMS},
            **groups,
        },
    }


def _verbs() -> list[str]:
    return [*vocabulary.VERBS, *vocabulary.OTHER_SPELLINGS]


def _word(key: str) -> dict[str, Any]:
    if key == "carton":
        return {"enum": ["yes", "no", True, False]}
    return {"enum": list(house.WORDS[key])} if key in house.WORDS else {"type": "string"}


def _materials(classes: list[str]) -> dict[str, Any]:
    named = {"enum": classes} if classes else {"type": "string"}
    keys = {
        "material": _some_of("Materials by name.", {"type": "string"}),
        "class": _some_of("Classes of materials.", named),
        "but not": _some_of("Materials or classes that are not meant.", {"type": "string"}),
        "phase": _some_of("Letters of phases.", _PLAIN),
        "percent": {"$ref": "#/$defs/range"},
        "warmest": {"$ref": "#/$defs/range"},
    }
    about = {
        "holds": "Something of it is in the formula; with percent, so much in all.",
        "lacks": "Nothing of it is in the formula; with percent, not so much in all.",
        "sum": "All of it together lies in a range, % of the formula.",
        "every": "Each of it keeps to a percent, a temperature or a phase.",
    }
    meant: dict[str, Any] = {"anyOf": [{"required": ["material"]}, {"required": ["class"]}]}
    terms = {
        name: {**_object(about[name], {key: keys[key] for key in allowed}), **meant}
        for name, allowed in house.MATERIAL_TERMS.items()
    }
    terms["sum"]["required"] = ["percent"]
    terms["every"]["allOf"] = [{"anyOf": [{"required": [key]} for key in ("percent", "warmest", "phase")]}]
    end = {"type": ["number", "string", "null"]}
    return {
        "range": {
            "description": "up to 0.8 %, at most 0.8 %, from 2 %, at least 2 %, 4 to 5.5 or [4, 5.5].",
            "anyOf": [
                {"type": "string", "pattern": r"\bto\b|^\s*(from|at most|at least)\b"},
                {"type": "array", "items": end, "minItems": 2, "maxItems": 2},
            ],
        },
        **terms,
    }


def _object(description: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {"description": description, "type": "object", "additionalProperties": False, "properties": properties}


def _text(description: str) -> dict[str, Any]:
    return {"description": description, "type": "string"}


def _paths(description: str, endings: Sequence[str]) -> dict[str, Any]:
    item: dict[str, Any] = {"type": "string"}
    item["pattern"] = _HERE
    if endings:
        item["pattern"] += ".*(" + "|".join(ending.replace(".", r"\.") for ending in endings) + ")$"
    return _some_of(description, item)


def _some_of(description: str, item: dict[str, Any]) -> dict[str, Any]:
    return {"description": description, "anyOf": [item, {"type": "array", "minItems": 1, "items": item}]}
