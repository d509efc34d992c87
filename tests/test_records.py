"""Our records against typing's own NamedTuple: nobody can tell one from the other but by the time it takes to make them."""

from __future__ import annotations

import copy
import pickle
import typing
from collections.abc import Callable
from typing import Any

import pytest

from formcheck import records


class Ours(records.NamedTuple):
    """A line of a formula."""

    name: str
    percent: float | None
    note: str = ""
    seen: tuple[str, ...] = ()

    @property
    def loud(self) -> str:
        return self.name.upper()

    def __str__(self) -> str:
        return f"{self.name}!"


class Theirs(typing.NamedTuple):
    """A line of a formula."""

    name: str
    percent: float | None
    note: str = ""
    seen: tuple[str, ...] = ()

    @property
    def loud(self) -> str:
        return self.name.upper()

    def __str__(self) -> str:
        return f"{self.name}!"


def outcome(do: Callable[[Any], object], kind: Any) -> tuple[str, str]:
    try:
        return "gave", repr(do(kind)).replace(kind.__name__, "Line")
    except Exception as error:
        return type(error).__name__, str(error).replace(kind.__name__, "Line")


@pytest.mark.parametrize(
    "do",
    [
        lambda kind: kind("a", 1.5),
        lambda kind: kind(percent=2, name="b", seen=("x",)),
        lambda kind: kind(),
        lambda kind: kind("a", 1, "", (), 5),
        lambda kind: kind("a", 1, other=2),
        lambda kind: kind("a", 1)._replace(note="n"),
        lambda kind: kind("a", 1)._asdict(),
        lambda kind: kind._make(["a", 1, "n", ()]),
        lambda kind: kind._make(["a"]),
        lambda kind: (kind._fields, kind._field_defaults, kind.__match_args__, kind.__doc__),
        lambda kind: (kind("a", 1).loud, str(kind("a", 1)), hash(kind("a", 1)), len(kind("a", 1))),
        lambda kind: kind("a", 1) == ("a", 1, "", ()) and kind("a", 1) < kind("b", 0),
        lambda kind: setattr(kind("a", 1), "name", "b"),
        lambda kind: setattr(kind("a", 1), "nome", "b"),
        lambda kind: pickle.loads(pickle.dumps(kind("a", 1, "n"))),
        lambda kind: copy.deepcopy(kind("a", 1, "n")),
        lambda kind: (isinstance(kind("a", 1), tuple), type(kind("a", 1)) is kind, kind.__module__, kind.__qualname__),
        lambda kind: kind.name.__get__(kind("a", 1)),
        lambda kind: sorted(typing.get_type_hints(kind)),
    ],
)
def test_it_does_what_typings_does(do: Callable[[Any], object]) -> None:
    said = outcome(do, Ours)
    assert said == outcome(do, Theirs)
    assert said[1]


def test_a_change_of_an_unknown_field_is_refused() -> None:
    """typing raises ValueError or TypeError, by the version of Python."""
    with pytest.raises((ValueError, TypeError), match="nome"):
        Ours("a", 1)._replace(nome="b")  # type: ignore[call-arg]


def test_a_field_without_default_comes_first() -> None:
    with pytest.raises(TypeError, match="default"):

        class Wrong(records.NamedTuple):
            first: int = 1
            second: int  # type: ignore[misc]


def test_it_matches_by_position_and_name() -> None:
    match Ours("a", 1):
        case Ours(name, percent, note=""):
            assert (name, percent) == ("a", 1)
        case _:
            pytest.fail("no match")
