"""Print the manual page, which says of every command what its --help says.

It is in the language of manual pages (roff): show it, or put it where manual pages are looked for.
"""

from __future__ import annotations

import argparse

from .. import __version__

EXAMPLES = """examples:
  formcheck manual | man -l -                                  show it
  formcheck manual > ~/.local/share/man/man1/formcheck.1       keep it; then: man formcheck
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Takes none."""


def run(options: argparse.Namespace) -> int:
    from ..reports.manual import manual
    from .described import pages

    print(manual(list(pages()), __version__), end="")
    return 0
