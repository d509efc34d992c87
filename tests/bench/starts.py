"""How long it takes to start: a review of one file, and the reference by itself."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from clock import Clock, run
from formulas import sixty_lines
from table import Row
from world import program

CORE = "import yaml, jsonschema, pluggy, tomli"
OPEN = """
import json, time
from formcheck.reference.store import open_reference
start = time.process_time()
reference = open_reference()
reference.find("xanthan gum")
taken = time.process_time() - start
print(json.dumps([taken, len(list(reference.headings))]))
"""
MOST_OPENING_MS = 10


def rows(folder: Path, clock: Clock) -> Iterator[Row]:
    """The cold start, and the opening of the reference."""
    file = folder / "cream.formula.yaml"
    file.write_text(sixty_lines(folder / "project"), encoding="utf-8")
    review = [program("formcheck"), "review", str(file)]
    first = run(review)
    taken = clock.commands(
        {
            "formcheck": review,
            "yamllint": [program("yamllint"), str(file)],
            "core imports": [sys.executable, "-c", CORE],
            "bare Python": [sys.executable, "-c", "pass"],
        }
    )
    ours, theirs = taken.pop("formcheck"), taken["yamllint"]
    yield Row(
        "cold start, one file of 60 lines",
        f"{ours.ms}: {ours.median / theirs.median:.2f} × yamllint",
        ", ".join(f"{name} {value.ms}" for name, value in taken.items()),
        "no slower than yamllint",
        ours.median > theirs.median,
    )
    yield Row("the first start of all, which compiles the reference", f"{first.cpu:.1f} s", "", "")
    yield _opening(clock)


def _opening(clock: Clock) -> Row:
    """Each time in a process of its own: opened from the cache, and one material found."""
    values, materials = [], 0
    for _ in range(clock.rounds):
        said = subprocess.run([sys.executable, "-c", OPEN], capture_output=True, text=True, check=True).stdout
        taken, materials = json.loads(said)
        values.append(taken)
    measured = clock.measured("opening of the reference", values)
    return Row(
        f"opening the reference of {materials} materials and finding one",
        measured.ms,
        "",
        f"under {MOST_OPENING_MS} ms at 600 materials",
        measured.median * 1e3 >= MOST_OPENING_MS,
    )
