"""Every correction that a rule declares holds: the file still reads, the finding is gone, nothing grave is new."""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from formcheck.bench.worksheet import Worksheet
from formcheck.plugins import gather, implements
from formcheck.reading import files
from formcheck.reading.document import Mapping, Node, Sequence, Unreadable, plain
from formcheck.review.corrections import ON_REQUEST, CannotEdit, Corrected, Correction, correct, editor_of
from formcheck.review.rule import Finding, Rule, declare
from formcheck.review.run import Reviewer

RULES = [rule for rule in gather().rules() if rule.corrections is not None]
IDS = [rule.id for rule in RULES]
HEAD = "formcheck: 1\nname: Garden gel\nproduct: {use: leave-on, form: gel, area: [hands], users: [adults], markets: [EU]}\n"
COOLED = (
    HEAD
    + """\
batch: {size: 500 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Hydroxyethylcellulose: 1}
  B: {%s}
procedure:
  - sprinkle: Hydroxyethylcellulose   # slowly
    into: A
  - heat: A
    to: 70 °C
    hold: 20 min
  - add: B      # the cool-down phase
    into: A
  - cool: A
    to: 30 °C
  - rest: A
    for: 12 h
  - fill: A
"""
)
MORE = {
    "preservative-too-hot": [COOLED % "Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1"],
    "volatile-too-hot": [COOLED % "Panthenol: 1, Parfum: 0.3"],
    "active-too-hot": [
        COOLED % "Plum extract: 2"
        + "materials:\n  Plum extract: {class: botanical extract, maximum temperature: 40 °C}\n"
    ],
    "step-names-unknown": [
        HEAD
        + "phases:\n  A: {Aqua: q.s., Xanthan Gum: 0.6}\nprocedure:\n  - sprinkle: Xantham gum # slowly\n    into: A\n"
        "  - rest: A\n    for: 12 h\n  - fill: A\n",
    ],
    "thickener-dumped": [
        HEAD
        + "phases:\n  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.6}\nprocedure:\n  - add: Aqua   # cold\n    into: A\n"
        "  - disperse: Xanthan Gum\n    in: Glycerin # all of it\n  - mix: A\n    for: 5 min\n  - fill: A\n",
    ],
    "ph-not-measured": [
        HEAD + "phases:\n  A: {Aqua: q.s., Panthenol: 1}\nprocedure:\n- {mix: A, for: 5 min}\n"
        "- {adjust pH: A, to: 5.5, with: Lactic Acid, strength: 10 %}\nfinished: {pH: 5.5}\n",
    ],
    "total-not-100": [
        HEAD + "phases:\n  A: {Helianthus Annuus Seed Oil: 79, Tocopherol: 0.5}\n",
        HEAD + "phases:\n  A: {Aqua: {percent: 60, lot: 7}, Glycerin: 4}\n",
    ],
    "batch-arithmetic": [
        HEAD + "batch: {size: 200 g}\nphases:\n  A: {Aqua: q.s., Glycerin: {percent: 4, grams: 4 g}}\n"
    ],
    "preservative-over-limit": [
        HEAD + "phases:\n  A: {Aqua: 98.4, Glycerin: 0.4}\n  B: {Phenoxyethanol: 1.2}\n",
    ],
}


@pytest.fixture(scope="module")
def corrector(reviewer: Reviewer) -> Reviewer:
    return reviewer


def run(
    reviewer: Reviewer, text: str, name: str = "x.formula.yaml", asked: tuple[str, ...] = tuple(ON_REQUEST)
) -> Corrected:
    return correct(reviewer, name, text.encode(), asked)


def _cases() -> Iterator[object]:
    for rule in RULES:
        for number, text in enumerate([rule.flawed.lstrip(), *MORE.get(rule.id, [])]):
            yield pytest.param(rule, text, id=f"{rule.id}-{number}")


CASES = list(_cases())


