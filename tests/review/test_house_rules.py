"""Rules of the house: what each condition means, that they go through the same machinery as every rule, what is refused.

Outside yardsticks: JSON Schema draft 2020-12 through the jsonschema library; temperatures of mixtures by the enthalpy balance
worked by hand (equal heat capacities: the mean by mass).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.commands.schema import text as schema_text
from formcheck.review.house import CONDITION_KEYS, MATERIAL_TERMS, RULE_KEYS, HouseRule, read_house
from formcheck.review.house_examples import Bench
from formcheck.review.house_terms import SOURCES
from formcheck.review.model import READY
from formcheck.review.needs import NEEDS
from formcheck.review.rule import HARMS, Finding, Unchecked
from formcheck.review.run import Reviewer, run_rules
from formcheck.review.settings import AS_DECLARED, BadSettings

HOME = Path(__file__).resolve().parents[2]
EXAMPLE = HOME / "examples" / "house"
REVIEWER = Reviewer(settings=AS_DECLARED)
FORMULA = """\
formcheck: 1
name: Hedge serum
product: {use: leave-on, form: serum, area: [face, neck]}
phases:
  A: {Aqua: q.s., Glycerin: 4, Plum blend: 2}
  B: {Parfum: 0.6, Lavandula Angustifolia Oil: 0.4, Squalane: 5}
materials:
  Plum blend: {contains: {Glycerin: 50, Phenoxyethanol: 50}}
procedure:
  - {heat: A, to: 70 °C}
  - {cool: A, to: 40 °C}
  - {add: B, into: A}
  - {fill: A, at: 30 °C}
