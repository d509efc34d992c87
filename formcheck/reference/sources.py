"""The reference's source files, read and checked: shared/*.yaml -> one compiled form that starts fast.

Every mistake a chemist can make in these files is a Problem with its file and place, so the check command and the
compiler are the same code.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from typing import Any

from ..formula import vocabulary
from ..formula.names import fold, suggestion
from ..formula.properties import UNITS, Property, parse
from ..formula.units import Misread
from ..reading.document import START, Entry, Mapping, Node, Place, Problem, Scalar, Sequence, Unreadable, describe
from ..reading.text import decode
from ..reading.yaml_reader import read_yaml
from ..records import NamedTuple
from .masses import molar_mass

SOURCE_KINDS = (
    "regulation", "committee opinion", "standard", "handbook", "paper", "database", "supplier data", "common practice",
    "from memory",
)  # fmt: skip
PUBLISHED = frozenset(SOURCE_KINDS[:6])
_WHEN = (*vocabulary.USES, *vocabulary.USERS, *vocabulary.AREAS, *vocabulary.FORMS)
CERTAINTIES = ("high", "medium", "low")
_NEEDS = ("needs", "salts need")
# properties that name other materials, and whether classes may stand there too
_SPEAKS_OF = {
    "contains": False, "releases": False, "allergens": False, "inactivated by": True, "quarrels with": True,
}  # fmt: skip
_ROUNDING = 0.01
_CERTAINTY = {
    "regulation": "high", "committee opinion": "high", "standard": "high", "handbook": "high", "paper": "medium",
    "database": "medium", "supplier data": "medium", "common practice": "medium", "from memory": "low",
}  # fmt: skip


class Mistake(NamedTuple):
    """A problem in one of the reference's files."""

    file: str
    place: Place
    message: str


class Compiled(NamedTuple):
    """properties, classes, sources and limits as JSON-able data; materials as {heading: {property: [facts]}}."""

    properties: dict[str, dict[str, Any]]
    classes: dict[str, dict[str, Any]]
    sources: dict[str, dict[str, Any]]
    limits: dict[str, list[Any]]
    materials: dict[str, dict[str, list[Any]]]
    files: dict[str, str]
    mistakes: tuple[Mistake, ...]


def files(folder: str, part: str) -> list[str]:
    """The YAML files of one part of the reference, in the order of their names."""
    path = os.path.join(folder, part)
    if not os.path.isdir(path):
        return []
    return sorted(os.path.join(path, name) for name in os.listdir(path) if name.endswith(".yaml"))


def compile_folder(folder: str, more_materials: Iterable[str] = ()) -> Compiled:
    """Reads shared/ and any further files that plug-ins bring: materials, and classes, sources and limits of their own."""
    return _Compiler(folder).run(more_materials)


