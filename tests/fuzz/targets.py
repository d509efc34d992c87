"""What the fuzzer calls: a function a target, each of which takes bytes and raises Fault where something is not as it has to be.

Refusals (Unreadable, BadSettings, Misread, ...) are right answers; any other exception is a finding. So are a place
outside the text, a value other than the one another parser reads, a report that its own format's parser refuses, a
control character in a report, a rule that fails, and a case that takes longer than it may.
"""

from __future__ import annotations

import csv
import io
import json
import math
import os
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import cache
from pathlib import Path
from random import Random
from typing import Any, NoReturn

import tomli
import yaml

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "reports")]

from any_formula import Maker, Words, as_json, as_yaml, words, wrong_with  # noqa: E402
from html_tree import parsed  # noqa: E402

from formcheck.bench.declaration import label  # noqa: E402
from formcheck.bench.errors import NotGiven  # noqa: E402
from formcheck.formula import units, vocabulary  # noqa: E402
from formcheck.formula.build import build, build_materials  # noqa: E402
from formcheck.formula.from_table import understand  # noqa: E402
from formcheck.formula.units import Misread  # noqa: E402
from formcheck.reading import files, tables, tables_xlsx  # noqa: E402
from formcheck.reading.document import START, Mapping, Node, Scalar, Unreadable, plain  # noqa: E402
from formcheck.reading.editing import CannotEdit, applied, editor, scalars  # noqa: E402
from formcheck.reading.json_reader import read_json  # noqa: E402
from formcheck.reading.tables import BadTable  # noqa: E402
from formcheck.reading.text import decode  # noqa: E402
from formcheck.reading.toml_reader import read_toml  # noqa: E402
from formcheck.reading.yaml_reader import read_yaml  # noqa: E402
from formcheck.reports import formula_file, label_report, spreadsheet, steps  # noqa: E402
from formcheck.reports.report import BUILT_IN, Context, make  # noqa: E402
from formcheck.review.house import read_house  # noqa: E402
from formcheck.review.run import Reviewed, Reviewer, run_rules  # noqa: E402
from formcheck.review.settings import AS_DECLARED, BadSettings  # noqa: E402
from formcheck.review.settings_file import read_settings  # noqa: E402

SLOWEST_S = 4.0
"""Processor time that a case may take while the fuzzer counts what it runs through, which makes it some three times slower."""
TODAY = date(2026, 11, 25)
HEAD = "formcheck: 1\nname: x\n"


class Fault(AssertionError):
    """Something that is not as it has to be."""


@cache
def reviewer() -> Reviewer:
    return Reviewer(today=TODAY, settings=AS_DECLARED)


@cache
def known() -> Words:
    return words(reviewer().reference, [rule.id for rule in reviewer().rules])


@cache
def folder() -> str:
    return tempfile.mkdtemp(prefix="formcheck-fuzz-")


def timed(target: Callable[[bytes], None], most: float = SLOWEST_S) -> Callable[[bytes], None]:
    """The same target; a case that takes too long is a fault."""

    def run(data: bytes) -> None:
        started = time.process_time()
        target(data)
        took = time.process_time() - started
        if took > most:
            raise Fault(f"took {took:.1f} s")

    run.__name__, run.__doc__ = target.__name__, target.__doc__
    return run


# --- readers


def check_places(text: str, found: Iterable[tuple[int, int]]) -> None:
    lines = text.split("\n")
    for line, column in found:
        if not (1 <= line <= len(lines) and 1 <= column <= len(lines[line - 1]) + 1):
            raise Fault(f"{line}:{column} lies outside the text")


def places(node: Node) -> Iterator[tuple[int, int]]:
    waiting = [node]
    while waiting:
        each = waiting.pop()
        yield each.place
        if isinstance(each, Mapping):
            waiting.extend(part for entry in each.entries for part in entry)
        elif not isinstance(each, Scalar):
            waiting.extend(each.items)