finished: {pH: 5.2 ± 0.2}
packaging: {container: airless pump bottle, material: PP, wall: opaque}
claims: [a vegan serum]
"""


def rule_text(**keys: str) -> str:
    """A house rule file of one rule; expect, where, ... as YAML in flow style."""
    texts = {"finds": "what we do not do", "harm": "untidy", "why": "Because.", "remedy": "Mend it.", **keys}
    texts = {"flawed": '"formcheck: 1"', "mended": '"formcheck: 1"', **texts}
    return "house: 1\nrules:\n  own-rule:\n" + "".join(f"    {key}: {text}\n" for key, text in texts.items())


def read(folder: Path, text: str) -> HouseRule:
    path = folder / "x.house.yaml"
    path.write_text(text, encoding="utf-8")
    (rule,) = read_house(str(path), REVIEWER.reference, {})
    return rule


def judge(folder: Path, formula: str, **keys: str) -> tuple[tuple[Finding, ...], tuple[Unchecked, ...]]:
    rule = read(folder, rule_text(**keys))
    findings, unchecked, faults = run_rules([rule], REVIEWER.sheet(str(folder / "a.formula.yaml"), formula.encode()))
    assert not faults
    return findings, unchecked


# --- conditions

HOLD_OR_NOT = [
    ("{use: leave-on}", True, ""),
    ("{use: rinse-off}", False, "use leave-on; asked for: use rinse-off"),
    ("{form: [gel, serum]}", True, ""),
    ("{form: cream}", False, "form serum; asked for: form cream"),
    ("{area: neck}", True, ""),
    ("{area: [hands, lips]}", False, "area face and neck; asked for: area hands or lips"),
    ("{market: eu}", True, ""),
    ("{market: US}", False, "market EU; asked for: market US"),
    ("{container: airless}", True, ""),
    ("{container: air}", False, "container airless pump bottle; asked for: container air"),
    ("{pack material: [glass, pp]}", True, ""),
    ("{wall: [amber, clear]}", False, "wall opaque; asked for: wall amber or clear"),
    ("{pH: 5 to 5.5}", True, ""),
    ("{pH: up to 5}", False, "pH 5.2; asked for: pH up to 5"),
    ("{pH: [5.5, null]}", False, "pH 5.2; asked for: pH from 5.5"),
    ("{phases: up to 2}", True, ""),
    ("{phases: at least 3}", False, "2 phases; asked for: from 3 phases"),
    ("{claim: [natural, Vegan]}", True, ""),
    ("{claim: veg}", False, "no such claim; asked for: a claim that says «veg»"),
    ("{steps: [heat, fill]}", True, ""),
    ("{steps: [heat, homogenize]}", False, "no step «homogenise»"),
    ("{filled: up to 30 °C}", True, ""),
    ("{filled: up to 80 °F}", False, "filled at 30 °C at step 4; asked for: filled at up to 26.67 °C"),
    ("{holds: {material: phenoxyethanol}}", True, ""),
    ("{holds: {material: Squalane, phase: A}}", False, "no Squalane in phase A; asked for: Squalane in phase A"),
    ("{holds: {class: chelator}}", False, "no chelator; asked for: chelator"),
    ("{holds: {class: polyol, percent: from 5 %}}", True, ""),
    ("{holds: {class: polyol, percent: from 5.1 %}}", False, "Glycerin 4 % and Glycerin (in Plum blend) 1 %"),
    ("{lacks: {material: Lanolin}}", True, ""),
    ("{lacks: {class: fragrance}}", False, "Parfum 0.6 %; asked for: no fragrance"),
    ("{lacks: {class: [fragrance, essential oil], but not: [Parfum, Lavandula Angustifolia Oil]}}", True, ""),
    ("{lacks: {class: oil, but not: essential oil}}", False, "Squalane 5 %; asked for: no oil but essential oil"),
    ("{sum: {class: [fragrance, essential oil], percent: up to 1 %}}", True, ""),
    ("{sum: {class: [fragrance, essential oil], percent: at most 0.8}}", False, "together 1 %; asked for: up to 0.8 %"),
    ("{sum: {material: Glycerin, percent: 5 to 5}}", True, ""),
    ("{sum: {material: Lanolin, percent: from 1}}", False, "no Lanolin; asked for: from 1 % of Lanolin"),
    ("{every: {class: oil, percent: up to 5 %}}", True, ""),
    ("{every: {material: Glycerin, percent: up to 4 %}}", False, "Glycerin and Glycerin (in Plum blend) 5 %"),
    ("{every: {material: Squalane, phase: [B, C]}}", True, ""),
    ("{every: {material: Squalane, phase: C}}", False, "Squalane stands in phase B; asked for: phase C"),
    ("{every: {material: Parfum, warmest: up to 45 °C}}", True, ""),
    ("{every: {material: Plum blend, warmest: up to 30 °C}}", False, "Plum blend at 70 °C in vessel A at step 1 (heat)"),
    ("{every: {material: Glycerin, warmest: 60 to 75 °C}}", True, ""),
    ("{every: {material: Lanolin, warmest: up to 1 °C}}", True, ""),
    ("{any of: [{use: rinse-off}, {wall: opaque}]}", True, ""),
    ("{any of: [{use: rinse-off}, {wall: amber}]}", False, "use leave-on and wall opaque; asked for: use rinse-off or wall amber"),
    ("{all of: [{use: leave-on}, {wall: opaque}]}", True, ""),
    ("{all of: [{wall: amber}, {wall: clear}]}", False, "wall opaque; asked for: wall amber; wall clear"),
    ("{none of: [{use: rinse-off}, {form: gel}]}", True, ""),
    ("{none of: [{use: rinse-off}, {form: serum}]}", False, "form serum; asked for: not form serum"),
    ("{use: leave-on, form: gel, wall: clear}", False, "form serum; wall opaque; asked for: form gel; wall clear"),
]  # fmt: skip


@pytest.mark.parametrize(("expect", "holds", "words"), HOLD_OR_NOT, ids=[expect for expect, _, _ in HOLD_OR_NOT])
def test_a_condition(tmp_path: Path, expect: str, holds: bool, words: str) -> None:
    findings, unchecked = judge(tmp_path, FORMULA, expect=expect)
    assert not unchecked
    assert bool(findings) is not holds
    assert all(words in finding.message for finding in findings)


UNKNOWN = [
    ("{use: leave-on}", "product:", "note:", "leave-on or rinse-off"),
    ("{wall: amber}", "wall: opaque", "size: 50 ml", "whether the pack lets light in"),
    ("{any of: [{wall: amber}, {container: jar}]}", "wall: opaque", "size: 50 ml", "whether the pack lets light in"),
    ("{pH: up to 6}", "finished:", "note:", "the finished pH"),
    ("{steps: fill}", "procedure:", "", "the procedure"),
    ("{every: {class: polyol, warmest: up to 30 °C}}", "procedure:", "", "the procedure"),
    ("{filled: up to 30 °C}", "- {fill: A, at: 30 °C}", "", "how warm it is filled"),
    ("{sum: {class: water, percent: from 80}}", "Glycerin: 4", "Glycerin: q.s.", "percents that can be worked out"),
]  # fmt: skip


@pytest.mark.parametrize(("expect", "old", "new", "ask"), UNKNOWN, ids=[each[0] for each in UNKNOWN])
def test_what_cannot_be_told_is_asked_for(tmp_path: Path, expect: str, old: str, new: str, ask: str) -> None:
    findings, unchecked = judge(tmp_path, _without(FORMULA, old, new), expect=expect)
    assert not findings
    assert any(ask in item.needs for item in unchecked), unchecked


def _without(text: str, old: str, new: str) -> str:
    """The formula without a top-level part (old ends with a colon), or with a word of it replaced."""
    if not old.endswith(":"):
        return text.replace(old, new)
    data = yaml.safe_load(text)
    del data[old[:-1]]
    return yaml.safe_dump(data, allow_unicode=True)


def test_one_known_way_is_enough(tmp_path: Path) -> None:
    """Of two ways the one that is known to be met decides; nobody is asked for the other."""
    text = FORMULA.replace("wall: opaque", "size: 50 ml")
    assert judge(tmp_path, text, expect="{any of: [{wall: amber}, {container: airless}]}") == ((), ())


def test_where_decides_which_formulas_are_looked_at(tmp_path: Path) -> None:
    expect = "{wall: amber}"
    assert judge(tmp_path, FORMULA, where="{form: gel}", expect=expect) == ((), ())
    assert len(judge(tmp_path, FORMULA, where="{form: serum, holds: {class: fragrance}}", expect=expect)[0]) == 1
    unstated = _without(FORMULA, "product:", "")
    findings, unchecked = judge(tmp_path, unstated, where="{form: serum}", expect=expect)
    assert not findings
    assert [item.needs for item in unchecked] == ["the form of the product: add «product: {form: ...}»"]
    assert judge(tmp_path, unstated, where="{form: serum}", expect="{lacks: {material: Lanolin}}") == ((), ())


def test_the_warmth_of_a_mixture_is_what_is_met(tmp_path: Path) -> None:
    """100 g at 60 °C into 100 g at 20 °C of the same stuff: 40 °C, the mean (enthalpy balance)."""
    text = """\
