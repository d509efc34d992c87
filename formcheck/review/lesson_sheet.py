"""Exercises: a flawed formula, the sheet that says what is to be found in it, and the same formula mended.

A folder is a course. The sheet NAME.answers.yaml stands beside NAME.lesson.yaml (or NAME.formula.yaml) and, where there
is one, NAME.mended.yaml; the formulas may be TOML or JSON as well. The ending .lesson.yaml keeps flawed formulas out of
the review of a folder.
"""

from __future__ import annotations

import os
import zlib
from collections.abc import Callable, Collection, Iterable, Iterator

from ..formula.names import suggestion
from ..reading.document import START, Mapping, Node, Place, Problem, Scalar, Sequence, Unreadable
from ..reading.text import MOST_BYTES, decode
from ..records import NamedTuple

SHEET_ENDINGS = (".answers.yaml", ".answers.yml")
_FORMATS = (".yaml", ".yml", ".toml", ".json")
FLAWED_ENDINGS = tuple(kind + form for kind in (".lesson", ".formula") for form in _FORMATS)
MENDED_ENDINGS = tuple(kind + form for kind in (".mended", ".mended.formula") for form in _FORMATS)
LETTERS = "abcdefgijklmnopuxyz"
"""Letters of the answers; those left out are keys of the conversation."""


class Flaw(NamedTuple):
    """Something to find. lines: those of the formula that count as right; answer: the flaw in plain words."""

    rule: str
    lines: frozenset[int]
    answer: str


class Choice(NamedTuple):
    """An answer to choose from. rule: of the flaw that it names, "" where it is wrong; but: why it is wrong."""

    letter: str
    says: str
    rule: str
    but: str = ""


class Picture(NamedTuple):
    """A picture to draw. show: which; of: the material it is about; mark: the property or limit to mark; "" for none."""

    show: str
    of: str
    mark: str
    place: Place


class Words(NamedTuple):
    """A text of the sheet with its place; values in braces are not yet filled in."""

    text: str
    place: Place


class Exercise(NamedTuple):
    """One exercise. id: the name that its files share; text: the flawed formula as written; number: from 1."""

    id: str
    number: int
    sheet_path: str
    formula_path: str
    mended_path: str | None
    text: str
    title: str
    aim: str
    words: tuple[tuple[str, str], ...]
    question: str
    flaws: tuple[Flaw, ...]
    choices: tuple[Choice, ...]
    hints: tuple[str, ...]
    allowed: tuple[str, ...]
    keep: tuple[str, ...]
    explanation: tuple[Words, ...]
    pictures: tuple[Picture, ...]

    @property
    def lines(self) -> list[str]:
        """The flawed formula, line by line."""
        return self.text.splitlines()

    @property
    def rules(self) -> tuple[str, ...]:
        return tuple(flaw.rule for flaw in self.flaws)

    def flaw(self, rule: str) -> Flaw:
        return next(flaw for flaw in self.flaws if flaw.rule == rule)


class Mistake(NamedTuple):
    """Something in a file of a course that cannot be used."""

    file: str
    place: Place
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.place.line}:{self.place.column}: {self.message}"


class BadCourse(Exception):
    """A course that cannot be used; mistakes says what is wrong in which file."""

    def __init__(self, *mistakes: Mistake) -> None:
        super().__init__("; ".join(map(str, mistakes)))
        self.mistakes = mistakes


def read_course(folder: str, rules_for: Callable[[str], Collection[str]]) -> tuple[Exercise, ...]:
    """The exercises of a folder in the order of their names. Raises BadCourse with every mistake found.

    rules_for: the ids of the rules that serve the formula at a path.
    """
    try:
        names = sorted(name for name in os.listdir(folder) if name.endswith(SHEET_ENDINGS) and name[0] != ".")
    except OSError as error:
        raise BadCourse(Mistake(folder, START, f"cannot be listed: {(error.strerror or str(error)).lower()}")) from None
    if not names:
        raise BadCourse(Mistake(folder, START, f"no exercises here; a folder is searched for *{SHEET_ENDINGS[0]}"))
    exercises: list[Exercise] = []
    mistakes: list[Mistake] = []
    for name in names:
        path = os.path.join(folder, name)
        try:
            exercises.append(_exercise(path, len(exercises) + 1, rules_for))
        except Unreadable as error:
            mistakes.extend(Mistake(path, problem.place, problem.message) for problem in error.problems)
        except BadCourse as error:
            mistakes.extend(error.mistakes)
    if mistakes:
        raise BadCourse(*mistakes)
    return tuple(exercises)


