"""Putting a changed file in the place of the old one, in one stroke."""

from __future__ import annotations

import contextlib
import os
import shutil

from ..folders import cleared, special


class NotSaved(Exception):
    """The file could not be put in its place, which is as it was; the message says why."""


def save(path: str, data: bytes, old: bytes | None = None) -> None:
    """Puts data in the place of a file, or makes the file. Written beside and renamed, so no half file is ever there.

    old: what the file held when it was read; it is left alone when it holds something else now. The file keeps its
    permissions, and a link goes on leading to it. Raises NotSaved.
    """
    target = os.path.realpath(path)
    if special(target):
        raise NotSaved("it is no ordinary file")
    beside = f"{target}.part"
    try:
        if old is not None:
            with open(target, "rb") as file:
                if file.read() != old:
                    raise NotSaved("the file was changed in the meantime; run the command again")
        with open(cleared(beside), "xb") as file:
            file.write(data)
        if os.path.exists(target):
            shutil.copymode(target, beside)
        os.replace(beside, target)
    except OSError as error:
        with contextlib.suppress(OSError):
            os.remove(beside)
        raise NotSaved(f"cannot be written: {(error.strerror or str(error)).lower()}") from None
