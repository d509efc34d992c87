"""The bench as pages, from the docstrings of its modules: what is computed, by which published formula, within what range."""

from __future__ import annotations

import ast
import os
from collections.abc import Iterator

from .. import bench
from ..records import NamedTuple
from .page_text import code, docstring, prose, table

_Documented = ast.FunctionDef | ast.ClassDef


class Module(NamedTuple):
    """A module of the bench as its source says. parts: (name with arguments, docstring) of what others may use."""

    name: str
    about: str
    parts: tuple[tuple[str, str], ...]


def modules() -> list[Module]:
    """Every module of the bench, by name; read, not run."""
    folder = os.path.dirname(os.path.abspath(bench.__file__ or ""))
    names = sorted(file[:-3] for file in os.listdir(folder) if file.endswith(".py") and not file.startswith("_"))
    return [_module(name, os.path.join(folder, f"{name}.py")) for name in names]


def _module(name: str, path: str) -> Module:
    with open(path, encoding="utf-8") as file:
        tree = ast.parse(file.read())
    return Module(name, ast.get_docstring(tree) or "", tuple(_parts(tree)))


def _parts(tree: ast.Module) -> Iterator[tuple[str, str]]:
    for node in tree.body:
        if isinstance(node, _Documented) and not node.name.startswith("_"):
            said = ast.get_docstring(node)
            if said:
                yield _head(node), said


def _head(node: _Documented) -> str:
    if isinstance(node, ast.ClassDef):
        return node.name
    returns = f" -> {ast.unparse(node.returns)}" if node.returns else ""
    return f"{node.name}({ast.unparse(node.args)}){returns}"


def pages() -> dict[str, str]:
    """Path -> text."""
    found = modules()
    rows = [(f"[{_title(module)}]({module.name}.md)", prose(_first_sentence(module.about))) for module in found]
    index = [
        "# What is computed",
        "",
        "The bench works out of a formula what the rules go by. Each page names the published works behind its formulas, the "
        "range in which they hold, and what they leave out. Results serve to choose a first portion and to see what cannot "
        "work; the meter, the thermometer and the tests decide.",
        "",
        *table(("", "what it works out"), rows),
    ]
    return {"bench/index.md": "\n".join(index), **{f"bench/{each.name}.md": "\n".join(_page(each)) for each in found}}


def _page(module: Module) -> Iterator[str]:
    yield from (f"# {_title(module)}", "")
    yield from docstring(module.about)
    if module.parts:
        yield from (
            "## In the code",
            "",
            f"{code(f'formcheck/bench/{module.name}.py')} gives to the other parts of formcheck:",
            "",
        )
    for head, said in module.parts:
        yield from (f"### {prose(head.partition('(')[0])}", "")
        if "(" in head:
            yield from (code(head), "")
        yield from docstring(said)


def _title(module: Module) -> str:
    title = _TITLES.get(module.name, module.name.replace("_", " "))
    return prose(title[:1].upper() + title[1:])


_TITLES = {
    "acidbase": "acid and base",
    "adjusting": "steps that adjust the pH",
    "errors": "what cannot be computed",
    "freeacid": "free acid",
    "hlb": "HLB of emulsifiers",
    "law": "limits of the law",
    "making": "the procedure at work",
    "ph_overview": "the pH of a formula",
    "soap": "soap made in the batch",
    "thermal": "heat in the vessels",
    "titration": "how much acid or base",
    "volume": "volume and density",
    "wateractivity": "water activity",
    "waterphase": "the water phase",
    "weigh_out": "what is weighed",
    "weighing": "how true a weighing is",
    "windows": "pH windows",
    "wording": "wording on the label",
}


def _first_sentence(text: str) -> str:
    return " ".join(text.split("\n\n")[0].split())
