"""Configuration: the nearest file holds alone, every value knows where it was written, nothing wrong goes unnoticed.

Outside yardsticks: JSON Schema draft 2020-12 through the jsonschema library; the TOML files are read by tomli as well.
"""

from __future__ import annotations

import json
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import tomli
from hypothesis import given, settings
from hypothesis import strategies as st

from formcheck.commands.schema import text as schema_text
from formcheck.plugins import gather
from formcheck.reading import files
from formcheck.review.model import HOLD, READY, UNREAD, Review
from formcheck.review.run import Reviewer
from formcheck.review.settings import AS_DECLARED, BadSettings, Settings
from formcheck.review.settings_file import RULING_KEYS, TOP_KEYS, UNSTATED_KEYS

HOME = Path(__file__).resolve().parents[2]
OFF = """\
formcheck: 1
name: Garden bath oil
phases:
  A: {Helianthus Annuus Seed Oil: 99, Tocopherol: 0.5}
"""
SMALL = """\
formcheck: 1
name: Garden gel
product: {use: leave-on, form: gel}
batch: {size: 100 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Allantoin: 0.1}
"""


def write(folder: Path, **texts: str) -> Path:
    """Files of a folder: settings -> formcheck.toml, project -> pyproject.toml, formula -> a.formula.yaml."""
    names = {"settings": "formcheck.toml", "project": "pyproject.toml", "formula": "a.formula.yaml"}
    folder.mkdir(parents=True, exist_ok=True)
    for key, text in texts.items():
        (folder / names[key]).write_text(text, encoding="utf-8")
    return folder / "a.formula.yaml"


def of(folder: Path) -> Settings:
    return Reviewer().settings(str(folder / "a.formula.yaml"))


def rules(review: Review) -> dict[str, str]:
    assert not review.errors, review.errors
    return {finding.rule: finding.severity for finding in review.findings}


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A repository's root, so that nothing above it plays a part."""
    (tmp_path / ".git").mkdir()
    return tmp_path


# --- which file


def test_without_a_file_everything_is_as_declared(home: Path) -> None:
    assert of(home) == AS_DECLARED


def test_the_nearest_file_holds_alone(home: Path) -> None:
    write(home, settings='threshold = "note"\n[rules.total-not-100]\ntolerance = 1\n')
    write(home / "gels", settings='threshold = "minor"\n')
    found = of(home / "gels" / "deep")
    assert found.threshold is not None
    assert (found.threshold.value, found.options) == ("minor", {})
    assert of(home / "creams").threshold.value == "note"  # type: ignore[union-attr]


def test_the_search_ends_at_a_repository(home: Path) -> None:
    write(home, settings='threshold = "note"\n')
    (home / "inner" / ".git").mkdir(parents=True)
    assert of(home / "inner") == AS_DECLARED


def test_a_file_builds_on_another_only_where_it_says_so(home: Path) -> None:
    write(
        home,
        settings='threshold = "note"\nleave-out = ["old"]\n[unstated]\nroom = "18 °C"\nbalance = "1 g"\n'
        '[rules.total-not-100]\ntolerance = 1\nsilent = true\nreason = "above"\n',
    )
    write(
        home / "gels",
        settings='builds-on = "../formcheck.toml"\nleave-out = ["old"]\n[unstated]\nbalance = "0.1 g"\n'
        "[rules.total-not-100]\nsilent = false\n",
    )
    found = of(home / "gels")
    assert [Path(file).parent.name for file in found.files] == ["gels", home.name]
    assert found.threshold is not None
    assert found.threshold.value == "note"
    assert (found.unstated.room_celsius, float(found.unstated.balance_g or 0)) == (18, 0.1)
    assert found.silent == {}
    assert found.values == {"total-not-100": {"tolerance": 1.0}}
    assert [given.value for given in found.leave_out] == [str(home / "old"), str(home / "gels" / "old")]
    places = [(Path(given.file).parent.name, given.place.line) for given in found.given.values()]
    assert places == [(home.name, 4), ("gels", 4)]


