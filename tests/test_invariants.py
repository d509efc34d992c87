"""What must not change a review: how a file is laid out, in which language and units it is written, what things are called.

Every formula of the examples, the corpus and the rules' own pages, and made ones, is written anew in another way and
reviewed again.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from copy import deepcopy
from decimal import Decimal
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest
from any_formula import LONGER, Maker, as_json, as_toml, as_yaml, examples, words
from hypothesis import given
from hypothesis import strategies as st

from formcheck.formula.names import fold
from formcheck.reading import files
from formcheck.reading.document import Mapping, Node, Sequence
from formcheck.reference.material import Material
from formcheck.review.model import HOLD, Review
from formcheck.review.run import Reviewer
from formcheck.review.settings import AS_DECLARED

HOME = Path(__file__).resolve().parent.parent
PATH = "nowhere.formula"
WEIGHING = {"balance-too-coarse", "batch-arithmetic"}
"""Rules about the scales, which see other masses where the batch or a line has another size."""
MADE = 60 * LONGER


@cache
def reviewer() -> Reviewer:
    return Reviewer(settings=AS_DECLARED)


@cache
def formulas() -> tuple[tuple[str, Any], ...]:
    """(where it is from, plain data) of every formula there is, of the rules' own pages, and of made ones."""
    found = []
    for folder in ("examples", "tests/corpus"):
        for path in sorted((HOME / folder).rglob("*.formula.*")):
            found.append((path.name, data_of(files.read(str(path)).root)))
    for rule in reviewer().rules:
        for text in (rule.flawed, rule.mended):
            found.append((f"{rule.id}, {text[:60]!r}", data_of(files.read("x.formula.yaml", text.encode()).root)))
    known = words(reviewer().reference, [rule.id for rule in reviewer().rules])
    for seed in range(MADE):
        made = Maker(Random(seed), known, 0.02).formula()
        if not reviewed(seed, as_json(made)).errors:
            found.append((f"made {seed}", json.loads(as_json(made))))
    return tuple(found)


def data_of(node: Node) -> Any:
    """Plain data; numbers as numbers, so that every language writes them as such."""
    if isinstance(node, Mapping):
        return {entry.key.text: data_of(entry.value) for entry in node.entries}
    if isinstance(node, Sequence):
        return [data_of(item) for item in node.items]
    if node.kind == "number":
        return json.loads(node.text.lstrip("+"))
    return None if node.kind == "null" else node.text


def reviewed(_: object, text: str, ending: str = "json") -> Review:
    return reviewer().review(f"/{PATH}.{ending}", text.encode())


@cache
def before(number: int) -> Review:
    return reviewed(number, as_json(formulas()[number][1]))


def judged(review: Review, without: frozenset[str] | set[str] = frozenset()) -> dict[str, list[str]]:
    """Severities by rule, of what counts and of what was accepted."""
    found: dict[str, list[str]] = {}
    for finding in (*review.findings, *review.settled):
        if finding.rule not in without:
            found.setdefault(finding.rule, []).append(finding.severity)
    return {rule: sorted(severities) for rule, severities in sorted(found.items())}


def kinds(review: Review) -> set[tuple[str, str]]:
    """Rules with the severities they find, but for those about the scales."""
    return {(rule, severity) for rule, found in judged(review, WEIGHING).items() for severity in found}


def told(review: Review) -> list[tuple[str, ...]]:
    """All that a review says, but for where it stands."""
    said = [(f.rule, f.severity, f.path, f.message, f.why, f.remedy, f.source) for f in review.findings]
    return sorted(tuple(re.sub(r"\bline \d+", "a line", each) for each in words) for words in said)


NUMBERS = st.integers(0, 10**6)
SEEDS = st.integers(0, 2**32 - 1)
few = examples(150)
fewer = examples(50)


def pick(number: int) -> tuple[int, str, Any]:
    number %= len(formulas())
    name, data = formulas()[number]
    return number, name, deepcopy(data)


# --- the file as such


@few
@given(NUMBERS, st.sampled_from(("yaml", "toml", "json")))
def test_the_language_of_the_file_changes_nothing(number: int, ending: str) -> None:
    number, name, data = pick(number)
    write = {"yaml": as_yaml, "toml": as_toml, "json": as_json}[ending]
    if ending == "toml" and "null" in as_json(data):
        return
    after = reviewed(name, write(data), ending)
    assert after.verdict == before(number).verdict, name
    assert told(after) == told(before(number)), name
    assert {u.needs for u in after.unchecked} == {u.needs for u in before(number).unchecked}, name


