"""What is worked out when first asked for, against functools' own: once an object, kept with it, and replaceable."""

from __future__ import annotations

import functools
from typing import Any

import pytest

from formcheck import lazy


@pytest.mark.parametrize("kind", [lazy.cached_property, functools.cached_property])
def test_a_value_is_worked_out_once_an_object(kind: Any) -> None:
    class Sheet:
        def __init__(self, number: int) -> None:
            self.number = number
            self.asked = 0

        @kind
        def doubled(self) -> int:
            """Twice the number."""
            self.asked += 1
            return 2 * self.number

    one, other = Sheet(1), Sheet(2)
    assert [one.doubled, other.doubled, one.doubled, other.doubled] == [2, 4, 2, 4]
    assert (one.asked, other.asked) == (1, 1)
    assert vars(one)["doubled"] == 2
    assert isinstance(vars(Sheet)["doubled"], kind)
    assert Sheet.doubled.__doc__ == "Twice the number."
    one.doubled = 7  # type: ignore[misc]
    assert one.doubled == 7
    del one.doubled
    assert one.doubled == 2


@pytest.mark.parametrize("kind", [lazy.cached_property, functools.cached_property])
def test_what_fails_is_tried_again(kind: Any) -> None:
    class Sheet:
        tried = 0

        @kind
        def found(self) -> int:
            self.tried += 1
            if self.tried == 1:
                raise KeyError("not yet")
            return self.tried

    sheet = Sheet()
    with pytest.raises(KeyError):
        _ = sheet.found
    assert sheet.found == 2
