"""The reference in use: compiled once into the user's cache, then mapped; a material is decoded when first asked for."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from ..formula.model import Fact, Formula, HouseMaterial
from ..formula.names import NameIndex, fold, runs_of_three
from ..formula.properties import Property
from ..lazy import cached_property
from ..records import NamedTuple
from .kept import kept
from .material import Material, fact_from_json
from .spelling import blend_key, blends, colour_index, parts_of, plainer, without_remarks
from .strengths import in_water, solution, spellings, strength_in, without_solution
from .tables import Tables, written

if TYPE_CHECKING:
    from .legal import Legal

_FOLDERS = ("limits", "materials", "sources")
"""Folders of shared/ that the reference is compiled from."""
_LONGEST_NAME = 300
"""Three times the longest of the reference; what is longer is not taken apart."""


_MOST_NEAR = 1000
"""Unknown names of which the nearest known ones are kept: a house writes the same ones in file after file."""
_MOST_UNKNOWN = 1000
"""Unknown names that are kept with what the law says of them."""


class Source(NamedTuple):
    """A citable work."""

    id: str
    title: str
    kind: str
    issuer: str = ""
    year: str = ""
    where: str = ""
    confirmed: str = ""

    @property
    def citation(self) -> str:
        """One line that names the work."""
        if self.kind in ("common practice", "from memory", "supplier data"):
            return self.title
        return ", ".join(part for part in (self.issuer, self.title, self.year, self.where) if part)


def shared_folder() -> str:
    """Where the reference's source files are."""
    import formcheck_shared

    return os.path.dirname(os.path.abspath(formcheck_shared.__file__ or ""))


