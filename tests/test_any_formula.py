"""Whatever a formula file says, it is reviewed: no rule fails, no report breaks, nothing is printed that is no word.

The files are made by any_formula from the whole vocabulary; a much longer run of the same was made by hand.
"""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any, NoReturn

import pytest
from any_formula import SLIPS, Maker, Words, as_json, as_toml, as_yaml, examples, words, wrong_with
from hypothesis import given
from hypothesis import strategies as st

from formcheck.commands.main import main
from formcheck.reading.document import plain
from formcheck.reading.files import read
from formcheck.reports.report import BUILT_IN, Context, make
from formcheck.review.run import Reviewed, Reviewer

SEEDS = st.integers(0, 2**32 - 1)
ODD = st.sampled_from((0.0, 0.05, 0.3))


@pytest.fixture(scope="module")
def known(reviewer: Reviewer) -> Words:
    return words(reviewer.reference, [rule.id for rule in reviewer.rules])


def shown(name: str, reviewer: Reviewer, reviewed: Reviewed) -> str:
    report = make(name, Context(reviewer.rules, "major", reviewer.reference.cite, reviewer.configuration.house), {})
    return report.begin() + report.add_sheet(*reviewed) + report.end()


def no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON (RFC 8259)")


@examples(300)
@given(seed=SEEDS, odd=ODD)
def test_no_rule_fails_and_every_word_is_one(known: Words, reviewer: Reviewer, seed: int, odd: float) -> None:
    data = Maker(Random(seed), known, odd).formula()
    text = as_yaml(data)
    review = reviewer.review("any.formula.yaml", text.encode())
    assert not list(wrong_with(review, text, data)), text


@examples(50)
@given(seed=SEEDS, odd=ODD)
def test_every_report_shows_it(known: Words, reviewer: Reviewer, seed: int, odd: float) -> None:
    text = as_yaml(Maker(Random(seed), known, odd).formula())
    reviewed = reviewer.review_sheet("any.formula.yaml", text.encode())
    for name in BUILT_IN:
        report = shown(name, reviewer, reviewed)
        if name in ("json", "sarif", "gitlab"):
            json.loads(report, parse_constant=no_constant)
        elif name == "junit":
            ET.fromstring(report)
        assert not reviewed.review.findings or any(each.rule in report for each in reviewed.review.findings)


COMMANDS = (
    ("ph", "F"),
    ("ph", "F", "--format", "json"),
    ("ph", "F", "--measured", "5.9", "--to", "4.1"),
    ("label", "F"),
    ("label", "F", "--format", "json", "--market", "US"),
    ("batch", "F"),
    ("batch", "F", "--as-written", "--size", "750 g", "--loss", "3 %", "--format", "json"),
    ("batch", "F", "--as-written", "--units", "12 x 50 ml", "--format", "html"),
    ("correct", "F", "--also", "rescale", "--also", "inci-names"),
    ("correct", "F", "--also", "water", "--also", "legal-maximum", "--format", "json"),
    ("compare", "F", "G"),
    ("compare", "G", "F", "--format", "json"),
    ("convert", "F"),
    ("changed", "F"),
)


@examples(8)
@given(seed=SEEDS, odd=ODD)
def test_every_command_takes_it(known: Words, tmp_path_factory: pytest.TempPathFactory, seed: int, odd: float) -> None:
    folder = tmp_path_factory.mktemp("any")
    chance = Random(seed)
    for name in ("F", "G"):
        (folder / f"{name}.formula.json").write_text(as_json(Maker(chance, known, odd).formula()), encoding="utf-8")
    for asked in COMMANDS:
        arguments = [str(folder / f"{each}.formula.json") if each in ("F", "G") else each for each in asked]
        status, out, err = run(arguments)
        assert status in (0, 1, 2), asked
        assert out or err, asked
        if "json" in asked and status != 2:
            json.loads(out, parse_constant=no_constant)