def _exercise(path: str, number: int, rules_for: Callable[[str], Collection[str]]) -> Exercise:
    stem = next(path[: -len(ending)] for ending in SHEET_ENDINGS if path.endswith(ending))
    formula_path = _beside(stem, FLAWED_ENDINGS)
    if formula_path is None:
        raise Unreadable(
            Problem(START, f"the flawed formula is missing: {os.path.basename(stem)}.lesson.yaml beside this sheet")
        )
    root = read_mapping(path, "an answer sheet")
    check(root)
    try:
        text = decode(read_bytes(formula_path))
    except Unreadable as error:
        raise BadCourse(*(Mistake(formula_path, each.place, each.message) for each in error.problems)) from None
    sheet = _Sheet(root, text, rules_for(formula_path))
    flaws = sheet.flaws()
    exercise = Exercise(
        os.path.basename(stem),
        number,
        path,
        formula_path,
        _beside(stem, MENDED_ENDINGS),
        text,
        sheet.text("title"),
        sheet.text("aim"),
        sheet.pairs("words"),
        sheet.text("question"),
        flaws,
        sheet.choices(os.path.basename(stem), flaws),
        sheet.texts("hints"),
        sheet.allowed(),
        sheet.texts("keep"),
        tuple(Words(each.text, each.place) for each in sheet.scalars("explanation")),
        sheet.pictures(),
    )
    if sheet.problems:
        raise Unreadable(*sheet.problems)
    return exercise


def _beside(stem: str, endings: Iterable[str]) -> str | None:
    return next((stem + ending for ending in endings if os.path.isfile(stem + ending)), None)


