"""Review formulas while they are written: a language server for editors.

An editor starts it and speaks the Language Server Protocol with it over standard input and output. It shows findings as
you type, what is known of a material, proposals for names, steps and keys, and corrections. examples/editor/README.md
says how to tell an editor about it.
"""

from __future__ import annotations

import argparse
import sys
from importlib.util import find_spec

from .main import complain

EXAMPLES = """example of what an editor runs:
  formcheck editor
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--stdio", action="store_true", help="what it does anyway; some editors add this by themselves")


def run(options: argparse.Namespace) -> int:
    if find_spec("pygls") is None or find_spec("lsprotocol") is None:
        return complain('this needs the package pygls; install it with: pip install "formcheck[editor]"')
    if sys.stdin.isatty():
        return complain("an editor starts this and speaks with it; see examples/editor/README.md for how to set one up")
    from ..reports.editor.desk import Desk
    from ..reports.editor.server import serve

    desk = Desk()
    for fault in desk.plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    return serve(desk)
