"""Check the reference's own files, as a chemist edits them: units, sources, windows, names, CAS numbers, salts and acids.

Without a folder the files that formcheck is running with are checked. Prints file:line:column and what is wrong; with
--coverage also how complete each class of material is for the rules, and how much rests on published works. Exit
status: 0 in order, 1 mistakes.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from typing import Any

from ..records import NamedTuple
from ..reference.sources import PUBLISHED, Compiled, compile_folder
from ..reference.store import Reference, compiled, shared_folder

EXAMPLES = """examples:
  formcheck reference
  formcheck reference path/to/shared --coverage
  formcheck reference --coverage --write
"""
COVERAGE_FILE = "COVERAGE.md"
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
_INTRODUCTION = """# How complete the reference is

Written by `formcheck reference --coverage --write`; a test fails when it is stale.

{materials} materials in {files} files.

## What rules need of each class

For every class, how many of its materials have what some rule needs of them. Blends are left out: rules look into them.
"""
_SHARES = """
## What rests on published works

A work is published when it is a regulation, a committee's opinion, a standard, a handbook, a paper or a database;
suppliers' data, common practice and memory are not. *Alone*: no practice or memory is cited beside it. *Seen*: at
least one of the works was seen for this reference; what was seen of it stands with the source. All together counts a
preservative's pH window and heat limit once.
"""


class Share(NamedTuple):
    """How many facts of one kind rest on published works, on those alone, and on works that were seen."""

    name: str
    facts: int
    published: int
    alone: int
    seen: int

    @property
    def percent(self) -> float:
        """Facts with a published source, % of all."""
        return 100 * self.published / max(self.facts, 1)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", nargs="?", metavar="DIR", help="a folder laid out like shared/ (default: the installed one)"
    )
    parser.add_argument(
        "--coverage", action="store_true", help="show how complete each class is, and how much has a published source"
    )
    parser.add_argument("--write", action="store_true", help=f"write that into {COVERAGE_FILE} of the folder")


def run(options: argparse.Namespace) -> int:
    folder = options.folder or shared_folder()
    result = compile_folder(folder)
    for mistake in result.mistakes:
        print(f"{mistake.file}:{mistake.place.line}:{mistake.place.column}: {mistake.message}")
    if options.write:
        write_coverage(folder, result)
    elif options.coverage:
        print("\n".join(coverage(result, Reference(compiled(folder)))))
    count = len(result.mistakes)
    print(
        f"{len(result.materials)} materials, {len(result.sources)} sources, {count or 'no'} mistake{'s' if count != 1 else ''}"
    )
    return 1 if count else 0


def write_coverage(folder: str, result: Compiled) -> None:
    """Writes the coverage document into the folder that it describes."""
    with open(os.path.join(folder, COVERAGE_FILE), "w", encoding="utf-8") as file:
        file.write(coverage_document(result, Reference(compiled(folder))))


def coverage_document(result: Compiled, reference: Reference) -> str:
    """What COVERAGE.md says of the reference."""
    head = _INTRODUCTION.format(materials=len(result.materials), files=len(set(result.files.values())))
    return "\n".join([head, *class_table(reference), _SHARES, *share_table(result), ""])


def coverage(result: Compiled, reference: Reference) -> Iterator[str]:
    """For every class with needs: how many of its materials have each property; then shares with a published source."""
    yield from class_table(reference)
    yield ""
    for share in published_shares(result):
        yield (
            f"{share.name}: {share.published} of {share.facts} facts have a published source ({share.percent:.0f} %), "
            f"{share.alone} rest on it alone, {share.seen} on one that was seen"
        )
    yield ""


def class_table(reference: Reference) -> Iterator[str]:
    yield "| class | materials | has |"
    yield "|---|---:|---|"
    for name, needs, members, have in completeness(reference):
        shown = ", ".join(need if have[need] == members else f"{need} **{have[need]}**" for need in needs)
        yield f"| {name} | {members} | {shown} |"


def share_table(result: Compiled) -> Iterator[str]:
    yield "| facts | all | published | share | alone | seen |"
    yield "|---|---:|---:|---:|---:|---:|"
    for share in published_shares(result):
        yield f"| {share.name} | {share.facts} | {share.published} | {share.percent:.0f} % | {share.alone} | {share.seen} |"


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


def published_shares(result: Compiled) -> list[Share]:
    """For pH windows, heat limits, pKa values and preservative data, and last for all of them together."""
    groups = {property: _facts_of(result, result.materials, (property,)) for property in _GRADED}
    groups["preservative data"] = _facts_of(result, _preservatives(result), _PRESERVATIVE_FACTS)
    every = {key: fact for found in groups.values() for key, fact in found.items()}
    return [_share(name, found, result) for name, found in [*groups.items(), ("all together", every)]]


def _facts_of(result: Compiled, names: Any, properties: tuple[str, ...]) -> dict[tuple[str, str, int], list[Any]]:
    return {
        (name, property, number): fact
        for name in names
        for property in properties
        for number, fact in enumerate(result.materials[name].get(property, ()))
    }


def _preservatives(result: Compiled) -> list[str]:
    classes = {name for name, data in result.classes.items() if "preservative" in (name, *data["is"])}
    return [
        name for name, facts in result.materials.items() if "class" in facts and classes & set(facts["class"][0][0])
    ]


def _share(name: str, found: dict[tuple[str, str, int], list[Any]], result: Compiled) -> Share:
    works = [[result.sources[id] for id in fact[2] if id in result.sources] for fact in found.values()]
    published = [[work for work in cited if work["kind"] in PUBLISHED] for cited in works]
    return Share(
        name,
        len(works),
        sum(bool(cited) for cited in published),
        sum(bool(some) and len(some) == len(cited) for some, cited in zip(published, works)),
        sum(any(_seen(work) for work in cited) for cited in published),
    )


def _seen(work: dict[str, Any]) -> bool:
    """Whether the source says how it was confirmed, other than not at all."""
    confirmed = str(work.get("confirmed") or "no").lower()
    return not (confirmed == "no" or confirmed.startswith(("no;", "no,", "no ")))
