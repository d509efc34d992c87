"""Which files are formulas, and how one becomes a document."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterator
from io import FileIO

from . import places
from .document import START, Document, Mapping, Node, Problem, Scalar, Unreadable, describe
from .text import MOST_BYTES, decode

ENDINGS = (".formula.yaml", ".formula.yml", ".formula.toml", ".formula.json")

_PIECE = 65536
MOST_CHARACTERS = 4000
"""A note may be a page long; what is longer is no name, figure or note."""

Reader = Callable[[str], "Node | None"]


def find(
    folder: str,
    leaves_out: Callable[[str], bool] | None = None,
    unlisted: Callable[[OSError], object] | None = None,
) -> Iterator[str]:
    """Formula files below a folder, in the order of their names.

    Hidden folders, node_modules, virtual environments and the folders of which leaves_out says so are left out; links to
    folders are not followed. unlisted hears of every folder that cannot be listed; without it that raises OSError. Below an
    address every formula file is found.
    """
    if places.is_address(folder):
        yield from _find_at(folder, unlisted)
        return
    open_folders = [_entries(folder, unlisted)]
    while open_folders:
        entry = next(open_folders[-1], None)
        if entry is None:
            open_folders.pop()
        elif entry.is_dir(follow_symlinks=False):
            if not _left_out(entry) and not (leaves_out and leaves_out(entry.path)):
                open_folders.append(_entries(entry.path, unlisted))
        elif entry.name.lower().endswith(ENDINGS) and not entry.name.startswith(".") and not _endless(entry):
            yield entry.path


def is_searched(path: str) -> bool:
    """Whether a path is a folder to look through, as nothing is at an address that is named as a formula is.

    Raises OSError where an address cannot be asked.
    """
    named = places.is_address(path) and path.lower().endswith(ENDINGS)
    return not named and places.is_folder(path)


def _find_at(address: str, unlisted: Callable[[OSError], object] | None) -> Iterator[str]:
    try:
        found = list(places.below(address))
    except OSError as error:
        if unlisted is None:
            raise
        unlisted(error)
        return
    yield from (path for path in found if path.lower().endswith(ENDINGS))


def _entries(folder: str, unlisted: Callable[[OSError], object] | None) -> Iterator[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as listing:
            return iter(sorted(listing, key=lambda entry: entry.name))
    except OSError as error:
        if unlisted is None:
            raise
        unlisted(error)
        return iter(())


def _endless(entry: os.DirEntry[str]) -> bool:
    """Whether it is a pipe, a socket or a device, which may never come to an end; one that is named is read all the same."""
    try:
        if entry.is_file():  # mostly known from the folder's own listing
            return False
        mode = entry.stat().st_mode
    except OSError:  # a link that leads nowhere: the review says so
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _left_out(folder: os.DirEntry[str]) -> bool:
    name = folder.name
    return (
        name.startswith(".")
        or name in ("node_modules", "__pycache__")
        or os.path.exists(os.path.join(folder.path, "pyvenv.cfg"))
    )


def read(path: str, data: bytes | None = None, readers: dict[str, Reader] | None = None) -> Document:
    """The document in a file; data is given when the bytes are already at hand (standard input).

    readers maps a file ending such as ".csv" to a reader that plug-ins bring. Raises Unreadable.
    """
    text = text_of(path) if data is None else decode(data)
    root = _reader(path, text, readers or {})(text)
    if root is None:
        raise Unreadable(Problem(START, "the file is empty; a formula needs at least formcheck, name and phases"))
    if not isinstance(root, Mapping):
        raise Unreadable(
            Problem(
                root.place, f"{describe(root)} at the top; a formula file is a mapping that begins with «formcheck: 1»"
            )
        )
    if len(text) > MOST_CHARACTERS:
        _check_lengths(root)
    return Document(path, root, text)


def _check_lengths(root: Node) -> None:
    """Raises Unreadable where a key or a value is longer than anybody writes."""
    waiting: list[Node] = [root]
    while waiting:
        node = waiting.pop()
        if isinstance(node, Scalar):
            if len(node.text) > MOST_CHARACTERS:
                message = f"a text of {len(node.text)} characters; {MOST_CHARACTERS} are the most that are read"
                raise Unreadable(Problem(node.place, message))
        elif isinstance(node, Mapping):
            waiting.extend(part for entry in node.entries for part in entry)
        else:
            waiting.extend(node.items)


def text_of(path: str) -> str:
    """The text of a file. Raises Unreadable."""
    return decode(bytes_of(path))


def bytes_of(path: str) -> bytes:
    """The bytes of a file, of one that is too large only enough to see that. Raises Unreadable."""
    try:
        if places.is_address(path):
            return places.bytes_at(path, MOST_BYTES)
        with open(path, "rb", buffering=0) as file:
            return _read(file, os.fstat(file.fileno()).st_size)
    except OSError as error:
        raise Unreadable(Problem(START, f"cannot be opened: {(error.strerror or str(error)).lower()}")) from None
    except ValueError as error:
        raise Unreadable(Problem(START, f"cannot be opened: {error}")) from None


def _read(file: FileIO, size: int) -> bytes:
    """All of a file of so many bytes, of one that grows or never ends no more than shows that it is too large."""
    if size > MOST_BYTES:
        message = f"the file has {size / 1e6:.1f} MB; a formula file may have {MOST_BYTES / 1e6:.1f} MB"
        raise Unreadable(Problem(START, message))
    data = b""
    while len(data) <= MOST_BYTES and (more := file.read(max(size + 1 - len(data), _PIECE))):
        data += more
    return data


def _reader(path: str, text: str, readers: dict[str, Reader]) -> Reader:
    name = path.lower()
    for ending, reader in readers.items():
        if name.endswith(ending):
            return reader
    if name.endswith(".json") or (path == "-" and text.lstrip()[:1] == "{"):
        from .json_reader import read_json

        return read_json
    if name.endswith(".toml") or (path == "-" and _looks_like_toml(text)):
        from .toml_reader import read_toml

        return read_toml
    from .yaml_reader import read_yaml

    return read_yaml


def kind_of(path: str, text: str, readers: dict[str, Reader]) -> str:
    """Which format a file is read as: yaml, toml or json; "" where a plug-in's reader takes it."""
    return {"read_yaml": "yaml", "read_toml": "toml", "read_json": "json"}.get(
        _reader(path, text, readers).__name__, ""
    )


def _looks_like_toml(text: str) -> bool:
    """Standard input has no ending: the first line that says anything is `key = value` or `[table]` in TOML."""
    for line in text.splitlines():
        line = line.strip()
        if line and not line.startswith("#"):
            head = line.split("=", 1)[0]
            return line.startswith("[") or ("=" in line and ":" not in head)
    return False
