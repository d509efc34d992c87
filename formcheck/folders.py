"""Where formcheck keeps what is the user's own, by the custom of her system."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
from typing import TextIO

_NOWHERE = os.path.join(os.devnull, "formcheck")
"""No such folder can be there."""
_OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH


def users_folder(override: str, windows: str, mac: str, variable: str, otherwise: str) -> str:
    """The folder of formcheck for one purpose; it need not be there.

    override: environment variable that names the folder itself and goes before all, "" for none. windows: variable that names its
    parent there; mac: the parent there; variable, otherwise: those of the XDG Base Directory Specification elsewhere. A variable
    that holds a relative path counts for nothing, as that specification has it; a user without a home has no such folder. Else
    it would lie below the working folder, which may be anybody's.
    """
    own = override and os.environ.get(override)
    if own:
        return own
    if sys.platform == "win32":
        parent = _absolute(windows) or os.path.expanduser("~")
    elif sys.platform == "darwin":
        parent = os.path.expanduser(mac)
    else:
        parent = _absolute(variable) or os.path.expanduser(otherwise)
    return os.path.join(parent, "formcheck") if os.path.isabs(parent) else _NOWHERE


def _absolute(variable: str) -> str:
    value = os.environ.get(variable, "")
    return value if os.path.isabs(value) else ""


def private(folder: str) -> bool:
    """Makes a folder where it is not there; whether nobody but the user (and root) can put anything into it.

    A folder of somebody else's, one that others may write to, one below a folder in which others may exchange it, and a link
    that somebody else laid are not private. Windows keeps users apart by itself.
    """
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
        if not hasattr(os, "geteuid"):
            return True
        lies, is_in = os.lstat(folder), os.stat(os.path.dirname(os.path.abspath(folder)))
        leads_to = os.stat(folder) if stat.S_ISLNK(lies.st_mode) else lies
    except OSError:
        return False
    trusted = (0, os.geteuid())
    exchangeable = is_in.st_mode & stat.S_IWOTH and not is_in.st_mode & stat.S_ISVTX
    return (
        all(each.st_uid in trusted for each in (lies, leads_to, is_in))
        and not leads_to.st_mode & _OTHERS_WRITE
        and not exchangeable
    )


def special(path: str) -> bool:
    """Whether something is there that no file can take the place of: a pipe, a device, a folder."""
    return os.path.exists(path) and not os.path.isfile(path)


def opened(target: str, newline: str) -> tuple[TextIO, str]:
    """A text on its way to a file: open, and where it is written until it takes the target's place. Raises OSError.

    That is beside the target, or the target itself where it is special.
    """
    if special(target):
        return open(target, "w", encoding="utf-8", newline=newline), target
    beside = cleared(f"{target}.part")
    return open(beside, "x", encoding="utf-8", newline=newline), beside


def cleared(beside: str) -> str:
    """The same path, with nothing there any more: what an earlier run left is gone.

    For a file that is written beside another before it takes its place. Open it with mode x, which follows no link: in a
    folder of somebody else's, one may have been laid there that leads to a file of the user's. Raises OSError.
    """
    with contextlib.suppress(FileNotFoundError):
        os.unlink(beside)
    return beside
