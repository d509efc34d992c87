"""What the README says is so: its formula is on hold for the reason it gives, its commands exist, its links lead somewhere."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from formcheck.commands.main import COMMANDS
from formcheck.review.model import HOLD
from formcheck.review.run import Reviewer

HOME = Path(__file__).resolve().parent.parent
PAGES = ["README.md", "DEVELOPERS.md", "shared/README.md"]


def test_the_first_review_is_as_told(reviewer: Reviewer) -> None:
    text = (HOME / "README.md").read_text(encoding="utf-8")
    (formula,) = re.findall(r"```yaml\n(formcheck: 1.*?)```", text, re.S)
    review = reviewer.review("bean-flower.formula.yaml", formula.encode())
    assert review.verdict == HOLD
    (hot,) = [finding for finding in review.findings if finding.rule == "preservative-too-hot"]
    (told,) = re.findall(r"meets about (\d+) °C at step (\d)", text)
    assert f"{told[0]} °C" in hot.message
    assert hot.step == int(told[1])
    assert "min to get there" in hot.remedy


@pytest.mark.parametrize("page", PAGES)
def test_every_command_named_exists(page: str) -> None:
    text = (HOME / page).read_text(encoding="utf-8")
    named = set(re.findall(r"`formcheck ([a-z][a-z-]+)", text))
    assert named <= set(COMMANDS)
    if page == "README.md":
        assert set(COMMANDS) - {"review"} <= named, "a command is not in the README"


@pytest.mark.parametrize("page", PAGES)
def test_every_link_leads_somewhere(page: str) -> None:
    path = HOME / page
    for target in re.findall(r"\]\(([^)#:]+)\)", path.read_text(encoding="utf-8")):
        assert (path.parent / target).exists(), f"{page} links to {target}"
