"""Our records in the words of the Language Server Protocol 3.17."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from lsprotocol import types
from pygls.uris import from_fs_path

from ...reading import files
from ...reading.document import Place, Unreadable
from ..safe_text import visible
from .cards import Card, markdown, plain
from .mending import Mending
from .opened import Opened
from .outline import Entry, Home
from .positions import Position, Positions, Span
from .proposals import Proposal
from .remarks import ACCEPTED, FAULT, UNREAD, Remark

SOURCE = "formcheck"
_SEVERITIES = {
    "critical": types.DiagnosticSeverity.Error,
    "major": types.DiagnosticSeverity.Warning,
    "minor": types.DiagnosticSeverity.Information,
    "note": types.DiagnosticSeverity.Information,
    ACCEPTED: types.DiagnosticSeverity.Hint,
    UNREAD: types.DiagnosticSeverity.Error,
    FAULT: types.DiagnosticSeverity.Warning,
}
_KINDS = {
    "key": types.CompletionItemKind.Property,
    "verb": types.CompletionItemKind.Function,
    "word": types.CompletionItemKind.EnumMember,
    "rule": types.CompletionItemKind.Reference,
    "phase": types.CompletionItemKind.Module,
    "material": types.CompletionItemKind.Constant,
}
_SYMBOLS = {
    "part": types.SymbolKind.Namespace,
    "phase": types.SymbolKind.Module,
    "material": types.SymbolKind.Constant,
    "step": types.SymbolKind.Event,
}


class Wishes:
    """What the editor at the other end can take."""

    def __init__(self, capabilities: types.ClientCapabilities) -> None:
        text = capabilities.text_document
        workspace = capabilities.workspace
        published = text.publish_diagnostics if text else None
        symbols = text.document_symbol if text else None
        shown = text.hover.content_format if text and text.hover else None
        item = text.completion.completion_item if text and text.completion else None
        actions = text.code_action if text else None
        edits = workspace.workspace_edit if workspace else None
        watched = workspace.did_change_watched_files if workspace else None
        self.related = bool(published and published.related_information)
        self.tree = bool(symbols and symbols.hierarchical_document_symbol_support)
        self.hover_markdown = _first_is_markdown(shown)
        self.about_markdown = _first_is_markdown(item.documentation_format if item else None)
        self.actions = bool(actions and actions.code_action_literal_support)
        self.versioned_edits = bool(edits and edits.document_changes)
        self.watching = bool(watched and watched.dynamic_registration)


def _first_is_markdown(formats: Sequence[types.MarkupKind | str] | None) -> bool:
    return bool(formats) and formats is not None and formats[0] == types.MarkupKind.Markdown


def offset(opened: Opened, position: types.Position) -> int:
    """The character at an editor's position."""
    return opened.positions.offset(Position(position.line, position.character))


def range_of(opened: Opened, start: int, end: int) -> types.Range:
    return _range(opened.positions.span(start, end))


def _range(span: Span) -> types.Range:
    return types.Range(types.Position(*span.start), types.Position(*span.end))


def location(opened: Opened, uri: str, span: tuple[int, int] | None, file: str, place: Place) -> types.Location:
    """Characters of the open text, or a place in another file."""
    if span is not None:
        return types.Location(uri, range_of(opened, *span))
    try:
        text = files.text_of(file)
    except Unreadable:
        text = ""
    positions = Positions(text, files.kind_of(file, text, {}), opened.units)
    at = positions.of_place(place)
    return types.Location(from_fs_path(file) or uri, _range(positions.span(at, at)))


def diagnostic(opened: Opened, uri: str, remark: Remark, wishes: Wishes) -> types.Diagnostic:
    related = [
        types.DiagnosticRelatedInformation(location(opened, uri, each.span, each.file, each.place), each.what)
        for each in remark.neighbours
    ]
    return types.Diagnostic(
        range=range_of(opened, *remark.span),
        message=remark.text,
        severity=_SEVERITIES[remark.grade],
        code=remark.rule or None,
        source=SOURCE,
        related_information=related if related and wishes.related else None,
    )


def markup(card: Card, as_markdown: bool) -> types.MarkupContent:
    if as_markdown:
        return types.MarkupContent(types.MarkupKind.Markdown, markdown(card))
    return types.MarkupContent(types.MarkupKind.PlainText, plain(card))


def completion_item(opened: Opened, uri: str, number: int, proposal: Proposal, at: int) -> types.CompletionItem:
    """number: its rank. The editor is given what was typed to compare with, as the choice has been made here."""
    idea = proposal.idea
    return types.CompletionItem(
        label=visible(idea.name),
        kind=_KINDS[idea.kind],
        detail=visible(idea.detail) or None,
        documentation=visible(idea.about) or None,
        sort_text=f"{number:04}",
        filter_text=opened.text[proposal.start : at] or None,
        text_edit=types.TextEdit(range_of(opened, proposal.start, proposal.end), proposal.text),
        data={"uri": uri, "material": idea.name} if idea.heading else None,
    )


def symbols(opened: Opened, uri: str, entries: Iterable[Entry]) -> list[types.DocumentSymbol]:
    """The outline as a tree."""
    return [
        types.DocumentSymbol(
            name=visible(entry.name).strip() or "-",
            detail=visible(entry.detail) or None,
            kind=_SYMBOLS[entry.kind],
            range=range_of(opened, entry.start, entry.end),
            selection_range=range_of(opened, entry.own.start, entry.own.end),
            children=symbols(opened, uri, entry.inside) or None,
        )
        for entry in entries
    ]


def flat_symbols(
    opened: Opened, uri: str, entries: Iterable[Entry], inside: str | None = None
) -> Iterator[types.SymbolInformation]:
    """The outline as a list, for editors that take no tree."""
    for entry in entries:
        name = visible(entry.name).strip() or "-"
        where = types.Location(uri, range_of(opened, entry.start, entry.end))
        yield types.SymbolInformation(where, name, _SYMBOLS[entry.kind], container_name=inside)
        yield from flat_symbols(opened, uri, entry.inside, name)


def home(opened: Opened, uri: str, each: Home) -> types.Location:
    span = (each.piece.start, each.piece.end) if each.piece is not None else None
    return location(opened, uri, span, each.file, each.place)


def code_action(
    opened: Opened, uri: str, version: int | None, mending: Mending, kind: str, wishes: Wishes
) -> types.CodeAction:
    edits = [types.TextEdit(range_of(opened, edit.start, edit.end), edit.text) for edit in mending.edits]
    if wishes.versioned_edits:
        identifier = types.OptionalVersionedTextDocumentIdentifier(uri=uri, version=version)
        edit = types.WorkspaceEdit(document_changes=[types.TextDocumentEdit(identifier, list(edits))])
    else:
        edit = types.WorkspaceEdit(changes={uri: edits})
    mends = [diagnostic(opened, uri, mending.remark, wishes)] if mending.remark is not None else None
    return types.CodeAction(
        title=mending.what, kind=kind, diagnostics=mends, is_preferred=mending.sure or None, edit=edit
    )
