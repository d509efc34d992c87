"""List the rules by family, or write their handbook pages (Markdown) into a folder.

Rules of the house are those that serve the working folder.
"""

from __future__ import annotations

import argparse
import os
import sys
import textwrap

from ..plugins import gather
from ..reference.store import open_reference
from ..reports.terminal import width_of
from ..review.rule import Rule
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, house_rules, plugins_of
from .main import complain

EXAMPLES = """examples:
  formcheck rules
  formcheck rules --pages handbook/
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--pages", metavar="DIR", help="write the handbook into this folder: an index and a page for each rule")
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    plugins = plugins_of(options) or gather()
    rules = plugins.rules()
    try:
        rules += house_rules(rules, plugins.reference())
    except BadSettings as error:
        return complain_of(error)
    for fault in plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    if options.pages:
        return _write(rules, options.pages)
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


def pages(rules: list[Rule]) -> dict[str, str]:
    """Relative path -> text of every handbook page."""
    from ..reports.handbook import index_page, rule_page

    reference = open_reference()
    result = {"index.md": index_page(rules)}
    for rule in rules:
        result[f"{rule.family}/{rule.id}.md"] = rule_page(rule, reference)
    return result


def _write(rules: list[Rule], folder: str) -> int:
    try:
        for name, text in pages(rules).items():
            path = os.path.join(folder, name)
            os.makedirs(os.path.dirname(path), exist_ok=True)
            with open(path, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except OSError as error:
        return complain(f"{folder}: cannot be written: {(error.strerror or str(error)).lower()}")
    print(f"{len(rules)} pages and an index in {folder}")
    return 0
