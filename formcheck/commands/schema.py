"""Print the JSON Schema (draft 2020-12) of the formula file, for editors that complete and check as you type."""

from __future__ import annotations

import argparse
import json

from ..formula.schema import schema
from ..reference.store import open_reference

EXAMPLES = """example:
  formcheck schema > formula.schema.json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Takes none."""


def run(options: argparse.Namespace) -> int:
    print(text())
    return 0


def text() -> str:
    """The schema as JSON text without a final newline."""
    return json.dumps(schema(open_reference().properties), indent=1, ensure_ascii=False)
