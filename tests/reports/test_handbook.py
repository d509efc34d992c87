"""The rules' handbook: its committed pages are current, true, and the same whenever and wherever they are made."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
import tomli
from markdown_it import MarkdownIt

import formcheck_rules
from formcheck.commands.main import main
from formcheck.commands.rules import MARK, pages
from formcheck.plugins import built_in
from formcheck.reading.document import Unreadable
from formcheck.reports.handbook import Handbook, path_of
from formcheck.reports.page_text import as_read, code, fenced, prose, table
from formcheck.review import run
from formcheck.review.rule import Rule, pack
from formcheck.review.rule_files import rule_files
from formcheck.review.run import Reviewer
from formcheck.review.settings_file import read_settings

HOME = Path(__file__).resolve().parent.parent.parent
FOLDER = HOME / "rules" / "handbook"
REPAIR = "python3 -m formcheck.fresh rules --built-in --pages rules/handbook"
RULES = built_in().rules()


@pytest.fixture(scope="module")
def handbook() -> Handbook:
    plugins = built_in()
    return Handbook(plugins.rules(), plugins)


@pytest.fixture(scope="module")
def made(handbook: Handbook) -> dict[str, str]:
    return pages(handbook)


def test_the_committed_pages_are_current(made: dict[str, str]) -> None:
    there = {path.relative_to(FOLDER).as_posix(): path.read_text(encoding="utf-8") for path in FOLDER.rglob("*.md")}
    stale = sorted(name for name in {*made, *there} if made.get(name) != there.get(name))
    assert not stale, f"{len(stale)} pages are not current ({', '.join(stale[:4])} ...); mend it with: {REPAIR}"


def test_the_pages_do_not_depend_on_the_day_or_the_folder(
    made: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Later(date):
        @classmethod
        def today(cls) -> Later:
            return cls(2044, 2, 29)

    monkeypatch.setattr(run, "date", Later)
    (tmp_path / "materials.yaml").write_text("Glycerin: {class: [fragrance], pH window: 1 to 2}\n")
    (tmp_path / "formcheck.toml").write_text('[families.ph]\nsilent = true\nreason = "a test"\n')
    monkeypatch.chdir(tmp_path)
    plugins = built_in()
    assert pages(Handbook(plugins.rules(), plugins)) == made


def test_the_handbook_is_no_family_and_holds_no_code() -> None:
    assert {path.suffix for path in FOLDER.rglob("*") if path.is_file()} == {".md"}
    assert "handbook" not in {rule.family for rule in pack(formcheck_rules)}
    assert "handbook" not in {family for family, _ in rule_files(str(HOME / "rules"))}
    packages = tomli.loads((HOME / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    assert not [name for name in packages["packages"] if "handbook" in name]
    assert "formcheck_rules" not in packages["package-data"]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_page_says_all_that_the_rule_declares(rule: Rule, made: dict[str, str], handbook: Handbook) -> None:
    page = made[path_of(rule)]
    read = as_read(page)
    for said in (rule.id, rule.finds, rule.why, rule.remedy, rule.harm, *rule.facts):
        assert " ".join(said.split()) in read
    assert rule.flawed.strip() in page
    assert rule.mended.strip() in page
    assert all(option.about in read and option.unit in read for option in rule.options)
    assert all(handbook.reference.source(id).citation.rstrip(".") in read for id in rule.sources)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_what_a_page_shows_is_what_the_review_says(rule: Rule, made: dict[str, str], reviewer: Reviewer) -> None:
    """The blocks of the page are taken from it and reviewed anew."""
    blocks = _blocks(made[path_of(rule)])
    flawed, said = blocks[0], blocks[1]
    assert (flawed[0], said[0]) == ("yaml", "text")
    findings = [f for f in reviewer.review("x.formula.yaml", flawed[1].encode()).findings if f.rule == rule.id]
    assert findings
    shown = " ".join(said[1].split())
    lines = flawed[1].splitlines()
    for finding in findings:
        assert finding.message in shown
        assert finding.remedy in shown
        if rule.family != "bench":
            assert f"{rule.id}.formula.yaml:{finding.place.line}:{finding.place.column}: {rule.id}" in shown
        assert f"- line {finding.place.line}: {code(lines[finding.place.line - 1].strip())}" in made[path_of(rule)]
    mended = blocks[2][1]
    assert rule.id not in {f.rule for f in reviewer.review("x.formula.yaml", mended.encode()).findings}


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.options], ids=lambda rule: rule.id)
def test_the_settings_a_page_shows_can_be_used(
    rule: Rule, made: dict[str, str], tmp_path: Path, reviewer: Reviewer
) -> None:
    (setting,) = [text for language, text in _blocks(made[path_of(rule)]) if language == "toml"]
    file = tmp_path / "formcheck.toml"
    file.write_text(setting, encoding="utf-8")
    try:
        read = read_settings(str(file), RULES, reviewer.reference)
    except Unreadable as error:
        pytest.fail(f"{setting}{error.problems}")
    assert read.values[rule.id] == {rule.options[0].name: rule.options[0].default}


def test_what_the_index_shows_can_be_used(made: dict[str, str], tmp_path: Path, reviewer: Reviewer) -> None:
    blocks = _blocks(made["index.md"])
    (settings,) = [text for language, text in blocks if language == "toml"]
    (deviation,) = [text for language, text in blocks if language == "yaml"]
    (tmp_path / "formcheck.toml").write_text(settings, encoding="utf-8")
    assert len(read_settings(str(tmp_path / "formcheck.toml"), RULES, reviewer.reference).silent) == 1
    formula = f"formcheck: 1\nname: x\nphases: {{A: {{Aqua: 100}}}}\n{deviation}"
    assert not reviewer.review("x.formula.yaml", formula.encode()).errors


@pytest.mark.parametrize("name", ["index.md", *map(path_of, RULES)])
def test_pages_are_sound_markdown_and_their_links_lead_somewhere(name: str, made: dict[str, str]) -> None:
    """CommonMark with tables, read by markdown-it."""
    tokens = MarkdownIt("commonmark").enable("table").parse(made[name])
    html = [token.content.strip() for token in tokens if token.type == "html_block"]
    assert html == [MARK]
    inline = [child for token in tokens for child in token.children or ()]
    assert not [child for child in inline if child.type == "html_inline"]
    for link in (str(child.attrs["href"]) for child in inline if child.type == "link_open"):
        path, _, anchor = link.partition("#")
        target = (Path(name).parent / path).as_posix() if path else name
        target = re.sub(r"[^/]+/\.\./", "", target)
        assert target in made, link
        if anchor:
            assert re.search(rf"^#+ {re.escape(anchor)}$", made[target], re.M | re.I), link


def _blocks(page: str) -> list[tuple[str, str]]:
    tokens = MarkdownIt("commonmark").enable("table").parse(page)
    return [(token.info, token.content) for token in tokens if token.type == "fence"]


def test_text_of_others_stays_text() -> None:
    """CommonMark 0.31, sections 2.4, 4.5, 6.1 and the table extension: what is escaped is shown as it is."""
    hostile = "<script>alert(1)</script> *a* _b_ [c](d) ` | f \\ # g"
    markdown = MarkdownIt("commonmark").enable("table")
    assert "".join(_texts(markdown, prose(hostile))) == hostile
    assert "<script>" not in markdown.render(prose(hostile))
    for line in ("# x", "- x", "+ x", "> x", "1. x", "12) x", "=== x", "* x"):
        assert markdown.render(prose(line)).startswith("<p>"), line
    assert as_read(prose(hostile)) == hostile
    assert "<code>a|b &lt;i&gt;</code> &lt;u&gt;" in markdown.render(prose("`a|b <i>` <u>"))
    assert markdown.render("\n".join(fenced("```\n````", "text"))).count("<pre>") == 1
    cells = markdown.render("\n".join(table(("a", "b"), [(code("x | `y`"), prose("p | q"))])))
    assert cells.count("<td>") == 2


def _texts(markdown: MarkdownIt, source: str) -> list[str]:
    return [child.content for token in markdown.parse(source) for child in token.children or () if child.content]


# --- the command


def test_pages_of_rules_that_are_gone_are_removed_and_other_files_are_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "totals").mkdir()
    (tmp_path / "totals" / "gone.md").write_text(f"{MARK}\n\n# gone\n")
    (tmp_path / "totals" / "mine.md").write_text("# my notes\n")
    assert main(["rules", "--built-in", "--pages", str(tmp_path)]) == 0
    assert "1 of rules that are gone were removed" in capsys.readouterr().out
    assert not (tmp_path / "totals" / "gone.md").exists()
    assert (tmp_path / "totals" / "mine.md").exists()
    assert len(list(tmp_path.rglob("*.md"))) == len(RULES) + 2


def test_what_somebody_else_wrote_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "index.md").write_text("# my own index\n")
    assert main(["rules", "--built-in", "--pages", str(tmp_path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["index.md"]
    (tmp_path / "file").write_text("")
    assert main(["rules", "--built-in", "--pages", str(tmp_path / "file")]) == 2


def test_rules_of_the_house_have_pages_too(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.chdir(HOME / "examples" / "house")
    assert main(["rules", "--pages", str(tmp_path)]) == 0
    ours = {path_of(rule) for rule in RULES}
    theirs = [path for path in tmp_path.rglob("*/*.md") if path.relative_to(tmp_path).as_posix() not in ours]
    assert theirs
    for path in theirs:
        text = path.read_text(encoding="utf-8")
        assert f": {path.stem}\n" in text
        assert "## The same formula, mended" in text


def test_explain_shows_the_page_as_text(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "preservative-too-hot"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("# preservative-too-hot\n")
    assert "](" not in shown
    assert "preservative-too-hot.formula.yaml:" in shown
