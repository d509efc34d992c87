"""Reads YAML that may be half written: what is there, and what stands before the cursor.

No judgement of what is valid: indentation, dashes, colons and brackets give every key and value a path, and a bracket
or quotation mark that was never closed ends where the indentation says that something else begins. Where a file is
valid, the pieces are those of the document (a test holds the two together).
"""

from __future__ import annotations

import re

from ...records import NamedTuple
from .pieces import Path, Piece
from .positions import BYTE_ORDER_MARK

_BREAK = re.compile(r"\r\n|[\n\r]")
_BLANKS = re.compile(r"[ \t]*")
_REST_OF_LINE = re.compile(r"[^\r\n]*")
_DASH = re.compile(r"-(?=[ \t\r\n]|\Z)")
_KEY_END = re.compile(r":(?=[ \t\r\n]|\Z)|(?<=[ \t])#|[\r\n]")
_COLON = re.compile(r"[ \t]*:(?=[ \t\r\n]|\Z)")
_PLAIN_END = re.compile(r"(?<=[ \t])#|[\r\n]|\Z")
_PLAIN_END_IN_BRACKETS = re.compile(r":(?=[\s,\[\]{}]|\Z)|[,\[\]{}\r\n]|(?<=[ \t])#|\Z")
_COLON_IN_BRACKETS = re.compile(r"[ \t]*:(?=[\s,\[\]{}]|\Z)")
_COLON_AFTER_QUOTE = re.compile(r"[ \t]*:")
_MARKS = re.compile(r"(?:[&!][^\s,\[\]{}]*[ \t]*)*")
_HEADER = re.compile(r"[|>][-+0-9]*[ \t]*(?:#[^\r\n]*)?(?=[\r\n]|\Z)")
_BETWEEN_DOCUMENTS = re.compile(r"(?:---|\.\.\.)(?=[ \t\r\n]|\Z)|%")
_QUOTED = {'"': re.compile(r'"(?:[^"\\]|\\.)*"', re.DOTALL), "'": re.compile(r"'(?:[^']|'')*'")}
_FOLDED = re.compile(r"[ \t]*(?:\r\n|[\n\r])[ \t]*")
_ESCAPE = re.compile(r"\\(?:x([0-9a-fA-F]{2})|u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|(.))")


class Cursor(NamedTuple):
    """Where the cursor stands.

    role: "key" where a key (or an item of a list) may be written, "value" where the value of one may; path: of the
    collection that the key goes into, or of the value; start, end: the characters to replace; typed: those before the
    cursor; bracketed: within brackets; colon: a colon follows; glued: a blank has to come first.
    """

    path: Path
    role: str
    start: int
    end: int
    typed: str = ""
    bracketed: bool = False
    colon: bool = False
    glued: bool = False


def pieces(text: str) -> tuple[Piece, ...]:
    """All keys and single values, in the order of the text."""
    return tuple(_Scanner(text).run().pieces)


def cursor(text: str, offset: int) -> Cursor | None:
    """What may be written at a character of the text; None in comments and where nothing more can be said."""
    found = _Scanner(text[:offset]).run().cursor()
    if found is None:
        return None
    end = _end_of_word(text, offset, found)
    colon = _COLON_IN_BRACKETS if found.bracketed else _COLON
    return found._replace(end=end, colon=bool(colon.match(text, end)))


def _end_of_word(text: str, offset: int, found: Cursor) -> int:
    """Up to where the word at the cursor reaches."""
    quote = text[found.start : found.start + 1]
    rest = _REST_OF_LINE.match(text, offset)
    line_end = rest.end() if rest else offset
    if quote in _QUOTED and found.start < offset:
        closing = text.find(quote, offset, line_end)
        return closing + 1 if closing >= 0 else line_end
    match = (_PLAIN_END_IN_BRACKETS if found.bracketed else _KEY_END).search(text, offset)
    end = match.start() if match else len(text)
    return offset + len(text[offset:end].rstrip())


class _Level:
    """An open collection. column: where its keys or dashes stand; key, number: of what is written now; filled: it has a
    value ("" as long as it has none)."""

    def __init__(self, column: int, is_list: bool, bracketed: bool = False) -> None:
        self.column = column
        self.is_list = is_list
        self.bracketed = bracketed
        self.key: str | None = None
        self.number = 0
        self.filled = ""