class Reference:
    """Looks materials, classes, sources and limits up."""

    def __init__(self, data: bytes | Tables) -> None:
        self._tables = data if isinstance(data, Tables) else Tables(data)
        self._names: Mapping[str, str] = self._tables["names"]
        self._materials: Mapping[str, dict[str, list[Any]]] = self._tables["materials"]
        self._classes: Mapping[str, list[str]] = self._tables["classes"]
        self._found: dict[str, Material | None] = {}
        self._unknown: dict[str, Material] = {}
        self._limits: dict[str, Fact] = {}
        self._figures: dict[str, float] = {}
        self._near: dict[tuple[str, int], tuple[str, ...]] = {}

    @cached_property
    def properties(self) -> Mapping[str, Property]:
        """Properties of materials by name."""
        return {
            name: Property._make(tuple(value) if isinstance(value, list) else value for value in data.values())
            for name, data in self._tables["properties"].items()
        }

    @property
    def mistakes(self) -> list[tuple[str, int, int, str]]:
        """(file, line, column, message) of every mistake in files that plug-ins brought."""
        return [(file, line, column, message) for file, line, column, message in self._tables["mistakes"]]

    @property
    def classes(self) -> Mapping[str, list[str]]:
        """Class -> all wider classes."""
        return self._classes

    def about_class(self, name: str) -> str:
        """What a class is, in a sentence; empty for an unknown one."""
        return str(self._tables["about classes"].get(name, ""))

    def needs_of_class(self, name: str) -> list[str]:
        """Properties that a material of this class cannot do without, its wider classes' included."""
        needs: list[str] = []
        for each in (name, *self._classes.get(name, ())):
            own = self._tables["needs of classes"].get(each)
            needs.extend(own or ())
            if own is not None and not own:
                break
        return list(dict.fromkeys(needs))

    def source(self, id: str) -> Source:
        """The work behind a source id; an unknown id gives a work of that name."""
        data = self._tables["sources"].get(id)
        if data is None:
            return Source(id, id, "from memory")
        return Source(id, **{key: str(data.get(key, "")) for key in Source._fields[1:]})

    def cite(self, ids: Iterable[str]) -> str:
        """The works behind source ids, in one line."""
        return "; ".join(self.source(id).citation for id in ids)

    def limit(self, name: str) -> Fact:
        """A general limit by its name in shared/limits. Raises KeyError."""
        found = self._limits.get(name)
        if found is None:
            found = self._limits[name] = self._limit(name)
        return found

    def figure(self, name: str) -> float:
        """A general limit as a number. Raises KeyError."""
        if name not in self._figures:
            self._figures[name] = float(self.limit(name).value)
        return self._figures[name]

    def _limit(self, name: str) -> Fact:
        value, when, source, certainty, used, note, extra = self._tables["limits"][name]
        unit = dict((key, text) for key, text in extra).get("unit", "")
        return Fact(name, value, unit, tuple(when), tuple(source), certainty, used, note)

    @property
    def limits(self) -> Iterable[str]:
        """The names of all general limits."""
        known: Mapping[str, Any] = self._tables["limits"]
        return known.keys()

    @cached_property
    def legal(self) -> Legal:
        """The legal tables, opened once."""
        from .legal import open_legal

        return open_legal()

    # --- materials

    @property
    def headings(self) -> Iterable[str]:
        """The names of all materials of the reference."""
        return self._materials.keys()

    @property
    def names(self) -> Iterable[str]:
        """Every name, folded, under which a material can be found."""
        return self._names.keys()

    def nearest(self, name: str, most: int = 3) -> list[str]:
        """Headings of the materials whose names look most like this one, best first."""
        asked = (name, most)
        if asked not in self._near:
            if len(self._near) >= _MOST_NEAR:
                self._near.clear()
            self._near[asked] = tuple(dict.fromkeys(self._names[near] for near in self._index.nearest(name, most)))
        return list(self._near[asked])

    @cached_property
    def _index(self) -> NameIndex:
        return NameIndex(list(self._names), self._tables["runs of three"])

    def find(self, name: str) -> Material | None:
        """The material with this INCI, common or other name, without regard to case and spaces.

        A remark in brackets and words of grade (organic, USP) are passed over, and a blend is found by its parts in any
        order, unless the name is known as it stands. A strength makes it a solution of that strength.
        """
        if len(name) > _LONGEST_NAME:
            return None
        folded = fold(name)
        if folded in self._found:
            return self._found[folded]
        heading = self._names.get(folded) or self._other_spelling(name)
        if heading is None:
            found = self._found[folded] = self._of_strength(name)
            return found
        material = self._found.get(fold(heading)) or self._load(heading)
        self._found[folded] = self._found[fold(heading)] = material
        return material

    def _other_spelling(self, name: str) -> str | None:
        numbered = self._names.get(fold(colour_index(name)))
        rounded = name.replace("[", "(").replace("]", ")")
        written = numbered or self._names.get(fold(rounded)) or self._names.get(fold(rounded.replace("(and)", "and")))
        if written is not None:
            return written
        plain = without_remarks(rounded)
        key = blend_key(plain, self._names.get)
        found = self._names.get(fold(plain)) or (self._tables["blends"].get(key) if key else None)
        return found or next((self._names[fold(each)] for each in plainer(name) if fold(each) in self._names), None)

    def unknown(self, name: str) -> Material:
        """A material of which only the name is known; one for all formulas, so that the law is asked once about the name."""
        found = self._unknown.get(name)
        if found is None:
            if len(self._unknown) >= _MOST_UNKNOWN:
                self._unknown.clear()
            found = self._unknown[name] = Material(name, {}, frozenset(), known=False)
        return found

    def parts_named(self, name: str) -> list[Material]:
        """The known materials that the name of an unknown mixture lists; none where it lists nothing."""
        parts = parts_of(name)
        found = [self.find(part) for part in parts] if len(parts) > 1 else []
        return [material for material in found if material is not None]

    def _of_strength(self, name: str) -> Material | None:
        """A solution that the reference has, else one made up; the material itself where that would be a guess."""
        strength = strength_in(name)
        base = self._undiluted(strength.name) if strength else None
        if strength is None or base is None:
            return None
        known = (self._names.get(fold(spelling)) for spelling in spellings(base, strength))
        heading = next((found for found in known if found is not None), None)
        if heading is not None:
            return self.find(heading)
        weaker = strength.percent < self._pure_from and in_water(base)
        # named alike however a formula writes it: the next formula may get the same one
        return solution(f"{base.name} {strength.text} %", base, strength.percent) if weaker else base

    def _undiluted(self, name: str) -> Material | None:
        """The material, or what a solution of it in water is a solution of."""
        found = self.find(name) or self.find(without_solution(name))
        inside = [part for part, _ in found.contains if fold(part) != "aqua"] if found else []
        one = found is not None and len(inside) == 1 and len(found.contains) == 2
        return self.find(inside[0]) if one else found

    @property
    def _pure_from(self) -> float:
        return float(self.limit("strength that is only a purity").value)

    def strength_passed_over(self, name: str) -> bool:
        """Whether a name tells a strength that is not counted, because nobody can say what the rest is."""
        strength = strength_in(name)
        if strength is None or strength.percent >= self._pure_from or fold(name) in self._names:
            return False
        material = self.find(name)
        return material is not None and material is self.find(strength.name)

    def all(self) -> Iterator[Material]:
        """Every material, in the order of the files."""
        for heading in self._materials:
            material = self.find(heading)
            if material is not None:
                yield material

    def beside(self, heading: str) -> list[str]:
        """The materials of the same file under shared/materials, itself among them, in their order."""
        return self._by_file.get(self.file_of(heading), [])

    @cached_property
    def _by_file(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for heading in self.headings:
            found.setdefault(self.file_of(heading), []).append(heading)
        return found

    def file_of(self, heading: str) -> str:
        """The file under shared/materials in which a material stands."""
        return str(self._tables["files"].get(heading, ""))

    def _load(self, heading: str) -> Material:
        raw = self._materials[heading]
        kinds = self._tables["kinds"]
        facts = {
            name: tuple(fact_from_json(fact, name, *kinds.get(name, ("text", ""))) for fact in values)
            for name, values in raw.items()
        }
        return Material(heading, facts, self.widened(facts["class"][0].value if "class" in facts else ()))

    def widened(self, classes: Iterable[str]) -> frozenset[str]:
        """Classes with all wider ones."""
        result = set(classes)
        for name in classes:
            result.update(self._classes.get(name, ()))
        return frozenset(result)

    # --- materials of the house

    def for_formula(self, formula: Formula, beside: Iterable[HouseMaterial] = ()) -> MaterialBook:
        """The names of one formula: its own materials first, then those of files beside it, then the reference."""
        return MaterialBook(self, (*beside, *formula.materials))


class MaterialBook:
    """The reference together with the house's materials; the last description of a property wins."""

    def __init__(self, reference: Reference, house: Iterable[HouseMaterial]) -> None:
        self.reference = reference
        self._house: dict[str, Material] = {}
        self._files: dict[str, HouseMaterial] = {}
        for description in house:
            self._house[fold(description.name)] = self._merged(description)
            self._files[fold(description.name)] = description

    def _merged(self, description: HouseMaterial) -> Material:
        facts: dict[str, tuple[Fact, ...]] = {}
        grouped: dict[str, list[Fact]] = {}
        for fact in description.facts:
            grouped.setdefault(fact.property, []).append(fact)
        inci = next((fact.value for fact in grouped.get("INCI", ())), description.name)
        base = self._house.get(fold(description.name)) or self.reference.find(inci)
        if base is not None and "contains" not in grouped:
            facts.update(base.facts)
        facts.update({name: tuple(values) for name, values in grouped.items()})
        facts.update(_mass_of(grouped.get("formula", ())))
        facts.update(self._shares_of(grouped.get("releases", ()), facts.get("molar mass", ())))
        classes = self.reference.widened(facts["class"][0].value if "class" in facts else ())
        same = base is not None and "contains" not in grouped
        name = base.name if base is not None and same else description.name
        return Material(name, facts, classes, True, True)

    def _shares_of(self, released: Iterable[Fact], masses: Iterable[Fact]) -> Iterator[tuple[str, tuple[Fact, ...]]]:
        """The weight shares of what the house says a material releases; of moles only where both molar masses are known."""
        own = next((float(fact.value) for fact in masses), None)
        for fact in released:
            shares = [(target, self._share(target, amount, own)) for target, amount in fact.value]
            known = [(target, share) for target, share in shares if share is not None]
            if known:
                yield "release share", (Fact("release share", known, "g/g", place=fact.place),)

    def _share(self, target: str, amount: float | str, own: float | None) -> float | None:
        if isinstance(amount, str):
            return float(amount.rstrip("% ")) / 100
        other = self.find(target)
        mass = other.molar_mass if other is not None else None
        return amount * mass / own if mass and own else None

    def find(self, name: str) -> Material | None:
        """The house's own material of this name, else the reference's."""
        return self._house.get(fold(name)) or self.reference.find(name)

    def material(self, name: str) -> Material:
        """What find() gives, else a material of which only the name is known."""
        return self.find(name) or self.reference.unknown(name)

    def described(self, name: str) -> HouseMaterial | None:
        """The house's own description of a material, where there is one."""
        return self._files.get(fold(name))


def _mass_of(formulas: Iterable[Fact]) -> Iterator[tuple[str, tuple[Fact, ...]]]:
    """The molar mass that the house's own formula of a material gives; nothing where it cannot be read."""
    from .masses import molar_mass

    for fact in formulas:
        with suppress(ValueError):
            yield "molar mass", (Fact("molar mass", round(molar_mass(str(fact.value)), 3), "g/mol", place=fact.place),)


# --- compiling and caching


def compiled(folder: str, more_materials: Iterable[str] = ()) -> bytes:
    """The compiled form of the source files in a folder."""
    from .sources import compile_folder

    brought = tuple(more_materials)
    result = compile_folder(folder, brought)
    names: dict[str, str] = {}
    for heading, facts in result.materials.items():
        also = facts["also"][0][0] if "also" in facts else ()
        for name in (heading, *also):
            names.setdefault(fold(name), heading)
    for heading, facts in result.materials.items():
        for key in ("INCI", "INCI US"):
            if key in facts:
                names.setdefault(fold(facts[key][0][0]), heading)
    contains = {
        heading: [part for part, _ in facts["contains"][0][0]] if "contains" in facts else []
        for heading, facts in result.materials.items()
    }
    return written(
        {
            "names": names,
            "runs of three": runs_of_three(names),
            "blends": blends(contains, names.get),
            "materials": result.materials,
            "classes": {name: data["is"] for name, data in result.classes.items()},
            "limits": result.limits,
            "mistakes": [(m.file, *m.place, m.message) for m in result.mistakes if m.file in brought],
            "kinds": {
                **{name: [data["kind"], data["unit"]] for name, data in result.properties.items()},
                "molar mass": ["number", "g/mol"],
                "release share": ["amounts", "g/g"],
            },
            "files": result.files,
            "about classes": {name: data["about"] for name, data in result.classes.items()},
            "needs of classes": {
                name: data["needs"] for name, data in result.classes.items() if data["needs"] is not None
            },
            "sources": result.sources,
            "properties": result.properties,
        }
    )


def open_reference(more_materials: Iterable[str] = ()) -> Reference:
    """The reference, from the cache where it is fresh."""
    folder = shared_folder()
    more = tuple(more_materials)
    return Reference(kept("reference", (*_source_files(folder), *more), lambda: compiled(folder, more)))


def _source_files(folder: str) -> Iterator[str]:
    """What the reference is compiled from: lists in the folder itself, and folders of the like but for the law's."""
    with os.scandir(folder) as top:
        entries = sorted(top, key=lambda item: item.name)
    for entry in entries:
        if entry.name.endswith(".yaml"):
            yield entry.path
        elif entry.name in _FOLDERS:
            with os.scandir(entry.path) as inner:
                yield from sorted(item.path for item in inner if item.name.endswith(".yaml"))
