"""Print a JSON Schema (draft 2020-12), for editors that complete and check as you type.

There is one for formula files, one for settings (formcheck.toml) and one for files of house rules; the last two name the
rules and classes there are.
"""

from __future__ import annotations

import argparse
import json
from typing import Any

from ..formula.schema import schema
from ..reference.store import open_reference

EXAMPLES = """examples:
  formcheck schema > formula.schema.json
  formcheck schema settings > settings.schema.json
"""
KINDS = ("formula", "settings", "house")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "kind",
        nargs="?",
        default="formula",
        choices=KINDS,
        metavar="FILES",
        help="what the files hold: formula (default), settings or house",
    )
    parser.add_argument("--bare", action="store_true", help="leave out the names of rules and classes, which change")


def run(options: argparse.Namespace) -> int:
    print(text(options.kind, options.bare))
    return 0


def text(kind: str = "formula", bare: bool = False) -> str:
    """The schema as JSON text without a final newline."""
    return json.dumps(_schema(kind, bare), indent=1, ensure_ascii=False)


def _schema(kind: str, bare: bool) -> dict[str, Any]:
    if kind == "formula":
        return schema(open_reference().properties)
    from ..review.schemas import house_schema, settings_schema

    if kind == "house":
        return house_schema(() if bare else open_reference().classes)
    from ..plugins import gather

    return settings_schema(() if bare else gather().rules())