@pytest.mark.parametrize("rule", RULES, ids=IDS)
def test_every_declared_correction_is_shown_at_work(rule: Rule, corrector: Reviewer) -> None:
    texts = [rule.flawed.lstrip(), *MORE.get(rule.id, [])]
    made = {made.rule for text in texts for made in run(corrector, text).made}
    assert rule.id in made, f"no text here is corrected by {rule.id}; add one to MORE"


@pytest.mark.parametrize(("rule", "text"), CASES)
def test_a_corrected_file_is_read_is_no_worse_and_stays_as_it_is(rule: Rule, text: str, corrector: Reviewer) -> None:
    before = corrector.review("x.formula.yaml", text.encode())
    result = run(corrector, text)
    after = corrector.review("x.formula.yaml", result.new.encode())
    assert not after.errors
    assert not result.review.faults
    assert rule.id in {finding.rule for finding in before.findings}
    mended = [made for made in result.made if made.rule == rule.id]
    assert len([f for f in after.findings if f.rule == rule.id]) <= len(
        [f for f in before.findings if f.rule == rule.id]
    ) - min(len(mended), 1)
    grave = {f.rule for f in before.findings if f.severity in ("critical", "major")}
    assert {f.rule for f in after.findings if f.severity in ("critical", "major")} <= grave
    again = run(corrector, result.new)
    assert again.new == result.new
    assert not again.made


@pytest.mark.parametrize(("rule", "text"), CASES)
def test_comments_and_line_ends_are_kept(rule: Rule, text: str, corrector: Reviewer) -> None:
    text = "".join(f"{line}   # nr {number} »\n" for number, line in enumerate(text.splitlines()))
    plain_ends = run(corrector, text)
    comments = [line.partition("#")[2] for line in text.splitlines()]
    kept = [line.partition("#")[2] for line in plain_ends.new.splitlines() if "#" in line]
    assert sorted(kept) == sorted(comments)
    windows = run(corrector, text.replace("\n", "\r\n"))
    assert windows.new == plain_ends.new.replace("\n", "\r\n")


@pytest.mark.parametrize(("rule", "text"), CASES)
@pytest.mark.parametrize("ending", ["toml", "json"])
def test_the_same_is_corrected_in_toml_and_json(rule: Rule, text: str, ending: str, corrector: Reviewer) -> None:
    data = typed(files.read("x.formula.yaml", text.encode()).root)
    other = json.dumps(data, indent=1, ensure_ascii=False) if ending == "json" else as_toml(data)
    there, here = run(corrector, other, f"x.formula.{ending}"), run(corrector, text)
    assert [(made.rule, made.what) for made in there.made] == [(made.rule, made.what) for made in here.made]
    assert plain(files.read(f"x.formula.{ending}", there.new.encode()).root) == plain(
        files.read("x.formula.yaml", here.new.encode()).root
    )


FILES = sorted(
    path
    for folder in ("examples/flawed", "examples/sound", "tests/corpus/flawed", "tests/corpus/published")
    for path in (Path(__file__).resolve().parents[2] / folder).glob("*.formula.*")
)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_formulas_as_people_write_them_get_no_worse(path: Path, corrector: Reviewer) -> None:
    data = path.read_bytes()
    before = corrector.review(str(path), data)
    result = correct(corrector, str(path), data, ON_REQUEST)
    after = corrector.review(str(path), result.new.encode())
    assert not after.errors
    assert not result.review.faults
    for severity in ("critical", "major"):
        assert after.count(severity) <= before.count(severity)
    assert correct(corrector, str(path), result.new.encode(), ON_REQUEST).new == result.new
    kept = sum(line in result.new.splitlines() for line in result.old.splitlines() if line.lstrip().startswith("#"))
    assert kept == sum(line.lstrip().startswith("#") for line in result.old.splitlines())


def typed(node: Node) -> object:
    """Plain data in which numbers are numbers."""
    if isinstance(node, Mapping):
        return {entry.key.text: typed(entry.value) for entry in node.entries}
    if isinstance(node, Sequence):
        return [typed(item) for item in node.items]
    if node.kind == "number":
        return float(node.text) if "." in node.text else int(node.text)
    return node.text


