"""The review as pages for a browser: all in one file, or a folder with a page for each formula and an index.

A page stands alone: nothing is fetched, nothing runs, and its content policy allows nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from .. import __version__
from ..bench.worksheet import Worksheet
from ..reading.files import ENDINGS
from ..records import NamedTuple
from ..review.model import HOLD, READY, UNREAD, Review
from .drawing import patterns
from .html_page import LATER, FormulaPage, verdict
from .html_style import STYLE, content_policy
from .identity import STANDARD_INPUT, relative
from .markup import Content, Markup, tag
from .report import Context, FolderReport, Report
from .spool import Spool
from .terminal import summary

SIGNATURE = '<meta name="generator" content="formcheck">'
"""Stands in the head of every page of ours, and in no other."""
INDEX = "index.html"
_HERE = "<!-- formulas -->"
_HEADING = "Review before weighing"
_ORDER = (HOLD, UNREAD, READY)
_MOST_NAME = 80


class Entry(NamedTuple):
    """One row of the index. link: where the formula's own page, or part of the page, is."""

    review: Review
    link: str


class Html(Report):
    """All formulas in one file, with an index before them where there are several."""

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._entries: list[Entry] = []
        self._formulas = Spool()

    def add(self, review: Review) -> str:
        return self.add_sheet(review, None)

    def add_sheet(self, review: Review, sheet: Worksheet | None) -> str:
        prefix = f"f{len(self._entries) + 1}"
        self._entries.append(Entry(_outline(review), f"#{prefix}"))
        self._formulas.add(FormulaPage(review, sheet, prefix).markup())
        return ""

    def end(self) -> str:
        return "".join(self.rest())

    def rest(self) -> Iterator[str]:
        reviews = [entry.review for entry in self._entries]
        index = _index(self._entries) if len(reviews) > 1 else None
        before, _, after = page(_title(reviews), index, Markup(_HERE)).partition(_HERE)
        yield before
        yield from self._formulas.pieces()
        yield after


class HtmlFolder(FolderReport):
    """A page for each formula and an index: files as (name, text). The names are the same in every run over the same files."""

    first = INDEX

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self._entries: list[Entry] = []
        self._names = {INDEX}

    def add(self, review: Review, sheet: Worksheet | None) -> Iterator[tuple[str, str]]:
        name = self._name(review.file)
        self._entries.append(Entry(_outline(review), name))
        back = tag("nav", tag("p", tag("a", "All formulas", href=INDEX)), aria_label="All formulas")
        yield name, page(_title([review]), back, FormulaPage(review, sheet, "f1").markup())

    def end(self) -> Iterator[tuple[str, str]]:
        yield INDEX, page(_title([entry.review for entry in self._entries]), None, _index(self._entries))

    def ours(self, head: str) -> bool:
        return SIGNATURE in head

    def _name(self, file: str) -> str:
        """A name for the page of a file: plain letters and digits, told from others that are alike by a number."""
        base = file_slug(file)
        count, name = 1, f"{base}.html"
        while name in self._names:
            count += 1
            name = f"{base}-{count}.html"
        self._names.add(name)
        return name


def file_slug(file: str) -> str:
    """The name of a formula file without folder and ending, in a-z, 0-9 and hyphens."""
    name = "standard-input" if file == STANDARD_INPUT else re.split(r"[/\\]", file.rstrip("/\\"))[-1].lower()
    for ending in ENDINGS:
        name = name.removesuffix(ending)
    return re.sub(r"[^a-z0-9]+", "-", name).strip("-")[:_MOST_NAME].strip("-") or "formula"


def page(title: str, head: Content, content: Content) -> str:
    """A whole page. head: what comes before the main part."""
    header = tag("header", tag("h1", _HEADING), head)
    skip = tag("a", "To the review", href="#main", class_="away")
    end = tag("footer", tag("p", f"{LATER} Made by formcheck {__version__}.", class_="quiet"))
    body = tag("div", skip, header, tag("main", content, id="main"), end, class_="sheet")
    meta = [
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=Markup(content_policy())),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("meta", name="referrer", content="no-referrer"),
        Markup(SIGNATURE),
    ]
    style = tag("style", Markup(STYLE))
    whole = tag("html", tag("head", meta, tag("title", title), style), tag("body", patterns(), body), lang="en")
    return f"<!doctype html>\n{whole}\n"


def _outline(review: Review) -> Review:
    """What the index needs of a review, so that no more than that is kept."""
    bare = tuple(each._replace(message="", why="", remedy="", source="", materials=()) for each in review.findings)
    return Review(review.file, review.name, review.verdict, bare, note=review.note, errors=review.errors[:1])


def _title(reviews: list[Review]) -> str:
    if len(reviews) == 1:
        return f"{verdict(reviews[0])[0].capitalize()}: {reviews[0].name}"
    held = sum(review.verdict == HOLD for review in reviews)
    return f"{len(reviews)} formulas, {held} on hold"


def _index(entries: Iterable[Entry]) -> Markup:
    entries = sorted(entries, key=lambda entry: _ORDER.index(entry.review.verdict))
    counts = {kind: sum(entry.review.verdict == kind for entry in entries) for kind in _ORDER}
    head = tag("tr", [tag("th", cell, scope="col") for cell in ("formula", "verdict", "findings")])
    rows = [_row(entry) for entry in entries]
    return tag(
        "section",
        tag("h2", "All formulas", id="all"),
        tag("p", f"{summary(len(entries), counts[HOLD], counts[UNREAD])}."),
        tag("table", tag("thead", head), tag("tbody", rows), class_="list"),
        aria_labelledby="all",
    )


def _row(entry: Entry) -> Markup:
    review = entry.review
    word, rest = verdict(review)
    code = f" ({review.note})" if review.note else ""
    name = tag("th", tag("a", review.name + code, href=entry.link), tag("div", relative(review.file), class_="quiet"), scope="row")  # fmt: skip
    return tag("tr", name, tag("td", tag("strong", word) if review.verdict != READY else word), tag("td", rest.split(": ")[-1]))  # fmt: skip
