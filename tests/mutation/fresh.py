"""A pytest plug-in for a Python of its own in which one module is changed before anything imports it."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from living import fresh_loader

_TOLD = json.loads(Path(os.environ["MUTATION_TOLD"]).read_text(encoding="utf-8"))
fresh_loader(_TOLD["path"], _TOLD["source"])


def pytest_collection_modifyitems(items: list[Any]) -> None:
    """The tests asked for, in that order."""
    place = {name: at for at, name in enumerate(_TOLD["tests"])}
    items[:] = sorted((item for item in items if item.nodeid in place), key=lambda item: place[item.nodeid])
