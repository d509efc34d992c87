"""The language server as an editor meets it: a process, spoken to over its standard input and output by a client library."""

from __future__ import annotations

import asyncio
import shutil
import subprocess
import sys
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("pygls.lsp.client")
types = pytest.importorskip("lsprotocol.types")

from pygls.lsp.client import LanguageClient  # noqa: E402

HOME = Path(__file__).resolve().parent.parent.parent
COMMAND = (sys.executable, "-m", "formcheck", "editor", "--stdio")
LONG_S = 60
"""More than any answer takes, on a machine that is busy too."""
ERROR, WARNING, INFORMATION, HINT = (types.DiagnosticSeverity(number) for number in (1, 2, 3, 4))

MENDED = """\
formcheck: 1
name: Bean flower gel 😋
product: {use: leave-on, form: gel, area: [hands], users: [adults], markets: [EU]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1.2, Disodium EDTA: 0.1}
  B: {Panthenol: 1, Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1}
procedure:
  - sprinkle: Hydroxyethylcellulose
    into: A
  - heat: A
    to: 75 °C
    hold: 30 min
  - cool: A
    to: 30 °C
  - add: B
    into: A
  - measure pH: A
  - rest: A
    for: 12 h
  - fill: A
finished: {pH: 5.5}
packaging: {container: airless bottle, material: PP, wall: opaque}
"""
_COOL, _ADD = "  - cool: A\n    to: 30 °C\n", "  - add: B\n    into: A\n"
FLAWED = MENDED.replace(_COOL + _ADD, _ADD + _COOL).replace("Panthenol: 1,", "Panthenol: 1, Xanthan Gumm: 0.1,")


class Client(LanguageClient):
    """Keeps what the server says unasked."""

    def __init__(self) -> None:
        super().__init__("test", "1")
        self.said: list[Any] = []
        self.asked_for: list[Any] = []
        self.complaints: list[str] = []
        self.news = asyncio.Event()
        self.feature(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)(lambda params: self.hear(params))
        self.feature(types.CLIENT_REGISTER_CAPABILITY)(lambda params: self.asked_for.extend(params.registrations))
        self.feature(types.WINDOW_SHOW_MESSAGE)(lambda params: self.complaints.append(params.message))

    def hear(self, params: Any) -> None:
        self.said.append(params)
        self.news.set()

    async def remarks(self, uri: str, version: int | None) -> list[Any]:
        """What is said of a version of a file, as soon as it is said."""
        while True:
            for params in self.said:
                if (params.uri, params.version) == (uri, version):
                    self.said.remove(params)
                    return list(params.diagnostics)
            self.news.clear()
            await asyncio.wait_for(self.news.wait(), LONG_S)

    def open(self, path: Path, text: str, language: str = "yaml") -> str:
        uri = path.as_uri()
        document = types.TextDocumentItem(uri, language, 1, text)
        self.text_document_did_open(types.DidOpenTextDocumentParams(document))
        return uri

    def change(self, uri: str, version: int, text: str) -> None:
        document = types.VersionedTextDocumentIdentifier(version, uri)
        whole = types.TextDocumentContentChangeWholeDocument(text)
        self.text_document_did_change(types.DidChangeTextDocumentParams(document, [whole]))


def able(encodings: list[str] | None = None) -> Any:
    """Capabilities as an ordinary editor states them."""
    markdown = [types.MarkupKind.Markdown, types.MarkupKind.PlainText]
    return types.ClientCapabilities(
        general=types.GeneralClientCapabilities(position_encodings=encodings),
        workspace=types.WorkspaceClientCapabilities(
            workspace_edit=types.WorkspaceEditClientCapabilities(document_changes=True),
            did_change_watched_files=types.DidChangeWatchedFilesClientCapabilities(dynamic_registration=True),
        ),
        text_document=types.TextDocumentClientCapabilities(
            hover=types.HoverClientCapabilities(content_format=markdown),
            completion=types.CompletionClientCapabilities(
                completion_item=types.ClientCompletionItemOptions(documentation_format=markdown)
            ),
            document_symbol=types.DocumentSymbolClientCapabilities(hierarchical_document_symbol_support=True),
            publish_diagnostics=types.PublishDiagnosticsClientCapabilities(related_information=True),
            code_action=types.CodeActionClientCapabilities(
                code_action_literal_support=types.ClientCodeActionLiteralOptions(
                    types.ClientCodeActionKindOptions([types.CodeActionKind.QuickFix])
                )
            ),
        ),
    )


