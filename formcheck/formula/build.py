"""Document -> Formula. Everything that is wrong with a file is found in one go, each at its place."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from ..reading.document import Document, Entry, Mapping, Node, Place, Scalar, Sequence, describe
from . import units, vocabulary
from .fields import Fields
from .model import (
    AS_USUAL,
    Batch,
    Claim,
    Deviation,
    Fact,
    Finished,
    Formula,
    HouseMaterial,
    Line,
    Packaging,
    Phase,
    Product,
    Step,
    Unstated,
)
from .names import pointer, suggestion
from .properties import UNITS, Properties, Property, parse
from .units import Misread, Range, Temperature

FORMAT = "1"
MOST = {
    "lines": 2500,
    "materials": 2500,
    "steps": 1000,
    "names in the steps": 5000,
    "steps that set a pH": 20,
    "claims": 100,
    "characters of claims": 20_000,
    "deviations": 500,
}
"""So many of each are read. A formula has a few dozen; without a bound a file could keep a review busy for hours."""
_REMAINDER = ("q.s.", "qs", "q.s", "q. s.")


def build(document: Document, properties: Callable[[], Properties], unstated: Unstated = AS_USUAL) -> Formula:
    """The formula in a document.

    properties gives the known properties of materials; it is called only when the file describes materials of its own.
    unstated: what to take where the file does not say. Raises Unreadable with all problems of the file.
    """
    return _Builder(document, properties, unstated).formula()


def build_materials(document: Document, properties: Callable[[], Properties]) -> tuple[HouseMaterial, ...]:
    """The materials in a materials file (a top-level `materials:`). Raises Unreadable."""
    return _Builder(document, properties, AS_USUAL).materials_file()


class _Builder(Fields):
    def __init__(self, document: Document, properties: Callable[[], Properties], unstated: Unstated) -> None:
        super().__init__(document.root.place)
        self.document = document
        self.properties = properties
        self.unstated = unstated
        self.room = unstated.room_celsius

    # --- the whole

    def formula(self) -> Formula:
        top = self.keys(self.document.root, vocabulary.FILE_KEYS, "a formula file")
        self.format(top)
        if "room" in top:
            room = self.value(top["room"], lambda node: units.temperature(node, self.room, "room"))
            self.room = room.celsius if room else self.room
        formula = Formula(
            document=self.document,
            name=self.needed_text(top, "name"),
            place=self.place,
            phases=self.phases(top.get("phases")),
            phases_place=self.at(top, "phases"),
            product=self.product(top.get("product")),
            batch=self.batch(top.get("batch")),
            finished=self.finished(top.get("finished")),
            room_celsius=self.room,
            code=self.text(top.get("code")),
            version=self.text(top.get("version")),
            materials=self.materials(top.get("materials")),
            procedure=self.procedure(top.get("procedure")),
            procedure_place=top["procedure"].key.place if "procedure" in top else None,
            packaging=self.packaging(top.get("packaging")),
            claims=self.claims(top.get("claims")),
            deviations=self.deviations(top.get("deviations")),
        )
        for what, found, key in (
            ("lines", sum([len(phase.lines) for phase in formula.phases]), "phases"),
            ("materials", len(formula.materials), "materials"),
            ("steps", len(formula.procedure), "procedure"),
            ("names in the steps", sum(map(_names, formula.procedure)), "procedure"),
            ("steps that set a pH", sum([step.verb in vocabulary.SETTING_PH for step in formula.procedure]), "procedure"),
            ("claims", len(formula.claims), "claims"),
            ("characters of claims", sum([len(claim.text) for claim in formula.claims]), "claims"),
            ("deviations", len(formula.deviations), "deviations"),
        ):
            if found > MOST[what]:
                self.too_many(what, found, self.at(top, key))
        self.done()
        return formula

    def too_many(self, what: str, found: int, place: Place) -> None:
        """More of something than is reviewed is a problem: what is left out would look as if it had been reviewed."""
        self.problem(place, f"{found} {what}; {MOST[what]} are the most that are reviewed")

    def at(self, top: dict[str, Entry], key: str) -> Place:
        """Where a part of the file stands; the file's own place where it lacks it."""
        return top[key].key.place if key in top else self.place

    def materials_file(self) -> tuple[HouseMaterial, ...]:
        top = self.keys(self.document.root, ("formcheck", "note", "materials"), "a materials file")
        if "materials" not in top:
            self.problem(self.place, "a materials file holds a mapping under «materials:»; none was found")
        result = self.materials(top.get("materials"))
        if len(result) > MOST["materials"]:
            self.too_many("materials", len(result), self.at(top, "materials"))
        self.done()
        return result

    # --- the parts

    def needed_text(self, top: dict[str, Entry], key: str) -> str:
        if key not in top:
            self.problem(self.place, f"the key «{key}» is missing; a formula needs formcheck, name and phases")
        return self.text(top.get(key)) or ""

    def format(self, top: dict[str, Entry]) -> None:
        entry = top.get("formcheck")
        if entry is None:
            self.problem(
                self.place,
                "the key «formcheck» is missing; the first line of a formula is «formcheck: 1»",
            )
        elif not isinstance(entry.value, Scalar) or entry.value.text != FORMAT:
            self.problem(
                entry.value.place, f"{describe(entry.value)} as file format; this formcheck reads format {FORMAT}"
            )

    def product(self, entry: Entry | None) -> Product:
        keys = self.mapping(entry, vocabulary.PRODUCT_KEYS, "product")
        text = self.text(keys.get("form"))
        form, areas = vocabulary.form_of(text) if text else (None, ())
        return Product(
            place=entry.key.place if entry else self.place,
            use=self.one_of(keys.get("use"), vocabulary.USES),
            form=form,
            area=tuple(vocabulary.area_of(text) for text in self.texts(keys.get("area"))) or areas,
            users=self.users(keys.get("users")),
            markets=tuple(text.upper() for text in self.texts(keys.get("markets"))) or self.unstated.markets,
            places=_places(keys),
        )

    def users(self, entry: Entry | None) -> tuple[str, ...]:
        if entry is None:
            return ()
        items = entry.value.items if isinstance(entry.value, Sequence) else (entry.value,)
        words = (self.one_of(Entry(entry.key, item), vocabulary.USERS) for item in items)
        return tuple(word for word in words if word)

    def batch(self, entry: Entry | None) -> Batch:
        keys = self.mapping(entry, vocabulary.BATCH_KEYS, "batch")

        return Batch(
            place=entry.key.place if entry else self.place,
            size_g=self.value(keys.get("size"), units.batch_size),
            balance_g=(
                self.value(keys["balance"], units.balance_step) if "balance" in keys else self.unstated.balance_g
            ),
            places=_places(keys),
        )

    def phases(self, entry: Entry | None) -> tuple[Phase, ...]:
        if entry is None:
            self.problem(self.place, "the key «phases» is missing; a formula needs formcheck, name and phases")
            return ()
        if not isinstance(entry.value, Mapping) or not entry.value.entries:
            self.problem(
                entry.value.place,
                f"{describe(entry.value) if not isinstance(entry.value, Mapping) else 'nothing'} under «phases»; "
                "a phase letter with its materials was expected, such as «A: {Aqua: q.s.}»",
            )
            return ()
        return tuple(self.phase(inner) for inner in entry.value.entries)

    def phase(self, entry: Entry) -> Phase:
        letter = entry.key.text.strip()
        path = pointer("phases", entry.key.text)
        lines: list[Line] = []
        if not isinstance(entry.value, Mapping):
            self.problem(
                entry.value.place,
                f"{describe(entry.value)} in phase {letter}; materials with their percents were expected, one a line",
            )
        else:
            for inner in entry.value.entries:
                line = self.line(inner, path)
                if line:
                    lines.append(line)
        return Phase(letter, tuple(lines), entry.key.place, path)

    def line(self, entry: Entry, phase_path: str) -> Line | None:
        name = " ".join(entry.key.text.split())
        path = phase_path + pointer(entry.key.text)
        if not name:
            self.problem(entry.key.place, "a material without a name")
            return None
        if not isinstance(entry.value, Mapping):
            percent = self.percent(entry)
            return Line(name, percent, entry.key.place, entry.value.place, path)
        keys = self.keys(entry.value, vocabulary.LINE_KEYS, f"the line {name}")
        if "percent" not in keys:
            self.problem(entry.key.place, f"{name} has no percent; write «{name}: {{percent: 4}}» or «{name}: 4»")
        percent_entry = keys.get("percent")
        return Line(
            name,
            self.percent(percent_entry) if percent_entry else None,
            entry.key.place,
            percent_entry.value.place if percent_entry else entry.value.place,
            path,
            self.value(keys.get("grams"), self.grams),
            self.text(keys.get("lot")),
            self.text(keys.get("note")),
        )

    @staticmethod
    def grams(node: Node) -> Any:
        if isinstance(node, Scalar) and node.kind == "number":
            return units.decimal(node, "grams", "g")
        return units.mass(node, "grams")

    def percent(self, entry: Entry) -> Any:
        node, name = entry.value, entry.key.text.strip()
        if isinstance(node, Scalar) and node.kind != "number" and node.text.strip().lower() in _REMAINDER:
            return None
        return self.value(entry, lambda value: units.percent_of(name, value, f"a percent or q.s. for {name}"))

    def materials(self, entry: Entry | None) -> tuple[HouseMaterial, ...]:
        if entry is None:
            return ()
        if not isinstance(entry.value, Mapping):
            self.problem(
                entry.value.place,
                f"{describe(entry.value)} under «materials»; names of materials with what they contain were expected",
            )
            return ()
        return tuple(self.material(inner) for inner in entry.value.entries)

    def material(self, entry: Entry) -> HouseMaterial:
        name = " ".join(entry.key.text.split())
        path = pointer("materials", entry.key.text)
        facts: list[Fact] = []
        if isinstance(entry.value, Mapping):
            properties = self.properties()
            keys = self.keys(entry.value, (*properties, "note"), f"the material {name}")
            for key, inner in keys.items():
                if key != "note":
                    facts.extend(self.facts(key, inner, properties))
        elif not (isinstance(entry.value, Scalar) and entry.value.kind == "null"):
            self.problem(entry.value.place, f"{describe(entry.value)} as material {name}; its properties were expected")
        return HouseMaterial(name, tuple(facts), entry.key.place, path, self.document.path)

    def facts(self, key: str, entry: Entry, properties: Properties) -> list[Fact]:
        """One fact, or several when the value is a list of mappings with `is`."""
        node = entry.value
        if isinstance(node, Sequence) and node.items and all(_is_fact(item) for item in node.items):
            return [fact for item in node.items for fact in self.facts(key, Entry(entry.key, item), properties)]
        property = properties[key]
        when: tuple[str, ...] = ()
        note, certainty = "", "high"
        extra = self.narrowed(property, {})
        if _is_fact(node) and isinstance(node, Mapping):
            known = ("is", "when", "note", "from", "certainty", *property.extra)
            keys = self.keys(node, known, key)
            when, note = self.texts(keys.get("when")), self.text(keys.get("note")) or ""
            certainty = self.text(keys.get("certainty")) or certainty
            extra = self.narrowed(property, keys)
            node = keys["is"].value
        value = self.value(Entry(entry.key, node), lambda inner: parse(property, inner))
        if value is None:
            return []
        unit = property.unit or UNITS.get(property.kind, "")
        return [Fact(key, value, unit, when, (), certainty, True, note, extra, entry.key.place)]

    def narrowed(self, property: Property, keys: dict[str, Entry]) -> tuple[tuple[str, str], ...]:
        """What a fact holds for: as it is written, else what the property takes for granted."""
        found = dict(zip(property.extra, property.plain))
        for name in property.extra:
            text = self.value(keys.get(name), _at) if name == "at" else self.text(keys.get(name))
            if text:
                found[name] = text
        return tuple(found.items())

    def procedure(self, entry: Entry | None) -> tuple[Step, ...]:
        if entry is None:
            return ()
        if not isinstance(entry.value, Sequence):
            self.problem(entry.value.place, f"{describe(entry.value)} under «procedure»; a list of steps was expected")
            return ()
        steps = (self.step(index, node) for index, node in enumerate(entry.value.items))
        return tuple(step for step in steps if step)

    def step(self, index: int, node: Node) -> Step | None:
        number = index + 1
        if not isinstance(node, Mapping) or not node.entries:
            self.problem(
                node.place, f"{describe(node)} as step {number}; a verb with its object was expected, such as «heat: A»"
            )
            return None
        found = self.verb(node, number)
        if found is None:
            return None
        verb_entry, name = found
        verb = vocabulary.VERBS[name]
        rest = [entry for entry in node.entries if entry is not verb_entry]
        keys = self.known(rest, (*verb.keys, "note"), f"the step «{name}»")
        objects, object_places = self.objects(verb_entry)
        return Step(
            number,
            name,
            objects,
            verb_entry.key.place,
            pointer("procedure", index),
            object_places,
            {verb_entry.key.text: verb_entry.key.place, **_places(keys)},
            **self.conditions(name, keys),
        )

    def conditions(self, verb: str, keys: dict[str, Entry]) -> dict[str, Any]:
        """What the step says beside its verb: field of Step -> value."""
        found: dict[str, Any] = {}
        for key, entry in keys.items():
            if key in _TEXTS_OF_STEP:
                field, several = _TEXTS_OF_STEP[key]
                found[field] = self.texts(entry) if several else self.text(entry)
            elif key == "to" and verb in ("adjust pH", "neutralise"):
                found["to_pH"] = self.value(entry, _aimed_pH)
            elif key in ("at", "to"):
                found[key] = self.value(entry, self.temperature)
            else:
                field, read = _FIGURES_OF_STEP[key]
                found[field] = self.value(entry, read)
        return found

    def temperature(self, node: Node) -> Temperature:
        return units.temperature(node, self.room)

    def verb(self, node: Mapping, number: int) -> tuple[Entry, str] | None:
        """The entry that holds the verb, wherever it stands: `hold` beside `heat` is a condition of that.

        Of two verbs the first counts; the other is noted as a problem by `keys`.
        """
        found = [(entry, name) for entry in node.entries if (name := _verb(entry.key.text)) is not None]
        if len(found) == 1:
            return found[0]
        conditions = {key for _, name in found for key in vocabulary.VERBS[name].keys}
        verbs = [each for each in found if each[1] not in conditions] or found
        if verbs:
            return verbs[0]
        first = node.entries[0].key
        hint = suggestion(first.text, vocabulary.VERBS) or f"; the verbs are {', '.join(vocabulary.VERBS)}"
        self.problem(first.place, f"«{first.text}» is not a verb of the procedure (step {number}){hint}")
        return None

    def objects(self, entry: Entry) -> tuple[tuple[str, ...], tuple[Place, ...]]:
        items = entry.value.items if isinstance(entry.value, Sequence) else (entry.value,)
        if not items:
            self.problem(entry.value.place, f"«{entry.key.text}» of nothing; a phase or a material was expected")
        pairs = [(text, item.place) for item in items if (text := self.text_in(item, entry.key)) is not None]
        return tuple([" ".join(text.split()) for text, _ in pairs]), tuple([place for _, place in pairs])

    def finished(self, entry: Entry | None) -> Finished:
        keys = self.mapping(entry, vocabulary.FINISHED_KEYS, "finished")
        measured = self.value(keys.get("measured pH"), lambda node: units.ph(node, "a measured pH"))
        return Finished(
            place=entry.key.place if entry else self.place,
            pH=self.value(keys.get("pH"), lambda node: units.ph(node, "a pH")),
            measured_pH=measured.low if measured else None,
            places=_places(keys),
        )

    def packaging(self, entry: Entry | None) -> Packaging | None:
        if entry is None:
            return None
        keys = self.mapping(entry, vocabulary.PACKAGING_KEYS, "packaging")
        container, material = self.text(keys.get("container")), self.text(keys.get("material"))
        carton = self.one_of(keys.get("carton"), ("yes", "no", "true", "false"))
        return Packaging(
            place=entry.key.place,
            container=container.lower() if container else None,
            material=material,
            wall=self.one_of(keys.get("wall"), vocabulary.WALLS),
            carton=None if carton is None else carton in ("yes", "true"),
            size_ml=self.value(keys.get("size"), lambda node: units.volume(node, "a pack size")),
            places=_places(keys),
        )

    def claims(self, entry: Entry | None) -> tuple[Claim, ...]:
        if entry is None:
            return ()
        items = entry.value.items if isinstance(entry.value, Sequence) else (entry.value,)
        result = []
        for index, item in enumerate(items):
            text = self.text_in(item, entry.key)
            if text:
                result.append(Claim(text, item.place, pointer("claims", index)))
        return tuple(result)

    def deviations(self, entry: Entry | None) -> tuple[Deviation, ...]:
        if entry is None:
            return ()
        if not isinstance(entry.value, Sequence):
            self.problem(entry.value.place, f"{describe(entry.value)} under «deviations»; a list was expected")
            return ()
        found = (self.deviation(index, item) for index, item in enumerate(entry.value.items))
        return tuple(deviation for deviation in found if deviation)

    def deviation(self, index: int, node: Node) -> Deviation | None:
        if not isinstance(node, Mapping):
            self.problem(node.place, f"{describe(node)} as deviation; «rule:» and «reason:» were expected")
            return None
        keys = self.keys(node, vocabulary.DEVIATION_KEYS, "a deviation")
        rule, reason = self.text(keys.get("rule")), self.text(keys.get("reason"))
        if "rule" not in keys:
            self.problem(node.place, "a deviation without a rule; name the rule whose finding is accepted")
        if "reason" not in keys:
            self.problem(node.place, f"the deviation from {rule or 'a rule'} has no reason; a reason is required")
        if not rule or not reason:
            return None
        return Deviation(
            rule=rule,
            reason=reason,
            place=keys["rule"].value.place,
            path=pointer("deviations", index),
            accepted_by=self.text(keys.get("accepted by")),
            until=self.value(keys.get("until"), _date),
            of=self.text(keys.get("of")),
        )


