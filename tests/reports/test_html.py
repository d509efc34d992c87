"""The pages: well formed, usable without eyes and without a network, hostile text inert, nothing of a review left out."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from hostile_reviews import NAMES, SHORT, hostile_review, hostile_unread
from html_tree import Node, parsed, shape
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.reading.document import START
from formcheck.reports.html_report import INDEX, Html, HtmlFolder, file_slug
from formcheck.reports.html_style import DARK, LIGHT, STYLE
from formcheck.reports.report import Context
from formcheck.review.model import Regraded, Review, Silenced
from formcheck.review.run import Reviewed, Reviewer

HOME = Path(__file__).resolve().parents[2]
EXAMPLES = sorted(str(path.relative_to(HOME)) for path in (HOME / "examples").rglob("*.formula.*"))
CORPUS = sorted(str(path.relative_to(HOME)) for path in (HOME / "tests" / "corpus").rglob("*.formula.*"))
FETCHING = {"src", "srcset", "action", "formaction", "data", "poster", "background", "cite", "ping", "xlink:href"}

Page = Callable[..., str]
Example = Callable[[str], Reviewed]


@pytest.fixture(scope="module")
def page(reviewer: Reviewer) -> Page:
    """One page with what is given."""

    def run(*reviewed: Reviewed) -> str:
        report = Html(Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite))
        parts = [report.begin(), *(report.add_sheet(*each) for each in reviewed), report.end()]
        return "".join(parts)

    return run


@pytest.fixture(scope="module")
def example(reviewer: Reviewer) -> Example:
    return lambda path: reviewer.review_sheet(path, (HOME / path).read_bytes())


def spaced(text: str) -> str:
    return " ".join(text.split())


def check(root: Node) -> None:
    """What holds of every page."""
    ids = [node.attributes["id"] for node in root.all() if "id" in node.attributes]
    assert len(ids) == len(set(ids)), "an id stands twice"
    for node in root.all():
        for name, value in node.attributes.items():
            assert not name.startswith("on"), f"{name} on <{node.name}>"
            assert name not in FETCHING, f"{name} on <{node.name}>"
            assert name != "style", "a style attribute, which the content policy forbids"
            if name in ("aria-labelledby", "aria-describedby"):
                assert set(value.split()) <= set(ids), f"{value} names nothing"
            if name == "href" and value.startswith("#"):
                assert value[1:] in ids, f"{value} leads nowhere"
            if "url(" in value:
                assert re.fullmatch(r"url\(#([\w-]+)\)", value), value
                assert value[5:-1] in ids
    check_headings(root)
    check_landmarks(root)
    for svg in root.all("svg"):
        check_drawing(svg)
    for table in root.all("table"):
        assert [cell.attributes.get("scope") for row in table.all("thead") for cell in row.all("th")]
        for body in table.all("tbody"):
            assert all(next(row.all("th", "td")).attributes.get("scope") == "row" for row in body.all("tr"))


def check_headings(root: Node) -> None:
    """WCAG technique H42, and headings that do not leave a level out."""
    levels = [int(node.name[1]) for node in root.all("h1", "h2", "h3", "h4", "h5", "h6")]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels)), levels


def check_landmarks(root: Node) -> None:
    html = next(root.all("html"))
    assert html.attributes["lang"] == "en"
    assert next(root.all("title")).text.strip()
    for name in ("header", "main", "footer"):
        assert len(list(root.all(name))) == 1
    names = [node.attributes.get("aria-label") for node in root.all("nav")]
    assert all(names)
    assert not list(root.all("script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "use"))


def check_drawing(svg: Node) -> None:
    if svg.attributes.get("aria-hidden") == "true":
        assert not svg.text
        return
    assert svg.attributes["role"] == "img"
    title, description = (child for child in svg.children[:2] if isinstance(child, Node))
    assert (title.name, description.name) == ("title", "desc")
    assert title.text
    assert description.text
    assert svg.inside("figure")
    assert "nan" not in " ".join(value for node in svg.all() for value in node.attributes.values()).lower()


@pytest.mark.parametrize("path", [*EXAMPLES, *CORPUS])
def test_every_page_is_well_formed_and_has_a_name_for_everything(page: Page, example: Example, path: str) -> None:
    reviewed = example(path)
    root = parsed(page(reviewed))
    check(root)
    assert len(list(root.of_class("finding"))) + len(list(root.of_class("caution"))) == len(reviewed.review.findings)
    assert "could not be drawn" not in root.text
    for figure in root.all("figure"):
        assert list(figure.all("table")), "a picture without its numbers"


def test_all_formulas_on_one_page(page: Page, example: Example) -> None:
    reviewed = [example(path) for path in EXAMPLES]
    root = parsed(page(*reviewed))
    check(root)
    rows = [row for table in root.of_class("list") for body in table.all("tbody") for row in body.all("tr")]
    assert len(rows) == len(EXAMPLES)
    verdicts = [next(row.all("td")).text for row in rows]
    assert verdicts == sorted(verdicts, key=["HOLD", "NOT REVIEWED", "READY"].index)
    for each in reviewed:
        assert each.review.name in root.text


@pytest.mark.parametrize("path", [path for path in EXAMPLES if "flawed" in path])
def test_every_finding_stands_whole_beside_its_line(page: Page, example: Example, path: str) -> None:
    review, sheet = example(path)
    assert sheet is not None
    root = parsed(page(Reviewed(review, sheet)))
    lines = sheet.formula.document.text.splitlines()
    shown = list(root.of_class("finding"))
    text = [spaced(node.text) for node in shown]
    for finding in review.findings:
        mine = [node for node, words in zip(shown, text) if spaced(finding.message) in words]
        if not mine:
            assert any(spaced(finding.message) in spaced(node.text) for node in root.of_class("caution"))
            continue
        for part in (finding.why, finding.remedy, finding.source, finding.rule, finding.severity.capitalize()):
            assert spaced(part) in spaced(mine[0].text)
        here = next(mine[0].of_class("here"))
        assert next(here.all("code")).text == lines[finding.place.line - 1]
        assert next(here.of_class("no")).text == str(finding.place.line)
        assert lines[finding.place.line - 1][finding.place.column - 1 :].startswith(next(here.all("mark")).text)


@pytest.mark.parametrize("path", EXAMPLES)
def test_a_strict_parser_of_the_standard_has_nothing_to_say(page: Page, example: Example, path: str) -> None:
    """html5lib follows the parsing rules of the HTML standard (WHATWG) and counts every parse error."""
    html5lib = pytest.importorskip("html5lib")
    parser = html5lib.HTMLParser()
    parser.parse(page(example(path)))
    assert parser.errors == []


def test_the_whole_file_stands_there_as_it_is(page: Page, example: Example) -> None:
    review, sheet = example("examples/flawed/bean-flower-gel.formula.yaml")
    assert sheet is not None
    root = parsed(page(Reviewed(review, sheet)))
    rows = [node for node in root.all("div") if re.fullmatch(r"f1-line-\d+", node.attributes.get("id", ""))]
    assert [next(row.all("code")).text for row in rows] == sheet.formula.document.text.splitlines()
    signs = {row.attributes["id"]: [a.attributes["href"] for a in row.all("a")] for row in rows if list(row.all("a"))}
    assert len({href for hrefs in signs.values() for href in hrefs}) == len(review.findings)


def test_what_else_a_review_says_is_there(page: Page, real: list[Review], reviewer: Reviewer) -> None:
    for review in real:
        text = spaced(parsed(page(Reviewed(review))).text)
        for accepted in review.accepted:
            assert "R. Quill" in text
            assert spaced(accepted.deviation.reason) in text
            assert str(accepted.deviation.until) in text
        for each in (*review.unchecked, *review.errors, *review.faults, *review.tables):
            words = each if isinstance(each, str) else str(each[1])
            assert spaced(words) in text
        assert spaced(review.name) in text
        assert review.verdict.upper() in text


def test_what_the_configuration_did_is_there(page: Page, reviewer: Reviewer) -> None:
    review = reviewer.review("x.formula.yaml", SHORT.encode())
    first = review.findings[0]
    changed = review._replace(
        silenced=(Silenced(first, "weighed on a finer balance", "formcheck.toml:4"),),
        regraded=(Regraded(first, "major", "a pilot only", "formcheck.toml:9"),),
    )
    root = parsed(page(Reviewed(changed)))
    check(root)
    for words in ("weighed on a finer balance", "formcheck.toml:4", "a pilot only", "formcheck.toml:9"):
        assert words in root.text


# --- hostile text


@pytest.mark.parametrize("name", NAMES)
def test_hostile_text_stays_text(page: Page, name: str) -> None:
    harmless(page, name)


@settings(max_examples=60, deadline=None)
@given(text=st.text(st.characters(), min_size=1, max_size=30))
def test_any_text_stays_text(page: Page, text: str) -> None:
    harmless(page, text)


@settings(max_examples=60, deadline=None)
@given(text=st.text("<>&\"'`=/!-[]?;#x \n", min_size=1, max_size=30))
def test_any_mark_up_stays_text(page: Page, text: str) -> None:
    harmless(page, text)


def harmless(page: Page, text: str) -> None:
    shown = page(Reviewed(hostile_review(text)), Reviewed(hostile_unread(text)))
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]", shown)
    root = parsed(shown)
    check(root)
    assert shape(root) == shape(parsed(page(Reviewed(hostile_review("Rose")), Reviewed(hostile_unread("Rose")))))


@pytest.mark.parametrize("name", NAMES)
def test_a_formula_full_of_hostile_names_draws_harmless_pictures(page: Page, reviewer: Reviewer, name: str) -> None:
    """Names of materials, phases and notes reach the drawings, their tables and the listing of the file."""
    written = name.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\r", "\\r")
    written = "".join(c if c.isprintable() else " " for c in written)
    data = HOSTILE.replace("NAME", written).encode("utf-8", "replace")
    reviewed = reviewer.review_sheet("x.formula.yaml", data)
    assert reviewed.sheet is not None, reviewed.review.errors
    shown = page(reviewed)
    root = parsed(shown)
    check(root)
    assert len(list(root.all("figure"))) == 4
    assert "could not be drawn" not in root.text
    plain = parsed(page(reviewer.review_sheet("x.formula.yaml", HOSTILE.replace("NAME", "Rose").encode())))
    assert {node.name for node in root.all()} == {node.name for node in plain.all()}


HOSTILE = """\
formcheck: 1
name: "NAME"
product: {use: leave-on, form: cream}
batch: {size: 200 g, balance: 0.1 g}
phases:
  A: {Aqua: q.s., "NAME": 4, Sodium Benzoate: 0.4}
  B: {Helianthus Annuus Seed Oil: 10, Cetearyl Alcohol: 3}
