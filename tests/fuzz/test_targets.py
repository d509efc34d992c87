"""The fuzzer's targets take their own seeds, so that they can be run when they are wanted, and all that they have found."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from run import seeds  # noqa: E402
from targets import TARGETS, Fault, check_places, check_report, timed  # noqa: E402

SLOW = ("reports", "whole", "procedure", "names", "workbook_part")
FOUND = sorted((HERE / "found").glob("*-*"))


@pytest.mark.parametrize("name", TARGETS)
def test_a_target_takes_its_seeds(name: str) -> None:
    chance = Random(1)
    for seed in seeds(name)[: 2 if name in SLOW else 8]:
        TARGETS[name](seed)
        for _ in range(2):
            damaged = bytearray(seed)
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
            TARGETS[name](bytes(damaged))


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.name)
def test_what_was_found_is_mended(path: Path) -> None:
    TARGETS[path.name.partition("-")[0]](path.read_bytes())


@pytest.mark.parametrize("name", [name for name in TARGETS if name not in SLOW])
@given(data=st.binary(max_size=400))
def test_a_target_takes_any_bytes(name: str, data: bytes) -> None:
    TARGETS[name](data)


def test_an_oracle_that_sees_nothing_is_none() -> None:
    with pytest.raises(Fault):
        check_places("a\nb", [(3, 1)])
    with pytest.raises(Fault):
        check_report("text", "a\x1b[31m")
    with pytest.raises(ValueError, match="NaN"):
        check_report("json", '{"a": NaN}')

    def slow(data: bytes) -> None:
        sum(number * number for number in range(len(data) * 2_000_000))

    with pytest.raises(Fault, match="took"):
        timed(slow, most=0.001)(b"x")
