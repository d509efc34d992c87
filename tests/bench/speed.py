"""How fast formcheck is, measured side by side in one run: python tests/bench/speed.py [PART ...] [--rounds N]

Makes an environment of its own in a temporary folder, with an ordinary install of this checkout, yamllint (a general
style checker for YAML, as a yardstick) and pyperf (for the statistics), measures there, and prints the table that
stands in DEVELOPERS.md. Parts: starts, rates, growth, folders, unchanged, many, memory; all but memory where none is
named. What is compared is measured in turns (A B C A B C), so that whatever else the machine does hits all alike.
Ratios are what to trust; milliseconds depend on the machine.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

PARTS = ("starts", "rates", "growth", "folders", "unchanged", "many", "memory")
USUAL = PARTS[:-1]
_INSIDE = "FORMCHECK_BENCH_FOLDER"
"""Set for the second start, which runs in the environment that was made for it: the folder to measure in."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", choices=(*PARTS, []), metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--rounds", type=int, default=15, metavar="N", help="how often each is measured (default: 15)")
    parser.add_argument("--output", metavar="FILE", help="keep every value, as a file that pyperf reads")
    options = parser.parse_args()
    if _INSIDE in os.environ:
        return _measure(options)
    with tempfile.TemporaryDirectory(prefix="formcheck-bench-") as folder:
        from world import environment, install

        python = install(Path(folder))
        return subprocess.run(
            [python, *sys.argv], env={**environment(Path(folder)), _INSIDE: folder}, check=False
        ).returncode


def _measure(options: argparse.Namespace) -> int:
    from clock import Clock
    from table import printed

    clock = Clock(options.rounds)
    folder = Path(os.environ[_INSIDE])
    rows = []
    for part in options.parts or USUAL:
        print(f"measuring {part} ...", file=sys.stderr, flush=True)
        rows.extend(_rows(part, folder, clock))
    print(printed(rows, options.rounds))
    if options.output:
        clock.keep(options.output)
    return int(any(row.missed for row in rows))


def _rows(part: str, folder: Path, clock: object) -> list[object]:
    if part in ("starts", "rates", "growth"):
        return list(__import__(part).rows(folder, clock))
    import folders

    return list(getattr(folders, part)(folder, clock))


if __name__ == "__main__":
    sys.exit(main())
