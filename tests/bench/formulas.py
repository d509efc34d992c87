"""The files that are measured on."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

EXAMPLE = "examples/sound/comfrey-foot-cream.formula.yaml"
REAL = ("examples", "tests/corpus")
LINES = 60


def sixty_lines(project: Path) -> str:
    """The example, brought to 60 lines with notes of the maker's."""
    lines = (project / EXAMPLE).read_text(encoding="utf-8").splitlines()
    lines.extend(f"# {number}: kept in the second drawer" for number in range(len(lines) + 1, LINES + 1))
    return "\n".join(lines) + "\n"


def real(project: Path) -> list[tuple[str, bytes]]:
    """(path, contents) of every YAML formula of the examples and of the corpus that the tests read."""
    found = sorted(path for folder in REAL for path in (project / folder).rglob("*.formula.yaml"))
    return [(str(path), path.read_bytes()) for path in found]


def copies(folder: Path, text: str, count: int, different: int = 0) -> Path:
    """A folder with so many formula files, a hundred a folder.

    different: how many of them differ, by their name; the others are links to those, and cost the disk nothing. 0: all.
    """
    made: list[Path] = []
    for number in range(count):
        file = folder / f"{number // 100:04}" / f"{number:06}.formula.yaml"
        file.parent.mkdir(parents=True, exist_ok=True)
        if different and len(made) >= different:
            os.link(made[number % different], file)
        else:
            file.write_text(text.replace("name: ", f"name: {number} ", 1), encoding="utf-8")
            made.append(file)
    return folder


def of_ingredients(names: list[str]) -> str:
    """A formula of all these materials."""
    lines = "\n".join(f"    {name}: {90 / len(names):.5f}" for name in names)
    return f"formcheck: 1\nname: x\nphases:\n  A:\n{lines}\n  B: {{Petrolatum: q.s.}}\n"


def of_steps(count: int) -> str:
    """A formula with so many steps."""
    return "\n".join(("formcheck: 1", "name: x", _PHASES, "procedure:", *_steps(count))) + "\n"


_PHASES = "phases: {A: {Aqua: q.s., Glycerin: 5, Phenoxyethanol: 0.9}, B: {Petrolatum: 5, Cetearyl Alcohol: 3}}"


def _steps(count: int) -> Iterator[str]:
    """Steps as procedures have them, over and over."""
    kinds = ("{heat: A, to: 75 °C}", "{mix: A, for: 2 min}", "{add: B, into: A}", "{homogenise: A, for: 3 min}", "{cool: A, to: 40 °C}")
    for number in range(count):
        yield f"  - {kinds[number % len(kinds)]}"
