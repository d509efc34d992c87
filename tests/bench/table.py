"""The result as a table for DEVELOPERS.md."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from world import described


class Row(NamedTuple):
    """One line: what was measured, how it came out, what was measured beside it, what it is held to.

    missed: whether it is worse than that.
    """

    what: str
    formcheck: str
    beside: str
    held_to: str
    missed: bool = False


def printed(rows: Iterable[Row], rounds: int) -> str:
    """The table, and under it where and when it was measured."""
    lines = ["| what | formcheck | beside it | held to |", "|---|---|---|---|"]
    lines.extend(
        f"| {row.what} | {row.formcheck} | {row.beside} | {row.held_to}{' **(missed)**' if row.missed else ''} |"
        for row in rows
    )
    lines.append("")
    lines.append(f"{described()}. Medians of {rounds} rounds ± their median distance.")
    return "\n".join(lines)