def test_pyproject_serves_where_it_has_our_table(home: Path) -> None:
    write(
        home,
        project='[project]\nname = "x"\n\n[tool.formcheck]\nthreshold = "minor"\n[tool.formcheck.unstated]\nroom = "68 °F"\n',
    )
    found = of(home)
    assert found.threshold is not None
    assert (found.threshold.place.line, found.threshold.value) == (5, "minor")
    assert found.unstated.room_celsius == pytest.approx(20)


def test_pyproject_without_our_table_is_passed_by(home: Path) -> None:
    write(home, settings='threshold = "minor"\n')
    write(home / "gels", project='[project]\ndependencies = ["formcheck"\n# not even TOML')
    assert of(home / "gels").threshold is not None


def test_two_files_in_one_folder_are_an_error(home: Path) -> None:
    write(home, settings="", project='[tool.formcheck]\nthreshold = "minor"\n')
    with pytest.raises(BadSettings, match=r"pyproject\.toml; keep one"):
        of(home)


def test_an_empty_file_stands_between(home: Path) -> None:
    write(home, settings='threshold = "note"\n')
    write(home / "gels", settings="# as built in\n")
    assert of(home / "gels").threshold is None


def test_standard_input_is_served_as_the_working_folder_is(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(home, settings="[rules.total-not-100]\ntolerance = 1\n")
    monkeypatch.chdir(home)
    assert "total-not-100" not in rules(Reviewer().review("-", OFF.encode()))


def test_paths_are_relative_to_the_file_that_wrote_them(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(home / "house", settings='leave-out = ["../archive", "old/"]\n')
    write(home / "gels", settings='builds-on = "../house/formcheck.toml"\n')
    (home / "elsewhere").mkdir()
    monkeypatch.chdir(home / "elsewhere")
    assert [given.value for given in of(home / "gels").leave_out] == [
        str(home / "archive"),
        str(home / "house" / "old"),
    ]


def test_folders_left_out_are_passed_by_unless_named(home: Path) -> None:
    write(home, settings='leave-out = ["archive"]\n', formula=OFF)
    write(home / "archive" / "deep", formula=OFF)
    reviewer = Reviewer()

    def found(folder: Path) -> list[str]:
        return [str(Path(p).relative_to(home)) for p in files.find(str(folder), reviewer.configuration.leaves_out)]

    assert found(home) == ["a.formula.yaml"]
    assert found(home / "archive") == ["archive/deep/a.formula.yaml"]


# --- what it does


def test_an_option_holds_for_its_own_folder_only(home: Path) -> None:
    """One reviewer, two folders in turn and in eight threads: what one folder sets never reaches the other."""
    wide = write(home / "wide", settings="[rules.total-not-100]\ntolerance = 1\n", formula=OFF)
    strict = write(home / "strict", formula=OFF)
    reviewer = Reviewer()
    paths = [str(path) for path in (wide, strict) * 40]
    with ThreadPoolExecutor(8) as pool:
        together = list(pool.map(reviewer.review, paths))
    for review, path in zip(together, paths):
        assert ("total-not-100" in rules(review)) == (path == str(strict))
        assert review == reviewer.review(path)


def test_an_option_may_carry_its_unit(home: Path) -> None:
    write(home, settings='[rules.total-not-100]\ntolerance = "0.5 %"\n')
    assert of(home).values == {"total-not-100": {"tolerance": 0.5}}


def test_what_a_formula_leaves_unstated(home: Path) -> None:
    path = write(home, formula=SMALL)
    assert "balance-too-coarse" not in rules(Reviewer().review(str(path)))
    write(home, settings='[unstated]\nroom = "15 °C"\nbalance = "0.1 g"\nmarkets = ["us", "UK"]\n')
    sheet = Reviewer().sheet(str(path))
    assert (sheet.formula.room_celsius, sheet.product.markets) == (15, ("US", "UK"))
    assert "balance-too-coarse" in rules(Reviewer().review(str(path)))


def test_what_a_formula_states_goes_before(home: Path) -> None:
    text = SMALL.replace("batch: {size: 100 g}", "batch: {size: 100 g, balance: 0.001 g}\nroom: 25 °C")
    path = write(home, formula=text, settings='[unstated]\nroom = "15 °C"\nbalance = "0.1 g"\n')
    sheet = Reviewer().sheet(str(path))
    assert (sheet.formula.room_celsius, float(sheet.formula.batch.balance_g or 0)) == (25, 0.001)


def test_a_silenced_finding_does_not_count_and_is_not_hidden(home: Path) -> None:
    path = write(home, formula=OFF, settings='[rules.total-not-100]\nsilent = true\nreason = "pilot"\n')
    review = Reviewer().review(str(path))
    assert review.verdict == READY
    (silenced,) = review.silenced
    assert (silenced.finding.rule, silenced.finding.severity, silenced.reason) == ("total-not-100", "major", "pilot")
    assert silenced.where.endswith("formcheck.toml:2")


def test_another_severity_decides_the_verdict_and_is_told(home: Path) -> None:
    path = write(home, formula=OFF, settings='[rules.total-not-100]\nseverity = "note"\nreason = "pilot"\n')
    review = Reviewer().review(str(path))
    assert (review.verdict, rules(review)["total-not-100"]) == (READY, "note")
    assert [(each.was, each.reason) for each in review.regraded] == [("major", "pilot")]


def test_a_whole_family_and_a_rule_that_goes_before_it(home: Path) -> None:
    text = OFF.replace("0.5", "0.5, Squalane: 0")
    path = write(home, formula=text, settings='[families.totals]\nsilent = true\nreason = "drafts"\n')
    family = {rule.id for rule in gather().rules() if rule.family == "totals"}
    review = Reviewer().review(str(path))
    assert {"total-not-100", "percent-out-of-range"} <= {each.finding.rule for each in review.silenced} <= family
    write(
        home,
        settings='[families.totals]\nsilent = true\nreason = "drafts"\n[rules.total-not-100]\nsilent = false\n',
    )
    review = Reviewer().review(str(path))
    assert "total-not-100" in rules(review)
    assert {each.finding.rule for each in review.silenced} == {"percent-out-of-range"}


def test_a_silent_rule_asks_for_nothing(home: Path) -> None:
    text = SMALL.replace("Allantoin: 0.1", "Ascorbic Acid: 5")
    path = write(home, formula=text)
    asked = {item.rule for item in Reviewer().review(str(path)).unchecked}
    assert asked, "the formula leaves something unstated"
    rule = sorted(asked)[0]
    write(home, settings=f'[rules.{rule}]\nsilent = true\nreason = "not ours to judge"\n')
    assert {item.rule for item in Reviewer().review(str(path)).unchecked} == asked - {rule}


def test_a_deviation_of_the_formula_comes_before_the_configuration(home: Path) -> None:
    text = OFF + "deviations:\n  - {rule: total-not-100, reason: pilot only}\n"
    path = write(home, formula=text, settings='[rules.total-not-100]\nsilent = true\nreason = "x"\n')
    review = Reviewer().review(str(path))
    assert (len(review.accepted), review.silenced) == (1, ())


@pytest.mark.parametrize(("asked", "verdict"), [(None, READY), ("major", HOLD), ("critical", READY)])
def test_the_threshold_of_the_command_line_goes_before(home: Path, asked: str | None, verdict: str) -> None:
    path = write(home, formula=OFF, settings='threshold = "critical"\n')
    review = Reviewer(asked).review(str(path))
    assert (review.verdict, review.threshold) == (verdict, asked or "critical")


# --- what is wrong


WRONG = [
    ("treshold = 'minor'", (1, 1), "«treshold» is not a key of a configuration; did you mean «threshold»?"),
    ("threshold = 'high'", (1, 13), "«high» under «threshold»; it is one of critical, major, minor, note"),
    ("[rules.total-not-10]\nsilent = true", (1, 8), "«total-not-10» is no rule; did you mean «total-not-100»?"),
    ("[families.total]\nsilent = true", (1, 11), "«total» is no family of rules; did you mean «totals»?"),
    ("[rules.total-not-100]\ntolerence = 1", (2, 1), "of the rule total-not-100; did you mean «tolerance»?"),
    ("[rules.total-not-100]\ntolerance = '1 g'", (2, 13), "has the unit «g»"),
    ("[rules.total-not-100]\ntolerance = -1", (2, 13), "it is not negative"),
    ("[rules.total-not-100]\ntolerance = nan", (2, 13), "«nan» is not a number"),
    ("[rules.total-not-100]\ntolerance = [1]", (2, 13), "a list where"),
    ("[rules.total-not-100]\nsilent = true", (2, 1), "«silent» without a reason"),
    ("[rules.total-not-100]\nseverity = 'note'", (2, 1), "«severity» without a reason"),
    ("[families.totals]\nseverity = 'note'\nreason = ''", (3, 10), "a text was expected"),
    ("[rules.total-not-100]\nsilent = 'yes'\nreason = 'x'", (2, 10), "it is true or false"),
    ("[families.totals]\ntolerance = 1", (2, 1), "«tolerance» is not a key of the family totals"),
    ("rules = 3", (1, 9), "«3» under «rules»; a table was expected"),
    ("[unstated]\nroom = 20", (2, 8), "has no unit; room needs °C"),
    ("[unstated]\nbalance = '0 g'", (2, 11), "more than nothing"),
    ("[unstated]\npH = 5", (2, 1), "«pH» is not a key of unstated; known are room, balance, markets"),
    ("builds-on = 'other.toml'", (1, 13), "there is no file"),
    ("builds-on = 'formcheck.toml'", (1, 13), "builds on this one again"),
    ("builds-on = 'other.yaml'", (1, 13), "its name ends with .toml"),
    ("house-rules = ['x.house.yaml']", (1, 16), "there is no file"),
    ("house-rules = ['/etc/passwd']", (1, 16), "its name ends with .house.yaml"),
    ("builds-on = 'https://example.org/f.toml'", (1, 13), "lies on another machine"),
    ("builds-on = '//example.org/share/f.toml'", (1, 13), "lies on another machine"),
    ('house-rules = ["\\\\\\\\example.org\\\\share\\\\f.house.yaml"]', (1, 16), "lies on another machine"),
    ("leave-out = ['memory://formulas']", (1, 14), "lies on another machine"),
    ("packs = ['evil.py']", (1, 1), "«packs» is not a key of a configuration"),
    ("threshold = ", (1, 13), "not valid TOML"),
    ("threshold = 'note'\nthreshold = 'note'", (2, 19), "not valid TOML"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "place", "words"), WRONG, ids=[text.replace("\n", " ") for text, _, _ in WRONG])
def test_what_is_wrong_is_told_with_its_place(home: Path, text: str, place: tuple[int, int], words: str) -> None:
    path = write(home, settings=text + "\n", formula=OFF)
    with pytest.raises(BadSettings) as caught:
        Reviewer().settings(str(path))
    (line,) = caught.value.lines
    assert f"formcheck.toml:{place[0]}:{place[1]}: " in line
    assert words in line
    review = Reviewer().review(str(path))
    assert review.verdict == UNREAD
    assert line in review.errors[0].message


def test_all_that_is_wrong_is_told_at_once(home: Path) -> None:
    write(home, settings="treshold = 1\n[rules.nix]\n[rules.total-not-100]\ntolerance = 'x'\n[unstated]\nroom = 3\n")
    with pytest.raises(BadSettings) as caught:
        of(home)
    assert [line.split(":")[1] for line in caught.value.lines] == ["1", "2", "4", "6"]


def test_a_mistake_below_is_told_in_the_file_that_makes_it(home: Path) -> None:
    write(home, settings="[rules.nix]\n")
    write(home / "gels", settings='builds-on = "../formcheck.toml"\n')
    with pytest.raises(BadSettings) as caught:
        of(home / "gels")
    file, _, said = caught.value.lines[0].partition(":1:8: ")
    assert said
    assert os.path.abspath(file) == str(home / "formcheck.toml")


def test_a_long_chain_ends_in_a_word(home: Path) -> None:
    for number in range(12):
        (home / f"{number}.toml").write_text(f'builds-on = "{number + 1}.toml"\n')
    (home / "12.toml").write_text("")
    write(home, settings='builds-on = "0.toml"\n')
    with pytest.raises(BadSettings, match="one more than"):
        of(home)


REVIEWER = Reviewer()


@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=200))
@settings(max_examples=60, deadline=None)
def test_any_text_is_read_or_refused(text: str) -> None:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        (Path(folder) / ".git").mkdir()
        (Path(folder) / "formcheck.toml").write_text(text, encoding="utf-8")
        try:
            REVIEWER.configuration.of(folder)
        except BadSettings as error:
            assert error.lines


