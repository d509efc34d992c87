"""One formula as a piece of a page: verdict, findings beside the lines they speak of, pictures, what was left open."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from ..bench.worksheet import Worksheet
from ..review.model import HOLD, READY, Review
from ..review.rule import SEVERITIES, Finding
from ..review.words import celsius, grams, listed, number
from .drawing import WIDE, WIDTH
from .html_source import Source
from .markup import Content, Markup, tag
from .picture import Picture, Table
from .pictures import pictures
from .safe_text import sentence
from .terminal import CAUTION_RULES, blocks, counted

LATER = (
    "This page calls nothing safe and stands for no safety assessment, challenge test or stability test. "
    "Suppliers' data sheets, local rules and licensed practice come first."
)
_SIGNS = {
    "critical": "M5,1 h6 l4,4 v6 l-4,4 h-6 l-4,-4 v-6 z",
    "major": "M8,1 L15.5,15 H0.5 z",
    "minor": "M8,2 A6,6 0 1 1 7.99,2 M8,4.2 A3.8,3.8 0 1 0 8.01,4.2 z",
    "note": "M2,6.5 h12 v3 h-12 z",
}
"""A shape for each severity, in a square of 16: an octagon, a triangle, a ring, a dash."""


_BROAD = 1.3 * WIDTH
"""A drawing wider than this takes both columns."""
_UNIT = re.compile(r"(?<=\d) (?=(?:°C|%|g|mg|kg|ml|min|h|s|days)\b)|(?<=\d) (?=[°%])|(?<=pH) (?=\d)")


class FormulaPage:
    """Everything there is to say of one formula. prefix: makes its ids unique on the page."""

    def __init__(self, review: Review, sheet: Worksheet | None, prefix: str) -> None:
        self.review = review
        self.sheet = sheet
        self.prefix = prefix
        self.source = Source(sheet.formula.document.text, prefix) if sheet is not None else None
        self.cautions = [each for each in review.findings if each.rule in CAUTION_RULES]
        self.groups = blocks(each for each in review.findings if each.rule not in CAUTION_RULES)
        self.numbers = {id(each): count for count, each in enumerate((f for g in self.groups for f in g), 1)}

    def markup(self) -> Markup:
        """The whole piece, its headings from h2 on."""
        parts = [part for part in self._parts() if part[2]]
        links = [tag("li", tag("a", title, href=f"#{self._id(name)}")) for name, title, _ in parts]
        navigation = tag("nav", tag("ul", links), aria_label=f"In the review of {self.review.name}")
        sections = [self._section(name, title, content) for name, title, content in parts]
        return tag(
            "article",
            self._head(),
            navigation if len(links) > 1 else None,
            sections,
            class_="formula",
            id=self.prefix,
            aria_labelledby=self._id("name"),
        )

    def _id(self, name: str) -> str:
        return f"{self.prefix}-{name}"

    def _parts(self) -> Iterator[tuple[str, str, list[Markup]]]:
        yield "errors", "Why it could not be read", list(self._errors())
        yield "before", "Before you start", [self._caution(each) for each in self.cautions]
        yield "findings", "What was found", list(self._findings())
        yield "pictures", "Pictures", list(self._pictures())
        yield "accepted", "Accepted on purpose", self._bulleted(self._accepted())
        yield "silenced", "Kept out by the configuration", self._bulleted(self._silenced())
        yield "regraded", "Graded otherwise by the configuration", self._bulleted(self._regraded())
        yield "unchecked", "Not checked", self._bulleted(self._unchecked())
        yield "faults", "Faults of the program, not of the formula", self._bulleted(self._faults())
        yield "file", "The file", list(self.source.whole(self._margin())) if self.source else []
        yield "law", "Law it was held against", self._law()

    def _section(self, name: str, title: str, content: Content) -> Markup:
        heading = tag("h3", title, id=self._id(name))
        return tag("section", heading, content, aria_labelledby=self._id(name))

    # --- the head

    def _head(self) -> Iterator[Markup]:
        review = self.review
        code = f" ({review.note})" if review.note else ""
        yield tag("h2", review.name + code, id=self._id("name"))
        yield tag("p", review.file, class_="quiet")
        word, rest = verdict(review)
        kind = {HOLD: "hold", READY: "ready"}.get(review.verdict, "unread")
        yield tag(
            "div",
            tag("span", class_="band", aria_hidden="true"),
            tag("p", tag("strong", word), rest),
            class_=f"verdict {kind}",
        )
        if self.sheet is not None:
            pairs = [tag("div", tag("dt", name), tag("dd", value)) for name, value in brief(self.sheet) if value]
            yield tag("dl", pairs, class_="brief")

    def _errors(self) -> Iterator[Markup]:
        yield from self._bulleted(
            (f"line {problem.place.line}, column {problem.place.column}: ", problem.message)
            for problem in self.review.errors
        )

    # --- findings

    @staticmethod
    def _caution(finding: Finding) -> Markup:
        return tag(
            "p", tag("strong", unbroken(sentence(finding.message))), " ", unbroken(finding.remedy), class_="caution"
        )

    def _findings(self) -> Iterator[Markup]:
        for group in self.groups:
            if len(group) > 1:
                yield tag("p", f"At step {group[0].step}, {len(group)} findings:", class_="step")
            yield from (self._finding(finding) for finding in group)
        if not self.groups and not self.review.errors:
            yield tag("p", "No findings." if not self.cautions else "Nothing beyond the cautions above.")

    def _finding(self, finding: Finding) -> Markup:
        name = self._id(f"finding-{self.numbers[id(finding)]}")
        where = f"line {finding.place.line}, {finding.rule}"
        grade = tag(
            "span",
            sign(finding.severity),
            finding.severity.capitalize(),
            tag("span", f", {where}", class_="where"),
            tag("span", ": ", class_="away"),
            class_="grade",
        )
        excerpt = self.source.excerpt(finding.place) if self.source else None
        said = [("why", finding.why, None), ("mend", finding.remedy, None), ("source", finding.source, "small")]
        pairs = [(tag("dt", label), tag("dd", unbroken(text), class_=style)) for label, text, style in said if text]
        return tag(
            "article",
            tag("h4", grade, unbroken(f"{self.numbers[id(finding)]}. {sentence(finding.message)}"), id=f"{name}-head"),
            tag("div", tag("dl", pairs, class_="words"), excerpt, class_="beside"),
            id=name,
            class_=f"finding {finding.severity}",
            aria_labelledby=f"{name}-head",
        )

    def _margin(self) -> dict[int, Markup]:
        """What stands beside the lines of the whole file: the numbers of the findings that speak of them."""
        signs: dict[int, list[Markup]] = {}
        for group in self.groups:
            for finding in group:
                count = self.numbers[id(finding)]
                link = tag(
                    "a",
                    sign(finding.severity),
                    str(count),
                    href=f"#{self._id(f'finding-{count}')}",
                    class_=f"sign {finding.severity}",
                    aria_label=f"finding {count}, {finding.severity}",
                )
                signs.setdefault(finding.place.line, []).append(link)
        return {line: Markup("".join(links)) for line, links in signs.items()}

    # --- pictures

    def _pictures(self) -> Iterator[Markup]:
        if self.sheet is not None:
            drawn = [_figure(picture) for picture in pictures(self.sheet, self.prefix)]
            if drawn:
                yield tag("div", drawn, class_="gallery")

    # --- what else there is

    def _accepted(self) -> Iterator[Content]:
        for finding, deviation in self.review.accepted:
            who = f" by {deviation.accepted_by}" if deviation.accepted_by else ""
            until = f", until {deviation.until}" if deviation.until else ""
            yield _headline(finding), f" {sentence(finding.message)} Accepted{who}{until}: {deviation.reason}"

    def _silenced(self) -> Iterator[Content]:
        for finding, reason, where in self.review.silenced:
            yield _headline(finding), f" {sentence(finding.message)} {sentence(reason)} ({where})"

    def _regraded(self) -> Iterator[Content]:
        for finding, was, reason, where in self.review.regraded:
            yield _headline(finding), f" {was} by the rule itself. {sentence(reason)} ({where})"

    def _unchecked(self) -> Iterator[Content]:
        grouped: dict[str, list[str]] = {}
        for item in self.review.unchecked:
            grouped.setdefault(item.needs, []).append(item.rule)
        for needs, rules in grouped.items():
            yield needs, tag("span", f" (for {', '.join(dict.fromkeys(rules))})", class_="quiet")

    def _faults(self) -> Iterator[Content]:
        yield from (f"{fault.who}: {fault.what}" for fault in self.review.faults)

    @staticmethod
    def _bulleted(items: Iterable[Content]) -> list[Markup]:
        rows = [tag("li", item) for item in items]
        return [tag("ul", rows, class_="plain")] if rows else []

    def _law(self) -> list[Markup]:
        if not self.review.tables:
            return []
        end = "Not legal advice: the official text decides."
        if self.sheet is not None:
            end = f"What is in force was judged by {self.sheet.today}. {end}"
        return [*self._bulleted(self.review.tables), tag("p", end)]


def verdict(review: Review) -> tuple[str, str]:
    """The verdict in one word, and what there is to say beside it."""
    counts = listed(counted(severity, count) for severity in SEVERITIES if (count := review.count(severity)))
    if review.verdict == HOLD:
        return "HOLD", f"settle this before weighing: {counts}"
    if review.verdict == READY:
        return "READY", f"nothing that stops it: {counts}" if counts else "no findings"
    reason = "the file could not be read" if review.errors else "the review is not whole; see the faults below"
    return "NOT REVIEWED", reason


def brief(sheet: Worksheet) -> Iterator[tuple[str, str]]:
    """What kind of product it is, in a few words each; empty where the file does not say."""
    product, formula = sheet.product, sheet.formula
    yield "product", " ".join(word for word in (product.use, product.form) if word)
    yield "for", ", ".join((*product.users, *product.area))
    yield "markets", listed(product.markets)
    yield "batch", grams(formula.batch.size_g) if formula.batch.size_g is not None else ""
    yield "pH", _pH(sheet)
    pack = formula.packaging
    yield "pack", ", ".join(word for word in (pack.container, pack.material, pack.wall) if word) if pack else ""
    yield "room", celsius(formula.room_celsius)


def _pH(sheet: Worksheet) -> str:
    stated, measured = sheet.stated_pH, sheet.formula.finished.measured_pH
    text = ""
    if stated is not None:
        text = number(stated[0]) if stated[0] == stated[1] else f"{number(stated[0])} to {number(stated[1])}"
    return text if measured is None else f"{text}, measured {number(measured)}"


def sign(severity: str) -> Markup:
    """The shape of a severity, for the eye alone; the word stands beside it."""
    shape = tag("path", d=_SIGNS[severity], fill="currentColor", fill_rule="evenodd")
    return tag("svg", shape, viewBox="0 0 16 16", aria_hidden="true", focusable="false")


def _headline(finding: Finding) -> Markup:
    return tag("strong", f"{finding.severity}, line {finding.place.line}, {finding.rule}:")


def unbroken(text: str) -> str:
    """The text with a number and its unit kept on one line."""
    return _UNIT.sub("\u00a0", text)


def _figure(picture: Picture) -> Markup:
    drawing = picture.drawing
    if drawing is not None and picture.width > WIDE:
        drawing = tag("div", drawing, class_="scroll", tabindex="0", role="region", aria_label=picture.title)
    broad = drawing is None or picture.width > _BROAD
    return tag(
        "figure",
        tag("h4", picture.title),
        drawing,
        tag("figcaption", unbroken(picture.summary), tag("p", picture.key, class_="quiet") if picture.key else None),
        tag("details", tag("summary", "The numbers"), [_table(table) for table in picture.tables])
        if picture.tables
        else None,
        class_="broad" if broad else None,
    )


def _table(table: Table) -> Markup:
    head = tag("tr", [tag("th", cell, scope="col") if cell else tag("td") for cell in table.head])
    rows = [tag("tr", tag("th", first, scope="row"), [tag("td", cell) for cell in rest]) for first, *rest in table.rows]
    whole = tag("table", tag("caption", table.caption), tag("thead", head), tag("tbody", rows))
    return tag("div", whole, class_="scroll", tabindex="0", role="region", aria_label=table.caption)