@asynccontextmanager
async def session(*folders: Path, capabilities: Any = None) -> AsyncIterator[tuple[Client, Any]]:
    """A server with a client that is done with the greetings; both take their leave properly at the end."""
    client = Client()
    await client.start_io(*COMMAND, cwd=str(HOME))
    roots = [types.WorkspaceFolder(folder.as_uri(), folder.name) for folder in folders]
    params = types.InitializeParams(
        capabilities=capabilities or able(), root_uri=roots[0].uri if roots else None, workspace_folders=roots
    )
    try:
        greeting = await asyncio.wait_for(client.initialize_async(params), LONG_S)
        client.initialized(types.InitializedParams())
        yield client, greeting
        await asyncio.wait_for(client.shutdown_async(None), LONG_S)
        client.exit(None)
        process = client._server
        assert process is not None
        assert process.stderr is not None
        assert await asyncio.wait_for(process.wait(), LONG_S) == 0
        assert (await process.stderr.read()).decode() == ""
        assert client.complaints == []
    except BaseException:
        if client._server is not None and client._server.stderr is not None:
            if client._server.returncode is None:
                client._server.kill()
            print((await client._server.stderr.read()).decode())
        raise
    finally:
        await client.stop()


def talk(conversation: Callable[[], Awaitable[None]]) -> None:
    asyncio.run(conversation())  # type: ignore[arg-type]


def place(text: str, words: str, into: int = 0) -> Any:
    """The position of some words in a text, counted in UTF-16 by Python's own codec."""
    offset = text.index(words) + into
    before = text[:offset]
    column = len(before[before.rfind("\n") + 1 :].encode("utf-16-le")) // 2
    return types.Position(before.count("\n"), column)


def cut(text: str, where: Any) -> str:
    """What stands in a range of one line, by Python's own codec."""
    line = text.split("\n")[where.start.line].encode("utf-16-le")
    return line[2 * where.start.character : 2 * where.end.character].decode("utf-16-le")


def edited(text: str, edits: list[Any]) -> str:
    """The text with edits made, as an editor makes them, from the end to the beginning."""
    lines = text.encode("utf-16-le").decode("utf-16-le").split("\n")
    for edit in sorted(edits, key=lambda each: (each.range.start.line, each.range.start.character), reverse=True):
        first, last = edit.range.start, edit.range.end
        head = lines[first.line].encode("utf-16-le")[: 2 * first.character].decode("utf-16-le")
        tail = lines[last.line].encode("utf-16-le")[2 * last.character :].decode("utf-16-le")
        lines[first.line : last.line + 1] = (head + edit.new_text + tail).split("\n")
    return "\n".join(lines)


