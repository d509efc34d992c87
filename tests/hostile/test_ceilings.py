"""No file takes longer than two seconds of a core or more than 400 MB: it is reviewed in full, or refused in one clear line."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from functools import cache
from pathlib import Path

import pytest
from large_files import REFUSED, largest, lines

from formcheck.formula.build import MOST
from formcheck.review.corrections import correct
from formcheck.review.house import read_house
from formcheck.review.run import Reviewer, run_rules
from formcheck.review.settings import BadSettings
from formcheck.review.settings_file import read_settings

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
    for _ in range(2):  # a second time where a busy machine may have been to blame
        started = time.process_time()
        review = reviewer.review(str(path))
        seconds = time.process_time() - started
        if seconds < ceiling():
            break
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
    "html": ("known lines, poured", "long note"),
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


def test_corrections_of_a_large_file_are_tried_for_a_while_and_the_rest_is_said(reviewer: Reviewer) -> None:
    """Each is tried with a review of the whole file; what was not tried must not look as if there were nothing to do."""
    names = [name for material in reviewer.reference.all() for name in material.names if name != material.name]
    text = "formcheck: 1\nname: x\n" + lines(names[: MOST["lines"] // 4])
    started = time.process_time()
    result = correct(reviewer, "x.formula.yaml", text.encode(), ["inci-names"])
    assert time.process_time() - started < 2 * ceiling()
    assert result.made
    assert "run it again" in result.refused[-1].why


SETTINGS = {
    "unknown rules": "".join(f'[rules.x{i}]\nsilent = true\nreason = "x"\n' for i in range(8_000)),
    "unknown keys": "".join(f"k{i} = 1\n" for i in range(50_000)),
    "long text": "note = '" + "a" * 900_000 + "'\n",
    "deep": "a" + ".a" * 50_000 + " = 1\n",
    "many folders": "leave-out = [" + ", ".join(f'"f{i}"' for i in range(50_000)) + "]\n",
    "many house files": "house-rules = [" + ", ".join(f'"f{i}.house.yaml"' for i in range(50_000)) + "]\n",
    "digits": f"threshold = {'9' * 900_000}\n",
}


@pytest.mark.parametrize("name", SETTINGS)
def test_settings_are_read_or_refused_soon(reviewer: Reviewer, tmp_path: Path, name: str) -> None:
    (tmp_path / "formcheck.toml").write_text(SETTINGS[name], encoding="utf-8")
    started = time.process_time()
    try:
        read_settings(str(tmp_path / "formcheck.toml"), reviewer.rules, reviewer.reference)
    except BadSettings as error:
        assert len(str(error)) < 100_000
    assert time.process_time() - started < ceiling()


def house_rules(count: int, expect: str) -> str:
    rule = "finds: x, harm: untidy, why: x, remedy: x, flawed: x, mended: x"
    return "house: 1\nrules:\n" + "".join(f"  r{i}: {{{rule}, expect: {expect}}}\n" for i in range(count))


HOUSE = {
    "many rules": house_rules(3000, "{holds: {class: [water], percent: up to 5 %}}"),
    "wide rules": house_rules(20, "{all of: [" + "{sum: {class: [water, oil], percent: up to 5 %}}, " * 400 + "]}"),
    "deep rules": house_rules(1, "{any of: [" * 25 + "{holds: {class: water}}" + "]}" * 25),
    "many mistakes": house_rules(3000, "{hoolds: {clas: watr}}"),
    "no rules": "house: 1\nrules: {" + "a: 1, " * 40_000 + "}",
}


@pytest.mark.parametrize("name", HOUSE)
def test_rules_of_the_house_are_read_and_run_or_refused_soon(reviewer: Reviewer, tmp_path: Path, name: str) -> None:
    (tmp_path / "x.house.yaml").write_text(HOUSE[name], encoding="utf-8")
    started = time.process_time()
    try:
        rules = read_house(str(tmp_path / "x.house.yaml"), reviewer.reference, {})
    except BadSettings as error:
        assert len(str(error)) < 100_000
        rules = ()
    sheet = reviewer.sheet(
        "x.formula.yaml", b"formcheck: 1\nname: x\nphases: {A: {Aqua: 90, Helianthus Annuus Seed Oil: 10}}\n"
    )
    assert not run_rules(rules, sheet)[2]
    assert time.process_time() - started < ceiling()
    assert bool(rules) == (name in ("many rules", "wide rules", "deep rules"))
