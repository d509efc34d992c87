"""What an editor is told of a formula, before the protocol: remarks, cards, proposals, homes, outline, corrections."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from formcheck.formula import vocabulary
from formcheck.reading.editing import applied
from formcheck.reports.editor.cards import Card, Row, markdown, plain
from formcheck.reports.editor.desk import Desk
from formcheck.reports.editor.hover import hover
from formcheck.reports.editor.mending import Mending, all_at_once, mendings
from formcheck.reports.editor.opened import Opened
from formcheck.reports.editor.outline import Entry, homes, outline
from formcheck.reports.editor.proposals import MOST, Proposal, proposals
from formcheck.reports.editor.remarks import ACCEPTED, UNREAD, Remark, remarks

HOME = Path(__file__).resolve().parent.parent.parent
FLAWED = HOME / "examples/flawed/bean-flower-gel.formula.yaml"
WHOLE = sorted(
    path
    for folder in ("sound", "flawed")
    for path in (HOME / "examples" / folder).iterdir()
    if ".formula." in path.name
)
SMALL = """\
formcheck: 1
name: Hedge gel
product: {use: leave-on, form: gel, markets: [EU]}
batch: {size: 200 g, balance: 0.01 g}
phases:
  A: {Aqua: q.s., Glycerin: 4, Xanthan Gum: 0.5}
  B: {Preserver: 1}
materials:
  Preserver: {contains: {Phenoxyethanol: 90, Ethylhexylglycerin: 10}, maximum temperature: 40 °C, class: preservative}
procedure:
  - disperse: Xanthan Gum
    in: Glycerin
  - add: Aqua
    into: A
  - heat: A
    to: 60 °C
  - add: B
    into: A