def as_toml(data: object) -> str:
    """Plain data as TOML of the usual layout: tables for phases, an array of tables for the procedure."""
    assert isinstance(data, dict)
    lines = [
        f"{json.dumps(key)} = {_inline(value)}" for key, value in data.items() if key not in ("phases", "procedure")
    ]
    for letter, phase in data["phases"].items():
        lines += [f"\n[phases.{letter}]", *(f"{json.dumps(k)} = {_inline(v)}" for k, v in phase.items())]
    for step in data.get("procedure", []):
        lines += ["\n[[procedure]]", *(f"{json.dumps(k)} = {_inline(v)}" for k, v in step.items())]
    return "\n".join(lines) + "\n"


def _inline(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {_inline(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


# --- what single corrections do


def percents(reviewer: Reviewer, text: str) -> dict[str, Decimal | None]:
    return {item.name: item.percent for item in reviewer.sheet("x.formula.yaml", text.encode()).items}


def test_rescaling_keeps_the_proportions_and_adds_to_100_exactly(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Helianthus Annuus Seed Oil: 70, Squalane: 7, Tocopherol: 0.7}\n"
    after = percents(corrector, run(corrector, text, asked=("rescale",)).new)
    assert sum(value or 0 for value in after.values()) == 100
    # 70 : 7 : 0.7 is 100 : 10 : 1, by hand
    assert [round(float(after["Squalane"] or 0), 1), round(float(after["Tocopherol"] or 0), 1)] == [9.0, 0.9]


def test_the_water_takes_a_little_by_itself_and_much_only_on_request(corrector: Reviewer) -> None:
    little = HEAD + "phases:\n  A: {Aqua: 95, Glycerin: 4}\n"
    much = HEAD + "phases:\n  A: {Aqua: 60, Glycerin: 4}\n"
    assert percents(corrector, run(corrector, little, asked=()).new)["Aqua"] == 96
    assert run(corrector, much, asked=()).new == much
    assert set(run(corrector, much, asked=()).open) == {"rescale", "water"}
    assert percents(corrector, run(corrector, much, asked=("water",)).new)["Aqua"] == 96


def test_two_lines_of_water_leave_the_choice_to_the_maker(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Aqua: 50, Glycerin: 4}\n  B: {Aqua: 45}\n"
    assert run(corrector, text, asked=()).new == text


def test_a_preservative_goes_down_to_the_limit_only_when_asked(corrector: Reviewer) -> None:
    """Regulation (EC) No 1223/2009, annex V, entry 29: phenoxyethanol, 1.0 %."""
    text = HEAD + "phases:\n  A: {Aqua: 94.8, Glycerin: 4}\n  B: {Phenoxyethanol: 1.2}\n"
    assert run(corrector, text, asked=()).open == ("legal-maximum",)
    after = percents(corrector, run(corrector, text, asked=("legal-maximum",)).new)
    assert after == {"Aqua": Decimal(95), "Glycerin": Decimal(4), "Phenoxyethanol": Decimal(1)}


def test_a_limit_counted_as_acid_is_kept_after_rounding(corrector: Reviewer) -> None:
    """Annex V, entry 4: sorbic acid 0.6 %, as acid. M 112.13 and 150.22 g/mol (handbook): 0.6 / 112.13 * 150.22 = 0.8038."""
    text = HEAD + "phases:\n  A: {Aqua: q.s., Glycerin: 4, Potassium Sorbate: 1}\nfinished: {pH: 4.8}\n"
    after = percents(corrector, run(corrector, text, asked=("legal-maximum",)).new)
    assert after["Potassium Sorbate"] == Decimal("0.8")


def test_names_become_inci_names_wherever_they_stand(corrector: Reviewer) -> None:
    text = HEAD.replace("[EU]", "[EU, UK]") + (
        "phases:\n  A: {water: q.s., 'glycerol': 4, xanthan gum: 0.6}   # kept\nprocedure:\n"
        "  - {disperse: xanthan gum, in: glycerol, note: glycerol first}\n  - {add: water, into: A}\n"
        "  - {fill: A}\n"
        "deviations:\n  - {rule: preservative-missing, of: glycerol, reason: a trial of glycerol}\n"
    )
    result = run(corrector, text, asked=("inci-names",))
    assert "A: {Aqua: q.s., 'Glycerin': 4, Xanthan Gum: 0.6}   # kept" in result.new
    assert "- {disperse: Xanthan Gum, in: Glycerin, note: glycerol first}" in result.new
    assert "{add: Aqua, into: A}" in result.new
    assert "of: Glycerin, reason: a trial of glycerol" in result.new


def test_water_may_stay_water_where_the_formula_is_for_the_united_states(corrector: Reviewer) -> None:
    """Labelling practice in the United States names water «Water» (common practice)."""
    text = HEAD.replace("[EU]", "[US]") + "phases:\n  A: {Water: q.s., glycerol: 4}\n"
    assert "{Water: q.s., Glycerin: 4}" in run(corrector, text, asked=("inci-names",)).new


def test_a_name_that_would_stand_twice_is_not_given(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Aqua: q.s., Glycerin: 4, glycerol: 2}\n"
    result = run(corrector, text, asked=("inci-names",))
    assert result.new == text
    assert "stands twice" in next(refused.why for refused in result.refused if refused.rule == "inci-names")


def test_the_house_s_own_names_stay(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Aqua: q.s., Old glycerol: 4}\nmaterials:\n  Old glycerol: {INCI: Glycerin}\n"
    assert run(corrector, text, asked=("inci-names",)).new == text


# --- slips of writing


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Glycerin: 4,5", "Glycerin: 4.5"),
        ("Glycerin: '4,5 %'", "Glycerin: '4.5 %'"),
        ("Glycerin: 4,125", "Glycerin: 4.125"),
        ("Glycerin: {percent: 4,5, lot: 3}", "Glycerin: {percent: 4.5, lot: 3}"),
    ],
)
def test_a_decimal_comma_becomes_a_point(written: str, meant: str, corrector: Reviewer) -> None:
    text = HEAD + f"phases:\n  A:\n    Aqua: q.s.   # rest\n    {written} # sweet\n"
    result = run(corrector, text, asked=())
    assert result.new == text.replace(written, meant)
    assert [made.rule for made in result.made] == ["decimal comma"]


def test_a_comma_within_brackets_that_tore_a_number_apart_is_joined(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Aqua: q.s., Glycerin: 4,5, Panthenol: 1}\n"
    assert run(corrector, text, asked=()).new == text.replace("4,5", "4.5")


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "batch: {size: '1,500 g'}\nphases:\n  A: {Aqua: q.s.}\n",  # a thousand and a half, or one and a half
        HEAD + "phases:\n  A: {Aqua: q.s., Glycerin: '4,5', Panthenol: some}\n",
        HEAD + "phases:\n  A: {Aqua: q.s., Glycerin: 4, 5}\n",
        HEAD + "phases: {A: {Aqua: q.s., Glycerin: '4,5'}\n",
        HEAD + "fases:\n  A: {Aqua: q.s.}\n",
        "",
        "[]",
    ],
)
def test_a_file_that_cannot_be_read_in_full_is_left_alone(text: str, corrector: Reviewer) -> None:
    with pytest.raises(Unreadable):
        run(corrector, text)