class _Scanner:
    """Goes through the text once. at the end `last` says what stands last in it:

    "blank" (a line that is empty so far, `column` wide), "dash", "key" (with its colon), "word" (one that may go on, from
    `start`, as a key or value), "quiet" (a comment, a text of several lines), or "done".
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.levels: list[_Level] = []
        self.pieces: list[Piece] = []
        self.block_text: int | None = None
        self.last = "blank"
        self.column = 0
        self.start = 0
        self.role = "key"
        self.item = False

    def run(self) -> _Scanner:
        at = len(BYTE_ORDER_MARK) if self.text.startswith(BYTE_ORDER_MARK) else 0
        while True:
            at = self.next_line(self.line(at))
            if at < 0:
                return self

    def next_line(self, at: int) -> int:
        """Where the next line begins: right there where a line was given back unread; -1 at the end of the text."""
        if self.last == "given back":
            return at
        match = _BREAK.search(self.text, at)
        return match.end() if match else -1

    def line(self, at: int) -> int:
        """Reads the line that begins at a character, and what its brackets and quotes reach; gives where that ended."""
        text = self.text
        start = self.skip(_BLANKS, at)
        self.column, self.item = start - at, False
        if start == len(text) or text[start] in "\r\n":
            self.last = "quiet" if self.block_text is not None and self.column > self.block_text else "blank"
            return start
        if self.block_text is not None:
            if self.column > self.block_text:
                self.last = "quiet"
                return start
            self.block_text = None
        if text[start] == "#" or (start == at and _BETWEEN_DOCUMENTS.match(text, at)):
            self.last = "quiet"
            return start
        return self.block(start, self.column)

    def block(self, at: int, column: int) -> int:
        """Dashes, then a key with its value or something that stands alone."""
        while _DASH.match(self.text, at):
            self.next_item(column)
            after = self.skip(_BLANKS, at + 1)
            column, at, self.item, self.last = column + after - at, after, True, "dash"
            if at == len(self.text) or self.text[at] in "\r\n#":
                return at
        found = self.key_at(at)
        if found is None:
            return self.alone(at, column)
        name, end, after = found
        self.enter(column, name)
        self.add("key", name, at, end)
        self.last = "key"
        return self.value(after)

    def key_at(self, at: int) -> tuple[str, int, int] | None:
        """A key with its colon: its name, where it ends and where its colon does."""
        at = self.skip(_MARKS, at)
        quoted = _QUOTED.get(self.text[at : at + 1])
        if quoted:
            match = quoted.match(self.text, at)
            colon = _COLON.match(self.text, match.end()) if match else None
            if match is None or colon is None or "\n" in match.group():
                return None
            return _plain(match.group()), match.end(), colon.end()
        match = _KEY_END.search(self.text, at)
        if match is None or match.group() != ":" or self.text[at] in "[{#|>@`%,]}":
            return None
        name = self.text[at : match.start()].rstrip()
        return name, at + len(name), match.end()

    def alone(self, at: int, column: int) -> int:
        """What stands on a line without a key: an item, a value on a line of its own, one that goes on, a key to be."""
        top = self.levels[-1] if self.levels else None
        if self.item:
            return self.value(at)
        if top is not None and column > top.column:
            if not top.filled:
                was_key = self.text[at] not in "[{\"'|>*"
                at = self.value(at)
                if self.last == "word" and was_key:
                    self.role = "key"
                return at
            return self.goes_on(at, top)
        if self.text[at] in "[{":
            return self.brackets(at)
        return self.key_to_be(at, column)

    def goes_on(self, at: int, top: _Level) -> int:
        """Another line of a value without quotes; whoever writes it may as well be about to write a key."""
        end = self.plain_end(at, _PLAIN_END)
        if top.filled == "plain" and self.pieces:
            piece = self.pieces[-1]
            self.pieces[-1] = piece._replace(text=f"{piece.text} {self.text[at:end]}", end=end)
        self.word(at, end, "key")
        return end

    def key_to_be(self, at: int, column: int) -> int:
        quoted = self.quoted(at) if self.text[at] in _QUOTED else None
        end = quoted[1] if quoted else self.plain_end(at, _KEY_END)
        self.enter(column, quoted[0] if quoted else self.text[at:end])
        self.add("key", self.levels[-1].key or "", at, end)
        self.levels[-1].key = None
        self.word(at, end, "key")
        return end

    def value(self, at: int) -> int:
        """The value of the key or item that is written now, from the character after its colon or dash."""
        at = self.skip(_BLANKS, at)
        at = self.skip(_MARKS, at)
        text = self.text
        if at == len(text) or text[at] in "\r\n":
            return at
        top = self.levels[-1]
        if text[at] == "#":
            self.last = "quiet" if _to_the_end(text, at) else self.last
            return at
        if _HEADER.match(text, at):
            self.block_text, top.filled, self.last = max(top.column, 0), "text", "quiet"
            return at
        if text[at] in "[{":
            return self.brackets(at)
        if text[at] == "*":
            top.filled, self.last = "alias", "done"
            return at
        return self.single(at, _PLAIN_END)

    def single(self, at: int, plain_end: re.Pattern[str]) -> int:
        """A single value, quoted or not."""
        quoted = self.quoted(at) if self.text[at] in _QUOTED else None
        end = quoted[1] if quoted else self.plain_end(at, plain_end)
        self.add("value", quoted[0] if quoted else self.text[at:end], at, end)
        self.levels[-1].filled = "quoted" if quoted else "plain"
        self.word(at, end, "value")
        if quoted and quoted[2]:
            self.last = "done"
        return end

    def plain_end(self, at: int, pattern: re.Pattern[str]) -> int:
        match = pattern.search(self.text, at + 1)
        end = match.start() if match else len(self.text)
        return at + len(self.text[at:end].rstrip())

    def quoted(self, at: int) -> tuple[str, int, bool]:
        """A text in quotes, where it ends, and whether it was closed there. One that is never closed ends with its line."""
        match = _QUOTED[self.text[at]].match(self.text, at)
        if match and all(self.deeper(each.end()) for each in _BREAK.finditer(self.text, at, match.end())):
            return _plain(match.group()), match.end(), True
        rest = _REST_OF_LINE.match(self.text, at)
        end = rest.end() if rest else at
        return self.text[at + 1 : end].strip(), end, False

    def deeper(self, line: int) -> bool:
        """Whether the line that begins at a character still belongs to what is written now, by its indentation."""
        start = self.skip(_BLANKS, line)
        blank = start == len(self.text) or self.text[start] in "\r\n"
        column = next((level.column for level in reversed(self.levels) if not level.bracketed), -1)
        return blank or start - line > column

    # --- within brackets

    def brackets(self, at: int) -> int:
        """A collection in brackets, and those inside it, up to where the outermost closes or is given up."""
        outside = len(self.levels)
        self.open(at)
        at += 1
        while len(self.levels) > outside:
            at = self.between(at, outside)
            if at >= len(self.text) or len(self.levels) <= outside:
                return at
            at = self.inside(at, outside)
        return at

    def open(self, at: int) -> None:
        if self.levels:
            self.levels[-1].filled = "brackets"
        self.levels.append(_Level(-1, self.text[at] == "[", True))
        self.last = "done"

    def between(self, at: int, outside: int) -> int:
        """Past blanks, comments and line breaks; gives the brackets up where the next line stands too far left."""
        while True:
            at = self.skip(_BLANKS, at)
            if at < len(self.text) and self.text[at] == "#":
                rest = _REST_OF_LINE.match(self.text, at)
                at = rest.end() if rest else at
                self.last = "quiet" if at == len(self.text) else "done"
            match = _BREAK.match(self.text, at)
            if match is None:
                return at
            at, self.last = match.end(), "done"
            if not self.deeper(at):
                del self.levels[outside:]
                self.last = "given back"
                return at

    def inside(self, at: int, outside: int) -> int:
        """One sign or word within brackets."""
        top, sign = self.levels[-1], self.text[at]
        self.last = "done"
        if sign in "[{":
            self.open(at)
        elif sign in "]}":
            self.levels.pop()
        elif sign == ",":
            top.number, top.key, top.filled = top.number + 1, None, ""
        elif sign == ":":
            return at + 1
        else:
            return self.word_inside(at, top)
        return at + 1

    def word_inside(self, at: int, top: _Level) -> int:
        begin = self.skip(_MARKS, at)
        if begin > at:
            return begin
        if top.is_list or top.key is not None:
            return self.single(at, _PLAIN_END_IN_BRACKETS)
        quoted = self.quoted(at) if self.text[at] in _QUOTED else None
        end = quoted[1] if quoted else self.plain_end(at, _PLAIN_END_IN_BRACKETS)
        top.key, top.filled = quoted[0] if quoted else self.text[at:end], ""
        self.add("key", top.key, at, end)
        colon = (_COLON_AFTER_QUOTE if quoted else _COLON_IN_BRACKETS).match(self.text, end)
        if colon:
            self.last = "key"
            return colon.end()
        top.key = None
        self.word(at, end, "key")
        return end

    # --- levels and pieces

    def enter(self, column: int, key: str) -> None:
        """A key at a column: of the mapping there, or of a new one."""
        while self.levels and (self.levels[-1].column > column or self.levels[-1].bracketed):
            self.levels.pop()
        while self.levels and self.levels[-1].column == column and self.levels[-1].is_list:
            self.levels.pop()
        if not self.levels or self.levels[-1].column < column:
            self.levels.append(_Level(column, False))
        self.levels[-1].key, self.levels[-1].filled = key, ""

    def next_item(self, column: int) -> None:
        """A dash at a column: the next item of the list there, or the first of a new one."""
        while self.levels and (self.levels[-1].column > column or self.levels[-1].bracketed):
            self.levels.pop()
        top = self.levels[-1] if self.levels else None
        if top is not None and top.is_list and top.column == column:
            top.number, top.filled = top.number + 1, ""
        else:
            self.levels.append(_Level(column, True))

    def path(self) -> Path:
        """The keys and numbers that lead to what is written now."""
        steps = (level.number if level.is_list else level.key for level in self.levels)
        return tuple(step for step in steps if step is not None)

    def add(self, role: str, text: str, start: int, end: int) -> None:
        self.pieces.append(Piece(self.path(), role, text, start, end))

    def word(self, start: int, end: int, role: str) -> None:
        """Notes a word as the last thing, where nothing but blanks follows it in the text."""
        ended = self.skip(_BLANKS, end) < len(self.text)
        self.start, self.role, self.last = start, role, "done" if ended else "word"

    def skip(self, pattern: re.Pattern[str], at: int) -> int:
        match = pattern.match(self.text, at)
        return match.end() if match else at

    # --- the cursor at the end of the text

    def cursor(self) -> Cursor | None:
        end = len(self.text)
        top = self.levels[-1] if self.levels else None
        inside = bool(top and top.bracketed)
        if self.last == "word":
            path = self.container() if self.role == "key" else self.path()
            return Cursor(path, self.role, self.start, end, self.text[self.start :], inside)
        if self.last in ("key", "dash"):
            glued = self.text[-1:] in (":", "-")
            return Cursor(self.path(), "value" if self.last == "key" else "key", end, end, "", inside, glued=glued)
        if inside and top is not None and self.last == "done":
            return self.cursor_inside(top, end)
        if self.last == "blank":
            return Cursor(self.of_column(), "key", end, end)
        return None

    def cursor_inside(self, top: _Level, end: int) -> Cursor | None:
        if top.filled:
            return None
        role = "value" if top.is_list or top.key is not None else "key"
        return Cursor(self.path(), role, end, end, "", True)

    def container(self) -> Path:
        """The collection that a key to be, the last word of the text, goes into.

        Where the word goes on with a value that was complete, the key would stand beside that value's own.
        """
        path, top = self.path(), self.levels[-1]
        beside = not top.is_list and top.key is not None and self.pieces[-1].start < self.start
        return path[:-1] if beside else path

    def of_column(self) -> Path:
        """The collection that a key at `column` of an empty line would go into."""
        levels = list(self.levels)
        while levels and (levels[-1].column > self.column or levels[-1].bracketed):
            levels.pop()
        if levels and levels[-1].is_list and len(levels) > 1 and levels[-2].column == self.column:
            levels.pop()
        if not levels:
            return ()
        top = levels.pop()
        self.levels = levels
        beside = top.is_list or top.column == self.column or top.filled or top.key is None
        return self.path() if beside else (*self.path(), top.key or "")


def _to_the_end(text: str, at: int) -> bool:
    """Whether the line of a character is the last."""
    return _BREAK.search(text, at) is None


def _plain(quoted: str) -> str:
    """What a text in quotes says."""
    inner = _FOLDED.sub(" ", quoted[1:-1])
    return inner.replace("''", "'") if quoted[0] == "'" else _ESCAPE.sub(_escaped, inner)


def _escaped(match: re.Match[str]) -> str:
    code = match.group(1) or match.group(2) or match.group(3)
    if code:
        return chr(int(code, 16)) if int(code, 16) < 0x110000 else "�"
    sign = match.group(4)
    return {"n": "\n", "t": "\t", "r": "\r", "0": "\0", "N": "\x85", "_": "\xa0"}.get(sign, sign)
