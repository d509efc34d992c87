"""Check the reference's own files, as a chemist edits them: units, sources, windows, names, CAS numbers, salts and acids.

Without a folder the files that formcheck is running with are checked. Prints file:line:column and what is wrong, then
how complete each class of material is for the rules. Exit status: 0 in order, 1 mistakes.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from ..reference.sources import PUBLISHED, Compiled, compile_folder
from ..reference.store import Reference, compiled, shared_folder

EXAMPLES = """examples:
  formcheck reference
  formcheck reference path/to/shared --coverage
"""
_GRADED = ("pH window", "stable pH", "maximum temperature", "pKa")
_PRESERVATIVE_FACTS = (
    "spectrum",
    "dose",
    "pH window",
    "maximum temperature",
    "inactivated by",
    "minimum free acid",
    "log P",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", nargs="?", metavar="DIR", help="a folder like shared/ (default: the installed one)")
    parser.add_argument(
        "--coverage", action="store_true", help="show how complete each class is, and how much has a published source"
    )


def run(options: argparse.Namespace) -> int:
    folder = options.folder or shared_folder()
    result = compile_folder(folder)
    for mistake in result.mistakes:
        print(f"{mistake.file}:{mistake.place.line}:{mistake.place.column}: {mistake.message}")
    if options.coverage:
        print("\n".join(coverage(result, Reference(compiled(folder)))))
    count = len(result.mistakes)
    print(
        f"{len(result.materials)} materials, {len(result.sources)} sources, {count or 'no'} mistake{'s' if count != 1 else ''}"
    )
    return 1 if count else 0


def coverage(result: Compiled, reference: Reference) -> Iterator[str]:
    """For every class with needs: how many of its materials have each property; then shares with a published source."""
    yield "| class | materials | has |"
    yield "|---|---|---|"
    for name, needs, members, have in completeness(reference):
        shown = ", ".join(f"{need} {have[need]}" for need in needs)
        yield f"| {name} | {members} | {shown} |"
    yield ""
    for name, published, total in published_shares(result):
        yield f"{name}: {published} of {total} facts have a published source ({100 * published / max(total, 1):.0f} %)"
    yield ""


def completeness(reference: Reference) -> Iterator[tuple[str, list[str], int, dict[str, int]]]:
    """(class, properties it needs, number of materials, how many have each) for every class that needs something."""
    materials = list(reference.all())
    for name in reference.classes:
        needs = reference.needs_of_class(name)
        members = [m for m in materials if m.is_a(name) and not m.contains]
        if needs and members:
            yield (
                name,
                needs,
                len(members),
                {need: sum(m.fact(need) is not None or bool(m.facts.get(need)) for m in members) for need in needs},
            )


def published_shares(result: Compiled) -> Iterator[tuple[str, int, int]]:
    """(what, facts with a published source, all such facts) for pH windows, heat limits, pKa values and preservative data."""
    for property in _GRADED:
        found = [fact for facts in result.materials.values() for fact in facts.get(property, ())]
        yield property, sum(_published(fact, result) for fact in found), len(found)
    preservatives = {
        name for name, data in result.classes.items() if name == "preservative" or "preservative" in data["is"]
    }
    found = [
        fact
        for facts in result.materials.values()
        if "class" in facts and preservatives & set(facts["class"][0][0])
        for property in _PRESERVATIVE_FACTS
        for fact in facts.get(property, ())
    ]
    yield "preservative data", sum(_published(fact, result) for fact in found), len(found)


def _published(fact: list[Any], result: Compiled) -> bool:
    return any(result.sources[id]["kind"] in PUBLISHED for id in fact[2] if id in result.sources)