def _aimed_pH(node: Node) -> Range:
    return units.ph(node, "a pH")


def _strength(node: Node) -> Decimal:
    value = units.percent(node, "a strength")
    if not 0 < value <= 100:
        raise Misread(f"{describe(node)} as strength; it is a percent above 0, at most 100")
    return value


_TEXTS_OF_STEP = {"into": ("into", False), "in": ("in_", True), "with": ("with_", True), "note": ("note", False)}
"""Key of a step -> field of Step, and whether it takes several."""
_FIGURES_OF_STEP: dict[str, tuple[str, Callable[[Node], Any]]] = {
    "hold": ("hold_seconds", units.duration),
    "for": ("for_seconds", units.duration),
    "over": ("over_seconds", units.duration),
    "strength": ("strength_percent", _strength),
    "amount": ("amount_g", units.amount),
}


@lru_cache(maxsize=256)
def _verb(written: str) -> str | None:
    """The verb that is meant, in our spelling; None for a word that is none."""
    name = vocabulary.OTHER_SPELLINGS.get(written.strip().lower(), written.strip())
    return next((verb for verb in (name, name.lower()) if verb in vocabulary.VERBS), None)


def _names(step: Step) -> int:
    return len(step.objects) + len(step.in_) + len(step.with_)


def _at(node: Node) -> str:
    """A temperature in the reference's own writing; "" for the room's, whatever that is."""
    found = units.temperature(node, 0.0, "at")
    return "" if found.room else f"{found.celsius:g} °C"


def _is_fact(node: Node) -> bool:
    return isinstance(node, Mapping) and node.get("is") is not None


def _date(node: Node) -> date:
    text = node.text.strip() if isinstance(node, Scalar) else ""
    try:
        if len(text) != 10:
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise Misread(f"{describe(node)} where a date was expected; write it as 2027-03-31") from None


def _places(keys: dict[str, Entry]) -> dict[str, Place]:
    return {name: entry.value.place for name, entry in keys.items()}
