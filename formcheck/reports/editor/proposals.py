"""What may be written where the cursor stands, best first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from ...formula import vocabulary
from ...formula.names import fold
from ...formula.properties import Property
from ...reading.document import Unreadable, plain
from ...reading.yaml_reader import read_yaml
from ...records import NamedTuple
from . import sketch
from .opened import FORMULA, OTHER, Opened
from .pieces import Path
from .sketch import Cursor

MOST = 100
_NEAR = 6
_SAYS_ENOUGH = 3
"""Letters that may stand in the middle of a word and still be meant."""
_MARKETS = ("EU", "UK", "US", "CA")
_CONTAINERS = ("bottle", "dropper bottle", "airless bottle", "pump bottle", "spray bottle", "tube", "jar", "tin", "bag")
_PACK_MATERIALS = ("glass", "PET", "PETG", "PP", "HDPE", "LDPE", "PMMA", "PS", "aluminium", "tin")
_COLLECTIONS = frozenset(
    ("product", "batch", "phases", "materials", "procedure", "finished", "packaging", "deviations")
)
"""Keys whose value begins on the next line."""
_VALUES: dict[Path, tuple[str, ...]] = {
    ("formcheck",): ("1",),
    ("product", "use"): vocabulary.USES,
    ("product", "form"): vocabulary.FORMS,
    ("product", "area"): vocabulary.AREAS,
    ("product", "users"): vocabulary.USERS,
    ("product", "markets"): _MARKETS,
    ("packaging", "container"): _CONTAINERS,
    ("packaging", "material"): _PACK_MATERIALS,
    ("packaging", "wall"): vocabulary.WALLS,
    ("packaging", "carton"): ("yes", "no"),
}
_KEYS: dict[str, tuple[str, ...]] = {
    "product": vocabulary.PRODUCT_KEYS,
    "batch": vocabulary.BATCH_KEYS,
    "finished": vocabulary.FINISHED_KEYS,
    "packaging": vocabulary.PACKAGING_KEYS,
}
_TO_A_PH = ("adjust pH", "neutralise")
_CHANGE_THE_PH = ("acid", "base", "buffer")


class Idea(NamedTuple):
    """Something that may be written, before it is known how it is spelled here.

    kind: key, verb, word, rule, phase, material; detail: a few words on it; about: a sentence or two; heading: of the
    material that a name means; own: something of the formula itself, which goes before what is not.
    """

    name: str
    kind: str
    detail: str = ""
    about: str = ""
    heading: str = ""
    own: bool = False
    is_key: bool = False


class Proposal(NamedTuple):
    """An idea as it would be written. start, end: the characters it replaces."""

    idea: Idea
    text: str
    start: int
    end: int


def proposals(opened: Opened, offset: int, uncalled: bool = False) -> list[Proposal]:
    """What may be written at a character of the text, at most MOST; uncalled: nobody asked, a blank was typed."""
    cursor = sketch.cursor(opened.text, offset) if opened.what != OTHER and opened.kind == "yaml" else None
    if cursor is None:
        return []
    typed = cursor.typed.lstrip("'\"")
    if uncalled and not typed and cursor.role == "key" and not _in_a_list(cursor.path):
        return []
    found = _matching(typed, _ideas(opened, cursor)) or list(_near(typed, opened, cursor))
    return [Proposal(idea, _written(idea, cursor), cursor.start, cursor.end) for idea in found[:MOST]]


def _in_a_list(path: Path) -> bool:
    return bool(path) and isinstance(path[-1], int)


# --- what there is to choose from


def _ideas(opened: Opened, cursor: Cursor) -> Iterable[Idea]:
    path = cursor.path
    if not path:
        return _keys(opened, path, vocabulary.FILE_KEYS if opened.what == FORMULA else ("note", "materials"))
    part = str(path[0])
    if part in _KEYS and cursor.role == "key" and len(path) == 1:
        return _keys(opened, path, _KEYS[part])
    words = tuple(step for step in path if isinstance(step, str))
    if words in _VALUES:
        return [Idea(word, "word") for word in _VALUES[words]]
    within = _PARTS.get(part)
    return within(opened, cursor) if within is not None else ()


def _phases(opened: Opened, cursor: Cursor) -> Iterable[Idea]:
    path = cursor.path
    if len(path) == 2:
        return _materials(opened, is_key=True)
    if len(path) == 3 and cursor.role == "value":
        return [Idea("q.s.", "word", "whatever brings the total to 100")]
    return _keys(opened, path, vocabulary.LINE_KEYS) if len(path) == 3 else ()


def _descriptions(opened: Opened, cursor: Cursor) -> Iterable[Idea]:
    path, reference = cursor.path, opened.desk.reference
    if len(path) == 1:
        described = {piece.text for piece in opened.under("materials")}
        lines = (line for line in opened.lines if line.text not in described)
        return [Idea(line.text, "material", f"phase {line.path[1]}", is_key=True, own=True) for line in lines]
    if len(path) == 2:
        return _keys(opened, path, (*reference.properties, "note"))
    key = str(path[2])
    if key in ("INCI", "contains", "inactivated by", "quarrels with"):
        return _materials(opened, is_key=key == "contains")
    if key == "class":
        return [Idea(name, "word", about=reference.about_class(name)) for name in reference.classes]
    property = reference.properties.get(key)
    return [Idea(word, "word") for word in _words(property)] if property is not None else ()


def _words(property: Property) -> tuple[str, ...]:
    return ("yes", "no") if property.kind == "yes or no" else property.words


def _procedure(opened: Opened, cursor: Cursor) -> Iterable[Idea]:
    path = cursor.path
    verb = opened.verb(path) if len(path) > 1 else ""
    if len(path) == 1 or not verb or (len(path) == 2 and cursor.start <= _first(opened, path)):
        return _verbs(opened)
    if len(path) == 2:
        return _keys(opened, path, (*vocabulary.VERBS[verb].keys, "note"), verb)
    key = str(path[2])
    if key == "into":
        return _phase_names(opened)
    if key == "in":
        return [*_own_materials(opened), *_phase_names(opened)]
    if key == "with":
        return _with(opened, verb)
    if key in ("to", "at") and verb not in _TO_A_PH:
        return [Idea("room", "word", "room temperature")]
    return _objects(opened, verb) if key not in (*vocabulary.VERBS[verb].keys, "note") else ()


def _first(opened: Opened, path: Path) -> int:
    """Where the first key of a step begins."""
    return min((piece.start for piece in opened.step(path)), default=-1)


def _verbs(opened: Opened) -> Iterator[Idea]:
    for name, verb in vocabulary.VERBS.items():
        conditions = f"; {', '.join(verb.keys)}" if verb.keys else ""
        yield Idea(name, "verb", f"{verb.object}{conditions}", is_key=True)


def _objects(opened: Opened, verb: str) -> Iterator[Idea]:
    """What a verb takes, phases before materials."""
    takes = vocabulary.VERBS[verb].object
    if "phases" in takes:
        yield from _phase_names(opened)
    if "materials" in takes:
        yield from _own_materials(opened)


def _with(opened: Opened, verb: str) -> Iterator[Idea]:
    """Acids and bases for a pH; what a stirrer is called is the maker's own."""
    if verb == "mix":
        return
    own = list(_own_materials(opened))
    yield from own
    seen = {fold(idea.name) for idea in own}
    for name in opened.desk.names:
        suits = name.written == name.heading and name.folded not in seen
        if suits and not opened.desk.reference.widened(name.classes).isdisjoint(_CHANGE_THE_PH):
            yield Idea(name.written, "material", ", ".join(name.classes), heading=name.heading)