@few
@given(NUMBERS, SEEDS)
def test_comments_and_blank_lines_change_nothing(number: int, seed: int) -> None:
    number, name, data = pick(number)
    chance = Random(seed)
    lines = []
    for line in as_yaml(data).splitlines():
        if chance.random() < 0.3:
            lines.append(chance.choice(("", "# Aqua: 50", f"{' ' * chance.randrange(8)}# {{[", "   ")))
        lines.append(line + chance.choice(("", "", "   # so be it", " ")))
    text = chance.choice(("\n", "\r\n")).join(lines) + chance.choice(("", "\n", "\n\n# the end"))
    assert told(reviewed(name, text, "yaml")) == told(before(number)), name


@few
@given(NUMBERS, SEEDS)
def test_the_order_of_keys_changes_nothing(number: int, seed: int) -> None:
    """All keys but the lines of a phase and the phases themselves, whose order is tried below."""
    number, name, data = pick(number)
    chance = Random(seed)
    phases = data.pop("phases")
    data = mixed(data, chance)
    data = dict(mixed_items([*data.items(), ("phases", phases)], chance))
    after = reviewed(name, as_json(data))
    assert told(after) == told(before(number)), name


def mixed(value: Any, chance: Random) -> Any:
    if isinstance(value, dict):
        ordered = "contains" in value or any(isinstance(each, (int, float)) for each in value.values())
        items = [(key, mixed(each, chance)) for key, each in value.items()]
        return dict(items if ordered else mixed_items(items, chance))
    return [mixed(each, chance) for each in value] if isinstance(value, list) else value


def mixed_items(items: list[Any], chance: Random) -> list[Any]:
    return chance.sample(items, len(items))


@few
@given(NUMBERS, SEEDS)
def test_the_order_of_the_lines_of_a_phase_changes_no_verdict(number: int, seed: int) -> None:
    number, name, data = pick(number)
    chance = Random(seed)
    data["phases"] = {
        letter: dict(mixed_items(list(lines.items()), chance)) for letter, lines in data["phases"].items()
    }
    after = reviewed(name, as_json(data))
    assert after.verdict == before(number).verdict, name
    assert judged(after) == judged(before(number)), name


def test_a_condition_may_stand_before_its_verb() -> None:
    """`hold` is a verb and a condition of `heat`."""
    head = "formcheck: 1\nname: x\nphases: {A: {Aqua: 100}}\nprocedure:\n- {"
    written = [
        reviewed("", f"{head}{step}}}\n", "yaml")
        for step in ("heat: A, to: 70 °C, hold: 5 min", "hold: 5 min, to: 70 °C, heat: A")
    ]
    assert not written[0].errors
    assert written[1].errors == written[0].errors
    assert told(written[1]) == told(written[0])
    two = reviewed("", f"{head}heat: A, to: 70 °C, cool: A}}\n", "yaml")
    assert ["«cool» is not a key of the step «heat»" in problem.message for problem in two.errors] == [True]


# --- names and units


@few
@given(NUMBERS, SEEDS)
def test_another_name_of_a_material_changes_no_verdict(number: int, seed: int) -> None:
    number, name, data = pick(number)
    if "deviations" in data:
        return
    chance = Random(seed)
    house = {fold(each) for each in data.get("materials", ())}
    used = {fold(line) for lines in data["phases"].values() for line in lines}
    data["phases"] = {
        letter: {called(line, chance, house, used): percent for line, percent in lines.items()}
        for letter, lines in data["phases"].items()
    }
    after = reviewed(name, as_json(data))
    assert after.verdict == before(number).verdict, name
    assert judged(after) == judged(before(number)), name


def test_a_step_may_spell_a_material_as_no_line_does() -> None:
    """A strength that is only a purity is no other material; common practice, no source."""
    text = "formcheck: 1\nname: x\nphases: {A: {Aqua: q.s., Niacinamide: 4}}\nprocedure:\n- {add: Niacinamide 99%, into: A}\n"
    review = reviewed("", text, "yaml")
    assert not review.errors
    assert "step-names-unknown" not in judged(review)
    assert "step-names-unknown" in judged(reviewed("", text.replace("add: Niacinamide", "add: Nettle"), "yaml"))


def called(line: str, chance: Random, house: set[str], used: set[str]) -> str:
    """Another name of the same material that stands nowhere else in the formula; its own where it has none."""
    material = reviewer().reference.find(line)
    if material is None or fold(line) in house or material.name.startswith("CI "):
        return line
    others = [
        other
        for other in material.names
        if fold(other) not in used | house and reviewer().reference.find(other) is material
    ]
    new = chance.choice([line, *others])
    used.add(fold(new))
    return new


@few
@given(NUMBERS, st.sampled_from("FK"))
def test_the_unit_of_temperatures_changes_nothing(number: int, unit: str) -> None:
    """1 °C is 1.8 °F, 0 °C is 32 °F and 273.15 K (SI Brochure, 9th edition)."""
    number, name, data = pick(number)
    for step in data.get("procedure", ()):
        for key in ("to", "at"):
            if key in step:
                step[key] = in_unit(step[key], unit)
    if "room" in data:
        data["room"] = in_unit(data["room"], unit)
    assert told(reviewed(name, as_json(data))) == told(before(number)), name


