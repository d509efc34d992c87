"""What a reviewer keeps between formulas must not show in them: not another's materials, product, date, market or settings."""

from __future__ import annotations

import gc
from datetime import date
from pathlib import Path

import pytest

from formcheck.bench.worksheet import Worksheet, once
from formcheck.formula.model import Product
from formcheck.reading.document import Place
from formcheck.reference.material import MOST_WORKED_OUT, Material
from formcheck.review.model import Review
from formcheck.review.run import Reviewer

TODAY = date(2026, 11, 25)
PLACE = Place(1, 1)


def formula(
    lines: str, product: str = "{use: leave-on, form: cream, area: [face], markets: [EU]}", more: str = ""
) -> str:
    return f"formcheck: 1\nname: Test\nproduct: {product}\n{more}\nphases:\n  A:\n    Aqua: q.s.\n" + "".join(
        f"    {line}\n" for line in lines.split("; ")
    )


def shown(review: Review) -> tuple[object, ...]:
    """All of a review but its file's name."""
    return review._replace(file="", note="")


def of(review: Review, rule: str) -> list[str]:
    return [finding.message for finding in review.findings if finding.rule == rule]


@pytest.fixture(scope="module")
def shared() -> Reviewer:
    """One reviewer for all tests of this file: whatever leaks has leaked by the second of them."""
    return Reviewer(today=TODAY)


def test_no_review_depends_on_those_before_it(shared: Reviewer) -> None:
    texts = [text for rule in shared.rules for text in (rule.flawed, rule.mended)]
    there = [shown(shared.review("x.formula.yaml", text.encode())) for text in texts]
    back = [shown(shared.review("x.formula.yaml", text.encode())) for text in reversed(texts)]
    assert there == back[::-1]


@pytest.mark.parametrize("number", range(0, 60, 7))
def test_a_reviewer_with_a_past_and_a_new_one_agree(shared: Reviewer, number: int) -> None:
    text = shared.rules[number].flawed.encode()
    assert shown(shared.review("x.formula.yaml", text)) == shown(Reviewer(today=TODAY).review("x.formula.yaml", text))


def test_a_limit_holds_from_its_day_on_whoever_asked_before(shared: Reviewer) -> None:
    """Regulation (EU) 2024/996: retinol in products placed on the market from 1 November 2025, 0.3 % on the face."""
    text = formula("Retinol: 0.5").encode()
    early = Reviewer(today=date(2025, 10, 31), plugins=shared.plugins, reference=shared.reference)
    for reviewer, over in ((shared, True), (early, False), (shared, True), (early, False)):
        assert bool(of(reviewer.review("x.formula.yaml", text), "over-legal-limit")) is over


def test_a_limit_is_that_of_the_product(shared: Reviewer) -> None:
    """Regulation (EU) 2024/996: 0.05 % of retinol in a body lotion, 0.3 % in other products."""
    face = formula("Retinol: 0.1").encode()
    body = formula("Retinol: 0.1", "{use: leave-on, form: lotion, area: [body], markets: [EU]}").encode()
    for text, over in ((face, False), (body, True), (face, False), (body, True)):
        assert bool(of(shared.review("x.formula.yaml", text), "over-legal-limit")) is over


def test_a_market_has_its_own_law(shared: Reviewer) -> None:
    """The United States set no limit for phenoxyethanol; Annex V of Regulation (EC) No 1223/2009 allows 1 %."""
    union, states = (
        formula("Phenoxyethanol: 2", f"{{use: leave-on, form: cream, markets: [{market}]}}").encode()
        for market in ("EU", "US")
    )
    for text, over in ((union, True), (states, False), (union, True)):
        assert bool(of(shared.review("x.formula.yaml", text), "preservative-over-limit")) is over


