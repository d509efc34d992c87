"""Reading configuration files: formcheck.toml, or [tool.formcheck] in pyproject.toml.

    builds-on = "../formcheck.toml"          # another file to start from; without it this one stands alone
    threshold = "minor"                      # lowest severity that puts a formula on hold
    house-rules = ["nettle-row.house.yaml"]  # rule files of the house
    leave-out = ["archive"]                  # folders that a search passes by

    [unstated]                               # taken where a formula does not say
    room = "19 °C"
    balance = "0.1 g"
    markets = ["EU", "UK"]

    [rules.balance-too-coarse]               # options of a rule, by the names that `formcheck settings` shows
    error = "10 %"

    [rules.chelator-missing]                 # silent, or another severity; either needs its reason
    silent = true
    reason = "made with deionised water only"

    [families.bench]                         # the same for a whole family; a rule's own line goes before
    severity = "note"
    reason = "our bench sheets carry the cautions"

Paths are relative to the file that wrote them. What a file writes stands instead of what the file it builds on says, key
by key; only house rules and folders left out add up. Every key is checked: an unknown one, or a rule, family or option
that does not exist, is an error.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from ..formula import units
from ..formula.fields import Fields
from ..formula.model import Unstated
from ..formula.names import suggestion
from ..formula.units import Misread
from ..reading import document as nodes
from ..reading import files, places
from ..reading.document import START, Entry, Node, Place, Problem, Scalar, Unreadable, describe
from ..records import NamedTuple
from ..reference.store import Reference
from .rule import SEVERITIES, Option, Rule
from .settings import PROJECT_FILE, BadSettings, Given, Settings, shown

TOP_KEYS = ("builds-on", "threshold", "house-rules", "leave-out", "unstated", "rules", "families", "note")
UNSTATED_KEYS = ("room", "balance", "markets")
RULING_KEYS = ("silent", "severity", "reason")
HOUSE_ENDINGS = (".house.yaml", ".house.yml", ".house.toml", ".house.json")
LONGEST_CHAIN = 8


def read_settings(file: str, rules: Sequence[Rule], reference: Reference) -> Settings:
    """What a configuration file says, with the files it builds on and the house rules it names. Raises BadSettings.

    rules: those of the plug-ins; reference: for the classes that house rules speak of.
    """
    chain = list(_chain(file))
    house_files = tuple(given for each in reversed(chain) for given in each.paths["house-rules"])
    texts = [(each.file, each.text_as_read) for each in chain]
    house = _house(house_files, rules, reference, texts)
    known = {rule.id: rule for rule in (*rules, *house)}
    for each in chain:
        try:
            each.check_rulings(known)
            each.done()
        except Unreadable as error:
            raise BadSettings(each.file, *error.problems) from None
    return _together(chain, house_files, house, known)._replace(texts=tuple(texts))


class _File(Fields):
    """One file, as written. What is wrong gathers in problems; Unreadable is raised only where that is a great deal."""

    def __init__(self, file: str) -> None:
        text, root = _text_and_root(file)
        super().__init__(root.place)
        self.text_as_read = text
        self.file = file
        self.folder = places.above(file)
        self.top = self.keys(root, TOP_KEYS, "a configuration")
        self.builds_on = next(iter(self._paths("builds-on", (".toml",))), None)
        self.threshold = self._one_of(self.top.get("threshold"), SEVERITIES)
        self.paths = {
            "house-rules": self._paths("house-rules", HOUSE_ENDINGS),
            "leave-out": self._paths("leave-out", ("",)),
        }
        self.given = self._unstated()
        self.rules: dict[str, dict[str, Given]] = {}
        self.families: dict[str, dict[str, Given]] = {}

    def _given(self, value: Any, place: Place, reason: str = "") -> Given:
        return Given(value, self.file, place, reason)

    def _one_of(self, entry: Entry | None, words: tuple[str, ...]) -> Given | None:
        word = self.one_of(entry, words)
        return None if word is None or entry is None else self._given(word, entry.key.place)

    def _paths(self, key: str, endings: tuple[str, ...]) -> tuple[Given, ...]:
        """Paths made absolute; those that are none, or have another ending, are problems."""
        entry = self.top.get(key)
        if entry is None:
            return ()
        several = key != "builds-on" and isinstance(entry.value, nodes.Sequence)
        items = entry.value.items if several and isinstance(entry.value, nodes.Sequence) else (entry.value,)
        found = []
        for item in items:
            text = self.text(Entry(entry.key, item))
            if text is None:
                continue
            if not text.endswith(endings):
                self.problem(item.place, f"«{text}» under «{key}»; its name ends with {' or '.join(endings)}")
                continue
            if _elsewhere(text):
                self.problem(
                    item.place, f"«{text}» under «{key}» lies on another machine; nothing is fetched from there"
                )
                continue
            path = places.joined(self.folder, text)
            found.append(self._given(path, item.place))
        return tuple(found)

    def _unstated(self) -> dict[str, Given]:
        keys = self.mapping(self.top.get("unstated"), UNSTATED_KEYS, "unstated")
        values: dict[str, Any] = {
            "room": self.value(
                keys.get("room"), lambda node: units.temperature(node, units.ROOM_CELSIUS, "room").celsius
            ),
            "balance": self.value(keys.get("balance"), units.balance_step),
            "markets": tuple(text.upper() for text in self.texts(keys.get("markets"))) or None,
        }
        return {name: self._given(value, keys[name].key.place) for name, value in values.items() if value is not None}

    def check_rulings(self, known: Mapping[str, Rule]) -> None:
        """Reads what is said of rules and families, now that all of them are known."""
        families = list(dict.fromkeys(rule.family for rule in known.values()))
        for name, entry in self._named("rules", known, "rule"):
            self.rules[name] = self._ruling(entry, known[name].options, f"the rule {name}")
        for name, entry in self._named("families", families, "family of rules"):
            self.families[name] = self._ruling(entry, (), f"the family {name}")

    def _named(self, key: str, known: Iterable[str], what: str) -> Iterator[tuple[str, Entry]]:
        names = list(known)
        for entry in self.mapping_of_any(self.top.get(key)):
            name = entry.key.text
            if name in names:
                yield name, entry
            else:
                hint = suggestion(name, names) or (f"; they are {', '.join(names)}" if len(names) < 20 else "")
                self.problem(entry.key.place, f"«{name}» is no {what}{hint}")

    def mapping_of_any(self, entry: Entry | None) -> tuple[Entry, ...]:
        if entry is None:
            return ()
        if isinstance(entry.value, nodes.Mapping):
            return entry.value.entries
        self.problem(entry.value.place, f"{describe(entry.value)} under «{entry.key.text}»; a table was expected")
        return ()

    def _ruling(self, entry: Entry, options: Sequence[Option], where: str) -> dict[str, Given]:
        """What is said of one rule or family: silent, severity, options."""
        keys = self.mapping(entry, (*RULING_KEYS, *(option.name for option in options)), where)
        reason = self.text(keys.get("reason")) or ""
        silent = self.value(keys.get("silent"), _flag)
        severity = self.one_of(keys.get("severity"), SEVERITIES)
        found: dict[str, Given] = {}
        for name, value in (("silent", silent), ("severity", severity)):
            if value is None:
                continue
            found[name] = self._given(value, keys[name].key.place, reason)
            if value and not reason and "reason" not in keys:
                self.problem(keys[name].key.place, f"«{name}» without a reason; write «reason» beside it")
        for option in options:
            amount = self.value(keys.get(option.name), lambda node, option=option: _amount(node, option, where))  # type: ignore[misc]
            if amount is not None:
                found[option.name] = self._given(amount, keys[option.name].key.place, reason)
        return found


def _elsewhere(path: str) -> bool:
    """Whether a path is an address, or a share of another machine: whoever wrote it may only name files here."""
    return places.is_address(path) or path.replace("\\", "/").startswith("//")


def _text_and_root(file: str) -> tuple[str, nodes.Mapping]:
    """What a file holds, and the table in it that is ours. Raises BadSettings."""
    from ..reading.toml_reader import read_toml

    try:
        text = files.text_of(file)
        root = read_toml(text)
    except Unreadable as error:
        raise BadSettings(file, *error.problems) from None
    root = root if isinstance(root, nodes.Mapping) else nodes.Mapping((), START)
    return text, _table(root, file) if os.path.basename(file) == PROJECT_FILE else root


def _table(root: nodes.Mapping, file: str) -> nodes.Mapping:
    found: Node | None = root
    for key in ("tool", "formcheck"):
        found = found.get(key) if isinstance(found, nodes.Mapping) else None
    if not isinstance(found, nodes.Mapping):
        place = START if found is None else found.place
        raise BadSettings(file, Problem(place, "no table [tool.formcheck]; a configuration in pyproject.toml is one"))
    return found


def _read(file: str) -> _File:
    """Raises BadSettings."""
    try:
        return _File(file)
    except Unreadable as error:
        raise BadSettings(file, *error.problems) from None


def _real(file: str) -> str:
    return file if places.is_address(file) else os.path.realpath(file)


def _chain(file: str) -> Iterator[_File]:
    """The file, the one it builds on, and so on. Raises BadSettings."""
    seen = [os.path.realpath(file)]
    each = _read(file)
    seen = [_real(file)]
    each = _File(file)
    yield each
    while each.builds_on is not None:
        given = each.builds_on
        real = _real(given.value)
        if real in seen or len(seen) >= LONGEST_CHAIN:
            why = (
                "builds on this one again"
                if real in seen
                else f"is one more than {LONGEST_CHAIN} that build on another"
            )
            raise BadSettings(each.file, Problem(given.place, f"{shown(given.value)} {why}"))
        if not places.is_file(given.value):
            raise BadSettings(each.file, Problem(given.place, f"there is no file {shown(given.value)} to build on"))
        seen.append(real)
        each = _read(given.value)
        yield each


def _house(
    house_files: Iterable[Given], rules: Iterable[Rule], reference: Reference, texts: list[tuple[str, str]]
) -> tuple[Rule, ...]:
    """The house rules of all files, whose texts are added to those read. Raises BadSettings."""
    from .house import house_document, read_house

    taken = {rule.id: "built in or of a plug-in" for rule in rules}
    found: list[Rule] = []
    for given in {given.value: given for given in house_files}.values():
        if not places.is_file(given.value):
            message = f"there is no file {shown(given.value)} with house rules"
            raise BadSettings(given.file, Problem(given.place, message))
        document = house_document(given.value)
        brought = read_house(given.value, reference, taken, document)
        texts.append((given.value, document.text))
        taken.update((rule.id, f"of {shown(given.value)}") for rule in brought)
        found.extend(brought)
    return tuple(found)


class _Rulings(NamedTuple):
    silent: dict[str, Given]
    severity: dict[str, Given]
    options: dict[str, Mapping[str, Given]]


def _together(
    chain: Sequence[_File], house_files: tuple[Given, ...], house: tuple[Rule, ...], known: Mapping[str, Rule]
) -> Settings:
    """One record of a chain of files; the nearest comes first and its word goes before."""
    given: dict[str, Given] = {}
    for each in reversed(chain):
        given.update(each.given)
    rulings = _rulings(chain, known)
    return Settings(
        files=tuple(each.file for each in chain),
        threshold=next((each.threshold for each in chain if each.threshold is not None), None),
        leave_out=tuple(path for each in reversed(chain) for path in each.paths["leave-out"]),
        house_files=house_files,
        house=house,
        silent=rulings.silent,
        severity=rulings.severity,
        options=rulings.options,
        given=given,
        unstated=_ready(given),
        values=MappingProxyType(
            {rule: {name: one.value for name, one in own.items()} for rule, own in rulings.options.items()}
        ),
    )


def _rulings(chain: Sequence[_File], known: Mapping[str, Rule]) -> _Rulings:
    """What holds for every rule: its own line, from the nearest file that has one, else its family's."""
    found = _Rulings({}, {}, {})
    for rule in known.values():
        family: dict[str, Given] = {}
        own: dict[str, Given] = {}
        for each in reversed(chain):
            family.update(each.families.get(rule.family, {}))
            own.update(each.rules.get(rule.id, {}))
        said = {**family, **own}
        silent, severity = said.pop("silent", None), said.pop("severity", None)
        if silent is not None and silent.value:
            found.silent[rule.id] = silent
        if severity is not None:
            found.severity[rule.id] = severity
        if said:
            found.options[rule.id] = said
    return found


def _ready(given: Mapping[str, Given]) -> Unstated:
    usual = Unstated()
    room, balance, markets = (given.get(name) for name in UNSTATED_KEYS)
    return Unstated(
        room.value if room else usual.room_celsius,
        balance.value if balance else usual.balance_g,
        markets.value if markets else usual.markets,
    )


def _flag(node: Node) -> bool:
    if isinstance(node, Scalar) and node.kind == "true/false" and not node.quoted:
        return node.text == "true"
    raise Misread(f"{describe(node)} under «silent»; it is true or false")


def _amount(node: Node, option: Option, where: str) -> float:
    what = f"«{option.name}» of {where}"
    value = float(units.decimal(node, what, option.unit))
    if value < 0:
        raise Misread(f"{describe(node)} as {what}; it is not negative")
    return value