def test_a_session_from_the_flawed_formula_to_the_mended_one(tmp_path: Path) -> None:
    path = tmp_path / "bean.formula.yaml"

    async def conversation() -> None:
        async with session(tmp_path) as (client, greeting):
            assert greeting.capabilities.position_encoding == types.PositionEncodingKind.Utf16
            assert greeting.capabilities.text_document_sync.change == types.TextDocumentSyncKind.Full
            uri = client.open(path, FLAWED)
            document = types.TextDocumentIdentifier(uri)
            found = {each.code: each for each in await client.remarks(uri, 1)}
            hot = found["preservative-too-hot"]
            assert (hot.severity, hot.source, cut(FLAWED, hot.range)) == (ERROR, "formcheck", "add")
            assert hot.code_description is None
            assert {cut(FLAWED, each.location.range) for each in hot.related_information} == {"Phenoxyethanol"}
            assert cut(FLAWED, found["ingredient-unknown"].range) == "Xanthan Gumm"

            at = types.HoverParams(document, place(FLAWED, "Phenoxyethanol", 3))
            card = await client.text_document_hover_async(at)
            assert card is not None
            assert cut(FLAWED, card.range) == "Phenoxyethanol"
            assert card.contents.kind == types.MarkupKind.Markdown
            assert "- maximum temperature" in card.contents.value
            assert "1223/2009" in card.contents.value

            home = types.DefinitionParams(document, place(FLAWED, "add: B", 5))
            (there,) = await client.text_document_definition_async(home)
            assert (there.uri, cut(FLAWED, there.range)) == (uri, "B")

            outline = await client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
            assert [entry.name for entry in outline] == ["phases", "procedure"]
            assert [entry.name for entry in outline[1].children][:2] == ["1 sprinkle Hydroxyethylcellulose", "2 heat A"]

            context = types.CodeActionContext([hot])
            actions = await client.text_document_code_action_async(types.CodeActionParams(document, hot.range, context))
            (action,) = (each for each in actions if each.diagnostics[0].code == "preservative-too-hot")
            (change,) = action.edit.document_changes
            assert (change.text_document.uri, change.text_document.version) == (uri, 1)
            corrected = edited(FLAWED, change.edits)
            client.change(uri, 2, corrected)
            assert "preservative-too-hot" not in {each.code for each in await client.remarks(uri, 2)}

            client.change(uri, 3, MENDED)
            assert await client.remarks(uri, 3) == []
            client.text_document_did_close(types.DidCloseTextDocumentParams(document))

    talk(conversation)


def test_a_half_written_line_is_completed_to_what_can_be_read(tmp_path: Path) -> None:
    path = tmp_path / "bean.formula.yaml"
    typed = MENDED.replace("Glycerin: 4", "😋: 1, niacina").replace("heat: A", "heat: [")

    async def conversation() -> None:
        async with session(tmp_path) as (client, _):
            uri = client.open(path, MENDED)
            await client.remarks(uri, 1)
            client.change(uri, 2, typed)
            document = types.TextDocumentIdentifier(uri)
            at = types.CompletionParams(document, place(typed, "niacina", 7))
            found = await client.text_document_completion_async(at)
            assert found.is_incomplete
            best = min(found.items, key=lambda item: item.sort_text)
            assert best.label == "Niacinamide"
            text = edited(typed, [best.text_edit])
            assert "{Aqua: q.s., 😋: 1, Niacinamide: , Hydroxy" in text
            whole = await client.completion_item_resolve_async(best)
            assert "pH window" in whole.documentation.value
            (unread,) = await client.remarks(uri, 2)
            assert unread.severity == ERROR
            card = await client.text_document_hover_async(types.HoverParams(document, place(typed, "Panthenol")))
            assert "**Panthenol**" in card.contents.value

    talk(conversation)


def test_accepted_findings_are_hints_and_graver_ones_are_shown_so(tmp_path: Path) -> None:
    text = FLAWED + "deviations:\n  - {rule: preservative-too-hot, reason: pilot batch only}\n"

    async def conversation() -> None:
        async with session(tmp_path) as (client, _):
            uri = client.open(tmp_path / "bean.formula.yaml", text)
            grades = {each.code: each.severity for each in await client.remarks(uri, 1)}
            assert grades["preservative-too-hot"] == HINT
            assert ERROR not in grades.values()
            other = (HOME / "examples/flawed/dock-leaf-cream.formula.yaml").read_text(encoding="utf-8")
            uri = client.open(tmp_path / "dock.formula.yaml", other)
            grades = {each.code: each.severity for each in await client.remarks(uri, 1)}
            assert grades["preservative-outside-ph"] == ERROR
            assert grades["active-too-hot"] == WARNING
            assert grades["chelator-missing"] == grades["allergen-to-declare"] == INFORMATION

    talk(conversation)


def test_typing_is_reviewed_once_it_pauses(tmp_path: Path) -> None:
    async def conversation() -> None:
        async with session(tmp_path) as (client, _):
            uri = client.open(tmp_path / "bean.formula.yaml", FLAWED)
            await client.remarks(uri, 1)
            for version in range(2, 12):
                client.change(uri, version, FLAWED + "#" * version)
            await client.remarks(uri, 11)
            # none at all where nothing else keeps the machine busy for longer than a writer pauses
            assert len(client.said) < 4

    talk(conversation)


