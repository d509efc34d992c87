"""How fast it is, measured side by side in one run: python tests/bench/speed.py

Cold start of one 60-line file against importing the four core dependencies and against bare Python; throughput over
400 copies of it on one core; and how the cost of a review grows with ingredients and steps. Run by hand; prints
medians. Ratios are what to trust, milliseconds depend on the machine.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import yaml

from formcheck.review.run import Reviewer

HOME = Path(__file__).resolve().parent.parent.parent
# as on a user's machine: byte code is kept
_ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
EXAMPLE = HOME / "examples" / "sound" / "comfrey-foot-cream.formula.yaml"


def median_ms(command: list[str], runs: int = 15) -> float:
    """Median wall time of a command, after one run to warm the caches."""
    times = []
    for _ in range(runs + 1):
        started = time.perf_counter()
        subprocess.run(command, capture_output=True, check=False, env=_ENVIRONMENT)
        times.append(time.perf_counter() - started)
    return statistics.median(times[1:]) * 1e3


def sixty_lines() -> str:
    """The example, brought to 60 lines with notes of the maker's."""
    text = EXAMPLE.read_text(encoding="utf-8")
    lines = text.splitlines()
    while len(lines) < 60:
        lines.append(f"# {len(lines) + 1}: kept in the second drawer")
    return "\n".join(lines) + "\n"


def cold_start() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cream.formula.yaml"
        path.write_text(sixty_lines(), encoding="utf-8")
        bare = median_ms([sys.executable, "-c", "pass"])
        imports = median_ms([sys.executable, "-c", "import yaml, jsonschema, pluggy, tomli"])
        review = median_ms([sys.executable, "-m", "formcheck", "review", str(path)])
    print(
        f"bare Python {bare:.0f} ms, core imports {imports:.0f} ms, cold review {review:.0f} ms: {review / imports:.2f} times the imports (at most 1.5)"
    )


def throughput(files: int = 400) -> None:
    data = sixty_lines().encode()
    reviewer = Reviewer()
    reviewer.review("warm.formula.yaml", data)
    started = time.perf_counter()
    for number in range(files):
        reviewer.review(f"cream-{number}.formula.yaml", data)
    each = (time.perf_counter() - started) / files * 1e3
    started = time.perf_counter()
    for _ in range(files):
        yaml.load(data, Loader=yaml.CSafeLoader)
    bare = (time.perf_counter() - started) / files * 1e3
    print(
        f"{files} files of 60 lines: {each:.2f} ms each (at most 3), {each / bare:.1f} times libyaml's bare load ({bare:.2f} ms); {len(reviewer.rules)} rules"
    )


def growth() -> None:
    reviewer = Reviewer()
    known = [name for name in reviewer.reference.headings if ":" not in name][:2000]
    for count in (10, 100, 1000):
        lines = "\n".join(f"    {name}: {90 / count:.5f}" for name in known[:count])
        text = f"formcheck: 1\nname: x\nphases:\n  A:\n{lines}\n  B: {{Petrolatum: q.s.}}\n"
        print(f"{count:>5} ingredients: {_once(reviewer, text):.1f} ms")
    for count in (10, 100, 1000):
        steps = "\n".join("  - {mix: A, for: 1 min}" for _ in range(count))
        text = f"formcheck: 1\nname: x\nphases: {{A: {{Aqua: q.s., Glycerin: 5, Phenoxyethanol: 0.9}}}}\nprocedure:\n{steps}\n"
        print(f"{count:>5} steps: {_once(reviewer, text):.1f} ms")


def _once(reviewer: Reviewer, text: str) -> float:
    reviewer.review("x.formula.yaml", text.encode())
    started = time.perf_counter()
    reviewer.review("x.formula.yaml", text.encode())
    return (time.perf_counter() - started) * 1e3


if __name__ == "__main__":
    cold_start()
    throughput()
    growth()
