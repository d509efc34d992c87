"""Packs: plug-ins that somebody asks for by name, on the command line or in a file of his own outside the formulas.

Nothing that lies beside a formula can name one, so no Python of a reviewed repository runs unless its owner says so. A
pack is an installed module by its name, or the path of a Python file or of a package's folder (a path holds a slash or ends in
`.py`). Like any plug-in it answers the hooks of formcheck.plugins; one that cannot be loaded is a fault with its name.

The user's own file is `own.toml` in the folder of her settings for formcheck (`formcheck settings` shows where):

    packs = ["~/formulas/packs/nettle_row.py"]      # relative to this file
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from types import ModuleType
from typing import TYPE_CHECKING

from .folders import users_folder
from .records import NamedTuple

if TYPE_CHECKING:
    from .plugins import Plugins

OWN_KEYS = ("packs", "note")


class Pack(NamedTuple):
    """name: as written; folder: what its path is relative to; where: the place that names it."""

    name: str
    folder: str
    where: str


def own_file() -> str:
    """The user's own file, whether it is there or not. FORMCHECK_OWN overrides it."""
    override = os.environ.get("FORMCHECK_OWN")
    if override:
        return override
    support = "~/Library/Application Support"
    return os.path.join(users_folder("", "APPDATA", support, "XDG_CONFIG_HOME", "~/.config"), "own.toml")


def own_packs() -> Iterator[Pack]:
    """The packs of the user's own file; none where there is no such file. Raises Unreadable."""
    file = own_file()
    if not os.path.isfile(file):
        return
    from .formula.fields import Fields
    from .reading import files
    from .reading.document import START, Mapping
    from .reading.toml_reader import read_toml

    root = read_toml(files.text_of(file))
    fields = Fields(START)
    keys = fields.keys(root, OWN_KEYS, "the user's own file") if isinstance(root, Mapping) else {}
    packs = fields.texts(keys.get("packs"))
    fields.done()
    for name in packs:
        yield Pack(name, os.path.dirname(os.path.abspath(file)), f"{file}:{keys['packs'].key.place.line}")


def load_own(plugins: Plugins) -> None:
    """Loads the packs of the user's own file; a mistake in it is a fault."""
    from .reading.document import Unreadable

    try:
        packs = list(own_packs())
    except Unreadable as error:
        for problem in error.problems:
            plugins.fault(f"{own_file()}:{problem.place.line}:{problem.place.column}", problem.message)
        return
    for pack in packs:
        load(plugins, pack)


def load(plugins: Plugins, pack: Pack) -> None:
    """Loads one pack."""
    if not (pack.name.endswith(".py") or "/" in pack.name or os.sep in pack.name):
        plugins.load(pack.name, pack.name)
        return
    path = os.path.normpath(os.path.join(pack.folder, os.path.expanduser(pack.name)))
    try:
        module = _module_at(path)
    except (Exception, SystemExit) as error:
        plugins.fault(pack.name, f"cannot be loaded: {type(error).__name__}: {error}")
    else:
        plugins.add(module, pack.name)


def _module_at(path: str) -> ModuleType:
    """The module or package at a path, under a name of its own so that it stands in nobody's way."""
    from importlib.util import module_from_spec, spec_from_file_location

    file = os.path.join(path, "__init__.py") if os.path.isdir(path) else path
    if not os.path.isfile(file):
        raise FileNotFoundError(f"there is no file {file}")
    stem = os.path.basename(path).removesuffix(".py")
    name = f"formcheck_pack_{stem}"
    spec = spec_from_file_location(name, file, submodule_search_locations=[path] if os.path.isdir(path) else None)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
