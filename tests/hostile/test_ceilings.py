"""No file takes longer than two seconds of a core or more than 400 MB: it is reviewed in full, or refused in one clear line."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from functools import cache
from pathlib import Path

import pytest
from large_files import REFUSED, largest

from formcheck.review.run import Reviewer

SECONDS = 2.0
LOOP_S = 0.04
"""What the loop below takes on a core of 2.5 GHz; a slower one has so much more time."""
MEMORY = 400 * 1024 * 1024


@cache
def ceiling() -> float:
    def loop() -> float:
        started = time.process_time()
        sum(number * number % 7 for number in range(500_000))
        return time.process_time() - started

    return SECONDS * max(1.0, min(loop() for _ in range(3)) / LOOP_S)


@pytest.fixture(scope="module")
def large(reviewer: Reviewer) -> dict[str, tuple[str, str]]:
    of = {kind: [m.name for m in reviewer.reference.all() if m.is_a(kind)] for kind in ("acid", "preservative")}
    return {
        name: (file, text)
        for name, file, text in largest(list(reviewer.reference.headings), of["acid"], of["preservative"])
    }


NAMES = [name for name, _, _ in largest(["Aqua"], ["Citric Acid"], ["Benzoic Acid"])]


def took(reviewer: Reviewer, path: Path, text: str) -> tuple[str, list[str], list[str]]:
    """(verdict, refusals, faults) of a review; the time it takes is what is held against the ceiling."""
    path.write_text(text, encoding="utf-8")
    started = time.process_time()
    review = reviewer.review(str(path))
    seconds = time.process_time() - started
    assert seconds < ceiling(), f"{seconds:.1f} s"
    return review.verdict, [problem.message for problem in review.errors], [fault.what for fault in review.faults]


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_too_much_is_refused_in_clear_words(reviewer: Reviewer, tmp_path: Path, name: str) -> None:
    file, text, words = REFUSED[name]
    verdict, refusals, _ = took(reviewer, tmp_path / file, text)
    assert verdict == "not reviewed"
    assert any(words in refusal for refusal in refusals), refusals
    assert all(len(refusal) < 2100 for refusal in refusals)
    assert len(refusals) <= 101


@pytest.mark.parametrize("name", NAMES)
def test_the_largest_that_is_reviewed_is_reviewed_in_full(
    reviewer: Reviewer, large: dict[str, tuple[str, str]], tmp_path: Path, name: str
) -> None:
    file, text = large[name]
    verdict, refusals, faults = took(reviewer, tmp_path / file, text)
    assert (refusals, faults) == ([], [])
    assert verdict in ("ready", "hold")


BOUNDED = """\
import resource, sys
resource.setrlimit(resource.RLIMIT_AS, ({memory}, {memory}))
from formcheck.commands.main import main
sys.exit(main(sys.argv[1:]))
"""


HEAVIEST = {
    "json": (
        "alias bomb",
        "many TOML headings",
        "many keys",
        "parts of blends",
        "house materials",
        "comments",
        "claims",
    ),
    "html": ("known lines, poured", "unknown lines", "long note"),
}


@pytest.mark.skipif(sys.platform != "linux", reason="the memory of a process is bounded otherwise")
@pytest.mark.parametrize("report", HEAVIEST)
def test_one_after_another_they_stay_within_the_memory(
    large: dict[str, tuple[str, str]], tmp_path: Path, report: str
) -> None:
    """With the report that shows them. Where memory runs out a rule fails with MemoryError, and is named."""
    every = {**{name: case[:2] for name, case in REFUSED.items()}, **large}
    for number, name in enumerate(HEAVIEST[report]):
        file, text = every[name]
        (tmp_path / f"{number:03d}-{file}").write_text(text, encoding="utf-8")
    command = [
        sys.executable,
        "-c",
        BOUNDED.format(memory=MEMORY),
        "review",
        ".",
        "--format",
        report,
        "--output",
        "report",
    ]
    result = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=300)
    assert (result.returncode, result.stderr) == (2, "")
    if report == "json":
        reviews = json.loads((tmp_path / "report").read_text("utf-8"))["reviews"]
        assert len(reviews) == len(HEAVIEST[report])
        assert not [review for review in reviews if review.get("faults")]
        refused = sum(name in REFUSED for name in HEAVIEST[report])
        assert sum(review["verdict"] == "not reviewed" for review in reviews) == refused