def read_bytes(path: str) -> bytes:
    """The bytes of a regular file of a size that a formula may have. Raises Unreadable."""
    try:
        if not os.path.isfile(path):
            raise Unreadable(Problem(START, "is no file"))
        with open(path, "rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise Unreadable(Problem(START, f"cannot be opened: {reason}")) from None


def read_mapping(path: str, what: str) -> Mapping:
    """The YAML mapping in a file. what: what was expected, for the message. Raises Unreadable."""
    from ..reading.yaml_reader import read_yaml

    root = read_yaml(decode(read_bytes(path)))
    if not isinstance(root, Mapping):
        raise Unreadable(Problem(START if root is None else root.place, f"{what} is a mapping; found {_kind(root)}"))
    return root


# --- the schema


def check(root: Mapping) -> None:
    """Holds a sheet against the schema. Raises Unreadable with every problem at its place."""
    import json
    from importlib import resources

    from jsonschema import Draft202012Validator

    text = resources.files("formcheck.review").joinpath("lesson.schema.json").read_text("utf-8")
    validator = Draft202012Validator(json.loads(text))
    problems: list[Problem] = []
    for error in validator.iter_errors(_data(root)):
        problems.extend(_told(error, root))
    if problems:
        raise Unreadable(*problems)


def _data(node: Node | None) -> object:
    if isinstance(node, Mapping):
        return {entry.key.text: _data(entry.value) for entry in node.entries}
    if isinstance(node, Sequence):
        return [_data(item) for item in node.items]
    if node is None or node.kind == "null":
        return None
    if node.kind == "number":
        return int(node.text) if node.text.isdigit() else 0.5
    return node.text == "true" if node.kind == "true/false" else node.text


_TYPES = {"object": "a mapping", "array": "a list", "string": "a text", "integer": "a line number or words of a line"}


def _told(error: object, root: Mapping) -> Iterator[Problem]:
    """What the schema has against a value, in words, at its place."""
    path, kind, wanted = error.absolute_path, error.validator, error.validator_value  # type: ignore[attr-defined]
    node, place = _node_at(root, path)
    name = next((f"«{part}»" for part in reversed(path) if isinstance(part, str)), "the sheet")
    if kind == "required" and isinstance(node, Mapping):
        for key in wanted:
            if node.get(key) is None:
                yield Problem(place, f"{name} has no «{key}»")
                break
    elif kind == "additionalProperties" and isinstance(node, Mapping):
        known = error.schema["properties"]  # type: ignore[attr-defined]
        for entry in node.entries:
            if entry.key.text not in known:
                hint = suggestion(entry.key.text, known) or f"; there are {', '.join(known)}"
                yield Problem(entry.key.place, f"unknown key «{entry.key.text}» in {name}{hint}")
    elif kind == "type":
        first = wanted if isinstance(wanted, str) else wanted[0]
        quotes = " (in quotes)" if first == "string" and isinstance(node, Scalar) and node.kind != "null" else ""
        yield Problem(place, f"{name} holds {_kind(node)}; {_TYPES[first]} was expected{quotes}")
    elif kind == "const":
        yield Problem(place, f"{name}: this program reads sheets of version {wanted}; found {_kind(node)}")
    else:
        yield Problem(place, f"{name} is empty; at least one entry was expected")


def _node_at(root: Mapping, path: Iterable[object]) -> tuple[Node, Place]:
    node: Node = root
    place = root.place
    for part in path:
        if isinstance(node, Mapping):
            entry = next(entry for entry in node.entries if entry.key.text == part)
            node, place = entry.value, entry.value.place
        elif isinstance(node, Sequence) and isinstance(part, int):
            node = node.items[part]
            place = node.place
    return node, place


def _kind(node: Node | None) -> str:
    if node is None or (isinstance(node, Scalar) and node.kind == "null"):
        return "nothing"
    if isinstance(node, Scalar):
        return f"«{node.text[:40]}»"
    return "a mapping" if isinstance(node, Mapping) else "a list"


# --- what the schema cannot say


class _Sheet:
    """Reads a sheet that the schema has passed; what else is wrong gathers in problems."""

    def __init__(self, root: Mapping, formula: str, rules: Collection[str]) -> None:
        self.root = root
        self.formula = formula.splitlines()
        self.rules = rules
        self.problems: list[Problem] = []

    def problem(self, node: Node, message: str) -> None:
        self.problems.append(Problem(node.place, message))

    def text(self, key: str) -> str:
        return _text(self.root, key).text

    def scalars(self, key: str) -> list[Scalar]:
        return [item for item in _items(self.root, key) if isinstance(item, Scalar)]

    def texts(self, key: str) -> tuple[str, ...]:
        return tuple(item.text for item in self.scalars(key))

    def pairs(self, key: str) -> tuple[tuple[str, str], ...]:
        node = self.root.get(key)
        entries = node.entries if isinstance(node, Mapping) else ()
        return tuple((each.key.text, each.value.text) for each in entries if isinstance(each.value, Scalar))

    def allowed(self) -> tuple[str, ...]:
        for item in self.scalars("allowed"):
            self.rule(item)
        return self.texts("allowed")

    def rule(self, node: Scalar) -> str:
        if node.text not in self.rules:
            hint = suggestion(node.text, self.rules) or "; formcheck rules lists them"
            self.problem(node, f"«{node.text}» is no rule{hint}")
        return node.text

    def flaws(self) -> tuple[Flaw, ...]:
        flaws: list[Flaw] = []
        for item in _items(self.root, "find"):
            assert isinstance(item, Mapping)
            node = _text(item, "rule")
            if any(flaw.rule == node.text for flaw in flaws):
                self.problem(node, f"«{node.text}» is to be found already; give its further lines there")
            lines = frozenset(n for each in _items(item, "lines") if (n := self.line(each)))
            flaws.append(Flaw(self.rule(node), lines, _text(item, "answer").text))
        return tuple(flaws)

    def line(self, node: Node) -> int:
        """The line that a number or some words mean; 0 with a problem where there is none."""
        assert isinstance(node, Scalar)
        count = len(self.formula)
        if node.kind == "number":
            if 1 <= int(node.text) <= count:
                return int(node.text)
            self.problem(node, f"line {node.text}: the formula has lines 1 to {count}")
            return 0
        found = [number for number, line in enumerate(self.formula, 1) if node.text in line]
        if len(found) == 1:
            return found[0]
        where = (
            f"stands on lines {', '.join(map(str, found))}; write more of the line" if found else "stands on no line"
        )
        self.problem(node, f"«{node.text}» {where} of the formula; or give the number of the line")
        return 0

    def choices(self, id: str, flaws: Iterable[Flaw]) -> tuple[Choice, ...]:
        """Right and wrong answers in an order that is always the same and gives nothing away."""
        found = [(flaw.answer, flaw.rule, "") for flaw in flaws]
        for item in _items(self.root, "decoys"):
            assert isinstance(item, Mapping)
            says = _text(item, "says")
            if any(says.text == other for other, _, _ in found):
                self.problem(says, "this answer is there already")
            found.append((says.text, "", _text(item, "but").text))
        if len(found) > len(LETTERS):
            self.problem(self.root, f"{len(found)} answers to choose from; there are letters for {len(LETTERS)}")
        found.sort(key=lambda each: zlib.crc32(f"{id}: {each[0]}".encode()))
        return tuple(Choice(letter, *each) for letter, each in zip(LETTERS, found))

    def pictures(self) -> tuple[Picture, ...]:
        result = []
        for item in _items(self.root, "pictures"):
            assert isinstance(item, Mapping)
            nodes = (item.get(key) for key in ("show", "of", "mark"))
            show, of, mark = (node.text if isinstance(node, Scalar) else "" for node in nodes)
            result.append(Picture(show, of, mark, item.place))
        return tuple(result)


def _items(node: Mapping, key: str) -> tuple[Node, ...]:
    found = node.get(key)
    return found.items if isinstance(found, Sequence) else ()


def _text(node: Mapping, key: str) -> Scalar:
    found = node.get(key)
    assert isinstance(found, Scalar)
    return found