materials:
  "NAME": {class: botanical extract, maximum temperature: 40 °C, pH window: 4 to 5}
procedure:
  - {heat: A, to: 75 °C, note: "NAME"}
  - {heat: B, to: 75 °C}
  - {add: B, into: A}
  - {fill: A, at: 40 °C}
finished: {pH: 6}
claims: ["NAME"]
"""


# --- no network, no script


def test_the_content_policy_allows_this_style_sheet_and_nothing_else(page: Page, example: Example) -> None:
    """W3C Content Security Policy Level 3: the hash is the base64 of the SHA-256 of the element's text."""
    root = parsed(page(example(EXAMPLES[0])))
    policies = [
        node.attributes["content"]
        for node in root.all("meta")
        if node.attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    styles = [style.text for style in root.all("style")]
    assert len(policies) == len(styles) == 1
    digest = base64.b64encode(hashlib.sha256(styles[0].encode()).digest()).decode()
    directives = dict(part.strip().split(" ", 1) for part in policies[0].split(";"))
    assert directives == {
        "default-src": "'none'",
        "style-src": f"'sha256-{digest}'",
        "base-uri": "'none'",
        "form-action": "'none'",
    }


def test_nothing_is_fetched(page: Page, example: Example) -> None:
    shown = page(*(example(path) for path in EXAMPLES))
    assert not re.search(r"https?://|url\((?!#fill-)|@import|//\w+\.\w+/", shown)
    assert all(node.attributes["href"].startswith("#") for node in parsed(shown).all("a"))


# --- looks


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, definition of that name."""
    channels = [int(colour[index : index + 2], 16) / 255 for index in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_is_that_of_the_standard() -> None:
    """WCAG 2.2: black on white is 21 to 1. #767676 on white is the well-known 4.54."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ink", ["ink", "soft", "leaf", "critical", "major", "minor", "note"])
def test_words_can_be_read_on_every_ground(colours: dict[str, str], ink: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    grounds = ["paper", "sheet"] + (["mark"] if ink != "soft" else [])
    assert min(contrast(colours[ink], colours[ground]) for ground in grounds) >= 4.5


def test_colours_stand_in_one_place() -> None:
    rest = STYLE
    for colours in (LIGHT, DARK):
        for name, colour in colours.items():
            rest = rest.replace(f"--{name}:{colour};", "")
    assert not re.search(r"#[0-9a-f]{3,8}\b(?!-)", rest.replace("#fill", ""))
    assert set(re.findall(r"var\(--(\w+)\)", STYLE)) <= set(LIGHT) == set(DARK)


@pytest.mark.parametrize("feature", ["prefers-color-scheme:dark", "@media print", "forced-colors:active"])
def test_night_print_and_forced_colours_are_thought_of(feature: str) -> None:
    assert feature in STYLE


# --- a folder of pages


def folder(reviewer: Reviewer, reviewed: list[Reviewed]) -> dict[str, str]:
    report = HtmlFolder(Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite))
    return dict(_files(report, reviewed))


def _files(report: HtmlFolder, reviewed: list[Reviewed]) -> Iterator[tuple[str, str]]:
    for each in reviewed:
        yield from report.add(*each)
    yield from report.end()


def test_a_folder_holds_a_page_each_and_an_index(reviewer: Reviewer, example: Example) -> None:
    files = folder(reviewer, [example(path) for path in EXAMPLES])
    assert len(files) == len(EXAMPLES) + 1
    index = parsed(files[INDEX])
    check(index)
    links = [node.attributes["href"] for node in index.all("a") if not node.attributes["href"].startswith("#")]
    assert sorted(links) == sorted(set(files) - {INDEX})
    for name in links:
        root = parsed(files[name])
        check(root)
        assert INDEX in {node.attributes["href"] for node in root.all("a")}


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("formulas/Hand Gel.formula.yaml", "hand-gel"),
        ("C:\\formulas\\gel.formula.toml", "gel"),
        ("crème.formula.yml", "cr-me"),
        ("../../.formula.json", "formula"),
        ("-", "standard-input"),
        ("a/<b>&\"'.yaml", "b-yaml"),
        ("x" * 300 + ".formula.yaml", "x" * 80),
    ],
)
def test_pages_are_named_after_files_in_plain_letters(file: str, name: str) -> None:
    assert file_slug(file) == name