def in_unit(written: Any, unit: str) -> Any:
    text = str(written)
    if not text.endswith("C") or text.strip("°C .0123456789-e"):
        return written
    celsius = Decimal(text.rstrip("°C "))
    other = celsius * 9 / 5 + 32 if unit == "F" else celsius + Decimal("273.15")
    return f"{other:f} {'°F' if unit == 'F' else 'K'}"


SAME = {
    "min": ("s", Decimal(60)), "h": ("min", Decimal(60)), "d": ("h", Decimal(24)),
    "g": ("mg", Decimal(1000)), "kg": ("g", Decimal(1000)), "ml": ("l", Decimal("0.001")), "l": ("ml", Decimal(1000)),
}  # fmt: skip
"""Unit -> a smaller or larger one, and how many of it (SI Brochure, 9th edition, tables 7 and 8)."""


@fewer
@given(NUMBERS)
def test_the_units_of_times_masses_and_volumes_change_nothing(number: int) -> None:
    number, name, data = pick(number)
    for step in data.get("procedure", ()):
        for key in ("for", "hold", "over", "amount"):
            if key in step:
                step[key] = in_other(step[key])
    for part, keys in (("batch", ("size", "balance")), ("packaging", ("size",))):
        for key in keys:
            if key in data.get(part, {}):
                data[part][key] = in_other(data[part][key])
    assert told(reviewed(name, as_json(data))) == told(before(number)), name


def in_other(written: Any) -> Any:
    match = re.fullmatch(r"([0-9.]+) ?([a-z]+)", str(written))
    if match is None or match[2] not in SAME:
        return written
    unit, factor = SAME[match[2]]
    if Decimal(match[1]) * factor > 10**9:
        return written  # more than any figure may be
    return f"{Decimal(match[1]) * factor:f} {unit}"


@fewer
@given(NUMBERS, SEEDS)
def test_a_percent_sign_and_zeros_change_nothing(number: int, seed: int) -> None:
    number, name, data = pick(number)
    chance = Random(seed)
    for lines in data["phases"].values():
        for line, percent in lines.items():
            if type(percent) in (int, float) and "e" not in repr(percent):
                plain = repr(percent) if "." in repr(percent) else f"{percent}.0"
                lines[line] = chance.choice((plain, f"{plain}00", f"{plain} %", f"{plain}%", f"+{plain}", f" {plain} "))
    assert told(reviewed(name, as_json(data))) == told(before(number)), name


# --- amounts


POURABLE = ("water", "polyol", "vegetable oil", "ester", "hydrocarbon", "silicone")


@few
@given(NUMBERS, SEEDS)
def test_a_line_in_two_vessels_poured_together_changes_no_verdict(number: int, seed: int) -> None:
    """A liquid, half of it in a vessel of its own that is poured to the rest before anything else is done."""
    number, name, data = pick(number)
    chance = Random(seed)
    splittable = list(lines_to_split(data))
    if not splittable:
        return
    letter, line = chance.choice(splittable)
    half = f"{Decimal(repr(data['phases'][letter][line])) / 2:f}"
    data["phases"][letter][line] = half
    data["phases"]["Other half"] = {line: half}
    data["procedure"].insert(0, {"add": "Other half", "into": letter})
    after = reviewed(name, as_json(data))
    assert after.verdict == before(number).verdict, (name, letter, line)
    # a rule that finds something of every line finds it of both halves
    assert kinds(after) == kinds(before(number)), (name, letter, line)


@fewer
@given(NUMBERS, SEEDS)
def test_a_phase_in_two_that_are_poured_together_changes_no_verdict(number: int, seed: int) -> None:
    """Some of the liquids of a phase stand in a vessel of their own, which is poured to the rest before anything is done."""
    number, name, data = pick(number)
    chance = Random(seed)
    splittable = list(lines_to_split(data))
    if not splittable:
        return
    letter = chance.choice(splittable)[0]
    moved = [line for each, line in splittable if each == letter and chance.random() < 0.7]
    if not moved or len(moved) == len(data["phases"][letter]):
        return
    data["phases"]["Other part"] = {line: data["phases"][letter].pop(line) for line in moved}
    data["procedure"].insert(0, {"add": "Other part", "into": letter})
    after = reviewed(name, as_json(data))
    assert after.verdict == before(number).verdict, (name, letter, moved)
    assert kinds(after) == kinds(before(number)), (name, letter, moved)


