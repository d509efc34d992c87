"""Reports over very many reviews: whole, and no more in memory than for a few."""

from __future__ import annotations

import json
import tracemalloc
from collections.abc import Iterator
from xml.etree import ElementTree

import pytest

from formcheck.reading.document import Place
from formcheck.reports.markdown import MOST, MOST_TEXTS
from formcheck.reports.report import BUILT_IN, Context, make
from formcheck.reports.spool import MOST_IN_MEMORY, Spool
from formcheck.review.model import Review
from formcheck.review.rule import Finding, Unchecked
from formcheck.review.run import Reviewer


def _reviews(count: int) -> Iterator[Review]:
    for number in range(count):
        verdict = ("ready", "hold")[number % 2]
        finding = Finding("ph-missing", "major", Place(3, 1), "/phases", f"finding {number}.", "why", "remedy", "")
        unchecked = tuple(Unchecked(f"rule-{each}", "needs something that is not stated") for each in range(8))
        yield Review(f"f{number}.formula.yaml", f"Balm {number}", verdict, (finding,) * (number % 2), (), unchecked)


def _most_memory(name: str, context: Context, count: int) -> int:
    report = make(name, context, {})
    tracemalloc.start()
    try:
        report.begin()
        for review in _reviews(count):
            report.add(review)
        for _ in report.rest():
            pass
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.fixture(scope="module")
def context(reviewer: Reviewer) -> Context:
    return Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite)


@pytest.mark.parametrize("name", [name for name in BUILT_IN if name != "html"])
def test_memory_does_not_grow_with_the_reviews(name: str, context: Context, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("formcheck.reports.spool.MOST_IN_MEMORY", 20_000)
    _most_memory(name, context, 50)
    few, many = _most_memory(name, context, 1500), _most_memory(name, context, 4500)
    # without bounds 3,000 more reviews are more than 3 MB; the texts that pass by are no larger than 100 bytes a review
    assert many - few < 600_000, f"{few} bytes at 1500 reviews, {many} at 4500"


def test_what_comes_in_pieces_is_the_whole(context: Context) -> None:
    for name in BUILT_IN:
        whole, pieces = make(name, context, {}), make(name, context, {})
        for review in _reviews(20):
            assert whole.add(review) == pieces.add(review)
        assert "".join(pieces.rest()) == whole.end()


def test_much_sarif_and_junit_is_well_formed(context: Context) -> None:
    for name in ("sarif", "junit"):
        report = make(name, context, {})
        text = "".join((report.begin(), *map(report.add, _reviews(3000)), *report.rest()))
        if name == "sarif":
            (run,) = json.loads(text)["runs"]
            assert (len(run["results"]), len(run["invocations"][0]["toolExecutionNotifications"])) == (1500, 24000)
        else:
            assert len(ElementTree.fromstring(text).findall(".//testcase")) >= 3000


def test_a_comment_counts_what_it_has_no_room_for(context: Context) -> None:
    report = make("markdown", context, {})
    for review in _reviews(4 * MOST_TEXTS):
        report.add(review)
    text = report.end()
    assert len(text) <= MOST
    assert f"{2 * MOST_TEXTS} on hold, {2 * MOST_TEXTS} ready" in text
    shown = text.count("\n### ")
    assert 0 < shown < MOST_TEXTS
    # those on hold have a finding each; of those that are ready there is nothing to say
    assert f"What there is to say of {2 * MOST_TEXTS - shown} more formulas does not fit here." in text


@pytest.mark.parametrize("size", [0, 10, MOST_IN_MEMORY // 7, MOST_IN_MEMORY])
def test_a_spool_gives_back_what_it_took(size: int) -> None:
    spool = Spool()
    texts = [chr(0x3B1 + number) * size + "\r\n" for number in range(3)]
    for text in texts:
        spool.add(text)
    assert "".join(spool.pieces()) == "".join(texts)
