"""Formula files that nobody has thought of: the real vocabulary, put together in every way that can be written down.

A Maker takes every choice from a `random.Random`, so that one number repeats a file. What it gives is plain data; as_yaml,
as_toml and as_json write it out; wrong_with says what is wrong with the review of one.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from random import Random
from typing import Any, NamedTuple

import yaml
from hypothesis import settings

from formcheck.formula import vocabulary
from formcheck.formula.properties import Property
from formcheck.reference.store import Reference
from formcheck.review.model import Review
from formcheck.review.rule import Finding

LONGER = int(os.environ.get("FORMCHECK_LONG", "1"))
"""How many times as many examples a run takes as usual; where it is more than once each run takes others."""


def examples(usual: int) -> settings:
    """For @given: so many examples, the same in every usual run."""
    return settings(max_examples=usual * LONGER, deadline=None, derandomize=LONGER == 1)


STRANGE = (
    "Zzyzx Oil",
    "Dandelion dust",
    "Acid",
    "42",
    "Water of life",
    "Ōil (Ä) [ß] 100%",
    "a",
    "x" * 200,
    "yes",
    "0.5",
)
"""Names that no reference knows."""
CONTAINERS = (
    "bottle", "dropper bottle", "airless bottle", "pump bottle", "tube", "jar", "spray bottle", "tin", "bag", "pot",
    "glass jar", "airless jar", "sachet", "thimble",
)  # fmt: skip
PACK_MATERIALS = (
    "glass",
    "PET",
    "PP",
    "HDPE",
    "LDPE",
    "PETG",
    "PMMA",
    "PS",
    "aluminium",
    "tin",
    "cardboard",
    "pp",
    "Pet",
)
CLAIMS = (
    "moisturises",
    "cures eczema",
    "SPF 30",
    "natural",
    "for babies",
    "kills bacteria",
    "free from everything",
    "peels",
)
ODD_PERCENTS: tuple[Any, ...] = (
    0, 0.0, -0.0, -3, -0.001, 1e-9, "0.000000000000000000000000000001", 1e-5, 0.1, 0.30000000000000004, 33.333333333333336,
    99.99999999999, 100, 100.0, 101, 250, 1e6, 1000000000, "5 %", "5%", " .5 ", "1e2", "+4", "q.s.", "QS", "q. s.",
)  # fmt: skip
TEMPERATURES = (
    "room", "75 °C", "40 °C", "30 C", "80 °C", "95 °C", "167 °F", "348.15 K", "0 °C", "-200 °C", "400 °C", "-40 °F", "100 °C",
    "121.5 °C", "22 °C", "22.0001 °C", "1e2 °C", "4 °C",
)  # fmt: skip
TIMES = ("0 s", "1 s", "20 min", "12 h", "2 d", "0.001 s", "999999999 d", "45 min", "1e-30 s", "1 h", "90 s")
MASSES: tuple[Any, ...] = (
    "100 g", "1 kg", "500 g", "0.001 mg", "1 mg", "1e-30 g", "1000000000 kg", "8 oz", "2 lb", "20 g", "0.1 g", "50 kg", "5 g",
    "0.3333333333333333 g",
)  # fmt: skip
STEPS = ("0.01 g", "0.1 g", "1 g", "0.001 g", "0.0001 g", "1 mg", "1e-30 g", "1000000000 kg", "7 g", "1 oz", "5 kg")
VOLUMES = ("50 ml", "1 l", "0.001 ml", "30 ml", "1e-30 ml", "1000000000 l", "250 ml")
PHS: tuple[Any, ...] = (
    5.5, 0, 14, 7, 3.2, 4, 4.5, 9.5, 11, "5.5 ± 0.3", "7 ± 7", "0 to 14", [5.2, 5.8], [None, 6], [4, None], [5, 5], "up to 6",
    "from 3", [0, 0], [14, 14], 0.001, 13.999999999, [None, None], "2.5", "4 +/- 0.5",
)  # fmt: skip
SIZES = (0, 1e-30, 1e-9, 1e-4, 0.01, 0.5, 1, 3, 7.25, 18, 60, 100, 250, 1e4, 1e9, -1, -1e9)
TODAY = "2026-11-25"


class Words(NamedTuple):
    """What a Maker draws from. materials: headings by class; told: property names by heading; names: every spelling; rules: their ids."""

    materials: Mapping[str, Sequence[str]]
    told: Mapping[str, Sequence[str]]
    names: Sequence[str]
    properties: Mapping[str, Property]
    classes: Sequence[str]
    rules: Sequence[str]

    def __repr__(self) -> str:
        return f"Words of {len(self.told)} materials"


def words(reference: Reference, rules: Sequence[str]) -> Words:
    """The whole vocabulary of a reference."""
    by_class: dict[str, list[str]] = {}
    told: dict[str, list[str]] = {}
    for material in reference.all():
        told[material.name] = [name for name in material.facts if name in reference.properties]
        for name in material.classes:
            by_class.setdefault(name, []).append(material.name)
    classes = sorted(reference.classes)
    return Words(dict(sorted(by_class.items())), told, sorted(reference.names), reference.properties, classes, rules)


class Maker:
    """Makes formulas. odd: the share of values that nobody would write on purpose, 0 to 1."""

    def __init__(self, chance: Random, known: Words, odd: float = 0.1) -> None:
        self.chance = chance
        self.known = known
        self.odd = odd
        self.house: list[str] = []
        self.used: list[str] = []
        self.letters: list[str] = []

    # --- choices

    def maybe(self, share: float) -> bool:
        return self.chance.random() < share

    def one(self, items: Sequence[Any]) -> Any:
        return items[self.chance.randrange(len(items))]

    def some(self, items: Sequence[Any], most: int = 3) -> list[Any]:
        return [self.one(items) for _ in range(self.chance.randint(1, most))]

    def odd_or(self, odd: Sequence[Any], usual: Any) -> Any:
        return self.one(odd) if self.maybe(self.odd) else usual

    # --- the file

    def formula(self) -> dict[str, Any]:
        """A whole file; keys come and go, and stand in any order."""
        data: dict[str, Any] = {
            "formcheck": 1,
            "name": self.one(("Hedgerow gel", "Test", "Nr. 7 & co", "Wild thyme serum")),
        }
        if self.maybe(0.4):
            data["materials"] = self.house_materials()
        data["phases"] = self.phases()
        for key, share, make in (
            ("product", 0.85, self.product),
            ("batch", 0.8, self.batch),
            ("procedure", 0.85, self.procedure),
            ("finished", 0.7, self.finished),
            ("packaging", 0.7, self.packaging),
            ("claims", 0.25, lambda: self.some(CLAIMS)),
            ("deviations", 0.15, self.deviations),
            ("room", 0.15, lambda: self.one(TEMPERATURES)),
            ("code", 0.1, lambda: self.one(("HG-03", 7, 1.10))),
            ("version", 0.1, lambda: self.one((1, "2b"))),
            ("note", 0.1, lambda: "kept beside"),
        ):
            if self.maybe(share):
                data[key] = make()
        keys = list(data)
        if self.maybe(0.3):
            self.chance.shuffle(keys)
        return {key: data[key] for key in keys}

    def material(self) -> str:
        draw = self.chance.random()
        if draw < 0.12 and self.house:
            return str(self.one(self.house))
        if draw < 0.16:
            return str(self.one(STRANGE))
        if draw < 0.30:
            return str(self.one(self.known.names))
        if draw < 0.34:
            return f"{self.any_known()} {self.one((0.1, 1, 10, 33, 50, 70, 99, 100, 250))}{self.one(('%', ' %', ' % solution'))}"
        return self.any_known()

    def percent(self) -> Any:
        usual = self.one((0.1, 0.2, 0.3, 0.5, 0.8, 1, 1.5, 2, 3, 4, 5, 8, 10, 15, 20, 30, 60))
        return self.odd_or(ODD_PERCENTS, usual)

    def line(self) -> Any:
        if not self.maybe(0.06):
            return self.percent()
        line = {
            "percent": self.percent(),
            "grams": self.one((4, "4 g", 0, "-3 g", "1e-30 g", "2 oz", 1e9)),
            "lot": "G-17",
            "note": "old jar",
        }
        return {key: value for key, value in line.items() if key == "percent" or self.maybe(0.6)}

    def phases(self) -> dict[str, Any]:
        self.letters = list(
            self.one((["A"], ["A", "B"], ["A", "B", "C"], ["A", "B", "C", "D"], ["A1", "Öl", "phase C"], ["1", "2"]))
        )
        phases: dict[str, Any] = {}
        for letter in self.letters:
            count = 0 if self.maybe(0.03) else self.chance.randint(1, 7)
            names = [self.material() for _ in range(count)]
            self.used.extend(names)
            phases[letter] = {name: self.line() for name in names}
        if self.maybe(0.85):
            first = phases[self.letters[0]]
            first[self.one(("Aqua", "Aqua", "Aqua", "Helianthus Annuus Seed Oil", "Glycerin", "Alcohol"))] = "q.s."
        return phases

    def product(self) -> dict[str, Any]:
        product = {
            "use": self.one(vocabulary.USES),
            "form": self.odd_or(("thing", "0"), self.one(vocabulary.FORMS)),
            "area": self.some((*vocabulary.AREAS, "elbow") if self.maybe(self.odd) else vocabulary.AREAS),
            "users": self.some(vocabulary.USERS),
            "markets": self.some(
                ("EU", "UK", "US", "CA", "eu", "XX") if self.maybe(self.odd) else ("EU", "UK", "US", "CA")
            ),
        }
        return self.thinned(product)

    def batch(self) -> dict[str, Any]:
        return self.thinned(
            {
                "size": self.odd_or(MASSES, f"{self.one((50, 100, 200, 500, 1000))} g"),
                "balance": self.odd_or(STEPS, self.one(("0.01 g", "0.1 g", "1 g"))),
            }
        )

    def finished(self) -> dict[str, Any]:
        usual = round(self.chance.uniform(3, 9), 1)
        return self.thinned({"pH": self.odd_or(PHS, usual), "measured pH": self.odd_or((0, 14, 7.77777), usual)})

    def packaging(self) -> dict[str, Any]:
        return self.thinned(
            {
                "container": self.one(CONTAINERS),
                "material": self.one(PACK_MATERIALS),
                "wall": self.one(vocabulary.WALLS),
                "carton": self.one(("yes", "no")),
                "size": self.odd_or(VOLUMES, "50 ml"),
            }
        )

    def deviations(self) -> list[dict[str, Any]]:
        return [
            self.thinned(
                {
                    "of": self.one(self.used or ["Aqua"]),
                    "accepted by": "R. Quill",
                    "until": self.one(("2027-03-31", "2020-01-01", TODAY, "9999-12-31", "0001-01-01")),
                }
            )
            | {"rule": self.one(self.known.rules), "reason": "pilot batch only"}
            for _ in range(self.chance.randint(1, 3))
        ]

    def thinned(self, data: dict[str, Any]) -> dict[str, Any]:
        return {key: value for key, value in data.items() if self.maybe(0.8)}

    # --- the procedure

    def procedure(self) -> list[dict[str, Any]]:
        steps = [self.step(self.one(list(vocabulary.VERBS))) for _ in range(self.chance.randint(0, 10))]
        if self.maybe(0.8):
            steps.append({"fill": self.letters[0]})
        return steps

    def object(self, kind: str) -> Any:
        names = self.used if kind == "materials" else self.letters if kind == "phases" else [*self.letters, *self.used]
        if self.maybe(0.1 + self.odd):
            names = [*self.letters, *self.used, *STRANGE]
        names = names or ["A"]
        return self.some(names) if self.maybe(0.2) else self.one(names)

    def step(self, name: str) -> dict[str, Any]:
        verb = vocabulary.VERBS[name]
        step: dict[str, Any] = {name: self.object(verb.object)}
        for key in verb.keys:
            if self.maybe(0.75):
                step[key] = self.condition(name, key)
        return step

    def condition(self, verb: str, key: str) -> Any:
        if key == "to" and verb in ("adjust pH", "neutralise"):
            return self.odd_or(PHS, round(self.chance.uniform(3, 9), 1))
        if key in ("to", "at"):
            return self.one(TEMPERATURES[:12] if self.maybe(0.8) else TEMPERATURES)
        if key in ("hold", "for", "over"):
            return self.one(TIMES)
        if key == "with":
            acids = [*self.known.materials["acid"], *self.known.materials["base"]]
            return self.one((self.one(acids), self.one(acids), self.object("materials"), "whisk"))
        if key == "strength":
            return self.one((20, "20 %", 100, 1e-9, 0.5, 50))
        if key == "amount":
            return self.one(MASSES)
        return self.one(self.letters) if key == "into" else self.object("phases or materials")

    # --- materials of the house

    def house_materials(self) -> dict[str, Any]:
        self.house = [f"House {number}" for number in range(self.chance.randint(0, 3))]
        self.house.extend(self.any_known() for _ in range(self.chance.randint(0, 3)))
        return {name: self.house_material(name) for name in dict.fromkeys(self.house)}

    def house_material(self, name: str) -> dict[str, Any] | None:
        """Anything of a new material; of one that is known, other figures for what is told of it."""
        if self.maybe(0.05):
            return None
        told = self.known.told.get(name)
        wanted = self.some(told or list(self.known.properties), 6)
        if self.maybe(0.1 if told else 0.5):
            wanted.append("contains")
        if not told and self.maybe(0.6):
            wanted.append("class")
        return {
            each: self.fact(self.known.properties[each])
            for each in dict.fromkeys(wanted)
            if each != "class" or not told
        }

    def any_known(self) -> str:
        return str(self.one(self.known.materials[self.one(list(self.known.materials))]))

    def fact(self, property: Property) -> Any:
        value = self.value(property)
        if property.name not in ("contains", "class", "also", "INCI") and self.maybe(0.1):
            return {"is": value, "when": self.some((*vocabulary.USES, *vocabulary.FORMS[:5], *vocabulary.USERS))}
        return value

    def number(self, property: Property) -> float:
        """Mostly a figure that the property may have, ends included; now and then any other."""
        low, high = property.between or (0.0, 100.0)
        usual = self.one(
            (
                low,
                high,
                round(self.chance.uniform(low, high), 2),
                round(self.chance.uniform(low, min(high, low + 20)), 2),
            )
        )
        return float(self.odd_or([*SIZES, low, high], usual) if self.maybe(0.1) else usual)

    def number_range(self, property: Property) -> Any:
        low, high = sorted((self.number(property), self.number(property)))
        return self.one(([low, high], [None, high], [low, None], [low, low], [None, None]))

    def value(self, property: Property) -> Any:
        kind = property.kind
        if kind in ("class list", "names"):
            return self.some((*self.known.classes, self.material(), "no such class"))
        if kind in ("word", "words"):
            return self.one(property.words) if kind == "word" else self.some(property.words)
        if kind == "amounts":
            return self.amounts(property)
        if kind == "quarrels":
            return [{"with": self.some((*self.known.classes, self.material())), "effect": "curdles"}]
        if kind == "grades":
            return {self.one(property.words): self.one(property.grades) for _ in range(3)}
        return {
            "ph range": lambda: self.one(PHS),
            "percent": lambda: self.number(property),
            "percent range": lambda: self.number_range(property),
            "temperature": lambda: self.one(TEMPERATURES),
            "temperature range": lambda: self.one(
                (self.one(TEMPERATURES), "62 to 64 °C", ["-200 °C", "400 °C"], [None, "40 °C"])
            ),
            "duration": lambda: self.one(TIMES),
            "number": lambda: self.number(property),
            "number range": lambda: self.number_range(property),
            "numbers": lambda: [self.number(property) for _ in range(self.chance.randint(1, 4))],
            "integer": lambda: self.one((0, 1, -1, 2, 7, -20)),
            "text": lambda: self.text(property.name),
            "text list": lambda: [self.text(property.name)],
            "yes or no": lambda: self.one(("yes", "no", True, False)),
        }[kind]()

    def text(self, property: str) -> str:
        if property == "formula":
            return str(self.one(("C6H8O7", "H2O", "NaOH", "C12H22O11", "Xx9", "(", "C" * 300, "C999999999", "0")))
        return str(self.one((self.material(), "plain words", "77-92-9", "x")))

    def amounts(self, property: Property) -> dict[str, Any]:
        if property.name == "counter-ions":
            return {self.one(("Na+", "Cl-", "Mg+2", "Ca+2", "SO4-2", "K+", "Zz")): self.one((1, 2, 0, 0.5, 1000))}
        names = [self.material() for _ in range(self.chance.randint(1, 4))]
        odd = (-5, 250) if self.maybe(0.02) else (1e-9, 100)
        return {name: self.one((10, 50, 90, 100, 0, 0.001, 33.3, *odd)) for name in names}


# --- writing it out


def as_yaml(data: Any) -> str:
    """Block style, keys in their order."""
    dumper = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
    return str(yaml.dump(data, Dumper=dumper, sort_keys=False, allow_unicode=True, width=4096))


def as_json(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1)


def as_toml(data: Mapping[str, Any]) -> str:
    """Every part of the file as one inline value. TOML knows no null; there must be none in data."""
    return "".join(f"{_key(key)} = {_toml(value)}\n" for key, value in data.items())


def _toml(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(key)} = {_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return _key(value) if isinstance(value, str) else repr(value)


def _key(text: Any) -> str:
    return json.dumps(str(text), ensure_ascii=False).replace("\x7f", "\\u007f")


# --- what a review must never say

SLIPS = re.compile(
    r"\bnan\b|\binf\b|\bNone\b|\bTrue\b|\bFalse\b"  # what Python prints and a person does not
    r"|\d[eE][-+]?\d|(?<![\w.])-0(?![\w.])|-0\.0+\b"  # exponents, and less than nothing by nothing
    r"|<[\w.]+ object|\b(Decimal|Range|Place|Fact|Temperature|Part|Item|Material|Component)\("
    r"|\[\]|\(\)|\{\}|«»|  |(?<!\.)\.\.(?!\.)|,,|;;| [,;]| \.(?![\d.])"  # gaps where a word was meant
)


def wrong_with(review: Review, text: str, data: Mapping[str, Any]) -> Iterator[str]:
    """Every fault of a rule, and every finding that lacks a word, is badly printed or stands where the file is not."""
    for fault in review.faults:
        yield f"{fault.who} {fault.what}"
    for finding in (*review.findings, *review.settled):
        for field in ("message", "why", "remedy", "source"):
            yield from _wrong_words(finding, field)
        yield from _wrong_place(finding, text, data)
    for unchecked in review.unchecked:
        slip = SLIPS.search(unchecked.needs)
        if not unchecked.needs.strip() or slip:
            yield f"{unchecked.rule} needs «{unchecked.needs}»"


def _wrong_words(finding: Finding, field: str) -> Iterator[str]:
    words = getattr(finding, field)
    where = f"{finding.rule}, {field}: «{words}»"
    if words != words.strip() or (not words and field != "source"):
        yield f"{where} is blank or padded"
    slip = SLIPS.search(words)
    if slip:
        yield f"{where} holds «{slip.group()}»"
    if words.count("(") != words.count(")"):
        yield f"{where} leaves a bracket open"
    if field in ("why", "remedy") and not words.endswith((".", "!", "?")):
        yield f"{where} does not end"


def _wrong_place(finding: Finding, text: str, data: Mapping[str, Any]) -> Iterator[str]:
    lines = text.split("\n")
    line, column = finding.place
    if not (1 <= line <= len(lines) and 1 <= column <= len(lines[line - 1]) + 1):
        yield f"{finding.rule} stands at {line}:{column}, outside the file"
    if not _leads_somewhere(data, finding.path):
        yield f"{finding.rule} points to {finding.path}, which is not there"
    if finding.step is not None and not 1 <= finding.step <= len(data.get("procedure", ())):
        yield f"{finding.rule} speaks of step {finding.step}"


def _leads_somewhere(data: Any, path: str) -> bool:
    """Whether a JSON Pointer (RFC 6901) finds something."""
    if path and not path.startswith("/"):
        return False
    for part in path.split("/")[1:]:
        key = part.replace("~1", "/").replace("~0", "~")
        if isinstance(data, Mapping):
            if key not in data:
                return False
            data = data[key]
        elif isinstance(data, Sequence) and key.isdigit() and int(key) < len(data):
            data = data[int(key)]
        else:
            return False
    return True