formcheck: 1
name: Two waters
room: 20 °C
batch: {size: 200 g}
phases: {A: {Aqua: 50}, B: {Rosa Damascena Flower Water: 50}}
procedure: [{heat: A, to: 60 °C}, {add: B, into: A}]
"""
    ask = "{every: {material: Rosa Damascena Flower Water, warmest: up to %s °C}}"
    assert judge(tmp_path, text, expect=ask % "41") == ((), ())
    (finding,) = judge(tmp_path, text, expect=ask % "39")[0]
    assert "at 40 °C in vessel A at step 2 (add)" in finding.message
    assert (finding.step, finding.place.line, finding.path) == (2, 6, "/procedure/1")


def test_one_step_is_one_finding(tmp_path: Path) -> None:
    (finding,), _ = judge(tmp_path, FORMULA, expect="{every: {class: [polyol, preservative], warmest: up to 30 °C}}")
    assert set(finding.materials) == {"Glycerin", "Phenoxyethanol"}


def test_what_the_house_describes_itself_is_known_by_its_own_name(tmp_path: Path) -> None:
    """A supplier's glycerin that the file describes is not every glycerin."""
    text = FORMULA.replace(
        "Plum blend: {contains: {Glycerin: 50, Phenoxyethanol: 50}}", "Plum blend: {INCI: Glycerin, dose: [1, 2]}"
    )
    (finding,), _ = judge(tmp_path, text, expect="{lacks: {material: Plum blend}}")
    assert finding.message.startswith("what we do not do: Glycerin 2 %; asked for")


def test_percents_are_exact(tmp_path: Path) -> None:
    """0.1 + 0.2 is 0.3, also where binary fractions have it otherwise."""
    text = "formcheck: 1\nname: x\nphases: {A: {Aqua: q.s., Parfum: 0.1}, B: {Parfum: 0.2}}\n"
    assert judge(tmp_path, text, expect="{sum: {class: fragrance, percent: up to 0.3 %}}") == ((), ())


# --- the same machinery


def served(folder: Path, text: str, formula: str) -> str:
    (folder / ".git").mkdir(exist_ok=True)
    (folder / "x.house.yaml").write_text(text, encoding="utf-8")
    (folder / "formcheck.toml").write_text('house-rules = ["x.house.yaml"]\n')
    (folder / "a.formula.yaml").write_text(formula, encoding="utf-8")
    return str(folder / "a.formula.yaml")