# --- the engine


def _reviewer(corrections: object, finds: object = None) -> Reviewer:
    def check(sheet: Worksheet) -> Iterator[Finding]:
        if "old" in sheet.formula.name:
            yield rule.finding(sheet.items[0].line, "the name is old")

    rule = declare(finds="x", harm="untidy", why="X.", remedy="X.", flawed="", mended="")
    rule.id, rule.family = "old-name", "house"
    rule.check = finds or check  # type: ignore[assignment]
    rule.corrections = corrections  # type: ignore[assignment]

    class Plugin:
        @implements
        def formcheck_rules(self) -> list[Rule]:
            return [rule]

    return Reviewer(plugins=gather([("house", Plugin())]))


OLD = "formcheck: 1\nname: old name # mine\nphases:\n  A: {Helianthus Annuus Seed Oil: 99.5, Tocopherol: 0.5}\n"


def _renames(*names: str, path: str = "/name") -> object:
    def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
        for name in names:
            yield Correction(f"becomes {name}", (editor_of(sheet).value(path, name),))

    return corrections


def test_a_correction_of_a_plug_in_is_kept_where_it_holds() -> None:
    result = correct(_reviewer(_renames("new name")), "x.formula.yaml", OLD.encode())
    assert result.new == OLD.replace("old name", "new name")
    assert [(made.rule, made.line) for made in result.made] == [("old-name", 4)]