# --- the schema


BARE: dict[str, Any] = json.loads((HOME / "formcheck" / "review" / "settings.schema.json").read_text(encoding="utf-8"))
FULL: dict[str, Any] = json.loads(schema_text("settings"))


def test_the_published_schema_is_current() -> None:
    published = (HOME / "formcheck" / "review" / "settings.schema.json").read_text(encoding="utf-8")
    assert published.rstrip("\n") == schema_text("settings", bare=True), (
        "run: formcheck schema settings --bare > formcheck/review/settings.schema.json"
    )


def test_the_schema_is_one_and_knows_every_key() -> None:
    for schema in (BARE, FULL):
        jsonschema.Draft202012Validator.check_schema(schema)
        assert set(schema["properties"]) == set(TOP_KEYS)
        assert set(schema["properties"]["unstated"]["properties"]) == set(UNSTATED_KEYS)
    rule = FULL["properties"]["rules"]["properties"]["total-not-100"]["properties"]
    assert set(rule) >= {*RULING_KEYS, "tolerance"}


def test_no_option_is_called_as_our_own_keys() -> None:
    names = {option.name for rule in gather().rules() for option in rule.options}
    assert not names & set(RULING_KEYS)


BEYOND = (
    "no file",
    "on this one again",
    "not valid TOML",
    "has the unit",
    "negative",
    "«nan»",
    "has no unit",
    "nothing",
)
"""What a schema of types cannot know: other files, the grammar of TOML, units and amounts."""


@pytest.mark.parametrize(("text", "words"), [(text, words) for text, _, words in WRONG], ids=[w[0][:30] for w in WRONG])
def test_the_schema_refuses_what_the_reader_refuses(text: str, words: str) -> None:
    if any(part in words for part in BEYOND) or words == "a text was expected":
        return
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(tomli.loads(text), FULL)


def test_the_example_is_accepted_by_reader_and_schema() -> None:
    path = HOME / "examples" / "house" / "formcheck.toml"
    data = tomli.loads(path.read_text(encoding="utf-8"))
    jsonschema.validate(data, FULL)
    jsonschema.validate(data, BARE)
    found = Reviewer().settings(str(path))
    assert found.threshold is not None
    assert found.threshold.value == data["threshold"]
    assert found.values["balance-too-coarse"]["error"] == float(data["rules"]["balance-too-coarse"]["error"].split()[0])
    assert set(found.silent) >= set(data["rules"]) - {"balance-too-coarse"}