@pytest.mark.parametrize("harm", HARMS)
def test_the_kind_of_harm_gives_the_severity(tmp_path: Path, harm: str) -> None:
    path = served(tmp_path, rule_text(harm=harm, expect="{wall: amber}"), FORMULA)
    (finding,) = [f for f in Reviewer().review(path).findings if f.rule == "own-rule"]
    assert finding.severity == HARMS[harm]
    assert (finding.why, finding.remedy) == ("Because.", "Mend it.")
    assert finding.source == f"house rule, {tmp_path / 'x.house.yaml'}:3"
    assert finding.place == (15, 65)


def test_a_formula_may_deviate_from_a_house_rule(tmp_path: Path) -> None:
    deviation = "deviations: [{rule: own-rule, reason: last of the old bottles}]\n"
    path = served(tmp_path, rule_text(harm="unsafe", expect="{wall: amber}"), FORMULA + deviation)
    review = Reviewer().review(path)
    assert [accepted.finding.rule for accepted in review.accepted] == ["own-rule"]
    assert "own-rule" not in {finding.rule for finding in review.findings}


def test_a_configuration_may_silence_a_house_rule_or_its_family(tmp_path: Path) -> None:
    path = served(tmp_path, rule_text(expect="{wall: amber}"), FORMULA)
    for table in ("rules.own-rule", "families.house"):
        with (tmp_path / "formcheck.toml").open("w") as file:
            file.write(f'house-rules = ["x.house.yaml"]\n[{table}]\nsilent = true\nreason = "later"\n')
        assert [each.finding.rule for each in Reviewer().review(path).silenced] == ["own-rule"]


def test_two_files_may_not_bring_the_same_rule(tmp_path: Path) -> None:
    path = served(tmp_path, rule_text(expect="{wall: amber}"), FORMULA)
    (tmp_path / "y.house.yaml").write_text(rule_text(expect="{wall: clear}"))
    (tmp_path / "formcheck.toml").write_text('house-rules = ["x.house.yaml", "y.house.yaml"]\n')
    with pytest.raises(
        BadSettings, match=r"y\.house\.yaml:3:3: there is a rule «own-rule» already, of .*x\.house\.yaml"
    ):
        Reviewer().settings(path)


def test_toml_and_json_say_the_same(tmp_path: Path) -> None:
    data = yaml.safe_load(rule_text(expect="{sum: {class: fragrance, percent: up to 0.5 %}}"))
    (tmp_path / "x.house.json").write_text(json.dumps(data))
    (from_json,) = read_house(str(tmp_path / "x.house.json"), REVIEWER.reference, {})
    sheet = REVIEWER.sheet("a.formula.yaml", FORMULA.encode())
    (finding,) = run_rules([from_json], sheet)[0]
    assert "Parfum 0.6 %; asked for: up to 0.5 % of fragrance" in finding.message


# --- what is refused

WRONG = [
    ({"expect": "{colour: red}"}, (8, 14), "«colour» is not a key of a condition"),
    ({"expect": "{contaner: jar}"}, (8, 14), "did you mean «container»?"),
    ({"expect": "{}"}, (8, 13), "a condition was expected"),
    ({"expect": "amber"}, (8, 13), "«amber» under «expect»; it takes"),
    ({"expect": "{wall: brown}"}, (8, 20), "«brown» under «wall»; it is one of clear"),
    ({"expect": "{form: serrum}"}, (8, 20), "did you mean «serum»?"),
    ({"expect": "{wall: []}"}, (8, 20), "an empty list under «wall»"),
    ({"expect": "{steps: stir}"}, (8, 21), "«stir» is not a verb"),
    ({"expect": "{pH: 5.5}"}, (8, 18), "is it the most or the least? Write «up to 5.5» or «from 5.5»"),
    ({"expect": "{pH: 8 to 5}"}, (8, 18), "the lower end comes first"),
    ({"expect": "{pH: [null, null]}"}, (8, 18), "a range without ends"),
    ({"expect": "{filled: up to 40}"}, (8, 22), "has no unit"),
    ({"expect": "{any of: {wall: clear}}"}, (8, 22), "a list of conditions was expected"),
    ({"expect": "{any of: [clear]}"}, (8, 23), "«clear» under «any of»; it takes"),
    ({"expect": "{sum: {class: fragrence, percent: up to 1}}"}, (8, 27), "no class of materials; did you mean «fragrance»?"),
    ({"expect": "{sum: {class: fragrance}}"}, (8, 14), "«sum» without «percent»"),
    ({"expect": "{sum: {percent: up to 1}}"}, (8, 19), "«sum» of what?"),
    ({"expect": "{sum: {class: fragrance, percent: up to 1 g}}"}, (8, 47), "has the unit «g»"),
    ({"expect": "{holds: {class: fragrance, warmest: up to 1 °C}}"}, (8, 40), "«warmest» is not a key of «holds»"),
    ({"expect": "{every: {class: fragrance}}"}, (8, 14), "«every» without «percent», «warmest» or «phase»"),
    ({"expect": "{wall: clear}", "harm": "nasty"}, (5, 11), "«nasty» under «harm»; it is one of unsafe"),
    ({"expect": "{wall: clear}", "severity": "minor"}, (8, 5), "«severity» is not a key of a house rule"),
    ({"expect": "{wall: clear}", "why": "[]"}, (6, 10), "a text was expected"),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "place", "words"), WRONG, ids=[str(list(keys.values())) for keys, _, _ in WRONG])