def run(arguments: list[str]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdout", out)
        patch.setattr("sys.stderr", err)
        status = main(arguments)
    return status, out.getvalue(), err.getvalue()


@examples(100)
@given(seed=SEEDS)
def test_the_three_languages_say_the_same(known: Words, seed: int) -> None:
    """What the Maker writes is what the readers read; TOML has no null, so files with one are passed over."""
    data = Maker(Random(seed), known, 0.0).formula()
    documents = [read(f"any.formula.{end}", write(data).encode()) for end, write in writers(data)]
    first, *others = [_numbers(plain(document.root)) for document in documents]
    assert all(other == first for other in others)


def writers(data: Any) -> list[tuple[str, Callable[[Any], str]]]:
    every: list[tuple[str, Callable[[Any], str]]] = [("yaml", as_yaml), ("json", as_json), ("toml", as_toml)]
    return every[:2] if "null" in as_json(data) else every


def _numbers(data: object) -> object:
    """Numbers by their value and null as one text, for a language may write them as another would not."""
    if data == "null":
        return ""
    if isinstance(data, dict):
        return {key: _numbers(value) for key, value in data.items()}
    if isinstance(data, list):
        return [_numbers(item) for item in data]
    try:
        return float(str(data))
    except ValueError:
        return data


# --- what such runs have found

HEAD = "formcheck: 1\nname: Once broken\n"
ONCE = {
    "a negative line that is to cool": "phases:\n  A: {Aqua: -3}\nprocedure:\n- heat: A\n  to: 70 °C\n- rest: A\n  for: 1 h\n",
    "an emulsifier of nothing": (
        "product: {use: leave-on, form: lotion}\nphases:\n  A: {Aqua: q.s.}\n"
        "  B: {Paraffinum Liquidum: 25, Polysorbate 80: 0, Sorbitan Oleate: 0}\n"
    ),
    "a preservative that oil takes whole": (
        "materials:\n  Phenoxyethanol: {log P: 39}\nphases:\n  A: {Aqua: 60}\n"
        "  B: {Helianthus Annuus Seed Oil: 39, Phenoxyethanol: 1}\nfinished: {pH: 5}\n"
    ),
    "more of a line than there can be": "batch: {size: 100000 kg, balance: 1 g}\nphases:\n  A: {Aqua: 1000000000}\n",
    "a line that no balance shows": "batch: {size: 1 g, balance: 100 kg}\nphases:\n  A: {Aqua: q.s., Glycerin: 1e-30}\n",
    "no water but the limewater": "phases:\n  A: {Aqua Calcis: 100}\nfinished: {pH: 5.5}\n",
    "wording for a market that is only taken for granted": (
        "product: {use: leave-on, form: toner, area: [face]}\nphases:\n  A: {Aqua: q.s., DMDM Hydantoin: 0.4}\n"
    ),
    "a million per cent of the unknown": "phases:\n  A: {Aqua: 1, Zzyzx: 1000000}\n",
    "nothing, with a sign": "phases:\n  A: {Aqua: 100, Zinc Oxide: -0.0, Titanium Dioxide: -0}\n",
    "a name that ends in a stop": "phases:\n  A: {Alcohol Denatt: 50, Aqua: 50}\n",
}


@pytest.mark.parametrize("rest", ONCE.values(), ids=ONCE)
def test_what_was_once_broken(reviewer: Reviewer, rest: str) -> None:
    text = HEAD + rest
    review = reviewer.review("once.formula.yaml", text.encode())
    assert not review.errors, review.errors
    assert not list(wrong_with(review, text, plain(read("once.formula.yaml", text.encode()).root)))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("materials: {Pear: {HLB: 400}}", "400 under «HLB»; it lies between 0 and 40"),
        ("materials: {Pear: {contains: {Aqua: -5}}}", "-5 under «contains»; it lies between 0 and 100"),
        ("materials: {Pear: {dose: [1, 250]}}", "250 under «dose»; it lies between 0 and 100 %"),
        ("materials: {Pear: {specific heat: 0}}", "0 under «specific heat»; it lies between 0.1 and 15 J/(g K)"),
        ("batch: {size: 1000000 kg}", "«1000000 kg» as the batch size; it lies between 0.001 g and 100000 kg"),
        ("batch: {balance: 1e-9 g}", "«1e-9 g» as the balance's step; it lies between 0.000001 g and 100 kg"),
        ("procedure: [{adjust pH: A, with: Citric Acid, amount: -1 g}]", "«-1 g» as an amount; it has to be more than"),
    ],
)
def test_what_cannot_be_is_a_mistake_of_the_file(reviewer: Reviewer, line: str, words: str) -> None:
    """Common practice, no source: beyond these bounds a figure was mistyped."""
    review = reviewer.review("t.formula.yaml", f"{HEAD}phases:\n  A: {{Aqua: 100}}\n{line}\n".encode())
    (problem,) = review.errors
    assert words in problem.message
    assert problem.place.line == 5


def test_a_share_with_more_decimals_than_anybody_writes_is_not_scaled(tmp_path: Path) -> None:
    path = tmp_path / "t.formula.yaml"
    path.write_text(f"{HEAD}phases:\n  A: {{Aqua: 90, Glycerin: 0.{'0' * 29}1}}\n", encoding="utf-8")
    status, out, err = run(["correct", str(path), "--also", "rescale"])
    assert (status, err) == (0, "")
    assert "nothing to correct" in out


def test_a_pack_of_which_only_the_size_is_known(tmp_path: Path) -> None:
    path = tmp_path / "t.formula.yaml"
    path.write_text(
        f"{HEAD}batch: {{size: 100 g}}\nphases:\n  A: {{Aqua: 100}}\npackaging: {{size: 50 ml}}\n", encoding="utf-8"
    )
    _, out, _ = run(["batch", str(path)])
    (pack,) = [line.split()[-2:] for line in out.splitlines() if line.strip().startswith("Pack")]
    assert pack == ["50", "ml"]
    assert " , 50" not in out


def test_figures_of_the_bench_are_written_out(tmp_path: Path) -> None:
    path = tmp_path / "t.formula.yaml"
    path.write_text(f"{HEAD}phases:\n  A: {{Aqua: 100}}\n", encoding="utf-8")
    for asked in (["--size", "1000000 kg"], ["--size", "100 g", "--balance", "0.0000001 g"]):
        status, _, err = run(["batch", str(path), *asked])
        assert status == 2
        assert not SLIPS.search(err)