@pytest.mark.parametrize(
    ("corrections", "why"),
    [
        (_renames("older name"), "still be there"),
        (_renames("new", path="/formcheck"), "would not read"),
        (_renames("50", path="/phases/A/Helianthus Annuus Seed Oil"), "still be there"),
        (_renames("x", path="/nowhere"), "shared"),
    ],
)
def test_a_correction_that_does_not_hold_is_refused_with_the_reason(corrections: object, why: str) -> None:
    result = correct(_reviewer(corrections), "x.formula.yaml", OLD.encode())
    assert result.new == OLD
    assert not result.made
    assert why in result.refused[0].why


def test_a_correction_that_brings_something_grave_is_refused() -> None:
    def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
        edits = editor_of(sheet)
        yield Correction("both", (edits.value("/name", "new"), edits.value("/phases/A/Tocopherol", "5")))

    result = correct(_reviewer(corrections), "x.formula.yaml", OLD.encode())
    assert result.new == OLD
    assert "it would bring total-not-100" in result.refused[0].why


def test_the_second_offer_is_taken_where_the_first_does_not_hold() -> None:
    result = correct(_reviewer(_renames("old too", "new")), "x.formula.yaml", OLD.encode())
    assert [made.what for made in result.made] == ["becomes new"]


def test_edits_that_overlap_are_no_correction() -> None:
    def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
        edit = editor_of(sheet).value("/name", "new")
        yield Correction("twice", (edit, edit))

    result = correct(_reviewer(corrections), "x.formula.yaml", OLD.encode())
    assert (result.new, result.refused[0].why) == (OLD, "two changes speak of the same place")


def test_corrections_that_lead_in_a_circle_come_to_an_end() -> None:
    def check(sheet: Worksheet) -> Iterator[Finding]:
        yield from ()
        if sheet.formula.name in ("old one", "old two"):
            yield finding(sheet, sheet.formula.name)

    def finding(sheet: Worksheet, message: str) -> Finding:
        return Finding("old-name", "minor", sheet.items[0].line.place, "/name", message, "X.", "X.", "")

    def corrections(sheet: Worksheet, found: Finding) -> Iterator[Correction]:
        name = "old two" if found.message == "old one" else "old one"
        yield Correction(name, (editor_of(sheet).value("/name", name),))

    result = correct(_reviewer(corrections, check), "x.formula.yaml", OLD.replace("old name", "old one").encode())
    assert not result.made


def test_corrections_that_raise_are_a_fault_of_their_rule_and_the_others_go_on() -> None:
    def corrections(sheet: Worksheet, finding: Finding) -> Iterator[Correction]:
        raise ZeroDivisionError("by nought")
        yield

    text = OLD.replace("Helianthus Annuus Seed Oil: 99.5", "Aqua: 98").replace("Tocopherol", "Glycerin")
    result = correct(_reviewer(corrections), "x.formula.yaml", text.encode())
    assert [(fault.who, "by nought" in fault.what) for fault in result.review.faults] == [("old-name", True)]
    assert "total-not-100" in {made.rule for made in result.made}


def test_an_accepted_finding_is_not_corrected(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Aqua: 95, Glycerin: 4}\ndeviations:\n  - {rule: total-not-100, reason: pilot}\n"
    assert run(corrector, text, asked=()).new == text


