"""Lines that are filled keep a number and its unit together, as the SI brochure (9th edition, 5.4.3) sets them."""

from __future__ import annotations

import pytest

from formcheck.reports.page_text import filled
from formcheck.reports.wrapping import wrap


@pytest.mark.parametrize("whole", ["18 %", "75 °C", "0.4 g", "12 min", "pH 5.5"])
def test_a_number_stays_with_its_unit_at_every_width(whole: str) -> None:
    for width in range(len(whole), 60):
        lines = wrap(f"at most {whole} of it, {whole} at the end, and more words after {whole}.", width)
        assert sum(line.count(whole) for line in lines) == 3


def test_words_may_part_from_numbers() -> None:
    assert wrap("step 3 sprinkle", 8) == ["step 3", "sprinkle"]


def test_no_line_is_wider_where_words_allow_it_and_an_empty_text_has_none() -> None:
    text = "Let the vessel cool below 45 °C, and do not heat it above 45 °C afterwards; it takes about 54 min."
    assert all(len(line) <= 30 for line in wrap(text, 30, "  ! ", "    "))
    assert " ".join(wrap(text, 30)) == text
    assert wrap("", 30) == []


def test_a_page_is_filled_but_for_its_tables_and_code() -> None:
    prose, row, code = "- " + "some words " * 12, "| " + "a cell " * 15 + "|", "x = " + "1 + " * 30 + "1"
    page = f"# Head\n\n{prose}\n\n{row}\n\n```yaml\n{code}\n```\n"
    lines = filled(page, 60).split("\n")
    assert [line for line in lines if len(line) > 60] == [row, code]
    assert lines[:2] == ["# Head", ""]
    assert lines[3].startswith("  some words")
    assert filled(page, 200) == page
