"""The language server: open files in, what is to be shown of them out. Speaks over standard input and output."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any, BinaryIO
from urllib.parse import unquote, urlsplit

from lsprotocol import types
from pygls.lsp.server import LanguageServer
from pygls.uris import to_fs_path

from ... import __version__
from ...review.run import MATERIALS_FILES
from ...review.settings import FILE, PROJECT_FILE
from ...review.settings_file import HOUSE_ENDINGS
from . import protocol
from .desk import Desk
from .hover import hover, material_card
from .mending import all_at_once, mendings
from .opened import OTHER, Opened
from .outline import homes, outline
from .proposals import proposals
from .protocol import Wishes
from .remarks import FAULT, Remark, remarks

PATIENCE_S = 0.25
"""How long a writer pauses before what was written is reviewed."""
WATCHED = (*MATERIALS_FILES, FILE, PROJECT_FILE, *("*" + ending for ending in HOUSE_ENDINGS))
"""Files beside formulas that bear on their review."""
_ENDINGS = {"toml": ".toml", "json": ".json", "jsonc": ".json"}
_ALL_AT_ONCE = "source.fixAll.formcheck"


class Service:
    """Keeps the open files and answers for them.

    desk: what they share; patience_s: see PATIENCE_S.
    """

    def __init__(self, desk: Desk, patience_s: float = PATIENCE_S) -> None:
        self.desk = desk
        self.patience_s = patience_s
        self.files: dict[str, Opened] = {}
        self.versions: dict[str, int | None] = {}
        self.waiting: dict[str, asyncio.TimerHandle] = {}
        self.wishes = Wishes(types.ClientCapabilities())
        self.told_to_stop = False
        self.server = LanguageServer(
            protocol.SOURCE, __version__, text_document_sync_kind=types.TextDocumentSyncKind.Full
        )
        self._answer()

    def run(self, stdin: BinaryIO, stdout: BinaryIO) -> int:
        """Serves until the editor says that it is enough; 0 where it said so properly, else 1."""
        self.server.start_io(stdin, stdout)
        return 0 if self.told_to_stop else 1

    def _answer(self) -> None:
        """Says which messages are answered, and by what."""
        called = types.CompletionOptions(trigger_characters=[" ", "[", "{"], resolve_provider=True)
        kinds = types.CodeActionOptions(code_action_kinds=[types.CodeActionKind.QuickFix, _ALL_AT_ONCE])
        self._on(types.INITIALIZE, self.initialize)
        self._on(types.INITIALIZED, self.initialized)
        self._on(types.SHUTDOWN, self.shutdown)
        self._on(types.TEXT_DOCUMENT_DID_OPEN, self.did_open)
        self._on(types.TEXT_DOCUMENT_DID_CHANGE, self.did_change)
        self._on(types.TEXT_DOCUMENT_DID_SAVE, self.did_save)
        self._on(types.TEXT_DOCUMENT_DID_CLOSE, self.did_close)
        self._on(types.WORKSPACE_DID_CHANGE_WATCHED_FILES, self.files_changed)
        self._on(types.TEXT_DOCUMENT_HOVER, self.hover)
        self._on(types.TEXT_DOCUMENT_COMPLETION, self.complete, called)
        self._on(types.COMPLETION_ITEM_RESOLVE, self.resolve)
        self._on(types.TEXT_DOCUMENT_DEFINITION, self.definition)
        self._on(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL, self.symbols)
        self._on(types.TEXT_DOCUMENT_CODE_ACTION, self.actions, kinds)

    def _on(self, message: str, answer: Callable[[Any], Any], options: Any = None) -> None:
        # the library sets attributes on what it is given, which a method does not let it do
        self.server.feature(message, options)(partial(answer))

    # --- coming and going

    def initialize(self, params: types.InitializeParams) -> None:
        self.wishes = Wishes(params.capabilities)

    def initialized(self, params: types.InitializedParams) -> None:
        """Asks to be told of changes to files beside formulas, and gets the names ready while nobody waits."""
        asyncio.get_running_loop().call_later(self.patience_s, lambda: self.desk.names)
        if self.wishes.watching:
            watchers: list[types.FileSystemWatcher] = [types.FileSystemWatcher(f"**/{name}") for name in WATCHED]
            options = types.DidChangeWatchedFilesRegistrationOptions(watchers)
            name = types.WORKSPACE_DID_CHANGE_WATCHED_FILES
            asked = types.RegistrationParams([types.Registration("files-beside-formulas", name, options)])
            self.server.client_register_capability(asked)

    def shutdown(self, params: None) -> None:
        self.told_to_stop = True
        for timer in self.waiting.values():
            timer.cancel()
        self.waiting.clear()

    # --- open files

    def did_open(self, params: types.DidOpenTextDocumentParams) -> None:
        document = params.text_document
        path = self._path(document.uri, document.language_id)
        self._put(document.uri, path, document.text, document.version)
        self.publish(document.uri)

    def did_change(self, params: types.DidChangeTextDocumentParams) -> None:
        uri = params.text_document.uri
        before = self.files.get(uri)
        if before is None:
            return
        text = self.server.workspace.get_text_document(uri).source
        self._put(uri, before.path, text, params.text_document.version)
        self._publish_soon(uri)

    def did_save(self, params: types.DidSaveTextDocumentParams) -> None:
        """A file beside formulas bears on all of them once it is saved."""
        name = os.path.basename(self._path(params.text_document.uri))
        if name in (*MATERIALS_FILES, FILE, PROJECT_FILE) or name.endswith(HOUSE_ENDINGS):
            self._look_again()
        elif params.text_document.uri in self.files:
            self.publish(params.text_document.uri)

    def did_close(self, params: types.DidCloseTextDocumentParams) -> None:
        uri = params.text_document.uri
        self.versions.pop(uri, None)
        if timer := self.waiting.pop(uri, None):
            timer.cancel()
        if self.files.pop(uri, None) is not None:
            self._show(uri, [], None)

    def files_changed(self, params: types.DidChangeWatchedFilesParams) -> None:
        self._look_again()

    def _put(self, uri: str, path: str, text: str, version: int | None) -> None:
        before = self.files.get(uri)
        units = str(getattr(self.server.workspace.position_encoding, "value", self.server.workspace.position_encoding))
        earlier = before.last_read if before is not None else None
        self.files[uri] = Opened(path, text, self.desk, units, earlier)
        self.versions[uri] = version

    def _look_again(self) -> None:
        self.desk.forget()
        for uri, opened in list(self.files.items()):
            self._put(uri, opened.path, opened.text, self.versions.get(uri))
            self._publish_soon(uri)

    def _path(self, uri: str, language: str = "") -> str:
        """The path of a file; one that was never saved is taken for one of the first folder that is open."""
        path = to_fs_path(uri)
        if urlsplit(uri).scheme == "file" and path:
            return path
        roots = [to_fs_path(folder) for folder in self.server.workspace.folders]
        folder = next((root for root in (*roots, self.server.workspace.root_path) if root), os.getcwd())
        name = os.path.basename(unquote(urlsplit(uri).path)) or "untitled"
        ending = _ENDINGS.get(language, ".yaml")
        return os.path.join(folder, name if name.endswith((".yaml", ".yml", ".toml", ".json")) else name + ending)

    # --- remarks

    def _publish_soon(self, uri: str) -> None:
        if timer := self.waiting.pop(uri, None):
            timer.cancel()
        self.waiting[uri] = asyncio.get_running_loop().call_later(self.patience_s, self.publish, uri)

    def publish(self, uri: str) -> None:
        """Sends what there is to say of a file now."""
        if timer := self.waiting.pop(uri, None):
            timer.cancel()
        opened = self.files.get(uri)
        if opened is None:
            return
        try:
            found = remarks(opened)
        except Exception as error:
            said = f"A fault of the program, not of the formula: {type(error).__name__}: {error}"
            found = [Remark((0, 0), FAULT, "", said)]
        self._show(uri, [protocol.diagnostic(opened, uri, each, self.wishes) for each in found], self.versions.get(uri))

    def _show(self, uri: str, found: list[types.Diagnostic], version: int | None) -> None:
        self.server.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, found, version))

    # --- questions

    def hover(self, params: types.HoverParams) -> types.Hover | None:
        opened = self.files.get(params.text_document.uri)
        found = hover(opened, protocol.offset(opened, params.position)) if opened is not None else None
        if opened is None or found is None:
            return None
        content = protocol.markup(found.card, self.wishes.hover_markdown)
        return types.Hover(content, protocol.range_of(opened, found.piece.start, found.piece.end))

    def complete(self, params: types.CompletionParams) -> types.CompletionList:
        """Always marked as not complete, so that the editor asks again rather than filter what was chosen here."""
        uri = params.text_document.uri
        opened = self.files.get(uri)
        if opened is None:
            return types.CompletionList(False, [])
        asked = params.context
        uncalled = asked is not None and asked.trigger_character == " "
        at = protocol.offset(opened, params.position)
        found = proposals(opened, at, uncalled)
        items = [protocol.completion_item(opened, uri, number, each, at) for number, each in enumerate(found)]
        return types.CompletionList(True, items)

    def resolve(self, item: types.CompletionItem) -> types.CompletionItem:
        """Adds a material's card to its proposal."""
        data = item.data if isinstance(item.data, dict) else {}
        opened = self.files.get(str(data.get("uri")))
        card = material_card(opened, str(data.get("material"))) if opened is not None else None
        if card is not None:
            item.documentation = protocol.markup(card, self.wishes.about_markdown)
        return item

    def definition(self, params: types.DefinitionParams) -> list[types.Location]:
        uri = params.text_document.uri
        opened = self.files.get(uri)
        if opened is None:
            return []
        return [protocol.home(opened, uri, each) for each in homes(opened, protocol.offset(opened, params.position))]

    def symbols(self, params: types.DocumentSymbolParams) -> list[types.DocumentSymbol] | list[types.SymbolInformation]:
        uri = params.text_document.uri
        opened = self.files.get(uri)
        if opened is None:
            return []
        entries = outline(opened)
        if self.wishes.tree:
            return protocol.symbols(opened, uri, entries)
        return list(protocol.flat_symbols(opened, uri, entries))

    def actions(self, params: types.CodeActionParams) -> list[types.CodeAction]:
        """Corrections for what was found in a range; all of them in one go only where that is asked for."""
        uri = params.text_document.uri
        opened = self.files.get(uri)
        if opened is None or opened.what == OTHER or not self.wishes.actions:
            return []
        version = self.versions.get(uri)
        found = []
        if _wanted(types.CodeActionKind.QuickFix, params.context.only):
            start, end = (protocol.offset(opened, each) for each in (params.range.start, params.range.end))
            there = [each for each in remarks(opened) if each.span[0] <= end and start <= each.span[1]]
            kind = types.CodeActionKind.QuickFix
            found = [
                protocol.code_action(opened, uri, version, each, kind, self.wishes) for each in mendings(opened, there)
            ]
        if params.context.only and _wanted(_ALL_AT_ONCE, params.context.only):
            whole = all_at_once(opened)
            found.extend(
                [protocol.code_action(opened, uri, version, whole, _ALL_AT_ONCE, self.wishes)] if whole else []
            )
        return found


def _wanted(kind: str, only: Iterable[types.CodeActionKind | str] | None) -> bool:
    """Whether a kind of action is among those asked for; a kind stands for all below it."""
    asked = [str(getattr(each, "value", each)) for each in only or ()]
    name = str(getattr(kind, "value", kind))
    return not asked or any(name == each or name.startswith(each + ".") or not each for each in asked)


def serve(desk: Desk) -> int:
    """Serves over standard input and output; whatever else prints something prints it to standard error meanwhile."""
    usual = sys.stdout
    # a copy of its own, for the library closes what it is given
    stdout = os.fdopen(os.dup(usual.fileno()), "wb")
    sys.stdout = sys.stderr
    try:
        return Service(desk).run(sys.stdin.buffer, stdout)
    finally:
        sys.stdout = usual