def read(reader: Callable[[str], Node | None], text: str) -> Node | None:
    """What a reader gives; None also for a text that it refuses. The places of both are checked."""
    try:
        node = reader(text)
    except Unreadable as error:
        for problem in error.problems:
            if not problem.message.strip():
                raise Fault("a refusal without a word") from None
        # libyaml ends lines at other signs too, so its refusals may lie further down than line feeds tell
        if reader is not read_yaml:
            check_places(text, (problem.place for problem in error.problems))
        return None
    if node is not None and not (reader is read_yaml and set("\r\x85\u2028\u2029") & set(text)):
        # the value that is missing behind a `?` at the end stands in the line after
        check_places(text + "\n" if reader is read_yaml else text, places(node))
    return node


def json_text(data: bytes) -> None:
    """What RFC 8259 allows is what json.loads reads, but for its constants, doubled keys and depth."""
    text = data.decode("utf-8", "ignore")
    node = read(read_json, text)
    try:
        expected = json.loads(text, parse_constant=_refuse, object_pairs_hook=_once, parse_int=str, parse_float=str)
    except (ValueError, RecursionError):
        if node is not None:
            raise Fault("read, and json refuses it") from None
        return
    if node is not None and plain(node) != _words(expected):
        raise Fault("read otherwise than json reads it")
    if node is None and text.strip() and text.count("[") + text.count("{") <= 60:
        raise Fault("refused, and json reads it")


def _refuse(word: str) -> NoReturn:
    raise ValueError(word)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len({key for key, _ in pairs}) < len(pairs):
        raise ValueError("a key stands twice")
    return dict(pairs)