finished: {pH: 5.5}
"""


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk(today=date(2026, 11, 25))


def at(text: str, mark: str = "|") -> tuple[str, int]:
    offset = text.index(mark)
    return text[:offset] + text[offset + 1 :], offset


def opened(desk: Desk, text: str, path: str = "x.formula.yaml") -> Opened:
    return Opened(path, text, desk)


# --- remarks


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.name)
def test_remarks_are_what_the_command_line_finds(desk: Desk, path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "formcheck", "review", str(path), "--format", "json"], capture_output=True, check=False
    )
    there = json.loads(result.stdout)["reviews"][0]
    file = opened(desk, path.read_text(encoding="utf-8"), str(path))
    found = remarks(file)
    lines = [(r.rule, *file.positions.position(r.span[0])) for r in found if r.grade not in (ACCEPTED, UNREAD)]
    assert lines == [(each["rule"], each["line"] - 1, each["column"] - 1) for each in there["findings"]]
    for remark in found:
        start, end = remark.span
        assert start < end
        assert "\n" not in file.text[start:end]


def test_a_remark_covers_the_name_it_is_about(desk: Desk) -> None:
    file = opened(desk, FLAWED.read_text(encoding="utf-8"), str(FLAWED))
    spans = {remark.rule: file.text[slice(*remark.span)] for remark in remarks(file)}
    assert spans["preservative-over-limit"] == "Nettle Row preserver"
    assert spans["thickener-dumped"] == "add"


def test_a_finding_names_its_other_places(desk: Desk) -> None:
    file = opened(desk, SMALL)
    hot = next(remark for remark in remarks(file) if remark.rule == "preservative-too-hot")
    assert [file.text[slice(*each.span)] for each in hot.neighbours if each.span] == ["Preserver"]


def test_what_is_accepted_is_said_as_such(desk: Desk) -> None:
    file = opened(desk, SMALL + "deviations:\n  - {rule: preservative-too-hot, reason: a pilot, until: 2030-01-31}\n")
    (remark,) = (remark for remark in remarks(file) if remark.rule == "preservative-too-hot")
    assert remark.grade == ACCEPTED
    assert remark.text.endswith("Accepted, until 2030-01-31: a pilot")


@pytest.mark.parametrize(
    ("text", "words", "said"),
    [
        (SMALL.replace("Glycerin: 4", "Glycerin: 4,5"), "5", "5"),
        (SMALL.replace("heat: A", "heet: A"), "heet", "did you mean «heat»"),
        (SMALL.replace("60 °C", "60"), "60", "°C"),
        ("formcheck: 1\nname: [", "[", "not valid YAML"),
        (SMALL.replace("Glycerin: 4", "Glycerin: "), "Glycerin", "nothing"),
        ("", "", "empty"),
    ],
)
def test_what_cannot_be_read_is_said_at_its_place(desk: Desk, text: str, words: str, said: str) -> None:
    file = opened(desk, text)
    found = remarks(file)
    assert {remark.grade for remark in found} == {UNREAD}
    if said != "null":
        assert any(said in remark.text for remark in found)
        assert file.text[slice(*found[0].span)].startswith(words) or not words


def test_a_mistake_in_a_file_beside_is_shown_at_the_top_with_the_way_there(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "materials.yaml").write_text("materials:\n  X: {dose: often}\n")
    (remark,) = remarks(opened(desk, SMALL, str(tmp_path / "x.formula.yaml")))
    assert (remark.span[0], remark.grade) == (0, UNREAD)
    (neighbour,) = remark.neighbours
    assert (neighbour.file, neighbour.place) == (str(tmp_path / "materials.yaml"), (2, 13))


def test_a_materials_file_is_checked_itself(desk: Desk) -> None:
    file = opened(desk, "materials:\n  X: {dose: often}\n", "/nowhere/materials.yaml")
    (remark,) = remarks(file)
    assert file.text[slice(*remark.span)] == "often"


def test_other_files_are_left_alone(desk: Desk) -> None:
    for path, text in (("compose.yaml", "services: {a: 1}\n"), ("Cargo.toml", "[package]\n"), ("a.json", "{")):
        file = opened(desk, text, path)
        assert remarks(file) == []
        assert hover(file, 0) is None
        assert proposals(file, len(text)) == []
        assert homes(file, 0) == outline(file) == []
    assert remarks(opened(desk, "formcheck: 1\n", "draft.yaml"))


# --- cards


def card_at(desk: Desk, text: str, path: str = "x.formula.yaml") -> Card:
    text, offset = at(text)
    found = hover(opened(desk, text, path), offset)
    assert found is not None
    return found.card


def row(card: Card, label: str) -> Row:
    return next(row for row in card.rows if row.label == label)


def test_a_material_shows_windows_and_limits_with_their_sources(desk: Desk) -> None:
    card = card_at(desk, SMALL.replace("Glycerin: 4", "Glycerin: 4, Sodium Ben|zoate: 0.3"))
    material = desk.reference.find("Sodium Benzoate")
    assert material is not None
    window = material.value("pH window")
    assert f"up to {window.high:g}" in row(card, "pH window").text
    assert row(card, "pH window").sources == tuple(
        desk.reference.source(id).citation for id in material.facts["pH window"][0].source
    )
    # Regulation (EC) No 1223/2009, Annex V, entry 1: 0.5 % (acid) in leave-on products
    law = row(card, "law in EU")
    assert law.text.startswith("at most 0.5 % in leave-on")
    assert law.sources == ("Regulation (EC) No 1223/2009, Annex V, entry 1",)
    assert row(card, "here, phase A").text.startswith("0.3 %, 0.6 g")
    assert "data sheets" in card.foot


def test_the_formulas_own_description_counts(desk: Desk) -> None:
    card = card_at(desk, SMALL.replace("  B: {Pre", "  B: {Pr|e"))
    heat = row(card, "maximum temperature")
    assert (heat.text, heat.sources) == ("40 °C", ("the formula's own description of the material",))
    assert row(card, "here, phase B").text == "1 %, 2 g; at its hottest 60 °C, step 4"


def test_a_materials_file_has_cards_of_what_it_describes(desk: Desk) -> None:
    card = card_at(
        desk, "materials:\n  Plum |oil:\n    INCI: Prunus Domestica Seed Oil\n    dose: [1, 5]\n", "/x/materials.yaml"
    )
    assert row(card, "dose").text == "1 to 5 %"
    assert card.subtitle != "not in the reference"


def test_an_unknown_name_gets_near_ones(desk: Desk) -> None:
    card = card_at(desk, SMALL.replace("Glycerin: 4", "Gly|cerrin: 4"))
    assert card.subtitle == "not in the reference"
    assert "Glycerin" in card.sentences[0]


@pytest.mark.parametrize("ending", ["toml", "json"])
def test_toml_and_json_have_cards_too(desk: Desk, ending: str) -> None:
    path = next(path for path in WHOLE if path.suffix == "." + ending)
    file = opened(desk, path.read_text(encoding="utf-8"), str(path))
    line = file.lines[1]
    found = hover(file, line.start + 2)
    assert found is not None
    assert found.card.title == line.text
    assert row(found.card, f"here, phase {line.path[1]}")


def test_a_step_a_phase_a_key_and_the_whole_have_cards(desk: Desk) -> None:
    heat = card_at(desk, SMALL.replace("- heat", "- he|at"))
    assert row(heat, "afterwards, vessel A").text.startswith("about 60 °C")
    phase = card_at(desk, SMALL.replace("add: B", "add: |B"))
    assert (phase.title, row(phase, "together").text) == ("phase B", "1 %, 2 g")
    assert card_at(desk, SMALL.replace("to: 60", "t|o: 60")).sentences[0].startswith("The temperature to reach")
    whole = card_at(desk, SMALL.replace("name: H", "name: |H"))
    assert (whole.title, whole.subtitle) == ("Hedge gel", "hold")
    assert any("packaging" in each.text for each in whole.rows if each.label == "not checked")


def test_a_rule_says_what_it_accepts_here(desk: Desk) -> None:
    text = SMALL + "deviations:\n  - {rule: preservative|-too-hot, reason: a pilot}\n"
    card = card_at(desk, text)
    assert card.title == "preservative-too-hot"
    assert "60 °C" in row(card, "accepted here").text


def test_every_verb_and_every_key_of_the_file_has_a_card(desk: Desk) -> None:
    for verb in vocabulary.VERBS:
        card = card_at(
            desk, f"formcheck: 1\nname: x\nphases: {{A: {{Aqua: 100}}}}\nprocedure:\n  - {verb[0]}|{verb[1:]}: A\n"
        )
        assert card.title == verb
        assert all(row.text for row in card.rows)
    for key in vocabulary.FILE_KEYS:
        assert card_at(desk, f"formcheck: 1\n{key[0]}|{key[1:]}:\n").sentences or key == "name"


def test_half_written_files_keep_their_cards(desk: Desk) -> None:
    card = card_at(desk, SMALL.replace("Xanthan Gum: 0.5}", "Xanthan |Gum: 0.5, Pan").replace("heat: A", "heat: ["))
    assert card.title == "Xanthan Gum"
    assert card.rows


def test_nothing_of_a_formula_becomes_markup() -> None:
    hostile = "<img src=x> **b** [a](http://e.example) `c` \u202e\x1b[31m # h\n- x"
    card = Card(hostile, hostile, (hostile,), (Row(hostile, hostile, (hostile,)),), hostile)
    tokens = MarkdownIt("commonmark", {"linkify": True}).parse(markdown(card))
    inside = [child for token in tokens for child in token.children or ()]
    assert {child.type for child in inside} <= {
        "text",
        "strong_open",
        "strong_close",
        "code_inline",
        "softbreak",
        "text_special",
    }
    assert [token.type for token in tokens].count("bullet_list_open") == 1
    for text in (markdown(card), plain(card)):
        assert not any(sign in text for sign in "\u202e\x1b")


# --- proposals


def offered(desk: Desk, text: str, path: str = "x.formula.yaml") -> tuple[str, list[Proposal]]:
    text, offset = at(text)
    return text, proposals(opened(desk, text, path), offset)


def names(desk: Desk, text: str, path: str = "x.formula.yaml") -> list[str]:
    return [each.idea.name for each in offered(desk, text, path)[1]]


@pytest.mark.parametrize("path", [path for path in WHOLE if path.suffix == ".yaml"], ids=lambda path: path.name)
def test_a_name_cut_short_can_be_had_back(desk: Desk, path: Path) -> None:
    """Every material of the examples, cut short, is among the proposals; taking it gives the file as it was."""
    text = path.read_text(encoding="utf-8")
    for line in opened(desk, text, str(path)).lines:
        keep = max(len(line.text) * 2 // 3, 3)
        cut = text[: line.start + keep] + text[line.end :]
        found = proposals(Opened(str(path), cut, desk), line.start + keep)
        taken = next(each for each in found if each.idea.name == line.text)
        assert cut[: taken.start] + taken.text + cut[taken.end :] == text


def test_common_names_are_proposed_with_the_inci_name_beside_them(desk: Desk) -> None:
    _, found = offered(desk, "phases:\n  A:\n    vitamin b3|")
    assert found[0].idea.detail.startswith("Niacinamide")
    assert found[0].text == "vitamin B3: "


def test_own_materials_come_first(desk: Desk) -> None:
    text = SMALL.replace("{Preserver: 1}", "{P|}")
    assert names(desk, text)[0] == "Preserver"
    assert len(names(desk, text)) == MOST


def test_a_slip_still_finds_the_name(desk: Desk) -> None:
    assert "Phenoxyethanol" in names(desk, "phases:\n  A:\n    phenoxyetanol|")


def test_names_are_quoted_where_yaml_needs_it(desk: Desk) -> None:
    comma = next(name.written for name in desk.names if "," in name.written and "'" not in name.written)
    inside = offered(desk, f"phases:\n  A: {{{comma.split(',')[0]}|")[1]
    outside = offered(desk, f"phases:\n  A:\n    {comma.split(',')[0]}|")[1]
    assert next(each.text for each in inside if each.idea.name == comma) == f"'{comma}': "
    assert next(each.text for each in outside if each.idea.name == comma) == f"{comma}: "


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("pro|", ["product", "procedure"]),
        (SMALL + "cl|", ["claims"]),
        ("product: {use: |", list(vocabulary.USES)),
        ("product:\n  area: [fa|", ["face"]),
        ("product: {use: leave-on, u|", ["users"]),
        ("packaging: {wall: o|", ["opaque"]),
        ("procedure:\n  - he|", ["heat"]),
        ("procedure:\n  - heat: A\n    t|", ["to"]),
        ("procedure:\n  - heat: A\n    to: 60 °C\n    |", ["hold", "note"]),
        (SMALL.replace("  - add: B", "  - add: |\n  - add: B"), ["A", "B", "Aqua", "Glycerin", "Xanthan Gum", "Preserver"]),
        (SMALL.replace("heat: A", "heat: |"), ["A", "B"]),
        (SMALL.replace("in: Glycerin", "in: gl|"), ["Glycerin"]),
        (SMALL.replace("    into: A\nfin", "    into: |\nfin"), ["A", "B"]),
        (SMALL + "deviations:\n  - rule: balance|", ["balance-too-coarse"]),
        (SMALL + "deviations:\n  - rule: x\n    re|", ["reason"]),
        (SMALL + "deviations:\n  - {rule: x, of: pre|", ["Preserver"]),
        (SMALL.replace("class: pres", "light s|, class: pres"), ["light sensitivity"]),
        (SMALL.replace("class: pres", "needs neutralising: |, class: pres"), ["yes", "no"]),
        ("name: my |", []),
    ],
)  # fmt: skip
def test_what_fits_is_proposed(desk: Desk, text: str, expected: list[str]) -> None:
    assert names(desk, text) == expected


def test_an_acid_or_base_is_proposed_for_a_ph(desk: Desk) -> None:
    found = names(desk, SMALL.replace("  - add: B", "  - adjust pH: A\n    with: |\n  - add: B"))
    assert found[:4] == ["Aqua", "Glycerin", "Xanthan Gum", "Preserver"]
    for name in found[4:]:
        material = desk.reference.find(name)
        assert material is not None
        assert material.is_a("acid", "base", "buffer")


def test_what_is_missing_around_a_proposal_is_written_too(desk: Desk) -> None:
    assert offered(desk, "procedure:\n  |")[1][0].text == "- add: "
    assert offered(desk, "procedure:\n  - heat:|\nphases: {A: {Aqua: 1}}")[1][0].text == " A"
    assert offered(desk, "pha|")[1][0].text == "phases:"
    assert offered(desk, "procedure:\n  - he|: A")[1][0].text == "heat"


def test_a_blank_that_was_typed_calls_for_no_list_of_keys(desk: Desk) -> None:
    for text, expected in (("phases:\n  A:\n    |", False), ("procedure:\n  - |", True), ("product: {use: |", True)):
        text, offset = at(text)
        assert bool(proposals(opened(desk, text), offset, uncalled=True)) == expected


def test_materials_of_files_beside_are_proposed(desk: Desk) -> None:
    text = FLAWED.read_text(encoding="utf-8").replace("    Parfum: 0.3", "    plum|")
    assert names(desk, text, str(FLAWED))[0] == "Plum stone oil"


def test_rules_that_found_something_come_first_though_the_file_is_broken_now(desk: Desk) -> None:
    before = opened(desk, SMALL)
    text, offset = at(SMALL + "deviations:\n  - rule: |")
    found = proposals(Opened("x.formula.yaml", text, desk, earlier=before.last_read), offset)
    rules = {remark.rule for remark in remarks(before)}
    assert {each.idea.name for each in found[: len(rules)]} == rules


# --- homes and the outline


def test_from_a_step_to_its_phase_and_materials(desk: Desk) -> None:
    for text, home in (
        (SMALL.replace("add: B", "add: |B"), ("phases", "B")),
        (SMALL.replace("disperse: X", "disperse: |X"), ("phases", "A", "Xanthan Gum")),
        (SMALL.replace("in: G", "in: |G"), ("phases", "A", "Glycerin")),
        (SMALL.replace("B: {P", "B: {|P"), ("materials", "Preserver")),
        (SMALL.replace("B: {Preserver: 1}", "B: {Preserver: 1, water: 1}").replace("add: Aqua", "add: w|ater"), None),
    ):
        text, offset = at(text)
        found = [each.piece.path for each in homes(opened(desk, text), offset) if each.piece]
        assert found[0] == home or (home is None and found == [("phases", "A", "Aqua"), ("phases", "B", "water")])


def test_from_a_line_to_the_file_that_describes_it(desk: Desk) -> None:
    text = FLAWED.read_text(encoding="utf-8")
    (home,) = homes(opened(desk, text, str(FLAWED)), text.index("Nettle Row preserver:") + 3)
    assert Path(home.file) == HOME / "examples/materials.yaml"
    lines = Path(home.file).read_text(encoding="utf-8").split("\n")
    assert lines[home.place.line - 1][home.place.column - 1 :] == "Nettle Row preserver:"


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.name)
def test_the_outline_has_every_phase_line_and_step(desk: Desk, path: Path) -> None:
    file = opened(desk, path.read_text(encoding="utf-8"), str(path))
    sheet = file.seen.sheet
    assert sheet is not None
    parts = {entry.name: entry for entry in outline(file)}
    phases = parts["phases"].inside
    assert [entry.name for entry in phases] == [f"phase {phase.letter}" for phase in sheet.formula.phases]
    lines = [entry.name for phase in phases for entry in phase.inside]
    assert lines == [line.name for line in sheet.formula.lines]
    steps = parts["procedure"].inside
    assert [entry.name.split()[0] for entry in steps] == [str(step.number) for step in sheet.formula.procedure]
    check_nested(list(parts.values()), 0, len(file.text))


def check_nested(entries: list[Entry], start: int, end: int) -> None:
    """LSP 3.17, DocumentSymbol: the selection range is inside the range; children lie inside their parent."""
    for entry in entries:
        assert start <= entry.start <= entry.own.start <= entry.own.end <= entry.end <= end
        check_nested(list(entry.inside), entry.start, entry.end)


# --- corrections


def corrected(file: Opened, mending: Mending) -> str:
    return applied(file.text, mending.edits)


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("path", [path for path in WHOLE if path.parent.name == "flawed"], ids=lambda path: path.name)
def test_a_correction_takes_its_finding_away(desk: Desk, path: Path, mark: str) -> None:
    file = opened(desk, mark + path.read_text(encoding="utf-8"), str(path))
    before = [remark.rule for remark in remarks(file)]
    for mending in mendings(file, remarks(file)):
        assert isinstance(mending.remark, Remark)
        after = [remark.rule for remark in remarks(opened(desk, corrected(file, mending), str(path)))]
        assert after.count(mending.remark.rule) < before.count(mending.remark.rule)


def test_there_are_corrections(desk: Desk) -> None:
    file = opened(desk, FLAWED.read_text(encoding="utf-8"), str(FLAWED))
    found = {mending.remark.rule: mending for mending in mendings(file, remarks(file)) if mending.remark}
    assert "- sprinkle: Hydroxyethylcellulose" in corrected(file, found["thickener-dumped"])
    assert found["thickener-dumped"].sure
    whole = all_at_once(file)
    assert whole is not None
    assert "- sprinkle: Hydroxyethylcellulose" in corrected(file, whole)


def test_a_decimal_comma_can_be_mended_though_the_file_cannot_be_read(desk: Desk) -> None:
    text = FLAWED.read_text(encoding="utf-8")
    file = opened(desk, text.replace("Parfum: 0.3", "Parfum: 0,3"), str(FLAWED))
    (mending,) = mendings(file, remarks(file))
    assert corrected(file, mending) == text
