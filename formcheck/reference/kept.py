"""Tables made from files that seldom change, kept in the user's cache for as long as those files stay as they are.

A cache file is named by the names, sizes and times of what it was made from. It is written beside and renamed, so two
processes may start at once; one that cannot be read is made anew; where no cache can be written the tables live in
memory.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from contextlib import suppress

from ..folders import private, users_folder
from .tables import BadTables, Tables

_LAYOUT = "12"
"""Changes whenever what is compiled from the same files changes."""
_STATES = 4
"""Files of one name that are kept, for other installations and what was just edited."""


def cache_folder() -> str:
    """The user's cache for formcheck. FORMCHECK_CACHE overrides it."""
    return users_folder("FORMCHECK_CACHE", "LOCALAPPDATA", "~/Library/Caches", "XDG_CACHE_HOME", "~/.cache")


def kept(name: str, files: Iterable[str], make: Callable[[], bytes]) -> Tables:
    """The tables that make() writes, from the cache where they were made from these files as they are now.

    A cache folder into which others may write is not used: limits that somebody else put there would be believed.
    """
    if not private(cache_folder()):
        return Tables(make(), make)
    path = os.path.join(cache_folder(), f"{name}-{state_of(files)}.tables")

    def anew() -> bytes:
        made = make()
        _keep(path, made, name)
        return made

    try:
        return Tables(_mapped(path), anew)
    except (OSError, BadTables):
        return Tables(anew(), anew)


def _mapped(path: str) -> bytes:
    """The bytes of a file, read from the disk where they are looked at. Raises OSError, BadTables."""
    import mmap

    with open(path, "rb") as file:
        if not os.fstat(file.fileno()).st_size:
            raise BadTables("the file is empty")
        return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)  # type: ignore[return-value]


def state_of(files: Iterable[str]) -> str:
    """A short name for the state of some files. Its checksums guard names, they keep no secret."""
    import zlib

    from .. import __version__

    parts = [_LAYOUT, __version__]
    for path in files:
        try:
            status = os.stat(path)
            parts.append(f"{path}:{status.st_size}:{status.st_mtime_ns}")
        except OSError:
            parts.append(path)
    text = "\n".join(parts).encode("utf-8", "surrogateescape")
    return f"{zlib.crc32(text):08x}{zlib.adler32(text):08x}"


def _keep(path: str, data: bytes, name: str) -> None:
    """Writes beside and renames; sweeps older states away. A cache that cannot be written is no error."""
    beside = f"{path}.{os.getpid()}"
    try:
        folder = os.path.dirname(path)
        with open(beside, "wb") as file:
            file.write(data)
        os.replace(beside, path)
        states = [item for item in os.scandir(folder) if item.name.startswith(name + "-") and item.path != path]
        states.sort(key=lambda item: item.stat().st_mtime)
        for item in states[: 1 - _STATES]:
            os.unlink(item.path)
    except OSError:
        with suppress(OSError):
            os.unlink(beside)
