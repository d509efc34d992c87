"""The materials of the reference as pages, one a class: every fact with its sources, and who reads it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

from ..formula.model import Fact
from ..formula.names import fold
from ..formula.properties import Property
from ..reference.material import Material
from ..reference.store import Reference
from ..review.rule import Rule
from . import facts
from .handbook import path_of
from .page_text import bullets, prose, slug, table

_NAMED = ("also", "INCI US", "CAS", "EC", "formula", "class", "form", "contains")
"""What names a material, in the order in which it is told; `about` and `INCI` stand elsewhere."""
_UNSAID = (*_NAMED, "about", "INCI", "release share")
_LABELS = {"also": "also called", "INCI US": "on US labels", "class": "kind"}
_OTHERS = "others"
CAUTION = (
    "What the rules go by, not a verdict on your lot: your supplier's data sheets and local rules come first. Nothing here "
    "calls a product safe."
)


class Materials:
    """The pages of all materials. Each material stands in full on the page of the first class it is given."""

    def __init__(self, reference: Reference, rules: Sequence[Rule]) -> None:
        self.reference = reference
        self.rules = rules
        self.all = sorted(reference.all(), key=lambda material: fold(material.name))

    def pages(self) -> dict[str, str]:
        """Path -> text."""
        classes = {f"materials/{slug(name)}.md": self._class(name) for name in self.classes}
        return {
            "materials/index.md": self._index(),
            "materials/a-to-z.md": self._a_to_z(),
            "materials/facts.md": self._facts(),
            **classes,
        }

    @cached_property
    def classes(self) -> list[str]:
        """The classes that have a page, by name."""
        return sorted({*self.reference.classes, *self._homes}, key=str.casefold)

    @cached_property
    def _homes(self) -> dict[str, list[Material]]:
        """Class -> the materials that stand in full on its page."""
        homes: dict[str, list[Material]] = {}
        for material in self.all:
            homes.setdefault(home(material), []).append(material)
        return homes

    @cached_property
    def _anchors(self) -> dict[str, str]:
        """Material -> the place on its page."""
        found: dict[str, str] = {}
        for materials in self._homes.values():
            taken: set[str] = set()
            for material in materials:
                anchor = name = f"m-{slug(material.name)}"
                number = 1
                while anchor in taken:
                    number += 1
                    anchor = f"{name}-{number}"
                taken.add(anchor)
                found[material.name] = anchor
        return found

    def _link(self, material: Material) -> str:
        return f"[{prose(material.name)}]({slug(home(material))}.md#{self._anchors[material.name]})"

    # --- pages over all

    def _index(self) -> str:
        rows = []
        for name in self.classes:
            members = [material for material in self.all if name in material.classes]
            rows.append(
                (f"[{prose(name)}]({slug(name)}.md)", str(len(members)), prose(self.reference.about_class(name)))
            )
        lines = [
            "# Materials",
            "",
            f"{len(self.all)} raw materials of the reference, by kind. Each stands in full on the page of the kind it is first of "
            "all, and is named on those of the others. [All from A to Z](a-to-z.md). [What is said of a material](facts.md).",
            "",
            *table(("kind", "materials", "what it is"), rows),
            CAUTION,
        ]
        return "\n".join(lines) + "\n"

    def _a_to_z(self) -> str:
        lines = ["# Materials from A to Z", ""]
        letters: dict[str, list[Material]] = {}
        for material in self.all:
            first = fold(material.name)[:1].upper()
            letters.setdefault(first if first.isalpha() else "0 to 9", []).append(material)
        for letter, materials in letters.items():
            lines.extend((f"## {letter}", ""))
            lines.extend(bullets(f"{self._link(each)}{self._aliases(each)}" for each in materials))
        return "\n".join(lines)

    def _aliases(self, material: Material) -> str:
        names = material.value("also") or ()
        return f": {prose(', '.join(names))}" if names else ""

    def _facts(self) -> str:
        rows = []
        for name, property in self.reference.properties.items():
            readers = [f"[{rule.id}](../handbook/{path_of(rule)})" for rule in self.rules if name in rule.facts]
            count = sum(name in material.facts for material in self.all)
            rows.append((prose(name), prose(property.unit), str(count), prose(_about(property)), ", ".join(readers)))
        lines = [
            "# What is said of a material",
            "",
            "Every property that the reference holds and that a formula file may give under `materials:`, with the number of "
            "materials of which it is known and the rules that read it.",
            "",
            *table(("fact", "unit", "known of", "what it is", "read by"), rows),
        ]
        return "\n".join(lines)

    # --- one class

    def _class(self, name: str) -> str:
        return "\n".join(self._class_lines(name)).rstrip() + "\n"

    def _class_lines(self, name: str) -> Iterator[str]:
        own = self._homes.get(name, [])
        others = [material for material in self.all if name in material.classes and home(material) != name]
        yield from (f"# {prose(name[:1].upper() + name[1:])}", "")
        about = self.reference.about_class(name)
        if about:
            yield from (f"{prose(about).rstrip('.')}.", "")
        yield from self._kin(name)
        needs = self.reference.needs_of_class(name) if name in self.reference.classes else []
        if needs:
            yield from (f"Rules need of it: {prose(', '.join(needs))}.", "")
        sources: dict[str, int] = {}
        for material in own:
            yield from self._material(material, sources)
        if others:
            yield from (f"## {'Also of this kind' if own else 'Of this kind'}", "")
            yield from bullets(map(self._link, others))
        if sources:
            yield from ("## Sources", "")
            for id, number in sources.items():
                yield f"{number}. {prose(self.reference.source(id).citation).rstrip('.')}."
            yield ""
        yield CAUTION

    def _kin(self, name: str) -> Iterator[str]:
        wider = self.reference.classes.get(name, [])
        narrower = [each for each, of in self.reference.classes.items() if of[:1] == [name]]
        for words, names in (("A kind of", wider), ("Kinds of it:", narrower)):
            if names:
                yield from (f"{words} {', '.join(f'[{prose(each)}]({slug(each)}.md)' for each in names)}.", "")

    def _material(self, material: Material, sources: dict[str, int]) -> Iterator[str]:
        yield from (f"## {prose(material.name)} {{#{self._anchors[material.name]}}}", "")
        if material.value("about"):
            yield from (prose(str(material.value("about"))), "")
        rows = [(_LABELS.get(name, name), self._named(material, name)) for name in _NAMED if material.facts.get(name)]
        for name, values in material.facts.items():
            if name not in _UNSAID:
                labels = (prose(name), *("",) * (len(values) - 1))
                rows.extend((label, self._told(fact, sources)) for label, fact in zip(labels, values))
        yield from table(("", ""), rows)

    def _named(self, material: Material, name: str) -> str:
        if name == "class":
            return ", ".join(f"[{prose(each)}]({slug(each)}.md)" for each in material.value("class"))
        return prose(facts.shown(material.facts[name][0], self.reference.properties.get(name)))

    def _told(self, fact: Fact, sources: dict[str, int]) -> str:
        numbers = [sources.setdefault(id, len(sources) + 1) for id in fact.source]
        text = prose(facts.told(fact, self.reference.properties.get(fact.property)))
        return f"{text} ({', '.join(map(str, numbers))})" if numbers else text


def home(material: Material) -> str:
    """The class on whose page a material stands."""
    return str(next(iter(material.value("class") or ()), _OTHERS))


def _about(property: Property) -> str:
    words = f" One of: {', '.join(property.words)}." if property.words else ""
    return f"{property.about}{words}"
