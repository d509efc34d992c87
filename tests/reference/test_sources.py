"""Every work that is cited stands in shared/sources, every work there is cited, and enough rests on published ones."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from formcheck.commands.reference import Share, published_shares
from formcheck.plugins import gather
from formcheck.reference.sources import PUBLISHED, SOURCE_KINDS, Compiled, compile_folder
from formcheck.reference.store import Reference, compiled

SHARED = Path(__file__).parents[2] / "shared"
GENERAL = ("common-practice", "from-memory", "supplier-data")
_YEAR = re.compile(r"(1[6-9]|20)\d\d(-(19|20)\d\d)?|undated")


@pytest.fixture(scope="module")
def result() -> Compiled:
    return compile_folder(str(SHARED))


def ids_of_facts(result: Compiled) -> Iterator[tuple[str, str]]:
    for name, facts in result.materials.items():
        for property, values in facts.items():
            if property not in ("molar mass", "release share"):
                yield from ((id, f"{name}, {property}") for fact in values for id in fact[2])
    for name, fact in result.limits.items():
        yield from ((id, f"the limit {name}") for id in fact[2])


def ids_of_rules() -> Iterator[tuple[str, str]]:
    for rule in gather().rules():
        yield from ((id, f"the rule {rule.id}") for id in rule.sources)


def ids_of_legal_tables() -> Iterator[tuple[str, str]]:
    for path in sorted((SHARED / "legal").glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = csv.DictReader(line for line in file if not line.startswith("#"))
            yield from ((id, path.name) for row in rows for id in filter(None, (row["from"] or "").split(";")))
    for path in sorted((SHARED / "legal").glob("*.yaml")):
        yield from ((id, path.name) for id in _from(yaml.safe_load(path.read_text(encoding="utf-8"))))


def _from(data: Any) -> Iterator[str]:
    """Source ids under every key `from`, however deep."""
    if isinstance(data, dict):
        for key, value in data.items():
            if key == "from":
                yield from _texts(value)
            else:
                yield from _from(value)
    elif isinstance(data, list):
        for item in data:
            yield from _from(item)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, (list, dict)):
        for item in value.values() if isinstance(value, dict) else value:
            yield from _texts(item)


def cited(result: Compiled) -> list[tuple[str, str]]:
    return [*ids_of_facts(result), *ids_of_rules(), *ids_of_legal_tables()]


def test_every_cited_source_exists(result: Compiled) -> None:
    missing = sorted({f"«{id}» ({where})" for id, where in cited(result) if id not in result.sources})
    assert not missing, "not in shared/sources: " + "; ".join(missing)


def test_every_source_is_cited(result: Compiled) -> None:
    """The list of works stays short: what nothing rests on is taken out."""
    used = {id for id, _ in cited(result)} | set(GENERAL)
    idle = sorted(id for id in result.sources if id not in used)
    assert not idle, "nothing cites these, take them out of shared/sources: " + ", ".join(idle)


def test_kinds_and_years(result: Compiled) -> None:
    for id, source in result.sources.items():
        assert source["kind"] in SOURCE_KINDS, id
        assert source["kind"] not in PUBLISHED or _YEAR.fullmatch(str(source["year"])), f"{id}: {source.get('year')}"


def test_every_source_says_how_it_was_confirmed(result: Compiled) -> None:
    silent = [id for id, source in result.sources.items() if not source.get("confirmed")]
    assert not silent, ", ".join(silent)


@pytest.mark.parametrize(("kind", "id"), [("common practice", "common-practice"), ("from memory", "from-memory")])
def test_practice_and_memory_are_one_entry_each(result: Compiled, kind: str, id: str) -> None:
    """No page of a shop or a blog is dressed up as a work."""
    assert [each for each, source in result.sources.items() if source["kind"] == kind] == [id]


def test_no_work_is_a_shop_s_page_or_a_blog(result: Compiled) -> None:
    for id, source in result.sources.items():
        text = f"{source.get('where', '')} {source.get('issuer', '')} {source['title']}".lower()
        assert not re.search(r"\bblog|\bshop\b|store\b|\.com/(product|shop)|formulator'?s? forum", text), id


def test_papers_can_be_looked_up(result: Compiled) -> None:
    """Nearly every paper has a volume, pages or a DOI."""
    papers = {id: source for id, source in result.sources.items() if source["kind"] == "paper"}
    vague = [
        id
        for id, source in papers.items()
        if not re.search(r"\d", f"{source.get('where')}{source['issuer']}{source['title']}")
    ]
    assert len(vague) <= len(papers) // 15, ", ".join(vague)


def test_most_of_what_rules_go_by_is_published(result: Compiled) -> None:
    """pH windows, heat limits, preservative data and pKa values together: at least 60 %."""
    together = published_shares(result)[-1]
    assert together.name == "all together"
    assert together.percent >= 60, f"{together.published} of {together.facts}"


@pytest.mark.parametrize("name", ["pH window", "maximum temperature", "pKa", "preservative data"])
def test_each_kind_has_its_share(result: Compiled, name: str) -> None:
    share = next(share for share in published_shares(result) if share.name == name)
    assert share.percent >= 55, f"{share.published} of {share.facts}"


def test_all_together_counts_nothing_twice(result: Compiled) -> None:
    *kinds, together = published_shares(result)
    assert max(share.facts for share in kinds) < together.facts < sum(share.facts for share in kinds)
    for share in (*kinds, together):
        assert share.alone <= share.published <= share.facts
        assert share.seen <= share.published


def test_a_share_of_nothing_is_none() -> None:
    assert Share("pKa", 0, 0, 0, 0).percent == 0


def test_a_fact_that_disagrees_says_why_it_is_not_used(result: Compiled) -> None:
    silent = [
        f"{name}, {property}"
        for name, facts in result.materials.items()
        for property, values in facts.items()
        for value, when, source, certainty, used, note, extra in values
        if not used and not note and len(values) > 1
    ]
    assert len(silent) <= 10, "; ".join(silent)


def test_citations_name_the_work_and_its_year() -> None:
    reference = Reference(compiled(str(SHARED)))
    assert reference.cite(["eu-1223-2009"]).startswith("European Parliament and Council, Regulation (EC) No 1223/2009")
    assert "2009" in reference.cite(["handbook-excipients-2009"])
    assert reference.cite(["common-practice"]) == "Common practice of the trade, no source"
    assert reference.source("no-such-work").kind == "from memory"