def lines_to_split(data: Any) -> Iterator[tuple[str, str]]:
    """Liquids that are in their vessel from the start, where a procedure says what becomes of it."""
    if not data.get("procedure") or "deviations" in data:
        return
    named = fold(as_json(data["procedure"]))
    for letter, lines in data["phases"].items():
        for line, percent in lines.items():
            material = reviewer().reference.find(line)
            plain = isinstance(percent, (int, float)) and 0 < percent <= 100 and line not in data.get("materials", ())
            if (
                plain
                and material
                and pours(material)
                and not any(fold(each) in named for each in (line, *material.names))
            ):
                yield letter, line


def pours(material: Material) -> bool:
    solid = material.is_a("wax", "butter", "powder") or material.value("melting point") is not None
    return material.is_a(*POURABLE) and not solid and not material.contains


COOLING = ("rest", "mix", "hydrate")


@few
@given(NUMBERS, st.sampled_from(("0.5", "2", "7", "0.1")))
def test_the_size_of_the_batch_changes_only_what_is_about_weighing(number: int, factor: str) -> None:
    """Where a vessel is left to itself while warm its size tells how fast it cools, so those steps take no time here."""
    number, name, data = pick(number)
    if "size" not in data.get("batch", {}):
        return
    for step in data.get("procedure", ()):
        if set(step) & set(COOLING):
            step.pop("for", None)
    small = reviewed(name, as_json(data))
    scale(data, Decimal(factor))
    large = reviewed(name, as_json(data))
    if small.errors or large.errors:
        return
    assert judged(large, WEIGHING) == judged(small, WEIGHING), name


def scale(data: Any, factor: Decimal) -> None:
    data["batch"]["size"] = times(data["batch"]["size"], factor)
    for step in data.get("procedure", ()):
        if "amount" in step:
            step["amount"] = times(step["amount"], factor)
    for lines in data["phases"].values():
        for line in lines.values():
            if isinstance(line, dict) and "grams" in line:
                line["grams"] = times(str(line["grams"]), factor)


def times(mass: str, factor: Decimal) -> str:
    number = mass.rstrip("abcdefghijklmnopqrstuvwxyz ")
    return f"{Decimal(number) * factor:f} {mass[len(number) :].strip() or 'g'}"


# --- the review itself


@few
@given(NUMBERS, st.lists(NUMBERS, max_size=4))
def test_an_accepted_finding_never_makes_it_worse(number: int, accepted: list[int]) -> None:
    number, name, data = pick(number)
    rules = [rule.id for rule in reviewer().rules]
    found = [finding.rule for finding in before(number).findings] or rules
    ids = [found[each % len(found)] if each % 2 else rules[each % len(rules)] for each in accepted]
    data["deviations"] = [*data.get("deviations", ()), *({"rule": each, "reason": "on purpose"} for each in ids)]
    after = reviewed(name, as_json(data))
    assert before(number).verdict == HOLD or after.verdict == before(number).verdict, name
    assert {f.rule for f in after.findings} <= {f.rule for f in before(number).findings}, name
    assert not set(ids) & {f.rule for f in after.findings}, name


@pytest.mark.parametrize("rule", reviewer().rules, ids=lambda rule: rule.id)
def test_a_mended_example_gains_no_finding_however_it_is_written(rule: Any) -> None:
    data = data_of(files.read("x.formula.yaml", rule.mended.encode()).root)
    for seed, write in enumerate((as_yaml, as_toml, as_json)):
        chance = Random(seed)
        house = {fold(each) for each in data.get("materials", ())}
        used = {fold(line) for lines in data["phases"].values() for line in lines}
        other = mixed(deepcopy(data), chance)
        other["phases"] = {
            letter: {
                called(line, chance, house, used): percent for line, percent in mixed_items(list(lines.items()), chance)
            }
            for letter, lines in data["phases"].items()
        }
        review = reviewed(rule.id, write(other), write.__name__.removeprefix("as_"))
        assert not review.errors
        assert rule.id not in {finding.rule for finding in review.findings}


def test_a_review_does_not_depend_on_those_before_it() -> None:
    """What is kept from one formula to the next must not show: another reviewer takes them the other way round."""
    other = Reviewer(settings=AS_DECLARED)
    for number, (name, data) in reversed(list(enumerate(formulas()))):
        text = as_json(data).encode()
        again = other.review(f"/{PATH}.json", text)
        assert again == before(number), name


def test_a_review_is_the_same_in_every_run() -> None:
    """Another process, with another seed of Python's hashes, prints the same bytes."""

    def run(seed: str) -> bytes:
        arguments = ["review", "examples", "tests/corpus", "--format", "json"]
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-m", "formcheck", *arguments]
        return subprocess.run(command, cwd=HOME, env=environment, capture_output=True, timeout=120).stdout

    first, second = run("1"), run("2")
    assert first == second
    assert first.startswith(b"{")
