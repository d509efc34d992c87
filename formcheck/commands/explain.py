"""What a material or a rule is: its windows and limits with their sources, what it quarrels with, which rules look at it.

Aliases and near spellings work. Rules of the house are those that serve the working folder. An unknown name proposes
others and ends with status 2.
"""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterable, Iterator

from ..formula.model import Fact
from ..formula.names import fold, listed, nearest
from ..plugins import gather
from ..reference.material import Material
from ..reference.store import Reference
from ..reports import facts
from ..reports.terminal import width_of
from ..review.rule import Rule
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, house_rules, plugins_of
from .main import complain

EXAMPLES = """examples:
  formcheck explain "xanthan gum"
  formcheck explain niacinamide --format json
  formcheck explain preservative-too-hot
  formcheck explain --materials
"""
_IDENTITY = ("also", "INCI", "INCI US", "CAS", "EC", "formula", "class", "form", "about", "contains")
_HIDDEN = ("release share",)
FORMAT = 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", nargs="?", metavar="MATERIAL|RULE", help="a material by any of its names, or a rule")
    parser.add_argument(
        "--format",
        choices=("text", "json"),
        default="text",
        help="text for the screen (default) or json for other programs",
    )
    parser.add_argument("--materials", action="store_true", help="list all the materials that the reference knows")
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    plugins = plugins_of(options) or gather()
    reference = plugins.reference()
    if options.materials:
        return _list(reference, options.format)
    if not options.name:
        return complain("name a material or a rule, or use --materials to list all materials")
    rules = plugins.rules()
    try:
        rules += house_rules(rules, reference)
    except BadSettings as error:
        return complain_of(error)
    rule = next((rule for rule in rules if rule.id == options.name.strip().lower().replace(" ", "-")), None)
    if rule is not None:
        if options.format == "json":
            return _rule_as_data(rule, reference)
        from ..reports.handbook import Handbook
        from ..reports.page_text import as_read, filled

        page = as_read(Handbook(rules, plugins).page(rule))
        print(filled(page, width_of(sys.stdout)), end="")
        return 0
    material = reference.find(options.name)
    if material is None:
        names = [*reference.headings, *reference.names, *(rule.id for rule in rules)]
        near = list(dict.fromkeys(_heading(reference, name) for name in nearest(options.name, names, 4)))
        hint = f"; near names are {listed(near, 'or')}" if near else "; formcheck explain --materials lists all"
        return complain(f"«{options.name}» is neither a material of the reference nor a rule{hint}")
    looking = [rule for rule in rules if set(rule.facts) & set(material.facts)]
    if options.format == "json":
        print(json.dumps(material_data(material, reference, looking), indent=2))
    else:
        print("\n".join(material_page(material, reference, looking, width_of(sys.stdout))))
    return 0


def _heading(reference: Reference, name: str) -> str:
    found = reference.find(name)
    return found.name if found else name


def _list(reference: Reference, form: str) -> int:
    if form == "json":
        data = [
            {"name": m.name, "class": list(m.value("class") or ()), "also": list(m.value("also") or ())}
            for m in reference.all()
        ]
        print(json.dumps({"format": FORMAT, "materials": data}, indent=2))
        return 0
    for material in sorted(reference.all(), key=lambda item: fold(item.name)):
        print(f"{material.name}: {', '.join(material.value('class') or ())}")
    return 0


def material_data(material: Material, reference: Reference, rules: Iterable[Rule] = ()) -> dict[str, object]:
    """A material as plain data."""
    return {
        "format": FORMAT,
        "material": material.name,
        "names": list(material.names),
        "classes": sorted(material.classes),
        "facts": [
            facts.as_data(fact, reference.properties.get(fact.property))
            for name, values in material.facts.items()
            if name not in _HIDDEN
            for fact in values
        ],
        "sources": {
            id: reference.source(id).citation
            for values in material.facts.values()
            for fact in values
            for id in fact.source
        },
        "rules": [rule.id for rule in rules],
    }


def material_page(material: Material, reference: Reference, rules: Iterable[Rule], width: int) -> Iterator[str]:
    """A material as a page: who it is, then every fact with its sources."""
    yield material.name
    about = material.value("about")
    if about:
        yield from textwrap.wrap(about, width)
    yield ""
    for name in _IDENTITY:
        if name not in ("about", "INCI") and material.fact(name):
            text = facts.shown(material.facts[name][0], reference.properties.get(name))
            yield from _row(_label(name), text, width)
    sources: dict[str, int] = {}
    rows = [
        (name, fact)
        for name, values in material.facts.items()
        if name not in _IDENTITY and name not in _HIDDEN
        for fact in values
    ]
    if rows:
        yield ""
    for name, fact in rows:
        yield from _row(name, _fact_text(fact, reference, sources), width)
    rule_ids = [rule.id for rule in rules]
    if rule_ids:
        yield ""
        yield from _row("rules that look", ", ".join(rule_ids), width)
    if sources:
        yield ""
        yield "Sources"
        for id, number in sources.items():
            text = f"[{number}] {reference.source(id).citation}"
            yield from textwrap.wrap(text, width, initial_indent="  ", subsequent_indent="      ")
    yield ""
    yield from textwrap.wrap(
        "What the rules go by, not a verdict on your lot: your supplier's data sheets and local rules come first.",
        width,
    )


def _fact_text(fact: Fact, reference: Reference, sources: dict[str, int]) -> str:
    marks = "".join(f"[{sources.setdefault(id, len(sources) + 1)}]" for id in fact.source)
    return facts.told(fact, reference.properties.get(fact.property), marks)


def _label(name: str) -> str:
    return {"also": "also called", "INCI US": "on US labels"}.get(name, name)


def _row(label: str, text: str, width: int) -> Iterator[str]:
    head = f"  {label:<26} "
    wrapped = textwrap.wrap(text, max(20, width - len(head)), break_on_hyphens=False) or [""]
    yield head + wrapped[0]
    yield from (" " * len(head) + line for line in wrapped[1:])


def _rule_as_data(rule: Rule, reference: Reference) -> int:
    from ..reports.handbook import rule_data

    print(json.dumps({"format": FORMAT, **rule_data(rule, reference)}, indent=2))
    return 0