def _deviations(opened: Opened, cursor: Cursor) -> Iterable[Idea]:
    path = cursor.path
    if len(path) == 1:
        return [Idea("rule", "key", about=opened.desk.about((*path, 0, "rule")), is_key=True)]
    if len(path) == 2:
        return _keys(opened, path, vocabulary.DEVIATION_KEYS)
    if path[2] == "of":
        return _own_materials(opened)
    return _rules(opened) if path[2] == "rule" else ()


def _rules(opened: Opened) -> Iterator[Idea]:
    """Rules, those that found something here first."""
    last = opened.last_read
    review = last.review if last is not None else opened.seen.review
    found = {finding.rule for finding in (*review.findings, *(each.finding for each in review.accepted))}
    for rule in opened.desk.rules(opened.path).values():
        here = "finds something here" if rule.id in found else rule.family
        yield Idea(rule.id, "rule", here, f"Finds {rule.finds}.", own=rule.id in found)


def _keys(opened: Opened, path: Path, known: Iterable[str], verb: str = "") -> Iterator[Idea]:
    """The keys of a mapping that are not in it yet."""
    there = {piece.text for piece in opened.pieces if piece.role == "key" and piece.path[:-1] == path}
    for key in known:
        if key not in there or key in _typed_here(opened, path):
            yield Idea(key, "key", about=opened.desk.about((*path, key), verb), is_key=True)


