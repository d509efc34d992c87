"""Rules of the house: written down in a file, without Python, and run like any other rule.

    house: 1                            # version of this file format
    rules:
      perfume-on-skin:                  # the name of the rule, in deviations and everywhere else
        finds: more perfume than we put into what stays on skin
        harm: untidy                    # the kind of harm gives the severity, as for every rule
        why: Our customers have asked for faint scents since the market of 2024.
        remedy: Take less of it.
        where: {use: leave-on}          # which formulas it looks at; all where it is left out
        expect:                         # what has to hold for them; a finding where it does not
          sum: {class: [fragrance, essential oil], percent: up to 0.8 %}
        flawed: |                       # a formula that sets it off, and the same mended; `formcheck house-test` runs both
          formcheck: 1
          ...
        mended: |
          formcheck: 1
          ...

A condition is a mapping of which every line has to hold:

- `use`, `form`, `area`, `users`, `market`, `container`, `wall`, `pack material`, `carton`: a word, or a list of which one
  is enough. `container: airless` is met by an airless bottle.
- `pH`, `phases` (their number), `filled` (temperature): a range, `4 to 5.5`, `up to 40 °C`, `from 2` or `[low, high]`.
- `claim`: words of which one claim of the label holds one. `steps`: verbs that all stand in the procedure.
- `holds`, `lacks`: materials, `{material: ..., class: ..., but not: ..., phase: ...}`, and with `percent` how much in all.
- `sum`: the same with `percent`, which has to lie in the range also where there is none of it.
- `every`: `{material: ..., class: ..., but not: ...}` and what each has to keep to: `percent`, `warmest`, `phase`.
- `any of`, `all of`, `none of`: lists of conditions.

Nothing in such a file is ever run: words are looked up, numbers compared.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from ..bench.worksheet import Worksheet
from ..formula import units, vocabulary
from ..formula.fields import Fields
from ..formula.names import suggestion
from ..formula.units import Misread, Range
from ..reading import document as nodes
from ..reading import files
from ..reading.document import Document, Entry, Node, Place, Scalar, Unreadable, describe
from ..records import NamedTuple
from ..reference.store import Reference
from .house_terms import (
    SOURCES,
    AllOf,
    Answer,
    AnyOf,
    Claim,
    Every,
    Figure,
    Holds,
    NoneOf,
    Selection,
    Steps,
    Sum,
    Term,
    Told,
    Word,
)
from .rule import HARMS, Finding, Rule, Unchecked
from .settings import BadSettings, shown

FORMAT = "1"
FAMILY = "house"
FILE_KEYS = ("house", "note", "rules")
NEEDED_KEYS = ("finds", "harm", "why", "remedy", "expect", "flawed", "mended")
RULE_KEYS = (*NEEDED_KEYS, "where", "source", "note")
FIGURES = {"pH": "", "phases": "", "filled": "°C"}
GROUPS = ("any of", "all of", "none of")
SELECTION_KEYS = ("material", "class", "but not")
MATERIAL_TERMS = {
    "holds": (*SELECTION_KEYS, "phase", "percent"),
    "lacks": (*SELECTION_KEYS, "phase", "percent"),
    "sum": (*SELECTION_KEYS, "phase", "percent"),
    "every": (*SELECTION_KEYS, "percent", "warmest", "phase"),
}
CONDITION_KEYS = (*SOURCES, *FIGURES, "claim", "steps", *MATERIAL_TERMS, *GROUPS)
WORDS = {
    "use": vocabulary.USES,
    "form": vocabulary.FORMS,
    "area": vocabulary.AREAS,
    "users": vocabulary.USERS,
    "wall": vocabulary.WALLS,
    "carton": ("yes", "no"),
}
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_NUMBER = re.compile(r"\s*[-+]?[0-9.]+\s*\S*\s*")


class HouseRule(Rule):
    """A rule from a house rule file. file, place: where it stands; materials: names it speaks of, each with its place."""

    def __init__(self, head: Mapping[str, str], where: Term, expect: Term, file: str, place: Place) -> None:
        super().__init__(
            head["finds"],
            head["harm"],
            head["why"],
            head["remedy"],
            needs=where.needs,
            sources=(head["source"],),
            flawed=head["flawed"],
            mended=head["mended"],
        )
        self.family = FAMILY
        self.pack = file
        self.file = file
        self.place = place
        self.materials: tuple[tuple[str, Place], ...] = ()
        self._where = where
        self._expect = expect
        self.concerns = self._concerns
        self.check = self._check

    def _concerns(self, sheet: Worksheet) -> bool:
        return self._where.answer(sheet).holds is not False and self._expect.answer(sheet).holds is not True

    def _check(self, sheet: Worksheet) -> Iterator[Finding | Unchecked]:
        where, expect = self._where.answer(sheet), self._expect.answer(sheet)
        if where.holds is None or expect.holds is None:
            for ask in dict.fromkeys((*where.asks, *expect.asks)):
                yield self.unchecked(ask)
        elif where.holds and not expect.holds:
            yield from self._findings(expect)

    def _findings(self, answer: Answer) -> Iterator[Finding]:
        """One finding for what has one cause: a step, or the formula."""
        grouped: dict[int | None, list[Told]] = {}
        for told in answer.told:
            grouped.setdefault(told.step, []).append(told)
        for step, group in grouped.items():
            found = "; ".join(dict.fromkeys(told.found for told in group))
            asked = "; ".join(dict.fromkeys(told.asked for told in group))
            yield self.finding(
                group[0].at,
                f"{self.finds}: {found}; asked for: {asked}",
                source=self.sources[0],
                materials=dict.fromkeys(name for told in group for name in told.materials),
                step=step,
            )


def house_document(path: str) -> Document:
    """A house rule file as it is written. Raises BadSettings."""
    try:
        return files.read(path)
    except Unreadable as error:
        raise BadSettings(path, *error.problems) from None


def read_house(
    path: str, reference: Reference, taken: Mapping[str, str], document: Document | None = None
) -> tuple[HouseRule, ...]:
    """The rules of a house rule file. Raises BadSettings with all that is wrong.

    taken: names that other rules have already, each with where those come from; document: the file, where it was read.
    """
    document = document or house_document(path)
    try:
        return _Reader(path, document.root, reference, taken).rules()
    except Unreadable as error:
        raise BadSettings(path, *error.problems) from None


class _Materials(NamedTuple):
    """The selection of a term, and the rest of its keys."""

    selection: Selection
    keys: dict[str, Entry]


class _Reader(Fields):
    def __init__(self, path: str, root: nodes.Mapping, reference: Reference, taken: Mapping[str, str]) -> None:
        super().__init__(root.place)
        self.path = path
        self.root = root
        self.reference = reference
        self.taken = taken
        self.named: list[tuple[str, Place]] = []

    def rules(self) -> tuple[HouseRule, ...]:
        top = self.keys(self.root, FILE_KEYS, "a house rule file")
        self._format(top.get("house"))
        entry = top.get("rules")
        if entry is None:
            self.problem(self.place, "the key «rules» is missing; a house rule file holds house and rules")
        elif not isinstance(entry.value, nodes.Mapping):
            self.problem(
                entry.value.place, f"{describe(entry.value)} under «rules»; rules by their names were expected"
            )
        found = [self._rule(each) for each in _entries(entry)]
        self.done()
        return tuple(rule for rule in found if rule is not None)

    def _format(self, entry: Entry | None) -> None:
        if entry is None:
            self.problem(self.place, "the key «house» is missing; the first line of a house rule file is «house: 1»")
        elif not isinstance(entry.value, Scalar) or entry.value.text != FORMAT:
            message = f"{describe(entry.value)} as file format; this formcheck reads house rules of format {FORMAT}"
            self.problem(entry.value.place, message)

    def _rule(self, entry: Entry) -> HouseRule | None:
        name, place = entry.key.text.strip(), entry.key.place
        if not _ID.fullmatch(name):
            self.problem(
                place, f"«{name}» as the name of a rule; it is small letters and figures, words joined by hyphens"
            )
        elif name in self.taken:
            self.problem(place, f"there is a rule «{name}» already, {self.taken[name]}; give this one another name")
        if not isinstance(entry.value, nodes.Mapping):
            self.problem(entry.value.place, f"{describe(entry.value)} under «{name}»; a mapping was expected")
            return None
        keys = self.keys(entry.value, RULE_KEYS, "a house rule")
        missing = [key for key in NEEDED_KEYS if key not in keys]
        if missing:
            self.problem(place, f"the rule {name} has no {', '.join(missing)}")
        head = self._head(keys, place)
        self.named = []
        where = self._condition(keys.get("where"))
        expect = self._condition(keys.get("expect"))
        if self.problems:
            return None
        rule = HouseRule(head, where, expect, self.path, place)
        rule.id = name
        rule.materials = tuple(self.named)
        return rule

    def _head(self, keys: Mapping[str, Entry], place: Place) -> dict[str, str]:
        texts = {key: self.text(keys.get(key)) or "" for key in ("why", "remedy", "flawed", "mended")}
        return {
            **texts,
            "finds": (self.text(keys.get("finds")) or "").rstrip("."),
            "harm": self.one_of(keys.get("harm"), tuple(HARMS)) or "",
            "why": _sentence(texts["why"]),
            "remedy": _sentence(texts["remedy"]),
            "source": self.text(keys.get("source")) or f"house rule, {shown(self.path)}:{place.line}",
        }

    # --- conditions

    def _condition(self, entry: Entry | None) -> AllOf:
        if entry is None:
            return AllOf(())
        if isinstance(entry.value, nodes.Mapping) and not entry.value.entries:
            self.problem(entry.value.place, f"nothing under «{entry.key.text}»; a condition was expected")
        keys = self.mapping(entry, CONDITION_KEYS, "a condition")
        terms = [self._term(name, each) for name, each in keys.items()]
        return AllOf(tuple(term for term in terms if term is not None))

    def _term(self, name: str, entry: Entry) -> Term | None:
        if name in SOURCES:
            return Word(name, self._words(name, entry))
        if name in FIGURES:
            wanted = self.value(entry, _range_of(name, FIGURES[name]))
            return Figure(name, wanted) if wanted else None
        if name == "claim":
            return Claim(self.texts(entry))
        if name == "steps":
            return Steps(tuple(verb for verb in self._each(entry, self._verb) if verb))
        if name in GROUPS:
            return self._group(name, entry)
        return self._of_materials(name, entry)

    def _each(self, entry: Entry, read: Callable[[Entry], str | None]) -> Iterator[str | None]:
        items = entry.value.items if isinstance(entry.value, nodes.Sequence) else (entry.value,)
        for item in items:
            yield read(Entry(entry.key, item))
        if not items:
            self.problem(entry.value.place, f"an empty list under «{entry.key.text}»")

    def _words(self, name: str, entry: Entry) -> tuple[str, ...]:
        known = WORDS.get(name)
        read = (lambda each: self.one_of(each, known)) if known else self.text
        words = tuple(word for word in self._each(entry, read) if word)
        return tuple(word.upper() for word in words) if name == "market" else words

    def _verb(self, entry: Entry) -> str | None:
        text = self.text(entry)
        if text is None:
            return None
        verb = vocabulary.OTHER_SPELLINGS.get(text.lower(), text)
        if verb in vocabulary.VERBS:
            return verb
        hint = suggestion(text, vocabulary.VERBS) or f"; the verbs are {', '.join(vocabulary.VERBS)}"
        self.problem(entry.value.place, f"«{text}» is not a verb of the procedure{hint}")
        return None

    def _group(self, name: str, entry: Entry) -> Term | None:
        if not isinstance(entry.value, nodes.Sequence) or not entry.value.items:
            self.problem(
                entry.value.place, f"{describe(entry.value)} under «{name}»; a list of conditions was expected"
            )
            return None
        terms = tuple(self._condition(Entry(entry.key, item)) for item in entry.value.items)
        if name == "all of":
            return AllOf(terms)
        return AnyOf(terms) if name == "any of" else NoneOf(terms)

    # --- materials

    def _of_materials(self, name: str, entry: Entry) -> Term | None:
        found = self._selection(name, entry)
        percent = self.value(found.keys.get("percent"), _range_of("percent", "%"))
        if name in ("holds", "lacks"):
            return Holds(found.selection, percent, name == "lacks")
        if name == "sum":
            if "percent" not in found.keys:
                self.problem(
                    entry.key.place, "«sum» without «percent»; write how much it may be, such as «up to 0.8 %»"
                )
            return Sum(found.selection, percent) if percent else None
        warmest = self.value(found.keys.get("warmest"), _range_of("warmest", "°C"))
        phases = self.texts(found.keys.get("phase"))
        if not {"percent", "warmest", "phase"} & set(found.keys):
            self.problem(
                entry.key.place, "«every» without «percent», «warmest» or «phase»; say what each has to keep to"
            )
        return Every(found.selection, percent, warmest, phases)

    def _selection(self, name: str, entry: Entry) -> _Materials:
        keys = self.mapping(entry, MATERIAL_TERMS[name], f"«{name}»")
        if isinstance(entry.value, nodes.Mapping) and not {"material", "class"} & set(keys):
            self.problem(entry.value.place, f"«{name}» of what? Name a «material» or a «class»")
        but_not = self._names(keys.get("but not"))
        classes = self.reference.classes
        return _Materials(
            Selection(
                self._materials(self._names(keys.get("material"))),
                tuple(text.lower() for text, place in self._names(keys.get("class")) if self._class(text, place)),
                self._materials([each for each in but_not if each[0].lower() not in classes]),
                tuple(text.lower() for text, _ in but_not if text.lower() in classes),
                self.texts(keys.get("phase")) if name != "every" else (),
            ),
            keys,
        )

    def _names(self, entry: Entry | None) -> list[tuple[str, Place]]:
        if entry is None:
            return []
        items = entry.value.items if isinstance(entry.value, nodes.Sequence) else (entry.value,)
        return [(text, item.place) for item in items if (text := self.text(Entry(entry.key, item)))]

    def _materials(self, named: list[tuple[str, Place]]) -> tuple[str, ...]:
        self.named.extend(named)
        return tuple(text for text, _ in named)

    def _class(self, text: str, place: Place) -> bool:
        # classes are few, but too many for one line
        known = self.reference.classes
        if text.lower() in known:
            return True
        self.problem(place, f"«{text}» is no class of materials{suggestion(text, known)}")
        return False


def _entries(entry: Entry | None) -> tuple[Entry, ...]:
    return entry.value.entries if entry is not None and isinstance(entry.value, nodes.Mapping) else ()


def _sentence(text: str) -> str:
    return text if not text or text.endswith((".", "!", "?")) else text + "."


def _range_of(what: str, unit: str) -> Callable[[Node], Range]:
    def read(node: Node) -> Range:
        if isinstance(node, Scalar):
            node = node._replace(text=_plain(node.text, what, unit))
        wanted = units.span(node, what, unit)
        if wanted.low is None and wanted.high is None:
            raise Misread(f"a range without ends as {what}; one of them has to be there")
        return wanted

    return read


def _plain(text: str, what: str, unit: str) -> str:
    """A range as units.span reads it: `at most` and `at least` in its words, a unit at both ends. Raises Misread."""
    text = " ".join(text.split())
    for word, other in (("at most ", "up to "), ("at least ", "from ")):
        if text.lower().startswith(word):
            text = other + text[len(word) :]
    if _NUMBER.fullmatch(text):
        raise Misread(f"«{text}» as {what}; is it the most or the least? Write «up to {text}» or «from {text}»")
    low, to, high = text.partition(" to ")
    if unit and to and re.fullmatch(r"[-+]?[0-9.]+", low):
        text = f"{low} {high.lstrip('-+0123456789. ')} to {high}"
    return text