def test_names_alike_are_told_apart_and_none_is_the_index(reviewer: Reviewer) -> None:
    paths = [
        "a/gel.formula.yaml",
        "b/gel.formula.yaml",
        "b/GEL.formula.toml",
        "index.formula.yaml",
        "-",
        "ü.formula.yaml",
    ]
    files = folder(reviewer, [Reviewed(Review(path, path, "ready")) for path in paths])
    assert list(files) == [
        "gel.html",
        "gel-2.html",
        "gel-3.html",
        "index-2.html",
        "standard-input.html",
        "formula.html",
        "index.html",
    ]
    assert "No findings." in files["gel-3.html"]


# --- odd files


@pytest.mark.parametrize("line", [1, 7, 4000])
def test_a_place_the_file_does_not_have_is_no_trouble(page: Page, reviewer: Reviewer, line: int) -> None:
    review, sheet = reviewer.review_sheet("x.formula.yaml", SHORT.encode())
    place = START._replace(line=line, column=500)
    changed = review._replace(findings=tuple(each._replace(place=place) for each in review.findings))
    check(parsed(page(Reviewed(changed, sheet))))


def test_a_file_on_one_endless_line_is_shown_around_the_place(page: Page, reviewer: Reviewer) -> None:
    lines = ", ".join(f'"Thing {number}": 0.1' for number in range(500))
    data = f'{{"formcheck": 1, "name": "{"n" * 3000}", "phases": {{"A": {{{lines}, "Glycerin": 20}}}}}}'
    reviewed = reviewer.review_sheet("x.formula.json", data.encode())
    assert reviewed.sheet is not None, reviewed.review.errors
    root = parsed(page(reviewed))
    check(root)
    for finding in root.of_class("finding"):
        for code in finding.all("code"):
            assert len(code.text) < 300
            assert "…" in code.text


def test_a_file_of_very_many_lines_is_cut_and_says_so(page: Page, reviewer: Reviewer) -> None:
    data = SHORT + "# more\n" * 5000
    root = parsed(page(reviewer.review_sheet("x.formula.yaml", data.encode())))
    check(root)
    assert re.search(r"\d+ more lines are left out here", root.text)