def test_a_formulas_own_material_stays_its_own(shared: Reviewer) -> None:
    own = "materials:\n  Glycerin: {class: preservative, dose: [0.5, 1], spectrum: {bacteria: strong, yeast: strong, mould: strong}}\n"
    described, plain = formula("Glycerin: 5", more=own).encode(), formula("Glycerin: 5").encode()
    for text, missing in ((plain, True), (described, False), (plain, True), (described, False)):
        assert bool(of(shared.review("x.formula.yaml", text), "preservative-missing")) is missing


def test_two_houses_may_mean_different_things_by_one_name(shared: Reviewer) -> None:
    texts = [
        formula(
            "House blend: 5",
            more=f"materials:\n  House blend: {{contains: {{Aqua: {100 - share}, Citric Acid: {share}}}}}\n",
        )
        for share in (1, 60)
    ]
    sheets = [shared.sheet("x.formula.yaml", text.encode()) for text in (*texts, *texts)]
    acid = [component.percent for sheet in sheets if (component := sheet.component("Citric Acid"))]
    assert [float(percent) for percent in acid] == [0.05, 3, 0.05, 3]


def test_settings_of_one_folder_stay_there(tmp_path: Path, shared: Reviewer) -> None:
    strict, plain = tmp_path / "strict", tmp_path / "plain"
    text = formula("Glycerin: 5; Panthenol: 0.3", more="batch: {size: 100 g, balance: 0.01 g}")
    for folder in (strict, plain):
        (folder / ".git").mkdir(parents=True)
        (folder / "x.formula.yaml").write_text(text, encoding="utf-8")
    (strict / "formcheck.toml").write_text('[rules.balance-too-coarse]\nerror = "1 %"\n', encoding="utf-8")
    found = [
        bool(of(shared.review(str(folder / "x.formula.yaml")), "balance-too-coarse"))
        for folder in (strict, plain, strict, plain)
    ]
    assert found == [True, False, True, False]


def test_a_review_leaves_nothing_for_the_collector(shared: Reviewer) -> None:
    """Or a hundred thousand of them would cost a collection each few: room that comes back late, and time."""
    texts = [rule.flawed.encode() for rule in shared.rules[::4]]
    for _ in range(2):
        gc.collect()
        gc.disable()
        try:
            for text in texts:
                shared.review("x.formula.yaml", text)
            left = gc.collect()
        finally:
            gc.enable()
    assert left == 0  # the second time: the first one fills what is kept between formulas


def test_an_answer_about_a_material_is_kept_with_it_alone() -> None:
    one, other = (Material("Same name", {}, frozenset()) for _ in range(2))
    assert one.once("asked", lambda: 1) == 1
    assert one.once("asked", lambda: 2) == 1
    assert other.once("asked", lambda: 3) == 3


def test_a_material_keeps_no_end_of_answers() -> None:
    material = Material("Any", {}, frozenset())
    for number in range(5 * MOST_WORKED_OUT):
        assert material.once(("asked", number), lambda: -1) == -1
    assert len(material._worked_out) <= MOST_WORKED_OUT


def test_what_is_asked_once_is_asked_once_a_worksheet(shared: Reviewer) -> None:
    asked: list[Worksheet] = []

    @once
    def lines(sheet: Worksheet) -> int:
        asked.append(sheet)
        return len(sheet.items)

    first, second = (
        shared.sheet("x.formula.yaml", formula(text).encode()) for text in ("Glycerin: 5", "Glycerin: 5; Urea: 5")
    )
    assert [lines(first), lines(second), lines(first)] == [2, 3, 2]
    assert asked == [first, second]


def test_products_stated_alike_share_their_answers_to_the_laws_words(shared: Reviewer) -> None:
    legal = shared.reference.legal
    face = legal.words(Product(PLACE, "leave-on", "cream", ("face",)))
    assert legal.words(Product(Place(9, 9), "leave-on", "cream", ("face",))) is face
    assert legal.words(Product(PLACE, "rinse-off", "cream", ("face",))) is not face
