"""The commands as pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .command_page import CommandPage, Taken
from .page_text import code, fenced, prose, table


def pages(commands: Sequence[CommandPage]) -> dict[str, str]:
    """Path -> text."""
    rows = [(f"[{page.name}]({page.name}.md)", prose(page.summary)) for page in commands]
    index = [
        "# Commands",
        "",
        "`formcheck COMMAND --help` says the same at your screen.",
        "",
        *table(("command", "what it is for"), rows),
    ]
    return {
        "commands/index.md": "\n".join(index),
        **{f"commands/{page.name}.md": "\n".join(_page(page)) for page in commands},
    }


def _page(page: CommandPage) -> Iterator[str]:
    yield from (f"# formcheck {page.name}", "", prose(page.title), "")
    yield from fenced(page.usage, "text")
    for paragraph in page.paragraphs:
        yield from (prose(paragraph), "")
    yield from ("## Examples", "", *fenced("\n".join(_examples(page)), "sh"))
    for heading, rows in (("Takes", page.operands), ("Options", page.options)):
        if rows:
            yield from (f"## {heading}", "", *table(("", ""), [_row(each) for each in rows]))
    if page.status:
        yield from ("## Exit status", "", prose(page.status), "")


def _row(taken: Taken) -> tuple[str, str]:
    return code(taken.written), prose(taken.explained)


def _examples(page: CommandPage) -> Iterator[str]:
    for command, remark in page.examples:
        if remark:
            yield f"# {remark}"
        yield command
