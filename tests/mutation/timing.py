"""A pytest plug-in that writes how long every test takes, in seconds of CPU time."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest

_TIMES: dict[str, float] = {}


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: Any) -> Iterator[None]:
    started = time.process_time()
    result = yield
    _TIMES[item.nodeid] = time.process_time() - started
    return result


def pytest_sessionfinish() -> None:
    from mutation import TIMES

    TIMES.write_text(json.dumps(_TIMES), encoding="utf-8")
