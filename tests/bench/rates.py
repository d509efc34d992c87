"""How many files a second on one core, beside a style checker and beside reading the bare YAML."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import yaml
from clock import Clock, Measured
from formulas import real, sixty_lines
from table import Row
from yamllint import linter
from yamllint.config import YamlLintConfig

from formcheck.review.run import Reviewer

COPIES = 100
MOST_MS = 2.0
FASTER_THAN_YAMLLINT = 3.0
MOST_OF_LIBYAML = 5.0


def rows(folder: Path, clock: Clock) -> Iterator[Row]:
    """All rules over copies of one file, and over a mix of real ones; each program within one process."""
    project = folder / "project"
    data = sixty_lines(project).encode()
    yield from _rates("copies of one file", [(f"cream-{n}.formula.yaml", data) for n in range(COPIES)], clock)
    yield from _rates("a mix of real files", real(project), clock)


def _rates(what: str, files: Sequence[tuple[str, bytes]], clock: Clock) -> Iterator[Row]:
    reviewer, settings = Reviewer(), YamlLintConfig("extends: default")
    texts = [data.decode() for _, data in files]

    def formcheck() -> None:
        for path, data in files:
            reviewer.review(path, data)

    def yamllint() -> None:
        for text in texts:
            list(linter.run(text, settings))

    def libyaml() -> None:
        for _, data in files:
            yaml.load(data, Loader=yaml.CSafeLoader)

    taken = clock.functions({"formcheck": formcheck, "yamllint": yamllint, "libyaml": libyaml})
    ours, theirs, bare = (Measured(*(each / len(files) for each in taken[name])) for name in taken)
    lines = sum(data.count(b"\n") for _, data in files) / len(files)
    yield Row(
        f"{what} ({len(files)}, of {lines:.0f} lines on average), all {len(reviewer.rules)} rules, one core",
        f"{ours.ms} a file",
        "",
        f"at most {MOST_MS:g} ms for 60 lines",
        ours.median * 1e3 > MOST_MS,
    )
    yield Row(
        "the same beside yamllint",
        f"{theirs.median / ours.median:.1f} times its rate",
        f"yamllint {theirs.ms} a file",
        f"at least {FASTER_THAN_YAMLLINT:g} times",
        theirs.median < FASTER_THAN_YAMLLINT * ours.median,
    )
    yield Row(
        "the same beside libyaml's bare load",
        f"{ours.median / bare.median:.1f} times its time",
        f"libyaml {bare.ms} a file",
        f"at most {MOST_OF_LIBYAML:g} times",
        ours.median > MOST_OF_LIBYAML * bare.median,
    )