def test_what_an_alias_shares_is_left_alone(corrector: Reviewer) -> None:
    text = HEAD + "phases:\n  A: {Aqua: &much 95, Glycerin: 4}\n  B: {Panthenol: 0.5}\ncode: *much\n"
    result = run(corrector, text, asked=())
    assert result.new == text
    assert "alias" in next(refused.why for refused in result.refused if refused.rule == "total-not-100")


def test_a_format_that_only_a_plug_in_reads_is_refused(corrector: Reviewer) -> None:
    reviewer = Reviewer()
    reviewer.readers = {".odd": lambda text: files.read("x.yaml", text.encode()).root}
    with pytest.raises(CannotEdit, match="plug-in"):
        correct(reviewer, "x.odd", OLD.encode())


@pytest.mark.parametrize(
    ("lines", "moved"),
    [("Phenoxyethanol: 0.9, Ethylhexylglycerin: 0.1", True), ("Phenoxyethanol: 0.9, Polysorbate 20: 2", False)],
)
def test_what_builds_the_product_is_not_moved_behind_the_cooling(corrector: Reviewer, lines: str, moved: bool) -> None:
    text = COOLED % lines
    assert (run(corrector, text, asked=()).new != text) == moved


@pytest.mark.parametrize("lines", ["Squalane: 50, Glycerin: 40", "Aqua: 5, Glycerin: 110"])
def test_no_water_takes_what_it_does_not_hold(corrector: Reviewer, lines: str) -> None:
    text = HEAD + f"phases:\n  A: {{{lines}}}\n"
    assert run(corrector, text, asked=("water",)).new == text


def test_only_the_word_that_is_found_is_respelt(corrector: Reviewer) -> None:
    text = "formcheck: 1\nname: lotin\nproduct: {use: leave-on, form: lotin}\nphases:\n  A: {Aqua: 95, Glycerin: 5}\n"
    assert run(corrector, text, asked=()).new == text.replace("form: lotin", "form: lotion")


def test_a_pH_is_measured_at_the_end_where_nothing_is_filled(corrector: Reviewer) -> None:
    text = HEAD.replace("gel,", "lotion,") + (
        "phases:\n  A: {Aqua: 95, Glycerin: 5}\nfinished: {pH: 5}\nprocedure:\n  - mix: A\n"
        "  - adjust pH: A\n    with: Lactic Acid\n"
    )
    assert run(corrector, text, asked=()).new.startswith(text + "  - measure pH: A\n")


WETTED = (
    "materials:\n  Slurried: {class: thickener, form: powder, wetting: [polyol]}\n"
    "  Strewn: {class: thickener, form: powder, wetting: [sprinkle]}\n"
)
DISPERSED = "  - disperse: Slurried\n    in: Glycerin\n"


@pytest.mark.parametrize(
    ("lines", "before", "after"),
    [
        ("Strewn: 1, Aqua: 99", "  - add: Strewn\n    into: A\n", "  - sprinkle: Strewn\n    into: A\n"),
        ("Strewn: 1, Slurried: 1, Aqua: 98", "  - add: [Strewn, Slurried]\n    into: A\n", None),
        (
            "Slurried: 1, Glycerin: 5, Aqua: 94",
            f"  - add: Aqua\n    into: A\n{DISPERSED}",
            f"{DISPERSED}  - add: Aqua\n    into: A\n",
        ),
        ("Slurried: 1, Glycerin: 5, Aqua: 94", f"  - add: Aqua\n    into: A\n  - mix: A\n{DISPERSED}", None),
    ],
)
def test_how_a_thickener_comes_to_water(corrector: Reviewer, lines: str, before: str, after: str | None) -> None:
    text = HEAD + f"phases:\n  A: {{{lines}}}\nprocedure:\n{before}  - rest: A\n    for: 12 h\n  - fill: A\n{WETTED}"
    assert run(corrector, text, asked=()).new == text.replace(before, after or before)
