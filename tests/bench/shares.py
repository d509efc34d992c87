"""Where the time of a review goes: python tests/bench/shares.py [SECONDS]

Samples reviews with pyinstrument (pip install pyinstrument), of copies of one file of 60 lines and of all real files,
each review anew, and prints the shares that stand in DEVELOPERS.md: reading, building, each part of the bench, each rule
by itself. A part that several rules ask for is worked out once, and counts for itself whoever asked first.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from formulas import real, sixty_lines

from formcheck.review.run import Reviewer

HOME = Path(__file__).resolve().parent.parent.parent
INTERVAL_S = 0.0002
RULES_SHOWN = 8
STAGES = {
    "reading/": "reading: bytes to document",
    "formula/build": "building: document to formula",
    "bench/composition": "composition, names looked up",
    "bench/thermal": "the procedure walked through",
    "bench/waterphase": "acid and base",
    "bench/adjusting": "acid and base",
    "bench/acidbase": "acid and base",
    "bench/windows": "pH windows",
    "bench/preservation": "preservation, water activity",
    "bench/emulsion": "oil and water",
    "bench/law": "law",
    "bench/wording": "law",
    "bench/allergens": "law",
    "bench/": "the rest of the bench",
}


def main(seconds: float) -> None:
    copies = [("cream.formula.yaml", sixty_lines(HOME).encode())]
    for what, files in (("one file of 60 lines", copies), ("the real files", real(HOME))):
        found = shares(files, seconds)
        print(f"\n{what}")
        for name, share in found.most_common():
            if not name.startswith("rule ") or name in dict(_dearest(found)):
                print(f"{100 * share:6.1f} %  {name}")
        rules = sum(share for name, share in found.items() if name.startswith("rule "))
        print(f"{100 * rules:6.1f} %  all rules by themselves")


def _dearest(found: Counter[str]) -> Sequence[tuple[str, float]]:
    rules = Counter({name: share for name, share in found.items() if name.startswith("rule ")})
    return rules.most_common(RULES_SHOWN)


def shares(files: Sequence[tuple[str, bytes]], seconds: float) -> Counter[str]:
    """Stage, or rule, -> its share of the time."""
    from pyinstrument import Profiler

    reviewer = Reviewer()
    _review(reviewer, files)
    profiler = Profiler(interval=INTERVAL_S)
    profiler.start()
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        _review(reviewer, files)
    profiler.stop()
    session = profiler.last_session
    assert session is not None
    found: Counter[str] = Counter()
    for stage, taken in _taken(session.root_frame(), ""):
        found[stage] += taken
    whole = sum(found.values())
    return Counter({name: taken / whole for name, taken in found.items()})


def _review(reviewer: Reviewer, files: Sequence[tuple[str, bytes]]) -> None:
    for path, data in files:
        reviewer.review(path, data)


def _taken(frame: Any, stage: str) -> Iterator[tuple[str, float]]:
    """(stage, seconds) of a frame and of all that it called."""
    stage = _stage(str(frame.file_path or ""), str(frame.function), stage)
    inside = 0.0
    for called in frame.children:
        inside += called.time
        yield from _taken(called, stage)
    yield stage, frame.time - inside


def _stage(file: str, function: str, within: str) -> str:
    """What a frame belongs to: to a part of the bench, if it is in one; else to the stage or rule that called it."""
    path = file.replace("\\", "/")
    if "/rules/" in path and not within.startswith("rule ") and function in ("check", "concerns"):
        return f"rule {Path(path).stem.replace('_', '-')}"
    if within in STAGES.values():
        return within
    known = (
        name for part, name in STAGES.items() if f"/formcheck/{part}" in path and not path.endswith("worksheet.py")
    )
    return next(known, within or "the engine: rules called, findings settled")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 5.0)
