"""The formula file as a page, from its JSON Schema: every key, what it is, and what may stand there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ..formula import vocabulary
from ..formula.schema import schema
from ..reference.store import Reference
from .page_text import code, fenced, prose, table

_PARTS = ("product", "batch", "finished", "packaging")
_MOST_WORDS = 24
Schema = Mapping[str, Any]


def page(reference: Reference, example: str) -> str:
    """The page. example: a whole formula file to show."""
    return "\n".join(_lines(schema(reference.properties), example))


def _lines(whole: Schema, example: str) -> Iterator[str]:
    top = whole["properties"]
    yield from ("# The formula file", "", prose(f"{whole['description']}"), "")
    yield from (
        "A file ends in `.formula.yaml`, `.formula.yml`, `.formula.toml` or `.formula.json`, with the same keys in all. Only "
        f"{', '.join(map(code, whole['required']))} have to be there: a rule that lacks what it needs stays silent, and the review "
        "says what to add. [`formcheck schema`](commands/schema.md) prints the same for editors.",
        "",
    )
    yield from ("## A whole one", "", *fenced(example, "yaml"))
    yield from ("## Keys of the file", "", *_keys(top))
    for part in _PARTS:
        yield from (f"## {part}", "", prose(top[part]["description"]), "", *_keys(top[part]["properties"]))
    vessel = top["phases"]
    yield from ("## phases", "", prose(vessel["description"]), "")
    yield from (prose(f"{vessel['additionalProperties']['description']} Of each material it gives the percent:"), "")
    line = vessel["additionalProperties"]["additionalProperties"]
    yield from (prose(line["description"]), "", "A line that says more is a mapping:", "")
    yield from _keys(next(form["properties"] for form in line["anyOf"] if "properties" in form))
    yield from ("## materials", "", prose(top["materials"]["description"]), "")
    yield from (
        "Below the name of each stands what your supplier's sheet says: any of [the facts of a material](materials/facts.md), "
        "without a source. A file `materials.yaml` in a folder serves every formula at or below it.",
        "",
    )
    yield from ("## procedure", "", prose(top["procedure"]["description"]), "", *_steps())
    deviation = top["deviations"]
    yield from ("## deviations", "", prose(deviation["description"]), "", *_keys(deviation["items"]["properties"]))


def _keys(properties: Schema) -> list[str]:
    return table(("key", "what it is"), [(code(name), _about(value)) for name, value in properties.items()])


def _about(value: Schema) -> str:
    words = list(dict.fromkeys(_words(value)))
    about = prose(str(value.get("description", "")))
    shown = ", ".join(map(prose, words[:_MOST_WORDS])) + (" and others" if len(words) > _MOST_WORDS else "")
    return f"{about} One of: {shown}." if words else about


def _words(value: Schema) -> Iterator[str]:
    """The words that may stand there, however deep the schema has them."""
    yield from (str(word) for word in value.get("enum", ()) if isinstance(word, str))
    for form in value.get("anyOf", ()):
        yield from _words(form)


def _steps() -> list[str]:
    rows = [
        (code(name), prose(verb.object), ", ".join(map(code, verb.keys))) for name, verb in vocabulary.VERBS.items()
    ]
    return table(("verb", "of what", "with"), rows)
