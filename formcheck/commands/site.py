"""Write all the documentation as a site of plain pages, which works without a network and without a server.

First steps, the formula file, every command, the handbook of the rules, the materials by kind, what the bench computes
and by which formulas, and what all of it rests on. It is made from a checkout of the project. A folder is filled only
if it is new, empty, or holds such a site. Exit status: 0 written, 2 not.
"""

from __future__ import annotations

import argparse
import contextlib
import logging
import os
import shutil
import tempfile
from importlib.util import find_spec
from typing import TYPE_CHECKING

from ..plugins import built_in
from .main import complain

if TYPE_CHECKING:
    from ..reports.site_pages import Site

EXAMPLES = """examples:
  formcheck site
  formcheck site ~/formcheck-documentation
"""
USUAL = os.path.join("build", "site")
NAME = "formcheck"
_EXTENSIONS = ("attr_list", "fenced_code", "sane_lists", "tables", "toc")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", nargs="?", default=USUAL, metavar="DIR", help=f"the folder to fill (default: {USUAL} here)"
    )


def run(options: argparse.Namespace) -> int:
    if find_spec("mkdocs") is None:
        return complain('this needs the package mkdocs; install it with: pip install "formcheck[site]"')
    from ..reports.site_pages import NoCheckout, site
    from .described import pages

    target = os.path.abspath(os.path.expanduser(options.folder))
    if not _free(target):
        return complain(f"{options.folder} is no site of formcheck; it is left alone, name another folder")
    checkout = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
    try:
        made = site(list(pages()), built_in(), checkout)
        with tempfile.TemporaryDirectory(prefix="formcheck-site-") as workshop:
            mistakes = build(made, workshop)
            if not mistakes:
                _put(os.path.join(workshop, "site"), target)
    except NoCheckout as error:
        return complain(f"the site is made from a checkout of the project, and {error} is not there")
    except OSError as error:
        return complain(f"{options.folder}: cannot be written: {(error.strerror or str(error)).lower()}")
    for mistake in mistakes:
        complain(mistake)
    if mistakes:
        return 2
    print(f"{len(made.pages)} pages; begin with {os.path.join(options.folder, 'index.html')}")
    return 0


def build(made: Site, workshop: str) -> list[str]:
    """Builds the site into the folder `site` of a workshop, strictly; what was wrong with it. Raises OSError."""
    from mkdocs.commands import build as mkdocs_build
    from mkdocs.config import load_config
    from mkdocs.exceptions import Abort, MkDocsException

    from ..reports.site_style import STYLE, TEMPLATE

    _write(os.path.join(workshop, "pages"), made.pages)
    _write(os.path.join(workshop, "theme"), {"main.html": TEMPLATE, "site.css": STYLE})
    _write(workshop, {"mkdocs.yml": f"site_name: {NAME}\n"})
    heard = _Heard()
    with heard:
        try:
            config = load_config(
                os.path.join(workshop, "mkdocs.yml"),
                docs_dir=os.path.join(workshop, "pages"),
                site_dir=os.path.join(workshop, "site"),
                nav=made.order,
                theme={"name": None, "custom_dir": os.path.join(workshop, "theme")},
                markdown_extensions=list(_EXTENSIONS),
                validation=dict.fromkeys(
                    ("omitted_files", "not_found", "absolute_links", "anchors", "unrecognized_links"), "warn"
                ),
                plugins=[],
                use_directory_urls=False,
                strict=True,
            )
            mkdocs_build.build(config)
        except (Abort, MkDocsException) as error:
            heard.mistakes.append(" ".join(str(error).split()))
    for name in ("sitemap.xml", "sitemap.xml.gz"):  # lists addresses, and there are none
        with contextlib.suppress(OSError):
            os.remove(os.path.join(workshop, "site", name))
    return heard.mistakes


class _Heard(logging.Handler):
    """Keeps the warnings of the builder."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.mistakes: list[str] = []
        self.logger = logging.getLogger("mkdocs")

    def emit(self, record: logging.LogRecord) -> None:
        self.mistakes.append(" ".join(record.getMessage().split()))

    def __enter__(self) -> None:
        self.logger.addHandler(self)
        self.logger.propagate = False

    def __exit__(self, *error: object) -> None:
        self.logger.removeHandler(self)
        self.logger.propagate = True


def _write(folder: str, files: dict[str, str]) -> None:
    for name, text in files.items():
        path = os.path.join(folder, *name.split("/"))
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)


def _free(target: str) -> bool:
    """Whether the folder may be filled: there is none, it is empty, or an earlier site is in it."""
    from ..reports.site_style import GENERATOR

    if not os.path.lexists(target):
        return True
    if not os.path.isdir(target):
        return False
    if not os.listdir(target):
        return True
    try:
        with open(os.path.join(target, "index.html"), encoding="utf-8") as file:
            return f'content="{GENERATOR}"' in file.read(4096)
    except (OSError, UnicodeDecodeError):
        return False


def _put(made: str, target: str) -> None:
    """Puts a folder in the place of another, in one stroke on most systems. Raises OSError."""
    parent, name = os.path.split(target)
    os.makedirs(parent, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=f".{name}-", dir=parent) as beside:
        new, old = os.path.join(beside, "new"), os.path.join(beside, "old")
        shutil.copytree(made, new)
        if os.path.lexists(target):
            os.rename(target, old)
        try:
            os.rename(new, target)
        except OSError:
            if os.path.lexists(old):
                os.rename(old, target)
            raise