def test_what_is_wrong_is_told_with_its_place(
    tmp_path: Path, keys: dict[str, str], place: tuple[int, int], words: str
) -> None:
    with pytest.raises(BadSettings) as caught:
        read(tmp_path, _ordered(keys))
    told = [line for line in caught.value.lines if words in line]
    assert told, caught.value.lines
    assert f"x.house.yaml:{place[0]}:{place[1]}: " in told[0]


def _ordered(keys: dict[str, str]) -> str:
    """Finds, harm, why and remedy in lines 4 to 7, then what the case brings, then the examples."""
    head = {"finds": "x", "harm": "untidy", "why": "X.", "remedy": "X."}
    head.update((key, text) for key, text in keys.items() if key in head)
    own = {key: text for key, text in keys.items() if key not in head}
    last = {"expect": own.pop("expect")} if "severity" in own else {}
    texts = {**head, **own, **last, "flawed": "x", "mended": "x"}
    return "house: 1\nrules:\n  own-rule:\n" + "".join(f"    {key}: {text}\n" for key, text in texts.items())


WHOLE_FILES = [
    ("rules: {}\n", (1, 1), "the first line of a house rule file is «house: 1»"),
    ("house: 2\nrules: {}\n", (1, 8), "«2» as file format"),
    ("house: 1\n", (1, 1), "the key «rules» is missing"),
    ("house: 1\nrules: [a]\n", (2, 8), "rules by their names were expected"),
    ("house: 1\nrules: {own-rule: 3}\n", (2, 19), "«3» under «own-rule»; a mapping was expected"),
    ("house: 1\nrules: {Own rule: {}}\n", (2, 9), "small letters and figures, words joined by hyphens"),
    ("house: 1\nrules: {own-rule: {finds: x}}\n", (2, 9), "has no harm, why, remedy, expect, flawed, mended"),
    ("house: 1\nrules: {total-not-100: {}}\n", (2, 9), "there is a rule «total-not-100» already, built in"),
    ("", (1, 1), "empty"),
    ("house: 1\nrules: !!python/object/apply:os.system [touch x]\n", (2, 8), "rules by their names were expected"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "place", "words"), WHOLE_FILES, ids=[words for _, _, words in WHOLE_FILES])
def test_a_file_that_is_none(tmp_path: Path, text: str, place: tuple[int, int], words: str) -> None:
    path = tmp_path / "x.house.yaml"
    path.write_text(text)
    with pytest.raises(BadSettings) as caught:
        read_house(str(path), REVIEWER.reference, {"total-not-100": "built in"})
    assert any(f"x.house.yaml:{place[0]}:{place[1]}: " in line and words in line for line in caught.value.lines)