def _typed_here(opened: Opened, path: Path) -> frozenset[str]:
    """Keys without a value, among them the one that is being written."""
    valued = {
        piece.path[: len(path) + 1]
        for piece in opened.pieces
        if piece.role == "value" or len(piece.path) > len(path) + 1
    }
    keys = (piece for piece in opened.pieces if piece.role == "key" and piece.path[:-1] == path)
    return frozenset(piece.text for piece in keys if piece.path not in valued)


def _phase_names(opened: Opened) -> list[Idea]:
    return [Idea(phase.text, "phase", _inside(opened, phase.text), own=True) for phase in opened.phases]


def _inside(opened: Opened, letter: str) -> str:
    """The first materials of a phase."""
    lines = [line.text for line in opened.lines if line.path[1] == letter]
    return ", ".join(lines[:3]) + (", ..." if len(lines) > 3 else "")


def _own_materials(opened: Opened) -> Iterator[Idea]:
    """The materials that stand in the phases."""
    for text, line in {line.text: line for line in opened.lines}.items():
        yield Idea(text, "material", f"phase {line.path[1]}", heading=text, own=True)


def _materials(opened: Opened, is_key: bool) -> Iterator[Idea]:
    """The house's materials, then every name of the reference."""
    for name in opened.house_names if opened.what == FORMULA else ():
        yield Idea(name, "material", "described by the house", heading=name, own=True, is_key=is_key)
    for known in opened.desk.names:
        other = "" if known.written == known.heading else f"{known.heading}; "
        yield Idea(known.written, "material", other + ", ".join(known.classes), heading=known.heading, is_key=is_key)


_PARTS: dict[str, Callable[[Opened, Cursor], Iterable[Idea]]] = {
    "phases": _phases,
    "materials": _descriptions,
    "procedure": _procedure,
    "deviations": _deviations,
}


# --- choosing, and spelling


def _matching(typed: str, ideas: Iterable[Idea]) -> list[Idea]:
    """The ideas that what was typed may become: those that begin so first, then those with a word or anything like it."""
    wanted = fold(typed)
    if not wanted:
        return sorted(ideas, key=lambda idea: not idea.own)
    ranked = []
    for number, idea in enumerate(ideas):
        name = fold(idea.name)
        at = name.find(wanted)
        rank = -1 if at < 0 else 0 if at == 0 else 1 if not name[at - 1].isalnum() else 2
        if 0 <= rank < 2 or (rank == 2 and len(wanted) >= _SAYS_ENOUGH):
            secondary = fold(idea.heading) != name and idea.kind == "material"
            ranked.append((rank, not idea.own, secondary, len(name) if idea.kind == "material" else 0, number, idea))
    ranked.sort(key=lambda each: each[:-1])
    return [each[-1] for each in ranked]


def _near(typed: str, opened: Opened, cursor: Cursor) -> Iterator[Idea]:
    """Names that look like what was typed, where no name holds it."""
    if len(cursor.path) == 2 and cursor.path[0] == "phases":
        for heading in opened.desk.reference.nearest(typed, _NEAR):
            yield Idea(heading, "material", "a near name", heading=heading, is_key=True)


def _written(idea: Idea, cursor: Cursor) -> str:
    """The idea as YAML, with the dash before it and the colon after it that are still missing."""
    name = _spelled(idea.name, cursor.bracketed)
    before = " " if cursor.glued else ""
    if not idea.is_key:
        return before + name
    if cursor.path in (("procedure",), ("deviations",)) and not cursor.bracketed:
        before += "- "
    if cursor.colon:
        return before + name
    return before + name + (":" if not cursor.path and idea.name in _COLLECTIONS else ": ")


def _spelled(name: str, bracketed: bool) -> str:
    """The name without quotes where YAML reads it so, else in quotes."""
    single = "'" + name.replace("'", "''") + "'"
    return name if name.replace(" ", "").isalnum() or _reads_as(name, bracketed) else single


def _reads_as(name: str, bracketed: bool) -> bool:
    try:
        node = read_yaml(f"{{{name}: 1}}" if bracketed else f"{name}: 1")
    except Unreadable:
        return False
    return node is not None and plain(node) == {name: "1"}
