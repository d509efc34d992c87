"""Compare two versions of a formula: what changed in it, and which findings are gone, new or still there.

OLD and NEW are files; either may be a git revision of a file, written as git writes it: REVISION:PATH. With one file
only, its last committed version is compared with the file as it is. Exit status: 0, or 2 where one cannot be read.
"""

from __future__ import annotations

import argparse
import json
import os
import sys

from ..git import NoGit, git
from ..reading.document import Unreadable
from ..reports import comparison
from ..reports.safe_text import visible
from ..reports.terminal import width_of
from ..reports.wrapping import wrap
from ..review.run import Reviewer
from .given import say_unreadable
from .main import complain

EXAMPLES = """examples:
  formcheck compare hand-gel.formula.yaml
  formcheck compare HEAD~3:hand-gel.formula.yaml hand-gel.formula.yaml
  formcheck compare old.formula.yaml new.formula.yaml --format json
"""


class NotThere(Exception):
    """A version that cannot be had; the message says why."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("old", metavar="OLD", help="the version to start from: a formula file, or REVISION:PATH")
    parser.add_argument(
        "new", metavar="NEW", nargs="?", help="the version to hold against it (default: OLD as it is now)"
    )
    parser.add_argument(
        "--format",
        choices=("text", "json"),
        default="text",
        help="text for the screen (default) or json for other programs",
    )


def run(options: argparse.Namespace) -> int:
    old, new = options.old, options.new
    if new is None:
        old, new = (f"HEAD:{old}", old) if os.path.exists(old) else (old, old.partition(":")[2])
    reviewer = Reviewer()
    sheets = []
    for version in (old, new):
        try:
            path, data = _bytes(version)
            sheets.append((reviewer.sheet(path, data), reviewer.review(path, data)._replace(file=version)))
        except NotThere as error:
            return complain(str(error))
        except Unreadable as error:
            return say_unreadable(version, error)
    result = comparison.compare(*sheets[0], *sheets[1])
    if options.format == "json":
        print(json.dumps(comparison.as_data(result), indent=2))
        return 0
    width = width_of(sys.stdout)
    for line in comparison.text(result):
        indent = " " * (len(line) - len(line.lstrip()) + 4)
        print("\n".join(wrap(visible(line), width, "", indent)) if line else "")
    return 0


def _bytes(version: str) -> tuple[str, bytes | None]:
    """The path of a version, and its bytes where they come from git. A file of that name comes before a revision."""
    revision, colon, path = version.partition(":")
    if not colon and not os.path.exists(version) and _is_revision(version):
        raise NotThere(f"«{version}» is a revision; which file of it? Write {version}:FILE")
    if os.path.exists(version) or not colon or not path or len(revision) < 2:
        return version, None
    folder = os.path.dirname(path) or "."
    try:
        result = git(folder, "cat-file", "blob", "--end-of-options", f"{revision}:./{os.path.basename(path)}")
    except NoGit:
        raise NotThere(f"{version}: git is not installed, and it is needed to read a revision") from None
    if result.returncode:
        reason = result.stderr.decode("utf-8", "replace").strip().splitlines() or ["git has no such version"]
        raise NotThere(f"{version}: git says: {visible(reason[0])}")
    return path, result.stdout


def _is_revision(name: str) -> bool:
    """Whether git, where it is installed and this is a repository, knows a commit of that name."""
    try:
        question = git(".", "rev-parse", "--verify", "--quiet", "--end-of-options", f"{name}^{{commit}}")
    except NoGit:
        return False
    return question.returncode == 0