def _words(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _words(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_words(each) for each in value]
    if value is None or isinstance(value, bool):
        return {None: "", True: "true", False: "false"}[value]
    return value


def toml_text(data: bytes) -> None:
    """What tomli reads is read, with the same values; what it refuses is refused."""
    text = data.decode("utf-8", "ignore")
    node = read(read_toml, text)
    try:
        expected = tomli.loads(text, parse_float=str)
    except (ValueError, RecursionError):
        if node is not None:
            raise Fault("read, and tomli refuses it") from None
        return
    if node is not None and not _same_toml(node, expected):
        raise Fault(f"read as {plain(node)!r}, and tomli reads {expected!r}")
    if node is None and expected and text.count("[") + text.count("{") + text.count(".") <= 58:
        raise Fault("refused, and tomli reads it")


def _same_toml(node: Node, value: Any) -> bool:
    if isinstance(node, Mapping):
        return (
            isinstance(value, dict)
            and [entry.key.text for entry in node.entries] == list(value)
            and all(_same_toml(entry.value, value[entry.key.text]) for entry in node.entries)
        )
    if not isinstance(node, Scalar):
        return (
            isinstance(value, list)
            and len(value) == len(node.items)
            and all(_same_toml(*pair) for pair in zip(node.items, value))
        )
    if isinstance(value, bool):
        return (node.text, node.kind) == (str(value).lower(), "true/false")
    if isinstance(value, int):
        return node.kind == "number" and int(node.text, 0 if node.text[:1] == "0" else 10) == value
    if isinstance(value, str):
        if node.quoted:
            return node.text == value
        # floats, which are asked for as texts
        return node.kind == "number" and node.text == value.replace("_", "")
    return node.kind == "text" and not node.quoted and hasattr(value, "isoformat")


def yaml_text(data: bytes) -> None:
    """What is read has the structure and the texts that PyYAML's own composer finds."""
    text = data.decode("utf-8", "ignore")
    node = read(read_yaml, text)
    if node is None:
        return
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    try:
        expected = yaml.load(text, loader)
    except (yaml.YAMLError, ValueError, TypeError) as error:
        if "duplicate anchor" in str(error):
            return  # YAML 1.2.2, section 7.1: an alias means the nearest anchor before it; PyYAML wants them to differ
        raise Fault(f"read, and PyYAML refuses it: {error}") from None
    if plain(node) != expected:
        raise Fault("read otherwise than PyYAML reads it")


def edits(data: bytes) -> None:
    """A value that is replaced in its file's text is replaced where the file is read again, and no other is."""
    kind = ("yaml", "toml", "json")[data[0] % 3] if data else "yaml"
    name, new = f"x.formula.{kind}", "a new, odd: value"
    try:
        text = decode(data[1:])
        document = files.read(name, text.encode())
        edited = editor(document, kind)
    except (Unreadable, CannotEdit):
        return
    if "\r" in text.replace("\r\n", "") or set("\x85\u2028\u2029") & set(text):
        return  # lines that only YAML ends here
    for pointer, _ in list(scalars(document.root))[:5]:
        try:
            changed = applied(text, [edited.value(pointer, new)])
        except CannotEdit:
            continue
        try:
            after = dict(scalars(files.read(name, changed.encode()).root))
        except Unreadable as error:
            raise Fault(f"after the change of {pointer} it cannot be read: {error}") from None
        before = dict(scalars(document.root))
        if {path: each.text for path, each in after.items()} != {
            path: new if path == pointer else each.text for path, each in before.items()
        }:
            raise Fault(f"the change of {pointer} changed something else")


# --- quantities


def quantities(data: bytes) -> None:
    """Figures within the bounds that they are given, or a word on what was expected."""
    text = data.decode("utf-8", "replace")
    node = Scalar(text, "text", START)
    for read_one, low, high in (
        (lambda: units.temperature(node, 20.0).celsius, -200, 400),
        (lambda: units.duration(node), 0, 1e15),
        (lambda: units.mass(node), -1e12, 1e12),
        (lambda: units.volume(node), -1e12, 1e12),
        (lambda: units.percent(node), -1e9, 1e9),
        (lambda: units.batch_size(node), 0.001, 1e8),
        (lambda: units.amount(node), 0, 1e8),
    ):
        try:
            value = float(read_one())
        except Misread as error:
            _said(error)
            continue
        if not low <= value <= high:
            raise Fault(f"{text!r} became {value}")
    for read_range, low, high in (
        (lambda: units.ph(node), 0, 14),
        (lambda: units.span(node, "a range"), -1e9, 1e9),
        (lambda: units.span(node, "a range", "°C"), -200, 400),
        (lambda: units.span(node, "a range", "%"), -1e9, 1e9),
    ):
        try:
            found = read_range()
        except Misread as error:
            _said(error)
            continue
        for end in found:
            if end is not None and not (math.isfinite(end) and low <= end <= high):
                raise Fault(f"{text!r} became {found}")
        if None not in found and found.low > found.high:
            raise Fault(f"{text!r} became {found}")


def _said(error: Exception) -> None:
    if not str(error).strip() or len(str(error)) > 200_000:
        raise Fault(f"a refusal of {len(str(error))} characters")


def names(data: bytes) -> None:
    """Any text as a material, a form, a claim: found or not, never more than that."""
    text = data.decode("utf-8", "replace")
    reference = reviewer().reference
    found = reference.find(text)
    if found is not None and reference.find(f" {text}\t") is not found:
        raise Fault("white space makes another material of it")
    reference.strength_passed_over(text)
    reference.parts_named(text)
    reference.nearest(text[:200])
    vocabulary.form_of(text)
    vocabulary.area_of(text)
    for market in ("EU", "US"):
        reference.legal.find_claims(market, text)
    if len(reference._found) > 20_000:
        reference._found.clear()


# --- the formula


def formula(data: bytes) -> None:
    """A file of any text becomes a formula or is refused at a place; what is accepted has keys that the JSON Schema knows."""
    for name, make_it in (("x.formula.yaml", build), ("materials.yaml", build_materials)):
        try:
            document = files.read(name, data)
            made = make_it(document, lambda: reviewer().reference.properties)
        except Unreadable as error:
            if any(not problem.message.strip() for problem in error.problems):
                raise Fault("a refusal without a word") from None
            continue
        if make_it is build:
            for step in made.procedure:  # type: ignore[union-attr]
                if not steps.sentence(step).strip():
                    raise Fault("a step without a word")
            for error in validator().iter_errors(_typed(document.root)):
                # patterns and lists of words are for editors, and narrower than what people may write
                if error.validator in ("additionalProperties", "required", "type"):
                    raise Fault(f"read, and the schema refuses it: {error.message:.200}")


@cache
def validator() -> Any:
    import jsonschema

    schema = json.loads((HERE.parents[1] / "formcheck/formula/formula.schema.json").read_text("utf-8"))
    return jsonschema.Draft202012Validator(schema)


def _typed(node: Node) -> Any:
    if isinstance(node, Mapping):
        return {entry.key.text: _typed(entry.value) for entry in node.entries}
    if not isinstance(node, Scalar):
        return [_typed(item) for item in node.items]
    if node.kind == "null":
        return None
    if node.kind == "true/false":
        return node.text.lower() == "true"
    if node.kind == "number":
        try:
            return int(node.text)
        except ValueError:
            try:
                return float(node.text.replace(".inf", "inf"))
            except ValueError:
                return node.text
    # readers take words in any case, which a list of words in a schema cannot say
    return node.text if any(map(str.isdigit, node.text)) else node.text.lower()


class FromBytes(Random):
    """Chance that the fuzzer decides, as long as it has bytes; from there on they only seed it."""

    def __new__(cls, data: bytes) -> FromBytes:
        return super().__new__(cls)

    def __init__(self, data: bytes) -> None:
        super().__init__(zlib.crc32(data))
        self.data = data
        self.at = 0

    def random(self) -> float:
        if self.at >= len(self.data):
            return super().random()
        self.at += 1
        return self.data[self.at - 1] / 256

    def getrandbits(self, k: int) -> int:
        taken = self.data[self.at : self.at + (k + 7) // 8]
        self.at += len(taken)
        whole = int.from_bytes(taken, "little") & ((1 << k) - 1) if len(taken) * 8 >= k else None
        return super().getrandbits(k) if whole is None else whole


def procedure(data: bytes) -> None:
    """Steps of all verbs with any conditions, through build, the course of heat, and their words."""
    chance = FromBytes(data)
    maker = Maker(chance, known(), 0.3)
    content = {"formcheck": 1, "name": "x", "batch": {"size": "100 g"}, "phases": maker.phases()}
    content["procedure"] = [*maker.procedure(), *maker.procedure()]
    if maker.maybe(0.3) and content["procedure"]:
        step = maker.one(content["procedure"])
        step[maker.one(("to", "for", "with", "into", "note", "hold", "zzz"))] = maker.one(
            (None, [], {}, [[]], -1, "", " ", "A", "1 °C", "\u202e", [None, "A"], {"A": 1})
        )
    text = as_json(content)
    try:
        sheet = reviewer().sheet("/fuzz/x.formula.json", text.encode())
    except Unreadable:
        return
    for step in sheet.formula.procedure:
        if not steps.sentence(step).strip():
            raise Fault("a step without a word")
    for moment in sheet.thermal.moments:
        if moment.celsius is not None and not -200.001 <= moment.celsius <= 400.001:
            raise Fault(f"a vessel at {moment.celsius} °C")


def whole(data: bytes) -> None:
    """Any formula of the whole vocabulary through all rules, with the oracle of tests/test_any_formula.py."""
    chance = FromBytes(data)
    made = Maker(chance, known(), 0.15).formula()
    text = as_yaml(made)
    review = reviewer().review("/fuzz/x.formula.yaml", text.encode())
    for wrong in wrong_with(review, text, made):
        raise Fault(wrong)


# --- reports


def reports(data: bytes) -> None:
    """A formula of which every text is any text, through all reports."""
    text = data.decode("utf-8", "surrogatepass") if _decodes(data) else data.decode("latin-1")
    for name, report in all_reports(formula_of(text)):
        check_report(name, report)


def _decodes(data: bytes) -> bool:
    try:
        data.decode("utf-8", "surrogatepass")
    except UnicodeDecodeError:
        return False
    return True


def formula_of(text: str) -> bytes:
    """A formula in JSON, its texts taken from the pieces of one text."""
    pieces = text.split("|")

    def t(number: int) -> str:
        return pieces[number % len(pieces)]

    material = t(1) or "x"
    made = {
        "formcheck": 1,
        "name": t(0),
        "code": t(2),
        "version": t(3),
        "note": t(4),
        "product": {
            "use": "leave-on",
            "form": t(5) or "gel",
            "area": [t(6) or "face"],
            "markets": [t(7) or "EU", "EU"],
        },
        "batch": {"size": "100 g", "balance": "1 g"},
        "materials": {
            material: {"contains": {t(8) or "y": 90, "Phenoxyethanol": 10}, "INCI": t(9) or "z"},
            f"{t(10)} other": {"maximum temperature": "40 °C"},
        },
        "phases": {
            t(11).strip() or "A": {"Aqua": 50, material: 3, "Salicylic Acid": 5, f"{t(10)} other": 2},
            f"{t(12)}B": {f"{t(13)} line": {"percent": 7, "lot": t(14), "note": t(15)}, "Paraffinum Liquidum": 10},
        },
        "procedure": [
            {"heat": t(11).strip() or "A", "to": "95 °C", "note": t(16)},
            {"add": material, "into": t(11).strip() or "A"},
            {"mix": f"{t(12)}B", "with": t(17) or "whisk"},
        ],
        "finished": {"pH": 9},
        "packaging": {"container": t(18) or "jar", "material": t(19) or "PP"},
        "claims": [t(20) or "heals eczema", "cures"],
        "deviations": [{"rule": "balance-too-coarse", "reason": t(21) or "x", "accepted by": t(22) or "x"}],
    }
    return json.dumps(made).encode()


def all_reports(data: bytes, path: str = "/fuzz/x.formula.json") -> Iterator[tuple[str, str]]:
    """(name, text) of every report of a review, of the label, the tables and the sheet for the bench."""
    one = reviewer()
    reviewed = one.review_sheet(path, data)
    for name in BUILT_IN:
        yield name, report_of(name, reviewed)
    if reviewed.sheet is None:
        return
    yield "csv", spreadsheet.csv_text(reviewed.sheet)
    try:
        labels = [label(reviewed.sheet, "EU")]
    except NotGiven:
        return
    yield "label", label_report.text(reviewed.sheet, labels)
    yield "label.json", label_report.data(reviewed.sheet, labels)


def report_of(name: str, reviewed: Reviewed) -> str:
    one = reviewer()
    report = make(name, Context(one.rules, "major", one.reference.cite, one.configuration.house), {})
    return report.begin() + report.add_sheet(*reviewed) + report.end()


SHOWN_NOT_OBEYED = frozenset("\x1b\x00\x07\x08\x7f\x85\u200b\u200e\u200f\u2028\u2029\ufeff") | {
    chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
}


def check_report(name: str, text: str) -> None:
    """A report is well formed, and what a formula says in it is text and nothing else."""
    shown = text.removeprefix("\ufeff") if name == "csv" else text
    if odd := SHOWN_NOT_OBEYED & set(shown):
        raise Fault(f"{name} holds {sorted(map(ascii, odd))}")
    try:
        shown.encode()
    except UnicodeEncodeError:
        raise Fault(f"{name} is no text that can be written") from None
    if name in ("json", "sarif", "gitlab", "label.json"):
        json.loads(text, parse_constant=_refuse)
    elif name == "junit":
        ET.fromstring(text)
    elif name == "html":
        page = parsed(text)
        if len(list(page.all("script"))) > text.count("<script"):
            raise Fault("a script in the page")
    elif name == "github":
        for line in text.splitlines()[:-1]:
            if not line.startswith(("::error ", "::warning ", "::notice ")):
                raise Fault(f"a line of its own: {line:.80}")
    elif name == "csv":
        for row in csv.reader(io.StringIO(shown, newline="")):
            for cell in row:
                if cell[:1] in ("=", "+", "-", "@", "\t", "\r") and not _is_figure(cell):
                    raise Fault(f"a cell that computes: {cell:.80}")


def _is_figure(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


# --- settings and rules of the house


def settings(data: bytes) -> None:
    """Any file as formcheck.toml: read, or refused by name and place."""
    file = os.path.join(folder(), "formcheck.toml")
    Path(file).write_bytes(data)
    try:
        read_settings(file, reviewer().rules, reviewer().reference)
    except BadSettings as error:
        _said(error)


FLAWED = HEAD + "phases:\n  A: {Aqua: 60, Salicylic Acid: 3, Parfum: 2}\n  B: {Cera Alba: 20}\nclaims: [heals]\n"
"""A formula for the rules of the house to look at."""


def house(data: bytes) -> None:
    """Any file as rules of the house: refused by name and place, or rules that run."""
    file = os.path.join(folder(), "x.house.yaml")
    Path(file).write_bytes(data)
    try:
        rules = read_house(file, reviewer().reference, {})
    except BadSettings as error:
        _said(error)
        return
    for text in (FLAWED, *(rule.mended for rule in rules)):
        try:
            sheet = reviewer().sheet("/fuzz/x.formula.yaml", text.encode())
        except Unreadable:
            continue
        for fault in run_rules(rules, sheet)[2]:
            raise Fault(f"{fault.who} {fault.what}")


# --- spreadsheets


def table(data: bytes) -> None:
    """Any bytes as CSV: no table, or a formula file that can be read."""
    _convert(lambda: [tables._text_table("x.csv", data)] if data.strip() else [])


def _convert(sheets: Callable[[], list[tables.Sheet]]) -> None:
    book = reviewer().reference

    def heading(name: str) -> str | None:
        found = book.find(name)
        return None if found is None else found.name

    try:
        found = sheets()
        if not found:
            return
        understood = understand(found)
    except BadTable as error:
        _said(error)
        return
    text = formula_file.formula_text(understood, understood.titles.get("name") or "x", "x.csv", heading)
    try:
        files.read("x.formula.yaml", text.encode())
    except Unreadable as error:
        if "characters" not in str(error):  # a cell longer than any text of a formula
            raise Fault(f"the file that was made cannot be read: {error}") from None


@cache
def workbook() -> dict[str, bytes]:
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["Phase", "Ingredient", "%"])
    book.active.append(["A", "Aqua", 100])
    stream = io.BytesIO()
    book.save(stream)
    with zipfile.ZipFile(stream) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def workbook_part(data: bytes) -> None:
    """Any bytes as one part of an xlsx workbook that is otherwise whole."""
    parts = dict(workbook())
    wanted = sorted(name for name in parts if name.endswith((".xml", ".rels")))
    name = wanted[data[0] % len(wanted)] if data and data[0] < 128 else "xl/worksheets/sheet1.xml"
    parts[name] = data[1:]
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for part, content in parts.items():
            archive.writestr(part, content)
    _convert(lambda: tables_xlsx.sheets("x.xlsx", stream.getvalue(), None))


TARGETS: dict[str, Callable[[bytes], None]] = {
    target.__name__: timed(target)
    for target in (
        yaml_text, toml_text, json_text, edits, quantities, names, formula, procedure, whole, reports, settings, house, table,
        workbook_part,
    )
}  # fmt: skip
