"""Runs one target under atheris, which counts the code that a case runs through and breeds what finds new code.

    python tests/fuzz/run.py yaml_text --cases 100000 --keep /tmp/fuzz
    python tests/fuzz/run.py yaml_text --again /tmp/fuzz/yaml_text/crash-...

Needs atheris (pip install atheris), which is no part of the project's extras. Cases that found new code are kept below
--keep and go on from there in the next run. The first finding ends a run; its case is written beside them.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
HOME = HERE.parents[1]
COUNTED = ("formcheck", "formcheck_rules")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target")
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--keep", type=Path, default=Path("/tmp/formcheck-fuzz"))
    parser.add_argument("--longest", type=int, default=4096, help="bytes that a case may have")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--again", type=Path, help="run one stored case and nothing else")
    options = parser.parse_args()
    sys.path.insert(0, str(HERE))
    if options.again:
        importlib.import_module("targets").TARGETS[options.target](options.again.read_bytes())
        return
    import atheris

    with atheris.instrument_imports(include=list(COUNTED)):
        targets = importlib.import_module("targets")
    target = targets.TARGETS[options.target]
    targets.known()  # a reference that has to be compiled anew would look like a case that hangs
    cases = options.keep / options.target
    cases.mkdir(parents=True, exist_ok=True)
    (cases / "words.dict").write_text("".join(f'"{_escaped(word)}"\n' for word in words(options.target)))
    for seed in seeds(options.target):
        (cases / f"seed-{len(seed)}-{hash(seed) & 0xFFFF:x}").write_bytes(seed[: options.longest])
    flags = [
        f"-runs={options.cases}",
        f"-max_len={options.longest}",
        f"-seed={options.seed}",
        f"-dict={cases / 'words.dict'}",
        f"-artifact_prefix={cases}/",
        "-timeout=20",
        "-rss_limit_mb=2000",
        "-print_final_stats=1",
        "-verbosity=1",
        str(cases),
    ]
    atheris.Setup([sys.argv[0], *flags], target)
    atheris.Fuzz()


def words(target: str) -> list[str]:
    """What a target's files are made of."""
    from formcheck.formula import vocabulary
    from formcheck.review import house, settings_file

    found = [
        ": ",
        "- ",
        "\n",
        "  ",
        "{",
        "}",
        "[",
        "]",
        ", ",
        '"',
        "'",
        "|",
        ">",
        "&a",
        "*a",
        "<<",
        "!!str",
        "---",
        "#",
    ]
    if target in ("toml_text", "settings"):
        found += ["=", "[[", "]]", '"""', "'''", "\\u00e9", "0x1F", "1e6", "inf", "nan", "1979-05-27T07:32:00Z", "."]
    if target == "settings":
        found += [
            *settings_file.TOP_KEYS,
            *settings_file.UNSTATED_KEYS,
            *settings_file.RULING_KEYS,
            "balance-too-coarse",
        ]
    if target == "house":
        found += [
            *house.RULE_KEYS,
            *house.CONDITION_KEYS,
            *house.SELECTION_KEYS,
            *house.FILE_KEYS,
            "untidy",
            "leave-on",
        ]
    if target in ("formula", "yaml_text", "edits"):
        found += [
            *vocabulary.FILE_KEYS,
            *vocabulary.PRODUCT_KEYS,
            *vocabulary.DEVIATION_KEYS,
            *vocabulary.VERBS,
            "q.s.",
        ]
        found += ["formcheck: 1\n", "name: x\n", "phases:\n  A: {Aqua: 100}\n", "±", "°C", " to ", "null", "5 %"]
    if target == "quantities":
        found += [
            "°C",
            "°F",
            "K",
            "room",
            "min",
            "kg",
            "ml",
            "±",
            "+/-",
            " to ",
            "up to ",
            "from ",
            "1e3",
            ",",
            "%",
            "-",
            "–",
        ]
    if target == "names":
        found += [
            "Aqua",
            "Glycerin",
            " (and) ",
            " and ",
            "%",
            " % solution",
            "in water",
            "[nano]",
            "CI 77891",
            "organic",
            "USP",
        ]
    if target in ("table", "workbook_part"):
        found += [
            ";",
            "\t",
            "Phase",
            "Ingredient",
            "INCI",
            "%",
            "Zutat",
            "Menge",
            "1,5",
            "q.s.",
            "Total",
            "=A1",
            "<c r=",
            "<v>",
        ]
    if target == "reports":
        found += [
            "|",
            "\u202e",
            "\x1b[31m",
            "<script>",
            "&amp;",
            "]]>",
            "::error::",
            "\n::",
            "=1+1",
            "@",
            "`",
            "](",
            "\x00",
            "-->",
        ]
    return found


def _escaped(word: str) -> str:
    return "".join(f"\\x{byte:02x}" for byte in word.encode())


def seeds(target: str) -> list[bytes]:
    """Files to begin with: formulas of the project, in the form that the target reads."""
    ending = {"toml_text": ".toml", "json_text": ".json"}.get(target, ".yaml")
    formulas = sorted(path for path in (HOME / "examples").rglob(f"*{ending}")) + sorted(
        path for path in (HOME / "tests/corpus").rglob(f"*.formula{ending}")
    )
    stored = [path.read_bytes() for path in sorted((HERE / "found").glob(f"{target}-*"))]
    if target in ("yaml_text", "toml_text", "json_text", "formula"):
        return stored + [path.read_bytes() for path in formulas[:60]]
    if target == "edits":
        return stored + [b"\x00" + path.read_bytes() for path in formulas[:20]]
    if target == "settings":
        return stored + [path.read_bytes() for path in sorted((HOME / "examples").rglob("formcheck.toml"))]
    if target == "house":
        return stored + [path.read_bytes() for path in sorted((HOME / "examples").rglob("*.house.yaml"))]
    if target == "table":
        return [*stored, b"Phase;Ingredient;%;g\nA;Aqua;95,5;191\nB;Glycerin;4,5;9\n"]
    if target == "names":
        return [
            *stored,
            b"Aqua",
            b"Sodium Hydroxide 10 % solution",
            b"Phenoxyethanol (and) Ethylhexylglycerin",
            b"heals eczema",
        ]
    if target == "quantities":
        return [*stored, b"75 \xc2\xb0C", b"5.5 \xc2\xb1 0.3", b"4 to 5", b"20 min", b"1.5 kg", b"up to 0.8 %", b"5,5"]
    return [*stored, b"\x00" * 64, b"|".join(b"text %d" % number for number in range(24))]


if __name__ == "__main__":
    main()
