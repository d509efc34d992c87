"""The documentation as a site: whole, sound, and with nothing from elsewhere."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from markdown_it import MarkdownIt

from formcheck.commands.described import pages as command_pages
from formcheck.commands.main import COMMANDS, main
from formcheck.plugins import built_in
from formcheck.reports import site_bench
from formcheck.reports.page_text import docstring
from formcheck.reports.site_pages import Site, site
from formcheck.reports.site_style import POLICY, STYLE, TEMPLATE

HOME = Path(__file__).resolve().parent.parent.parent
needs_builder = pytest.mark.skipif(find_spec("mkdocs") is None, reason="mkdocs is not installed")


@pytest.fixture(scope="module")
def made() -> Site:
    return site(list(command_pages()), built_in(), str(HOME))


def test_every_command_rule_material_and_module_has_its_place(made: Site) -> None:
    plugins = built_in()
    assert all(f"commands/{name}.md" in made.pages for name in COMMANDS)
    assert all(f"handbook/{rule.family}/{rule.id}.md" in made.pages for rule in plugins.rules())
    assert all(f"bench/{path.stem}.md" in made.pages for path in (HOME / "formcheck" / "bench").glob("[!_]*.py"))
    materials = "\n".join(text for path, text in made.pages.items() if path.startswith("materials/"))
    headings = re.findall(r"^## .+ \{#m-[a-z0-9-]+\}$", materials, re.M)
    assert len(headings) == len(list(plugins.reference().headings))


def test_the_navigation_lists_every_page_once(made: Site) -> None:
    listed = list(_listed(made.order))
    assert sorted(listed) == sorted(made.pages)


def _listed(order: Any) -> list[str]:
    if isinstance(order, str):
        return [order]
    parts = order.values() if isinstance(order, dict) else order
    return [path for part in parts for path in _listed(part)]


def test_links_lead_to_pages_and_text_is_no_markup(made: Site) -> None:
    """CommonMark with tables, read by markdown-it."""
    markdown = MarkdownIt("commonmark").enable("table")
    for path, text in made.pages.items():
        tokens = markdown.parse(text)
        inline = [child for token in tokens for child in token.children or ()]
        assert not [token.content for token in (*tokens, *inline) if token.type.startswith("html")], path
        for link in (str(child.attrs["href"]) for child in inline if child.type == "link_open"):
            target, _, anchor = unquote(link).partition("#")
            found = os.path.normpath(os.path.join(os.path.dirname(path), target)) if target else path
            assert found in made.pages, f"{path}: {link}"
            if anchor.startswith("m-"):
                assert f"{{#{anchor}}}" in made.pages[found], f"{path}: {link}"


def test_the_bench_tells_its_formulas_with_sources_and_ranges(made: Site) -> None:
    for module in site_bench.modules():
        assert module.about, f"{module.name} has no docstring"
        page = made.pages[f"bench/{module.name}.md"]
        assert all(line in page for line in docstring(module.about))
    # what the docstrings cite for their models
    for name, said in (("acidbase", "Davies"), ("wateractivity", "Norrish"), ("weighing", "JCGM 100:2008")):
        assert said in made.pages[f"bench/{name}.md"]


def test_the_formula_file_is_told_whole(made: Site) -> None:
    from formcheck.formula import vocabulary

    page = made.pages["formula-file.md"]
    for keys in (
        "FILE_KEYS",
        "PRODUCT_KEYS",
        "BATCH_KEYS",
        "LINE_KEYS",
        "FINISHED_KEYS",
        "PACKAGING_KEYS",
        "DEVIATION_KEYS",
        "VERBS",
    ):
        assert all(f"`{key}`" in page for key in getattr(vocabulary, keys)), keys


def test_the_look_takes_nothing_from_elsewhere() -> None:
    for text in (TEMPLATE, STYLE):
        assert not re.search(r"https?:|//\w|<script|@import|url\(|@font-face", text)
    assert POLICY.startswith("default-src 'none'")


def test_blocks_of_a_docstring() -> None:
    text = "One *line*\nof two.\n\n    a = 1\n\n    [b]\n\n- first\n  goes on\n- second\n"
    assert docstring(text) == [
        "One \\*line\\* of two.", "", "```text", "a = 1", "", "[b]", "```", "", "- first goes on", "- second", "",
    ]  # fmt: skip


# --- built


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.links: list[str] = []
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.add(tag)
        self.ids.add(found.get("id") or "")
        self.links.extend(found[name] or "" for name in ("href", "src") if name in found)


def _site(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "formcheck", "site", *words], capture_output=True, text=True, encoding="utf-8", cwd=folder,
        env={**os.environ, "PYTHONPATH": str(HOME)}, timeout=300,
    )  # fmt: skip


@needs_builder
def test_it_is_built_strictly_and_works_without_a_network(tmp_path: Path) -> None:
    result = _site("docs", folder=tmp_path)
    assert (result.returncode, result.stderr) == (0, "")
    folder = tmp_path / "docs"
    read = {path: _Page() for path in folder.rglob("*.html")}
    for path, page in read.items():
        page.feed(path.read_text(encoding="utf-8"))
        assert not page.tags & {"script", "img", "iframe", "object", "form"}, path
    for path, page in read.items():
        for link in page.links:
            assert not re.match(r"\w+:|/", link), f"{path}: {link}"
            target, _, anchor = unquote(link).partition("#")
            found = Path(os.path.normpath(path.parent / target)) if target else path
            assert found.is_file(), f"{path}: {link}"
            assert not anchor or found.suffix != ".html" or anchor in read[found].ids, f"{path}: {link}"
    assert {path.suffix for path in folder.rglob("*") if path.is_file()} == {".html", ".css"}
    first = {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert _site("docs", folder=tmp_path).returncode == 0
    assert {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()} == first
    assert [path.name for path in tmp_path.iterdir()] == ["docs"]


@needs_builder
def test_a_broken_link_stops_it(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom formcheck.commands.site import build\nfrom formcheck.reports.site_pages import Site\n"
        "pages = {'index.md': '# A\\n\\n[b](b.md) [c](c.md#nowhere)', 'c.md': '# C', 'd.md': '# D'}\n"
        "print(*build(Site(pages, ['index.md', 'c.md']), sys.argv[1]), sep='\\n')"
    )
    result = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, cwd=HOME, timeout=60
    )
    assert result.returncode == 0, result.stderr
    for said in ("b.md", "nowhere", "d.md"):
        assert said in result.stdout


def test_a_folder_of_somebody_else_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if find_spec("mkdocs") is None:
        assert main(["site", str(tmp_path)]) == 2
        assert 'pip install "formcheck[site]"' in capsys.readouterr().err
        return
    (tmp_path / "index.html").write_text("<title>my own</title>")
    assert main(["site", str(tmp_path)]) == 2
    assert "is left alone" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["index.html"]
    (tmp_path / "file").write_text("")
    assert main(["site", str(tmp_path / "file")]) == 2
