"""Start a formula: a commented file for a kind of product, which reviews as ready and is yours to change.

The file is named after the product and written into this folder; a file that is already there is left alone.
"""

from __future__ import annotations

import argparse
import os
import re

from ..formula.names import listed, suggestion
from ..reference.store import shared_folder
from ..reports.safe_text import visible
from .main import complain
from .saving import NotSaved, save

EXAMPLES = """examples:
  formcheck new "Hedgerow hand gel" --kind gel
  formcheck new "Bean row shampoo" --kind shampoo --output formulas/shampoo.formula.yaml
"""
_ENDING = ".formula.yaml"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", help="what the product is called")
    parser.add_argument("--kind", required=True, metavar="KIND", help=f"the kind of product: {listed(kinds(), 'or')}")
    parser.add_argument(
        "--output", metavar="FILE", help="the file to write (default: one named after the product, in this folder)"
    )


def kinds() -> list[str]:
    """The kinds of product there is a starter for."""
    return sorted(file[: -len(_ENDING)] for file in os.listdir(_folder()) if file.endswith(_ENDING))


def run(options: argparse.Namespace) -> int:
    kind, name = options.kind.strip().lower().replace(" ", "-"), " ".join(options.name.split())
    if kind not in kinds():
        return complain(
            f"there is no starter for «{options.kind}»{suggestion(kind, kinds())}; there are {', '.join(kinds())}"
        )
    if not name:
        return complain("the product needs a name")
    if not name.isprintable():
        return complain(f"«{name}» as a name holds characters that cannot be written")
    path = options.output or _file_name(name)
    if os.path.lexists(path):
        return complain(f"{path} is already there and was left alone; name another file with --output")
    try:
        save(path, starter(kind, name).encode())
    except NotSaved as error:
        return complain(f"{path}: {error}")
    print(visible(f"{path} is yours to change. Next: formcheck review {path}"))
    return 0


def starter(kind: str, name: str) -> str:
    """The starter file of a kind, under a name of one's own."""
    with open(os.path.join(_folder(), kind + _ENDING), encoding="utf-8") as file:
        text = file.read()
    plain = re.fullmatch(r"[\w][\w .,()/&-]*", name) and not re.fullmatch(r"[\d.]+|true|false|null|~", name, re.I)
    quoted = name if plain else "'" + name.replace("'", "''") + "'"
    return text.replace("name: NAME", f"name: {quoted}", 1)


def _file_name(name: str) -> str:
    return (re.sub(r"[^\w]+", "-", name.lower()).strip("-") or "formula") + _ENDING


def _folder() -> str:
    return os.path.join(shared_folder(), "starters")