def test_what_is_saved_beside_counts_and_so_does_a_change_of_it(tmp_path: Path) -> None:
    """Two roots with a configuration each; materials and formulas that were never saved."""
    one, two = tmp_path / "one", tmp_path / "two"
    for folder in (one, two):
        (folder / ".git").mkdir(parents=True)
    (two / "formcheck.toml").write_text('[rules.preservative-too-hot]\nsilent = true\nreason = "our own"\n')

    async def conversation() -> None:
        async with session(one, two) as (client, _):
            first, second = (client.open(folder / "x.formula.yaml", FLAWED) for folder in (one, two))
            codes = {each.code for each in await client.remarks(first, 1)}
            assert {"preservative-too-hot", "ingredient-unknown"} <= codes
            assert "preservative-too-hot" not in {each.code for each in await client.remarks(second, 1)}

            (watched,) = client.asked_for
            assert watched.method == types.WORKSPACE_DID_CHANGE_WATCHED_FILES
            globs = {each["globPattern"] for each in watched.register_options["watchers"]}
            assert {"**/materials.yaml", "**/formcheck.toml", "**/*.house.yaml"} <= globs

            (one / "materials.yaml").write_text("materials:\n  Xanthan Gumm: {INCI: Xanthan Gum}\n")
            event = types.FileEvent((one / "materials.yaml").as_uri(), types.FileChangeType.Created)
            client.workspace_did_change_watched_files(types.DidChangeWatchedFilesParams([event]))
            codes = {each.code for each in await client.remarks(first, 1)}
            assert "ingredient-unknown" not in codes

            where = types.DefinitionParams(types.TextDocumentIdentifier(first), place(FLAWED, "Xanthan Gumm"))
            (home,) = await client.text_document_definition_async(where)
            assert home.uri == (one / "materials.yaml").as_uri()
            assert (home.range.start.line, home.range.start.character) == (1, 2)

            (two / "formcheck.toml").write_text('threshold = "loud"\n')
            saved = types.DidSaveTextDocumentParams(types.TextDocumentIdentifier((two / "formcheck.toml").as_uri()))
            client.said.clear()
            client.text_document_did_save(saved)
            (remark,) = await client.remarks(second, 1)
            assert "loud" in remark.message
            assert remark.range.start.line == 0
            (way,) = remark.related_information
            assert way.location.uri == (two / "formcheck.toml").as_uri()

    talk(conversation)


@pytest.mark.parametrize("name", ["elder-toner.formula.toml", "pea-pod-shower.formula.json"])
def test_toml_and_json_are_reviewed_and_explained(tmp_path: Path, name: str) -> None:
    path = HOME / "examples/sound" / name
    text = path.read_text(encoding="utf-8")

    async def conversation() -> None:
        async with session(HOME / "examples") as (client, _):
            uri = client.open(path, text, path.suffix[1:])
            assert all(each.severity == INFORMATION for each in await client.remarks(uri, 1))
            at = types.HoverParams(types.TextDocumentIdentifier(uri), place(text, "Glycerin", 2))
            card = await client.text_document_hover_async(at)
            assert "**Glycerin**" in card.contents.value
            client.change(uri, 2, text.replace("q.s.", "much"))
            (remark,) = await client.remarks(uri, 2)
            assert cut(text.replace("q.s.", "much"), remark.range) == '"much"'

    talk(conversation)


def test_other_files_and_files_that_have_no_name_yet(tmp_path: Path) -> None:
    async def conversation() -> None:
        async with session(tmp_path) as (client, _):
            uri = client.open(tmp_path / "compose.yaml", "services: {a: 1}\n")
            assert await client.remarks(uri, 1) == []
            uri = "untitled:Untitled-1"
            document = types.TextDocumentItem(uri, "yaml", 1, FLAWED)
            client.text_document_did_open(types.DidOpenTextDocumentParams(document))
            assert "preservative-too-hot" in {each.code for each in await client.remarks(uri, 1)}

    talk(conversation)


