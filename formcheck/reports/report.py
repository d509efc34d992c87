"""What a report is: it takes reviews one at a time and gives text as it goes, so that many need no memory."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

from ..bench.worksheet import Worksheet
from ..plugins import Fault
from ..records import NamedTuple
from ..review.model import Review
from ..review.rule import Rule

Function: TypeAlias = Callable[[Iterable[Review]], str]
"""A report as plug-ins bring it: all reviews in, all text out."""

BUILT_IN = {
    "text": ("terminal", "Text"),
    "json": ("json_report", "Json"),
    "json-lines": ("json_report", "JsonLines"),
    "sarif": ("sarif", "Sarif"),
    "junit": ("junit", "JUnit"),
    "github": ("github", "GitHub"),
    "gitlab": ("gitlab", "GitLab"),
    "markdown": ("markdown", "Markdown"),
    "html": ("html_report", "Html"),
}
"""Name -> module and class; a module is imported when its report is asked for."""
FOLDERS = {"html": ("html_report", "HtmlFolder")}
"""The same for reports that can fill a folder."""


def _no_rules() -> Iterable[Rule]:
    return ()


class Context(NamedTuple):
    """What a report may know besides the reviews: rules in force, threshold, and the works behind source ids.

    threshold: where no configuration has another, which a review then carries; house: the house rules met so far.
    """

    rules: Sequence[Rule]
    threshold: str
    cite: Callable[[Iterable[str]], str]
    house: Callable[[], Iterable[Rule]] = _no_rules


class Report:
    """One report: begin, add every review, end; what the three give, joined, is the report."""

    def __init__(self, context: Context) -> None:
        self.context = context

    @property
    def draws(self) -> bool:
        """Whether it wants the worksheets behind the reviews, which are at hand only where a file is reviewed here and now."""
        return type(self).add_sheet is not Report.add_sheet

    def begin(self) -> str:
        return ""

    def add(self, review: Review) -> str:
        raise NotImplementedError

    def add_sheet(self, review: Review, sheet: Worksheet | None) -> str:
        """As add(), with the worksheet behind the review for reports that draw; None where the file could not be read."""
        return self.add(review)

    def end(self) -> str:
        return ""

    def rest(self) -> Iterator[str]:
        """What end() gives, in pieces where it is much."""
        yield self.end()


class FolderReport:
    """A report of many files, each a name within the folder and a text. Like a report that draws it wants worksheets."""

    draws = True
    first = ""
    """The file that a reader opens first."""

    def __init__(self, context: Context) -> None:
        self.context = context

    def add(self, review: Review, sheet: Worksheet | None) -> Iterator[tuple[str, str]]:
        raise NotImplementedError

    def end(self) -> Iterator[tuple[str, str]]:
        raise NotImplementedError

    def ours(self, head: str) -> bool:
        """Whether a file that begins like this is of this report's making, and so may be replaced."""
        raise NotImplementedError


class ReportFailed(Exception):
    """A plug-in's report did not work; carries the fault."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(f"{fault.who}: {fault.what}")
        self.fault = fault


class Whole(Report):
    """A plug-in's report, which wants all reviews at once. end() raises ReportFailed."""

    def __init__(self, context: Context, name: str, function: Function) -> None:
        super().__init__(context)
        self.name = name
        self.function = function
        self.reviews: list[Review] = []

    def add(self, review: Review) -> str:
        self.reviews.append(review)
        return ""

    def end(self) -> str:
        try:
            text = self.function(self.reviews)
        except Exception as error:
            raise ReportFailed(Fault(self.name, f"failed: {type(error).__name__}: {error}")) from error
        if not isinstance(text, str):
            raise ReportFailed(Fault(self.name, f"gave {type(text).__name__} where text is expected"))
        return text


def make(name: str, context: Context, brought: Mapping[str, Function]) -> Report:
    """The report of that name, one of ours or one that a plug-in brought. Raises KeyError."""
    if name not in BUILT_IN:
        return Whole(context, name, brought[name])
    module, attribute = BUILT_IN[name]
    report: Report = getattr(importlib.import_module(f".{module}", __package__), attribute)(context)
    return report


def make_folder(name: str, context: Context) -> FolderReport:
    """The report of that name that fills a folder. Raises KeyError."""
    module, attribute = FOLDERS[name]
    report: FolderReport = getattr(importlib.import_module(f".{module}", __package__), attribute)(context)
    return report