class _Compiler:
    def __init__(self, folder: str) -> None:
        self.folder = folder
        self.mistakes: list[Mistake] = []
        self.file = ""
        self.properties: dict[str, Property] = {}
        self.classes: dict[str, dict[str, Any]] = {}
        self.sources: dict[str, dict[str, Any]] = {}
        self.limits: dict[str, list[Any]] = {}
        self.materials: dict[str, dict[str, list[Any]]] = {}
        self.files: dict[str, str] = {}
        self.paths: dict[str, str] = {}
        self.claimed: dict[str, tuple[str, str]] = {}
        self.places: dict[str, Place] = {}

    def run(self, more_materials: Iterable[str]) -> Compiled:
        self.read_properties(self.section(os.path.join(self.folder, "properties.yaml"), "properties"))
        self.read_classes(self.section(os.path.join(self.folder, "classes.yaml"), "classes"))
        for path in files(self.folder, "sources"):
            self.read_sources(self.section(path, "sources"))
        for path in files(self.folder, "limits"):
            self.read_limits(self.section(path, "limits"))
        for path in files(self.folder, "materials"):
            self.read_materials(self.section(path, "materials"))
        for path in more_materials:
            self.read_brought(path)
        self.finish_materials()
        return Compiled(
            {name: p._asdict() for name, p in self.properties.items()},
            self.classes,
            self.sources,
            self.limits,
            self.materials,
            self.files,
            tuple(self.mistakes),
        )

    def mistake(self, place: Place, message: str) -> None:
        self.mistakes.append(Mistake(self.file, place, message))

    def root(self, path: str, part: str) -> Mapping | None:
        """What stands at the top of a file that holds this part; None after a mistake."""
        self.file = path
        try:
            with open(path, "rb") as file:
                root = read_yaml(decode(file.read()))
        except OSError as error:
            self.mistake(START, f"cannot be opened: {(error.strerror or str(error)).lower()}")
            return None
        except Unreadable as error:
            self.mistakes.extend(Mistake(path, problem.place, problem.message) for problem in error.problems)
            return None
        if not isinstance(root, Mapping):
            self.mistake(START, f"a mapping under «{part}:» was expected")
            return None
        return root

    def section(self, path: str, name: str) -> Iterator[Entry]:
        """The entries under the one top-level key that a file of this part has."""
        root = self.root(path, name)
        section = root.get(name) if root else None
        if isinstance(section, Mapping):
            yield from section.entries
        elif root:
            self.mistake(START, f"a mapping under «{name}:» was expected")

    def read_brought(self, path: str) -> None:
        """A plug-in's file, in which materials, and classes, sources and limits of its own, stand side by side."""
        parts = {
            "sources": self.read_sources, "classes": self.read_classes, "limits": self.read_limits,
            "materials": self.read_materials,
        }  # fmt: skip
        root = self.root(path, "materials")
        for key, value in root.entries if root else ():
            if key.text not in parts:
                self.mistake(key.place, f"«{key.text}» is no part of the reference{suggestion(key.text, parts)}")
            elif not isinstance(value, Mapping):
                self.mistake(value.place, f"{describe(value)} under «{key.text}:»; a mapping was expected")
        for name, read in parts.items():
            section = root.get(name) if root else None
            if isinstance(section, Mapping):
                read(section.entries)

    def read_properties(self, entries: Iterable[Entry]) -> None:
        for entry in entries:
            data = _plain(entry.value)
            self.properties[entry.key.text] = Property(
                entry.key.text,
                data["kind"],
                data.get("about", ""),
                data.get("unit", UNITS.get(data["kind"], "")),
                tuple(data.get("words", ())),
                tuple(data.get("grades", ())),
                tuple(data.get("extra", ())),
                data.get("identity") == "yes",
                tuple(map(float, data.get("between", ()))),
                tuple(data.get("plain", ())),
            )

    def read_classes(self, entries: Iterable[Entry]) -> None:
        """Classes with all their wider ones; a class may be narrower than one that was read before."""
        own = {name: tuple(data["is"]) for name, data in self.classes.items()}
        new: list[tuple[Scalar, Mapping]] = []
        for key, node in entries:
            if not isinstance(node, Mapping):
                self.mistake(node.place, f"{describe(node)} as class {key.text}; a mapping was expected")
            elif key.text in own:
                self.mistake(key.place, f"the class «{key.text}» stands twice")
            else:
                new.append((key, node))
        own.update((key.text, _texts(node.get("is"))) for key, node in new)
        for key, node in new:
            self.classes[key.text] = self.one_class(key, node, own)

    def one_class(self, key: Scalar, node: Mapping, known: dict[str, tuple[str, ...]]) -> dict[str, Any]:
        name, needs = key.text, node.get("needs")
        wider = list(_ancestors(name, known))
        for part in _NEEDS:
            for property in _texts(node.get(part)):
                if property not in self.properties:
                    self.mistake(key.place, f"{name}: {part} «{property}», which is no property")
        for ancestor in wider:
            if ancestor not in known:
                self.mistake(key.place, f"{name} is a «{ancestor}», which is no class{suggestion(ancestor, known)}")
        return {
            "about": "".join(_texts(node.get("about"))),
            "needs": None if needs is None else list(_texts(needs)),
            "salts need": list(_texts(node.get("salts need"))),
            "is": wider,
        }

    def read_sources(self, entries: Iterable[Entry]) -> None:
        for entry in entries:
            name, data = entry.key.text, _plain(entry.value)
            if name in self.sources:
                self.mistake(entry.key.place, f"the source «{name}» stands twice")
                continue
            if not isinstance(data, dict) or not data.get("title"):
                self.mistake(entry.key.place, f"the source «{name}» has no title")
                continue
            if data.get("kind") not in SOURCE_KINDS:
                self.mistake(
                    entry.key.place, f"«{data.get('kind')}» as kind of source; it is one of {', '.join(SOURCE_KINDS)}"
                )
                data["kind"] = "from memory"
            if data["kind"] in PUBLISHED and not (data.get("issuer") and data.get("year")):
                self.mistake(entry.key.place, f"the source «{name}» needs an issuer and a year")
            self.sources[name] = data

    def read_limits(self, entries: Iterable[Entry]) -> None:
        for entry in entries:
            name = entry.key.text
            if name in self.limits:
                self.mistake(entry.key.place, f"the limit «{name}» stands twice")
            elif fact := self.fact(entry.value, None, name):
                self.limits[name] = fact

    def read_materials(self, entries: Iterable[Entry]) -> None:
        for entry in entries:
            self.read_material(entry.key, entry.value)

    # --- materials

    def read_material(self, key: Scalar, node: Node) -> None:
        name = key.text
        if name in self.materials:
            self.mistake(key.place, f"the material «{name}» stands twice; the other is in {self.files[name]}")
            return
        if not isinstance(node, Mapping):
            self.mistake(node.place, f"{describe(node)} as material {name}; its properties were expected")
            return
        facts: dict[str, list[Any]] = {}
        self.materials[name] = facts
        self.files[name] = os.path.basename(self.file)
        self.paths[name] = self.file
        self.places["material " + name] = key.place
        for entry in node.entries:
            property = self.properties.get(entry.key.text)
            if property is None:
                known = suggestion(entry.key.text, self.properties)
                self.mistake(entry.key.place, f"«{entry.key.text}» is not a property of a material{known}")
                continue
            values = self.facts(entry.value, property)
            if values:
                facts[property.name] = values
        self.claim(name, name, key.place)
        for other in self.plain_value(facts, "also") or ():
            self.claim(other, name, key.place)
        self.check_identity(name, facts, key.place)

    def facts(self, node: Node, property: Property) -> list[Any]:
        if property.identity:
            return [[value, [], [], "high", True, "", []]] if (value := self.value(node, property)) is not None else []
        if isinstance(node, Sequence) and all(isinstance(item, Mapping) and item.get("is") for item in node.items):
            return [fact for item in node.items if (fact := self.fact(item, property, property.name))]
        fact = self.fact(node, property, property.name)
        return [fact] if fact else []

    def value(self, node: Node, property: Property | None) -> Any:
        if property is None:
            return _plain_number(node)
        try:
            return parse(property, node)
        except Misread as error:
            self.mistake(node.place, str(error))
            return None

    def fact(self, node: Node, property: Property | None, what: str) -> list[Any]:
        """The compiled form of one fact; [] after a mistake that leaves nothing to use."""
        value_node = node.get("is") if isinstance(node, Mapping) else None
        if not isinstance(node, Mapping) or value_node is None:
            self.mistake(node.place, f"{what} stands alone; a fact is {{is: ..., from: a source}}")
            return []
        extra_keys = property.extra if property else ("unit", "about")
        for entry in node.entries:
            if entry.key.text not in ("is", "from", "when", "note", "certainty", "used", *extra_keys):
                self.mistake(entry.key.place, f"«{entry.key.text}» is not a key of a fact")
        value = self.value(value_node, property)
        if value is None:
            return []
        sources = _texts(node.get("from"))
        if not sources:
            self.mistake(node.place, f"{what} has no source; write «from:»")
        for source in sources:
            if source not in self.sources:
                self.mistake(node.place, f"«{source}» is no known source{suggestion(source, self.sources)}")
        certainty = "".join(_texts(node.get("certainty"))) or self.certainty(sources)
        if certainty not in CERTAINTIES:
            self.mistake(node.place, f"«{certainty}» as certainty; it is one of {', '.join(CERTAINTIES)}")
        for word in _texts(node.get("when")):
            if word not in _WHEN:
                self.mistake(node.place, f"«{word}» under when is no word of a product{suggestion(word, _WHEN)}")
        extra = [[key, text] for key in extra_keys if (text := "".join(_texts(node.get(key))))]
        used = "".join(_texts(node.get("used"))) != "no"
        note = "".join(_texts(node.get("note")))
        return [value, list(_texts(node.get("when"))), list(sources), certainty, used, note, extra]

    def certainty(self, sources: Iterable[str]) -> str:
        grades = [_CERTAINTY[self.sources[s]["kind"]] for s in sources if s in self.sources]
        return min(grades, key=CERTAINTIES.index) if grades else "low"

    def claim(self, name: str, material: str, place: Place) -> None:
        folded = fold(name)
        holder = self.claimed.get(folded)
        if holder is None:
            self.claimed[folded] = (material, self.file)
        elif holder[0] != material:
            self.mistake(
                place, f"{material} is called «{name}», and so is {holder[0]} in {os.path.basename(holder[1])}"
            )

    def check_identity(self, name: str, facts: dict[str, list[Any]], place: Place) -> None:
        for number in self.plain_value(facts, "CAS") or ():
            if not _cas_holds(number):
                self.mistake(place, f"{name}: the CAS number {number} has a wrong check digit")
        for number in self.plain_value(facts, "EC") or ():
            if not _ec_holds(number):
                self.mistake(place, f"{name}: the EC number {number} has a wrong check digit")
        formula = self.plain_value(facts, "formula")
        if formula:
            try:
                facts["molar mass"] = [[round(molar_mass(formula), 3), [], [], "high", True, "from the formula", []]]
            except ValueError as error:
                self.mistake(place, f"{name}: {error}")
        if "class" not in facts:
            self.mistake(place, f"{name} has no class, so that no rule looks at it")
        for used in self.plain_value(facts, "class") or ():
            if used not in self.classes:
                self.mistake(place, f"{name}: «{used}» is no class{suggestion(used, self.classes)}")
        for constants in (fact[0] for fact in facts.get("pKa", ())):
            if constants != sorted(constants):
                self.mistake(place, f"{name}: the pKa values do not ascend")
        amounts = [amount for _, amount in self.plain_value(facts, "contains") or ()]
        if sum(amounts) > 100 + _ROUNDING:
            self.mistake(place, f"{name}: what it contains adds to {sum(amounts):g} %")
        for density in (fact[0] for fact in facts.get("density", ())):
            if not 0.6 <= density <= 6:
                self.mistake(place, f"{name}: a density of {density:g} g/mL is out of range")

    def finish_materials(self) -> None:
        """What needs all materials at once: names that facts speak of, acids of salts, weight shares."""
        for name, facts in self.materials.items():
            self.file = self.paths[name]
            self.check_names(name, facts)
            self.check_salt(name, facts)
            released = self.plain_value(facts, "releases") or ()
            shares = [(target, self.share(name, facts, target, amount)) for target, amount in released]
            good = [[target, share] for target, share in shares if share is not None]
            if good:
                facts["release share"] = [[good, [], facts["releases"][0][2], "high", True, "from the formulas", []]]

    def check_names(self, name: str, facts: dict[str, list[Any]]) -> None:
        """What a fact speaks of is a material of the reference, or a class where the property allows one."""
        place = self.places["material " + name]
        for property, classes in _SPEAKS_OF.items():
            for fact in facts.get(property, ()):
                for item in fact[0]:
                    other = item if isinstance(item, str) else item[0]
                    if fold(other) not in self.claimed and not (classes and other in self.classes):
                        known = suggestion(other, [*self.materials, *(self.classes if classes else ())])
                        self.mistake(place, f"{name}: {property} speaks of «{other}», which is not known here{known}")

    def check_salt(self, name: str, facts: dict[str, list[Any]]) -> None:
        """A salt of an acid names its acid and the constants, or nothing can be computed from it."""
        if "counter-ions" not in facts:
            return
        for used in self.plain_value(facts, "class") or ():
            for wider in (used, *self.classes.get(used, {}).get("is", ())):
                lacking = [need for need in self.classes.get(wider, {}).get("salts need", ()) if need not in facts]
                if lacking:
                    place = self.places["material " + name]
                    self.mistake(place, f"{name} is a salt ({wider}) without its acid: {' and '.join(lacking)} missing")
                    return

    def share(self, name: str, facts: dict[str, list[Any]], target: str, amount: float | str) -> float | None:
        if isinstance(amount, str):
            return float(amount.rstrip("% ")) / 100
        holder = self.claimed.get(fold(target))
        if holder is None:
            return None  # check_names says so
        own = self.plain_value(facts, "molar mass")
        other = self.plain_value(self.materials[holder[0]], "molar mass")
        if own is None or other is None:
            lacking = name if own is None else target
            self.mistake(
                self.places["material " + name], f"{name} releases {target}, but {lacking} has no formula here"
            )
            return None
        return round(float(amount) * float(other) / float(own), 6)

    @staticmethod
    def plain_value(facts: dict[str, list[Any]], property: str) -> Any:
        return facts[property][0][0] if property in facts else None


