"""The documentation as a site: all pages in Markdown, and how they hang together."""

from __future__ import annotations

import os
import posixpath
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..plugins import Plugins
from ..records import NamedTuple
from ..reference.store import Reference, shared_folder
from ..review import house, settings_file
from . import site_bench, site_commands, site_formula
from .command_page import CommandPage
from .handbook import Handbook, path_of
from .page_text import bullets, docstring, prose
from .site_materials import Materials

_EXAMPLE = "examples/sound/comfrey-foot-cream.formula.yaml"
_DOCUMENTS = {
    "README.md": "index.md",
    "DEVELOPERS.md": "developers.md",
    "CHANGELOG.md": "changes.md",
    "shared/README.md": "reference.md",
    "shared/COVERAGE.md": "coverage.md",
}
"""Documents of the checkout -> their pages."""
_LINK = re.compile(r"\[([^\]\n]+)\]\(([^)\s#:]+)(#[^)\s]*)?\)")
_HANDBOOK = "rules/handbook/"


class Site(NamedTuple):
    """pages: path -> Markdown; order: what the navigation lists, in the form that mkdocs takes."""

    pages: dict[str, str]
    order: list[dict[str, Any]]


class NoCheckout(Exception):
    """A document is not where a checkout of the project has it; the message names it."""


def site(commands: Sequence[CommandPage], plugins: Plugins, checkout: str) -> Site:
    """All pages. plugins: whose rules and materials are told; checkout: the project's folder. Raises NoCheckout."""
    handbook = Handbook(plugins.rules(), plugins)
    reference = handbook.reference
    materials = Materials(reference, handbook.rules)
    bench = site_bench.pages()
    pages = {
        **_documents(checkout),
        "formula-file.md": site_formula.page(reference, _read(checkout, _EXAMPLE)),
        "settings.md": _from_docstring("Settings", settings_file.__doc__),
        "house-rules.md": _from_docstring("Rules of the house", house.__doc__),
        **site_commands.pages(commands),
        **{f"handbook/{path}": text for path, text in handbook.pages().items()},
        **materials.pages(),
        **bench,
        "sources.md": _sources(reference, handbook),
    }
    return Site(pages, list(_order(commands, handbook, materials, bench)))


def _order(
    commands: Sequence[CommandPage], handbook: Handbook, materials: Materials, bench: Mapping[str, str]
) -> Iterator[dict[str, Any]]:
    families: dict[str, list[Any]] = {}
    for rule in handbook.rules:
        families.setdefault(rule.family, []).append({rule.id: f"handbook/{path_of(rule)}"})
    yield {"First steps": "index.md"}
    yield {"Files": ["formula-file.md", "settings.md", "house-rules.md"]}
    yield {"Commands": ["commands/index.md", *({page.name: f"commands/{page.name}.md"} for page in commands)]}
    yield {"Rules": ["handbook/index.md", *({family: rules} for family, rules in families.items())]}
    over_all = ["materials/index.md", "materials/a-to-z.md", "materials/facts.md"]
    classes = [path for path in materials.pages() if path not in over_all]
    yield {"Materials": [*over_all, *classes]}
    yield {"Bench": list(bench)}
    yield {"Knowledge": ["reference.md", "coverage.md", "sources.md"]}
    yield {"Project": ["developers.md", "changes.md"]}


def _documents(checkout: str) -> dict[str, str]:
    return {page: _relinked(_read(checkout, path), path, page) for path, page in _DOCUMENTS.items()}


def _from_docstring(title: str, text: str | None) -> str:
    return "\n".join((f"# {title}", "", *docstring(text or "")))


def _read(checkout: str, path: str) -> str:
    inside = {"shared/": shared_folder()}
    folder = next((folder for start, folder in inside.items() if path.startswith(start)), None)
    full = os.path.join(folder, *path.split("/")[1:]) if folder else os.path.join(checkout, *path.split("/"))
    try:
        with open(full, encoding="utf-8") as file:
            return file.read()
    except OSError:
        raise NoCheckout(full) from None


def _relinked(text: str, path: str, page: str) -> str:
    """A document with its links led to pages; what has no page is named and not linked."""

    def link(match: re.Match[str]) -> str:
        words, target, anchor = match.groups()
        meant = posixpath.normpath(posixpath.join(posixpath.dirname(path), target))
        if meant.startswith(_HANDBOOK):
            to = f"handbook/{meant.removeprefix(_HANDBOOK)}"
        elif meant in _DOCUMENTS:
            to = _DOCUMENTS[meant]
        else:
            return words
        return f"[{words}]({posixpath.relpath(to, posixpath.dirname(page) or '.')}{anchor or ''})"

    return _LINK.sub(link, text)


def _sources(reference: Reference, handbook: Handbook) -> str:
    """Every work that something rests on, by kind, with how it was confirmed and how many facts cite it."""
    cited: dict[str, int] = {}
    ids = [
        id
        for material in reference.all()
        for values in material.facts.values()
        for fact in values
        for id in fact.source
    ]
    ids.extend(id for name in reference.limits for id in reference.limit(name).source)
    ids.extend(id for rule in handbook.rules for id in rule.sources)
    for id in ids:
        cited[id] = cited.get(id, 0) + 1
    kinds: dict[str, list[str]] = {}
    for id in sorted(cited, key=lambda each: reference.source(each).citation.lower()):
        kinds.setdefault(reference.source(id).kind, []).append(id)
    lines = [
        "# Sources",
        "",
        f"{len(cited)} works and habits that facts, limits and rules rest on, with how often each is cited and how it was "
        "confirmed. What rests on memory or on common practice says so.",
        "",
    ]
    for kind in sorted(kinds):
        lines.extend((f"## {prose(kind.capitalize())}", ""))
        lines.extend(bullets(_source(reference, id, cited[id]) for id in kinds[kind]))
    return "\n".join(lines)


def _source(reference: Reference, id: str, times: int) -> str:
    source = reference.source(id)
    seen = f" Seen: {prose(source.confirmed).rstrip('.')}." if source.confirmed else ""
    return f"{prose(source.citation).rstrip('.')}. Cited {'once' if times == 1 else f'{times} times'}.{seen}"