def test_words_are_only_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What looks like code is compared as text, and nothing of it ever runs."""
    monkeypatch.chdir(tmp_path)
    code = "__import__('os').system('touch ran')"
    findings, _ = judge(
        tmp_path, FORMULA, expect=f'{{claim: "{code}", lacks: {{material: "{code}"}}}}', finds=f'"{{{code}}} %s"'
    )
    assert len(findings) == 1
    assert not (tmp_path / "ran").exists()


LEAVES = st.sampled_from(["clear", "up to 3 %", 4, None, True, "fragrance", [1, 2], "5 to 6"])
WORDS = st.sampled_from([*CONDITION_KEYS, "material", "class", "percent", "x"])
TREES = st.recursive(
    LEAVES, lambda inner: st.dictionaries(WORDS, inner, max_size=3) | st.lists(inner, max_size=3), max_leaves=6
)


@given(TREES)
@settings(max_examples=150, deadline=None)
def test_any_condition_is_worked_out_or_refused(tree: Any) -> None:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        try:
            findings, unchecked = judge(Path(folder), FORMULA, expect=json.dumps(tree))
        except BadSettings:
            return
        assert len(findings) + len(unchecked) < 20


# --- examples


def test_the_rules_of_the_example_are_as_meant() -> None:
    bench = Bench()
    rules = read_house(str(EXAMPLE / "nettle-row.house.yaml"), bench.reviewer.reference, {})
    assert len(rules) >= 6
    for rule in rules:
        tried = bench.try_rule(rule)
        assert tried.problems == ()
        assert tried.findings


def test_the_formulas_of_the_example() -> None:
    reviewer = Reviewer()
    sound = reviewer.review(str(EXAMPLE / "dog-rose-serum.formula.yaml"))
    assert (sound.verdict, sound.findings) == (READY, ())
    flawed = reviewer.review(str(EXAMPLE / "wild-thyme-serum.formula.yaml"))
    assert {"hedgerow-blend-cold", "perfume-on-skin", "near-skin-ph", "serum-away-from-air"} <= {
        finding.rule for finding in flawed.findings
    }


ASTRAY = [
    ("{wall: amber}", FORMULA, FORMULA, "the mended formula still sets it off"),
    ("{wall: opaque}", FORMULA, FORMULA, "the flawed formula does not set it off"),
    ("{wall: amber}", FORMULA, "formcheck: 1\n", "of the mended formula: the key «name» is missing"),
    ("{wall: amber}", FORMULA, FORMULA.replace(", wall: opaque", ""), "quiet only because of this: not stated is"),
    ("{lacks: {material: [Parfum, Squalanne]}}", FORMULA, FORMULA, "«Squalanne» is a material that neither"),
]  # fmt: skip


@pytest.mark.parametrize(("expect", "flawed", "mended", "words"), ASTRAY, ids=[words for *_, words in ASTRAY])
def test_examples_that_go_astray(tmp_path: Path, expect: str, flawed: str, mended: str, words: str) -> None:
    rule = read(tmp_path, rule_text(expect=expect, flawed=json.dumps(flawed), mended=json.dumps(mended)))
    assert any(words in problem.message for problem in Bench().try_rule(rule).problems)


# --- the schema

BARE: dict[str, Any] = json.loads((HOME / "formcheck" / "review" / "house.schema.json").read_text(encoding="utf-8"))
FULL: dict[str, Any] = json.loads(schema_text("house"))


def test_the_published_schema_is_current() -> None:
    published = (HOME / "formcheck" / "review" / "house.schema.json").read_text(encoding="utf-8")
    assert published.rstrip("\n") == schema_text("house", bare=True), (
        "run: formcheck schema house --bare > formcheck/review/house.schema.json"
    )


def test_the_schema_is_one_and_knows_every_key() -> None:
    for schema in (BARE, FULL):
        jsonschema.Draft202012Validator.check_schema(schema)
        rule = schema["properties"]["rules"]["additionalProperties"]
        assert set(rule["properties"]) == set(RULE_KEYS)
        assert set(schema["$defs"]["condition"]["properties"]) == set(CONDITION_KEYS)
        for term, keys in MATERIAL_TERMS.items():
            assert set(schema["$defs"][term]["properties"]) == set(keys)


@pytest.mark.parametrize("expect", [expect for expect, _, _ in HOLD_OR_NOT])
def test_the_schema_accepts_what_the_reader_accepts(expect: str) -> None:
    jsonschema.validate(yaml.safe_load(rule_text(expect=expect)), FULL)


BEYOND = ("lower end", "without ends", "has no unit", "the unit «g»")


@pytest.mark.parametrize(("keys", "words"), [(keys, words) for keys, _, words in WRONG])
def test_the_schema_refuses_what_the_reader_refuses(keys: dict[str, str], words: str) -> None:
    if any(part in words for part in BEYOND):
        return
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(yaml.safe_load(_ordered(keys)), FULL)


def test_the_example_is_accepted_by_the_schema() -> None:
    text = (EXAMPLE / "nettle-row.house.yaml").read_text(encoding="utf-8")
    jsonschema.validate(yaml.safe_load(text), FULL)


def test_every_need_of_a_condition_is_one_that_reviews_can_ask_for() -> None:
    needs = {source.need for source in SOURCES.values() if source.need}
    assert needs | {"pH", "procedure", "total"} <= set(NEEDS)
