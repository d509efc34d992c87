"""What a report is: it takes reviews one at a time and gives text as it goes, so that many need no memory."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple, TypeAlias

from ..plugins import Fault
from ..review.model import Review
from ..review.rule import Rule

Function: TypeAlias = Callable[[Iterable[Review]], str]
"""A report as plug-ins bring it: all reviews in, all text out."""

BUILT_IN = {
    "text": ("terminal", "Text"),
    "json": ("json_report", "Json"),
    "sarif": ("sarif", "Sarif"),
    "junit": ("junit", "JUnit"),
    "github": ("github", "GitHub"),
    "gitlab": ("gitlab", "GitLab"),
    "markdown": ("markdown", "Markdown"),
}
"""Name -> module and class; a module is imported when its report is asked for."""


class Context(NamedTuple):
    """What a report may know besides the reviews: rules in force, threshold, and the works behind source ids."""

    rules: Sequence[Rule]
    threshold: str
    cite: Callable[[Iterable[str]], str]


class Report:
    """One report: begin, add every review, end; what the three give, joined, is the report."""

    def __init__(self, context: Context) -> None:
        self.context = context

    def begin(self) -> str:
        return ""

    def add(self, review: Review) -> str:
        raise NotImplementedError

    def end(self) -> str:
        return ""


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
