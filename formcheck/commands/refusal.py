"""Saying that a report cannot go where it was asked to go."""

from __future__ import annotations


class Refused(Exception):
    """What was asked for cannot be had; the message is for the user."""


def unwritable(file: str | None, error: OSError) -> str:
    """The one line for a file that cannot be written."""
    return f"{file}: cannot be written: {(error.strerror or str(error)).lower()}"
