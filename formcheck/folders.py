"""Where formcheck keeps what is the user's own, by the custom of her system."""

from __future__ import annotations

import os
import sys


def users_folder(override: str, windows: str, mac: str, variable: str, otherwise: str) -> str:
    """The folder of formcheck for one purpose; it need not be there.

    override: environment variable that names the folder itself and goes before all, "" for none. windows: variable that names its
    parent there; mac: the parent there; variable, otherwise: those of the XDG Base Directory Specification elsewhere.
    """
    own = override and os.environ.get(override)
    if own:
        return own
    if sys.platform == "win32":
        parent = os.environ.get(windows) or os.path.expanduser("~")
    elif sys.platform == "darwin":
        parent = os.path.expanduser(mac)
    else:
        parent = os.environ.get(variable) or os.path.expanduser(otherwise)
    return os.path.join(parent, "formcheck")
