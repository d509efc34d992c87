"""What a rule is: one file that reads like a page of a handbook, with a short check at its end.

A rule module has `rule`, a Rule made by declare(), and `check(sheet)`, a generator of findings. It may have
`concerns(sheet)`: False where the formula holds nothing that the rule looks at. Its id is its file name, its family
the folder it lies in. Where a finding has one right answer the module may also have `corrections(sheet, finding)`, a
generator of formcheck.review.corrections.Correction.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable, Iterable, Iterator
from types import ModuleType
from typing import TYPE_CHECKING, Any, Protocol, TypeAlias

from ..bench.worksheet import Worksheet
from ..reading.document import Place
from ..records import NamedTuple
from .rule_files import rule_files

if TYPE_CHECKING:
    from .corrections import Correction

SEVERITIES = ("critical", "major", "minor", "note")
HARMS = {
    "unsafe": "critical",
    "unlawful": "critical",
    "unpreserved": "critical",
    "fails": "major",
    "cannot be made": "major",
    "untidy": "minor",
    "worth knowing": "note",
}
"""Kind of harm -> severity, the trade's grading of audit findings."""


class Anchored(Protocol):
    """Anything of the formula with a place and a JSON Pointer: a line, a step, a phase, a claim."""

    @property
    def place(self) -> Place: ...

    @property
    def path(self) -> str: ...


At: TypeAlias = "Anchored | tuple[Place, str]"


class Finding(NamedTuple):
    """Something a rule found. Never changed after the rule made it.

    message: one sentence with found value, limit and unit; why, remedy: for the maker; source: where the limit comes
    from; path: JSON Pointer (RFC 6901) into the file; materials: names concerned; step: number of the step, or None.
    """

    rule: str
    severity: str
    place: Place
    path: str
    message: str
    why: str
    remedy: str
    source: str
    materials: tuple[str, ...] = ()
    step: int | None = None


class Unchecked(NamedTuple):
    """Something a rule could not judge. needs: what is missing and how to supply it."""

    rule: str
    needs: str


class Option(NamedTuple):
    """A setting of a rule that a house may change: name, default, unit, meaning."""

    name: str
    default: float
    unit: str
    about: str


class Rule:
    """A rule's declaration. See declare()."""

    def __init__(
        self,
        finds: str,
        harm: str,
        why: str,
        remedy: str,
        needs: tuple[str, ...] = (),
        facts: tuple[str, ...] = (),
        options: tuple[Option, ...] = (),
        sources: tuple[str, ...] = (),
        flawed: str = "",
        mended: str = "",
    ) -> None:
        self.finds = finds
        self.harm = harm
        self.why = why
        self.remedy = remedy
        self.needs = needs
        self.facts = facts
        self.options = options
        self.sources = sources
        self.flawed = flawed
        self.mended = mended
        self.id = ""
        self.family = ""
        self.pack = ""
        self.check: Callable[[Worksheet], Iterable[Finding | Unchecked]] = _nothing
        self.concerns: Callable[[Worksheet], bool] = _always
        self.corrections: Callable[[Worksheet, Finding], Iterable[Correction]] | None = None

    def __repr__(self) -> str:
        return f"Rule({self.id!r})"

    @property
    def severity(self) -> str:
        """The severity of its kind of harm; a finding may have another."""
        return HARMS[self.harm]

    def option(self, name: str, sheet: Worksheet) -> float:
        """The value of an option that is in force for a formula: the house's own, else the declared one."""
        own = sheet.options.get(self.id)
        value = own.get(name) if own else None
        return next(option.default for option in self.options if option.name == name) if value is None else value

    def finding(
        self,
        at: At,
        message: str,
        *,
        why: str | None = None,
        remedy: str | None = None,
        source: str = "",
        harm: str | None = None,
        materials: Iterable[str] = (),
        step: int | None = None,
    ) -> Finding:
        """A finding of this rule. why and remedy replace the declared ones where the case calls for it."""
        place, path = at if isinstance(at, tuple) and len(at) == 2 else (at.place, at.path)
        return Finding(
            self.id,
            HARMS[harm or self.harm],
            place,
            path,
            _one_stop(message),
            why or self.why,
            _one_stop(remedy or self.remedy),
            source,
            tuple(materials),
            step,
        )

    def unchecked(self, needs: str) -> Unchecked:
        """Says that something could not be judged, and what to add."""
        return Unchecked(self.id, needs)


def declare(
    *,
    finds: str,
    harm: str,
    why: str,
    remedy: str,
    needs: tuple[str, ...] = (),
    facts: tuple[str, ...] = (),
    options: tuple[Option, ...] = (),
    sources: tuple[str, ...] = (),
    flawed: str,
    mended: str,
) -> Rule:
    """A rule's declaration.

    finds: what it finds, lower case, no final stop; harm: one of HARMS; needs: parts of the formula without which it
    stays silent (see needs.py); facts: properties of materials it reads; options: settings with unit and default;
    sources: ids of shared/sources it rests on in general; flawed and mended: two formula files, the first of which
    must trigger it and the second must not.
    """
    if harm not in HARMS:
        raise ValueError(f"«{harm}» is no kind of harm; they are {', '.join(HARMS)}")
    return Rule(finds, harm, why, remedy, needs, facts, options, sources, flawed, mended)


def pack(package: ModuleType) -> Iterator[Rule]:
    """The rules of a package, as rule_files() finds them."""
    for root in package.__path__:
        for family, name in rule_files(root):
            yield from_module(importlib.import_module(f"{package.__name__}.{family}.{name}"), package.__name__)


def from_module(module: ModuleType, pack_name: str = "") -> Rule:
    """The rule that a module declares, with id and family from its name. Raises TypeError where it declares none."""
    rule: Any = getattr(module, "rule", None)
    check: Any = getattr(module, "check", None)
    if not isinstance(rule, Rule) or not callable(check):
        raise TypeError(f"{module.__name__} is no rule: it needs «rule = declare(...)» and «def check(sheet)»")
    *_, family, name = ("", *module.__name__.split("."))
    rule.id = name.replace("_", "-")
    rule.family = family.replace("_", "-")
    rule.pack = pack_name
    rule.check = check
    rule.concerns = getattr(module, "concerns", _always)
    rule.corrections = getattr(module, "corrections", None)
    return rule


def _one_stop(text: str) -> str:
    """The text with one full stop where a name that ends in one ends a sentence; dots that stand for more are kept."""
    return re.sub(r"(?<!\.)\.\.(?!\.)", ".", text) if ".." in text else text


def _always(sheet: Worksheet) -> bool:
    return True


def _nothing(sheet: Worksheet) -> Iterable[Finding | Unchecked]:
    return ()
