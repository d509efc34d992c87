"""Files made to keep a review busy or to fill the memory: as large as they may be, and larger.

REFUSED: name -> (file name, text, words of the refusal). LARGEST: name -> (file name, text) of files that are reviewed.
The shapes are common knowledge: CWE-400 (resource consumption), CWE-674 (recursion), CWE-776 (entity expansion), and the
YAML alias bomb after the "billion laughs".
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterable, Iterator

from formcheck.formula.build import MOST
from formcheck.reading.text import MOST_BYTES

HEAD = "formcheck: 1\nname: x\n"
WATER = "phases: {A: {Aqua: 100}}\n"
YAML, TOML, JSON = "x.formula.yaml", "x.formula.toml", "x.formula.json"
DEEP = 100_000


def lines(names: Iterable[str], percent: float = 0.04) -> str:
    return "phases:\n" + "".join(f"  A{i}: {{{json.dumps(name)}: {percent}}}\n" for i, name in enumerate(names))


def steps(written: Iterable[str]) -> str:
    return "procedure:\n" + "".join(f"- {{{step}}}\n" for step in written)


def bomb(levels: str = "abcdefghi") -> str:
    """Nine to the power of eight values from a few hundred bytes."""
    nodes = (f"{new}: &{new} [{','.join(['*' + old] * 9)}]\n" for old, new in itertools.pairwise(levels))
    return f"{levels[0]}: &{levels[0]} [{','.join('x' * 9)}]\n" + "".join(nodes)


def blends(deep: int, wide: int) -> str:
    """Blends of blends: wide to the power of deep parts."""
    written = (
        f"  L{level}B{i}: {{contains: {{{', '.join(f'L{level + 1}B{k}: {100 / wide}' for k in range(wide))}}}}}\n"
        for level in range(deep)
        for i in range(wide)
    )
    return "materials:\n" + "".join(written)


REFUSED: dict[str, tuple[str, str, str]] = {
    "alias bomb": (YAML, HEAD + bomb(), "more than 100000 values"),
    "alias bomb of mappings": (YAML, HEAD + bomb().replace("[", "{k: [").replace("]", "]}"), "more than 100000 values"),
    "deep lists": (YAML, HEAD + "phases: " + "[" * DEEP, "nest"),
    "deep mappings": (YAML, HEAD + "phases: " + "{a: " * DEEP, "nest"),
    "deep blocks": (YAML, HEAD + "".join(" " * i + "a:\n" for i in range(1400)), "nest"),
    "deep dashes": (YAML, HEAD + "phases:\n" + "- " * DEEP, "nest"),
    "deep questions": (YAML, HEAD + "? " * DEEP, ""),
    "deep JSON lists": (JSON, "[" * DEEP, "nested more than 60 levels"),
    "deep JSON objects": (JSON, '{"a":' * DEEP, "nested more than 60 levels"),
    "deep TOML lists": (TOML, "a = " + "[" * DEEP, "nested more than 60 levels"),
    "deep TOML tables": (TOML, "a = " + "{a=" * DEEP, "nested more than 60 levels"),
    "deep TOML name": (TOML, "a" + ".a" * DEEP + " = 1\n", "nested more than 60 levels"),
    "deep TOML heading": (TOML, "[" + "a." * DEEP + "a]\nb = 1\n", "nested more than 60 levels"),
    "many TOML headings": (TOML, "".join(f"[a{i}]\n" for i in range(110_000)), "more than 100000 values"),
    "many TOML tables": (TOML, "[[a]]\n" * 150_000, "more than 100000 values"),
    "long line": (YAML, HEAD + "note: " + "a" * 50_000_000, "the file has 50.0 MB"),
    "long note": (YAML, HEAD + WATER + "note: " + "a" * 1_000_000, "a text of 1000000 characters"),
    "long key": (YAML, HEAD + WATER + "a" * 900 + ": 1\n", "is not a key"),
    "many keys": (YAML, HEAD + WATER + "".join(f"k{i}: 1\n" for i in range(49_000)), "100 mistakes so far"),
    "many values": (YAML, HEAD + "phases: [" + "a," * 200_000 + "]", "more than 100000 values"),
    "many questions": (YAML, HEAD + "? a\n" * 100_000, "stands twice"),
    "tabs": (YAML, HEAD + "\t" * 1_000_000, "a tab"),
    "great number": (YAML, HEAD + "phases: {A: {Aqua: 1e999999999}}", "1e999999999"),
    "small number": (YAML, HEAD + "phases: {A: {Aqua: 1e-999999999}}", "1e-999999999"),
    "no number": (YAML, HEAD + "phases: {A: {Aqua: .nan}}", "not a number one can weigh"),
    "no end": (YAML, HEAD + "phases: {A: {Aqua: -.inf}}", "not a number one can weigh"),
    "digits": (YAML, HEAD + "phases: {A: {Aqua: " + "9" * 1_000_000 + "}}", "a text of 1000000 characters"),
    "digits in JSON": (
        JSON,
        '{"formcheck":1,"name":"x","phases":{"A":{"Aqua":' + "9" * 1_000_000 + "}}}",
        "a text of 1000000 characters",
    ),
    "digits in TOML": (TOML, 'formcheck=1\nname="x"\n[phases.A]\nAqua = ' + "9" * 1_000_000, "thousands of digits"),
    "exponent in TOML": (TOML, 'formcheck=1\nname="x"\n[phases.A]\nAqua = 1e99999', "1e99999"),
    "a line too many": (YAML, HEAD + lines(f"M{i}" for i in range(MOST["lines"] + 1)), "lines; "),
    "a step too many": (YAML, HEAD + WATER + steps(["mix: A"] * (MOST["steps"] + 1)), "steps; "),
    "many names in steps": (
        YAML,
        HEAD + WATER + steps([f"mix: [{', '.join(f'M{i}' for i in range(100))}]"] * 60),
        "names in the steps; ",
    ),
    "many pH steps": (YAML, HEAD + WATER + steps(["adjust pH: A, to: 5, with: Citric Acid"] * 21), "steps that set a pH; "),
    "many materials": (
        YAML,
        HEAD + "materials:\n" + "".join(f"  M{i}: {{HLB: 4}}\n" for i in range(MOST["materials"] + 1)) + WATER,
        "materials; ",
    ),
    "many claims": (YAML, HEAD + WATER + "claims:\n" + "- soft\n" * (MOST["claims"] + 1), "claims; "),
    "long claims": (YAML, HEAD + WATER + "claims:\n" + f"- {'heals eczema ' * 300}\n" * 6, "characters of claims; "),
    "many deviations": (
        YAML,
        HEAD + WATER + "deviations:\n" + "- {rule: total-not-100, reason: x}\n" * (MOST["deviations"] + 1),
        "deviations; ",
    ),
    "many areas": (YAML, HEAD + f"product: {{area: [{'face, ' * 50_000}]}}\n" + WATER, "words under «area»"),
    "blends in blends": (YAML, HEAD + blends(5, 40) + lines(f"L0B{i}" for i in range(40)), "parts of blends"),
    "wide blends": (
        YAML,
        HEAD
        + "materials:\n"
        + "".join(f"  B{i}: {{contains: {{{', '.join(f'm{k}: 0.5' for k in range(200))}}}}}\n" for i in range(60))
        + lines(f"B{i}" for i in range(60)),
        "parts of blends",
    ),
}  # fmt: skip


def largest(known: list[str], acid: list[str], preservative: list[str]) -> Iterator[tuple[str, str, str]]:
    """(name, file name, text) of the largest files that are reviewed. known, acid, preservative: names of materials."""
    count, most_steps = MOST["lines"], MOST["steps"]

    def first(names: list[str], number: int = count) -> list[str]:
        return [names[i % len(names)] for i in range(number)]

    full = "product: {use: leave-on, form: cream, area: [face], users: [adults], markets: [EU, UK, US, CA]}\n"
    full += "batch: {size: 100 g, balance: 0.1 g}\nfinished: {pH: 5.5}\n"
    heating = steps(f"{'heat' if i % 2 else 'cool'}: A{i % 9}, to: {90 if i % 2 else 20} °C" for i in range(most_steps))
    pouring = steps(f"add: A{i}, into: A0" for i in range(1, most_steps))
    yield "unknown lines", YAML, HEAD + lines(f"Glyceri{i}n Stearat Citratee" for i in range(count))
    yield "long names", YAML, HEAD + lines(f"{('ab (and) ' * 33)[:290]}{i}" for i in range(count))
    yield "brackets in names", YAML, HEAD + lines(f"{'(' * 140 + ')' * 140}{i} % 4%" for i in range(count))
    yield "known lines", YAML, HEAD + full + lines(first(known))
    yield "known lines, heated", YAML, HEAD + full + lines(first(known)) + heating
    yield "known lines, poured", YAML, HEAD + full + lines(first(known)) + pouring
    yield "acids, poured", YAML, HEAD + full + lines(first(acid)) + pouring
    yield (
        "preservatives, poured into water",
        YAML,
        HEAD + full + lines(["Aqua", *first(preservative, count - 1)]) + pouring,
    )
    yield (
        "one phase, heated",
        YAML,
        (
            HEAD
            + full
            + "phases:\n  A0:\n"
            + "".join(f"    {json.dumps(name)}: 0.1\n" for name in known[: count // 2])
            + heating
        ),
    )
    yield (
        "acids with many pH steps",
        YAML,
        (
            HEAD
            + full
            + "phases:\n  A: {Aqua: 60}\n  B:\n"
            + "".join(f"    {json.dumps(name)}: 0.1\n" for name in acid)
            + steps(
                f"adjust pH: A, to: {3 + i % 8}, with: {'Citric Acid' if i % 2 else 'Sodium Hydroxide'}"
                for i in range(MOST["steps that set a pH"])
            )
        ),
    )
    yield (
        "names that no step should have",
        YAML,
        (
            HEAD
            + lines(f"M{i}" for i in range(count))
            + steps([f"mix: [{', '.join(f'N{i}' for i in range(100))}]"] * 50)
        ),
    )
    yield "claims", YAML, HEAD + full + WATER + "claims:\n" + f"- {'not heals eczema cures ' * 165}\n" * 5
    yield (
        "short claims",
        YAML,
        HEAD + full + WATER + "claims:\n" + "- heals eczema, cures colds and prevents sunburn\n" * 100,
    )
    yield (
        "deviations",
        YAML,
        (
            HEAD
            + full
            + lines(first(known))
            + "deviations:\n"
            + "- {rule: total-not-100, reason: x, of: y}\n" * MOST["deviations"]
        ),
    )
    yield (
        "house materials",
        YAML,
        (
            HEAD
            + full
            + "materials:\n"
            + "".join(f"  M{i}: {{class: [preservative], dose: [1, 2], pH window: [4, 5]}}\n" for i in range(count))
            + lines(f"M{i}" for i in range(count))
            + "procedure: [{heat: A1, to: 90 °C}]\n"
        ),
    )
    yield (
        "parts of blends",
        YAML,
        (
            HEAD
            + full
            + "materials:\n"
            + "".join(
                f"  B{i}: {{contains: {{{', '.join(f'm{i}x{k}: 0.5' for k in range(200))}}}}}\n" for i in range(49)
            )
            + lines(f"B{i}" for i in range(49))
        ),
    )
    yield (
        "blends that contain each other",
        YAML,
        (
            HEAD
            + "materials:\n  X: {contains: {Y: 50, Z: 50}}\n  Y: {contains: {X: 50, Z: 50}}\n  Z: {contains: {X: 50, Y: 50}}\n"
            "phases: {A: {X: 100}}\n"
        ),
    )
    yield "comments", YAML, HEAD + WATER + "# x\n" * (MOST_BYTES // 4 - 20)
    yield "blank lines", YAML, HEAD + WATER + "\n" * (MOST_BYTES - 60)
    yield "one comment", YAML, HEAD + WATER + "# " + "a" * (MOST_BYTES - 60)
    yield (
        "anchors",
        YAML,
        HEAD + WATER + f"note: x\nproduct: {{area: [{', '.join(f'&a{i} face' for i in range(99))}]}}\n",
    )
    yield "tags", YAML, HEAD + WATER + "product: {area: [" + "!!python/object/apply:os.abort face, " * 99 + "]}\n"
    yield (
        "one line",
        JSON,
        json.dumps({"formcheck": 1, "name": "x", "phases": {"A": {f"M{i}": 0.04 for i in range(count)}}}),
    )
    yield (
        "TOML lines",
        TOML,
        'formcheck = 1\nname = "x"\n' + "".join(f'[phases.A{i}]\n"M{i}" = 0.04\n' for i in range(count)),
    )
