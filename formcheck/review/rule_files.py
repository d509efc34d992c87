"""Where the rules of a package lie: a sub-package is a family, and every module in it is a rule."""

from __future__ import annotations

import os
from collections.abc import Iterator


def rule_files(folder: str) -> Iterator[tuple[str, str]]:
    """(family, module) of every rule below the folder of a package, by their names; nothing is imported.

    Modules that begin with an underscore help others, and a folder that is no package (the handbook's pages) is no family.
    """
    for family in sorted(os.listdir(folder)):
        inside = os.path.join(folder, family)
        if family.startswith(("_", ".")) or not os.path.isfile(os.path.join(inside, "__init__.py")):
            continue
        for file in sorted(os.listdir(inside)):
            if file.endswith(".py") and not file.startswith("_"):
                yield family, file[:-3]
