"""Print a script with which your shell completes formcheck's commands, options, files, materials and rules.

Put it where your shell looks for such scripts, or read it in as the examples show. Materials and rules are asked of
formcheck itself when you press the key, so they are those of your installation and of your plug-ins.
"""

from __future__ import annotations

import argparse
import contextlib
import os
from collections.abc import Callable

from ..reports.completion import ASKED, SHELLS
from .main import complain

EXAMPLES = """examples:
  source <(formcheck completion bash)
  formcheck completion zsh > ~/.zfunc/_formcheck
  formcheck completion fish > ~/.config/fish/completions/formcheck.fish
"""

CONFIGURATION, PROJECT, MARK = "formcheck.toml", "pyproject.toml", b"[tool.formcheck"
"""As review.settings has them, which is too much to load between two strokes of a key."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "shell", nargs="?", choices=SHELLS, metavar="SHELL", help="the shell you type into: bash, zsh or fish"
    )
    parser.usage = "formcheck completion SHELL"
    # what the scripts themselves ask when the key is pressed
    parser.add_argument("--words", choices=tuple(ASKED.values()), help=argparse.SUPPRESS)
    parser.add_argument("--begin", default="", help=argparse.SUPPRESS)


def run(options: argparse.Namespace) -> int:
    if options.words:
        from ..reports.completion import matching

        print("\n".join(matching(_WORDS[options.words](), options.begin)))
        return 0
    if not options.shell:
        return complain(f"name a shell: {', '.join(SHELLS)}")
    from ..reports.completion import script
    from .described import pages

    print(script(options.shell, list(pages())), end="")
    return 0


def _materials() -> list[str]:
    """Headings first, then other names in small letters."""
    from ..reference.store import open_reference

    if _has_plugins():
        from ..plugins import gather

        reference = gather().reference()
    else:
        reference = open_reference()
    return [*reference.headings, *reference.names]


def _rules() -> list[str]:
    """Ids of rules; those built in are the names of their files, and no rule is loaded for them alone."""
    if not (_has_plugins() or _has_configuration()):
        return _built_in_rules()
    from ..plugins import gather
    from ..review.settings import BadSettings
    from .configured import house_rules

    plugins = gather()
    rules = plugins.rules()
    with contextlib.suppress(BadSettings):  # the commands say what is wrong with it
        rules += house_rules(rules, plugins.reference())
    return [rule.id for rule in rules]


def _built_in_rules() -> list[str]:
    from importlib.util import find_spec

    from ..review.rule_files import rule_files

    spec = find_spec("formcheck_rules")
    folders = spec.submodule_search_locations if spec else None
    return sorted(name.replace("_", "-") for folder in folders or () for _, name in rule_files(folder))


def _has_plugins() -> bool:
    """Whether anything but what is built in may bring names."""
    from ..packs import own_file
    from ..plugins import entry_points

    return bool(entry_points()) or os.path.exists(own_file())


def _has_configuration() -> bool:
    """Whether something at or above the working folder looks like a configuration, which may name rules of the house."""
    folder = os.getcwd()
    while True:
        if os.path.isfile(os.path.join(folder, CONFIGURATION)) or _speaks_of_us(os.path.join(folder, PROJECT)):
            return True
        above = os.path.dirname(folder)
        if above == folder or os.path.exists(os.path.join(folder, ".git")):
            return False
        folder = above


def _speaks_of_us(path: str) -> bool:
    try:
        with open(path, "rb") as file:
            return MARK in file.read()
    except OSError:
        return False


def _kinds() -> list[str]:
    from .new import kinds

    return kinds()


def _markets() -> list[str]:
    from ..reference.label_law import markets

    return list(markets())


def _formats() -> list[str]:
    from ..reports.report import BUILT_IN

    if not _has_plugins():
        return list(BUILT_IN)
    from ..plugins import gather

    return [*BUILT_IN, *gather().reports()]


_WORDS: dict[str, Callable[[], list[str]]] = {
    "materials": _materials,
    "rules": _rules,
    "materials-and-rules": lambda: [*_rules(), *_materials()],
    "kinds": _kinds,
    "markets": _markets,
    "formats": _formats,
}
