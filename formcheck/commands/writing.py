"""Putting a text where it belongs: standard output, or a file that is never left half written."""

from __future__ import annotations

import contextlib
import os
import sys

from ..folders import opened
from ..reading.files import ENDINGS
from .main import complain
from .refusal import unwritable

STANDARD_OUTPUT = "-"


def put(text: str, file: str | None, formula: str) -> bool:
    """Writes text to a file, or to standard output for None and `-`; whether that went well, with a word where not.

    formula: the file it was made from, which is never overwritten, nor anything named as a formula is. A file is written
    beside and renamed.
    """
    if file is None or file == STANDARD_OUTPUT:
        sys.stdout.write(text)
        return True
    target = os.path.realpath(file)
    if target == os.path.realpath(formula) or target.endswith(ENDINGS):
        complain(f"{file} is named as a formula is; it is left alone, name another file")
        return False
    beside = target
    try:
        stream, beside = opened(target, newline="")
        with stream:
            stream.write(text)
        if beside != target:
            os.replace(beside, target)
    except OSError as error:
        if beside != target:
            with contextlib.suppress(OSError):
                os.remove(beside)
        complain(unwritable(file, error))
        return False
    return True
