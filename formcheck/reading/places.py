"""Where files lie: on this machine, or at an address such as s3://bucket/hand-gel.formula.yaml.

Addresses are read through fsspec, which the extra `many` brings, and only those that somebody asked for by name; what
lies at one is served by the materials and the configuration that lie beside it there.
"""

from __future__ import annotations

import os
import posixpath
import re
from collections.abc import Callable, Iterator
from typing import Any

_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+://")


def is_address(path: str) -> bool:
    """Whether a path is an address, with a scheme of two letters or more before `://`."""
    return "://" in path and _ADDRESS.match(path) is not None


def joined(folder: str, name: str) -> str:
    """A name below a folder, without `.` and `..`; one that is absolute, or an address itself, stays as it is."""
    if is_address(name):
        return name
    if not is_address(folder):
        return os.path.normpath(os.path.join(folder, name))
    scheme, _, rest = folder.partition("://")
    path = posixpath.normpath(posixpath.join("/", rest, name))
    return f"{scheme}://{path if rest.startswith('/') else path.lstrip('/')}"


def folder_of(path: str) -> str:
    """The folder a file lies in, absolute; for standard input, `-`, the working folder."""
    if is_address(path):
        return above(path)
    return os.path.abspath("." if path == "-" else os.path.dirname(path) or ".")


def above(folder: str) -> str:
    """The folder above one; a root is its own."""
    if not is_address(folder):
        return os.path.dirname(folder)
    scheme, _, rest = folder.partition("://")
    higher = rest.rstrip("/").rpartition("/")[0]
    return f"{scheme}://{higher}" if higher else folder


def is_file(path: str) -> bool:
    """Whether a file is there; False as well where nobody can tell."""
    if not is_address(path):
        return os.path.isfile(path)
    try:
        system, inner = _at(path)
        return bool(system.isfile(inner))
    except Exception:  # of a network anything may come
        return False


def is_folder(path: str) -> bool:
    """Whether a folder is there. Raises OSError where an address cannot be asked."""
    if not is_address(path):
        return os.path.isdir(path)
    return bool(_asked(path, lambda system, inner: system.isdir(inner)))


def is_root(folder: str) -> bool:
    """Whether a repository ends here, and with it the search for what serves a file."""
    return not is_address(folder) and os.path.exists(os.path.join(folder, ".git"))


def bytes_at(address: str, most: int) -> bytes:
    """The first bytes of what lies at an address, one more than most at the most. Raises OSError."""

    def read(system: Any, inner: str) -> bytes:
        with system.open(inner, "rb") as file:
            return bytes(file.read(most + 1))

    found: bytes = _asked(address, read)
    return found


def below(address: str) -> Iterator[str]:
    """The addresses of all files below one, in the order of their names. Raises OSError."""

    def listing(system: Any, inner: str) -> list[str]:
        top = inner.rstrip("/")
        return sorted(f"{address.rstrip('/')}{str(name).removeprefix(top)}" for name in system.find(inner))

    yield from _asked(address, listing)


def _asked(address: str, question: Callable[[Any, str], Any]) -> Any:
    """The answer of the file system behind an address; whatever goes wrong there is an OSError."""
    try:
        system, inner = _at(address)
        return question(system, inner)
    except OSError:
        raise
    except Exception as error:
        raise OSError(f"{type(error).__name__}: {error}") from error


def _at(address: str) -> tuple[Any, str]:
    try:
        import fsspec
    except ImportError:
        raise OSError('an address needs fsspec: pip install "formcheck[many]"') from None
    system, inner = fsspec.core.url_to_fs(address)
    return system, str(inner)