def _plain(node: Node) -> Any:
    if isinstance(node, Mapping):
        return {entry.key.text: _plain(entry.value) for entry in node.entries}
    if isinstance(node, Sequence):
        return [_plain(item) for item in node.items]
    return node.text


def _plain_number(node: Node) -> Any:
    data = _plain(node)
    if isinstance(node, Scalar) and node.kind == "number":
        return float(data)
    if isinstance(data, list):
        return [float(item) if isinstance(child, Scalar) and child.kind == "number" else item
                for item, child in zip(data, node.items)]  # type: ignore[union-attr]  # fmt: skip
    return data


def _texts(node: Node | None) -> tuple[str, ...]:
    if node is None:
        return ()
    items = node.items if isinstance(node, Sequence) else (node,)
    return tuple(item.text for item in items if isinstance(item, Scalar))


def _ancestors(name: str, own: dict[str, tuple[str, ...]]) -> Iterator[str]:
    seen = {name}
    todo = list(own.get(name, ()))
    while todo:
        wider = todo.pop(0)
        if wider not in seen:
            seen.add(wider)
            yield wider
            todo.extend(own.get(wider, ()))


def _cas_holds(number: str) -> bool:
    """CAS registry check digit: the digits before it, weighted 1, 2, 3 ... from the right, modulo 10."""
    digits = number.replace("-", "")
    parts = number.split("-")
    if not digits.isdigit() or [len(part) for part in parts[1:]] != [2, 1]:
        return False
    return sum(int(d) * i for i, d in enumerate(reversed(digits[:-1]), 1)) % 10 == int(digits[-1])


def _ec_holds(number: str) -> bool:
    """EC number check digit: the six digits weighted 1 to 6 from the left, modulo 11 (10 is not issued)."""
    digits = number.replace("-", "")
    if len(digits) != 7 or not digits.isdigit():
        return False
    return sum(int(d) * i for i, d in enumerate(digits[:6], 1)) % 11 == int(digits[6])


def problems(mistakes: Iterable[Mistake]) -> list[Problem]:
    """Mistakes as problems, the file named in the message."""
    return [Problem(m.place, f"{os.path.basename(m.file)}: {m.message}") for m in mistakes]
