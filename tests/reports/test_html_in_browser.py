"""The pages in Chromium: laid out on a desk and on a telephone, by day and by night, in print. Skipped where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest
from browser import CHROMIUM, measured, photograph, run

from formcheck.reports.html_report import Html
from formcheck.reports.html_style import DARK, LIGHT
from formcheck.reports.report import Context
from formcheck.review.run import Reviewer

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here")
HOME = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((HOME / "examples").rglob("*.formula.*"))


@pytest.fixture(scope="module")
def pages(reviewer: Reviewer) -> dict[str, str]:
    found = {}
    for path in EXAMPLES:
        report = Html(Context(reviewer.rules, reviewer.threshold, reviewer.reference.cite))
        report.add_sheet(*reviewer.review_sheet(str(path)))
        found[path.name] = report.end()
    return found


@pytest.fixture
def flawed(pages: dict[str, str], tmp_path: Path) -> Path:
    path = tmp_path / "page.html"
    path.write_text(pages["dock-leaf-cream.formula.yaml"], "utf-8")
    return path


def test_pages_fit_a_telephone_and_a_desk_and_every_label_can_be_read(pages: dict[str, str], tmp_path: Path) -> None:
    found = measured(pages, (390, 1200), tmp_path)
    assert len(found) == 2 * len(pages)
    for page in found:
        assert page["needs"] <= page["has"], f"{page['name']} is scrolled sideways at {page['width']}"
        assert page["cut"] == [], page["name"]
        assert page["over"] == [], page["name"]
        assert page["drawings"] >= 1
        assert page["smallest"] >= 9


def rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


@pytest.mark.parametrize(("flags", "colours"), [((), LIGHT), (("--force-dark-mode",), DARK)], ids=["day", "night"])
def test_the_style_holds_under_its_own_policy_by_day_and_by_night(
    flawed: Path, flags: tuple[str, ...], colours: dict[str, str]
) -> None:
    """A page whose style sheet the content policy refused would be white with black words."""
    rows = photograph(flawed, 900, *flags)
    seen = {pixel for row in rows for pixel in row}
    assert rows[2][2] == rgb(colours["paper"])
    assert {rgb(colours[name]) for name in ("ink", "sheet", "leaf", "critical", "mark")} <= seen


def test_it_prints(flawed: Path) -> None:
    target = flawed.with_suffix(".pdf")
    run(flawed, "--no-pdf-header-footer", f"--print-to-pdf={target}")
    assert target.read_bytes().startswith(b"%PDF-")
    assert target.stat().st_size > 20_000
