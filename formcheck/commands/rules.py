"""List the rules by family, or write their handbook pages (Markdown) into a folder.

Rules of the house are those that serve the working folder.
"""

from __future__ import annotations

import argparse
import glob
import os
import sys
import textwrap

from ..plugins import built_in, gather
from ..reports.handbook import Handbook
from ..reports.terminal import width_of
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, house_rules, plugins_of
from .main import complain
from .saving import NotSaved, save

EXAMPLES = """examples:
  formcheck rules
  formcheck rules --pages handbook/
  formcheck rules --built-in --pages rules/handbook
"""


MARK = "<!-- Written by: formcheck rules --pages. What is changed here by hand is lost. -->"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--pages", metavar="DIR", help="write the handbook into this folder: an index and a page for each rule"
    )
    parser.add_argument("--built-in", action="store_true", help="leave out the rules of plug-ins and of the house")
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    plugins = built_in() if options.built_in else plugins_of(options) or gather()
    rules = plugins.rules()
    try:
        rules += () if options.built_in else house_rules(rules, plugins.reference())
    except BadSettings as error:
        return complain_of(error)
    for fault in plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    if options.pages:
        return _write(Handbook(rules, plugins), options.pages)
    width = width_of(sys.stdout)
    for family in dict.fromkeys(rule.family for rule in sorted(rules, key=lambda r: r.family)):
        print(family)
        for rule in rules:
            if rule.family == family:
                head = f"  {rule.id:<30} {rule.severity:<9} "
                print(
                    "\n".join(textwrap.wrap(rule.finds, width, initial_indent=head, subsequent_indent=" " * len(head)))
                )
        print()
    return 2 if plugins.faults else 0


def pages(handbook: Handbook) -> dict[str, str]:
    """Relative path -> text of every file of the handbook."""
    return {name: f"{MARK}\n\n{text}" for name, text in handbook.pages().items()}


def _write(handbook: Handbook, folder: str) -> int:
    made = {os.path.join(folder, *name.split("/")): text for name, text in pages(handbook).items()}
    try:
        foreign = next((path for path in made if os.path.lexists(path) and not _ours(path)), None)
        if foreign is not None:
            return complain(f"{foreign} was not written by formcheck; it is left alone, name another folder")
        for path, text in made.items():
            os.makedirs(os.path.dirname(path), exist_ok=True)
            save(path, text.encode())
        gone = [path for path in _there(folder) if path not in made and _ours(path)]
        for path in gone:
            os.remove(path)
    except (OSError, NotSaved) as error:
        reason = f"cannot be written: {(error.strerror or str(error)).lower()}" if isinstance(error, OSError) else error
        return complain(f"{folder}: {reason}")
    removed = f"; {len(gone)} of rules that are gone were removed" if gone else ""
    print(f"{len(handbook.rules)} pages and an index in {folder}{removed}")
    return 0


def _there(folder: str) -> list[str]:
    """The pages in the folder and in those of families."""
    return sorted(
        (
            *glob.glob(os.path.join(glob.escape(folder), "*.md")),
            *glob.glob(os.path.join(glob.escape(folder), "*", "*.md")),
        )
    )


def _ours(path: str) -> bool:
    with open(path, encoding="utf-8", errors="replace") as file:
        return file.read(len(MARK)) == MARK