def test_columns_are_counted_as_the_editor_wishes(tmp_path: Path) -> None:
    text = MENDED.replace("{Aqua: q.s., Glycerin: 4", "{😋: 1, Aqua: q.s., Glycerrin: 4")
    line = next(line for line in text.split("\n") if "Glycerrin" in line)
    before = line[: line.index("Glycerrin")]

    async def conversation(encoding: str, codec: str, size: int) -> None:
        async with session(tmp_path, capabilities=able([encoding])) as (client, greeting):
            assert greeting.capabilities.position_encoding == encoding
            uri = client.open(tmp_path / "x.formula.yaml", text)
            columns = {each.range.start.character for each in await client.remarks(uri, 1)}
            assert len(before.encode(codec)) // size in columns

    for encoding, codec, size in (("utf-8", "utf-8", 1), ("utf-32", "utf-32-le", 4)):
        asyncio.run(conversation(encoding, codec, size))


def test_a_plain_editor_gets_plain_answers(tmp_path: Path) -> None:
    """One that states no capability: text without markup, a flat outline, no related places, no edits."""

    async def conversation() -> None:
        async with session(tmp_path, capabilities=types.ClientCapabilities()) as (client, _):
            uri = client.open(tmp_path / "x.formula.yaml", FLAWED)
            found = await client.remarks(uri, 1)
            assert all(each.related_information is None for each in found)
            assert client.asked_for == []
            document = types.TextDocumentIdentifier(uri)
            card = await client.text_document_hover_async(types.HoverParams(document, place(FLAWED, "Panthenol")))
            assert card.contents.kind == types.MarkupKind.PlainText
            assert "**" not in card.contents.value
            outline = await client.text_document_document_symbol_async(types.DocumentSymbolParams(document))
            assert {"phase A", "Glycerin"} <= {entry.name for entry in outline}
            context = types.CodeActionContext(found)
            params = types.CodeActionParams(document, found[0].range, context)
            assert not await client.text_document_code_action_async(params)

    talk(conversation)


def test_everything_at_once_only_where_it_is_asked_for(tmp_path: Path) -> None:
    folder = tmp_path / "examples"
    shutil.copytree(HOME / "examples/flawed", folder / "flawed")
    shutil.copy(HOME / "examples/materials.yaml", folder)
    path = folder / "flawed/bean-flower-gel.formula.yaml"
    text = path.read_text(encoding="utf-8")

    async def conversation() -> None:
        async with session(folder) as (client, _):
            uri = client.open(path, text)
            before = await client.remarks(uri, 1)
            everywhere = types.Range(types.Position(0, 0), types.Position(99, 0))
            document = types.TextDocumentIdentifier(uri)
            ordinary = types.CodeActionContext(before)
            actions = await client.text_document_code_action_async(
                types.CodeActionParams(document, everywhere, ordinary)
            )
            assert {each.kind for each in actions} == {types.CodeActionKind.QuickFix}
            asked = types.CodeActionContext([], only=[types.CodeActionKind.SourceFixAll])
            (action,) = await client.text_document_code_action_async(
                types.CodeActionParams(document, everywhere, asked)
            )
            client.change(uri, 2, edited(text, action.edit.document_changes[0].edits))
            after = await client.remarks(uri, 2)
            assert len(after) < len(before)

    talk(conversation)


def test_an_editor_that_goes_without_a_word_takes_the_server_with_it() -> None:
    result = subprocess.run(COMMAND, input=b"", capture_output=True, cwd=HOME, timeout=LONG_S)
    assert (result.returncode, result.stdout, result.stderr) == (1, b"", b"")


def test_without_the_library_it_says_how_to_get_it() -> None:
    code = (
        "import sys; sys.modules['pygls'] = None; from formcheck.commands.main import main; sys.exit(main(['editor']))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=HOME, timeout=LONG_S)
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert 'pip install "formcheck[editor]"' in result.stderr


def test_a_review_does_not_load_the_language_server() -> None:
    code = (
        "import sys; from formcheck.commands.main import main; main(['review', 'examples/sound']);"
        "print([name for name in sys.modules if name.startswith(('pygls', 'lsprotocol', 'formcheck.reports.editor'))])"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=HOME, timeout=LONG_S)
    assert result.stdout.rstrip().endswith("\n[]")
