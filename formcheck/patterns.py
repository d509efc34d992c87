"""Regular expressions that most runs never need: compiled when first used, for all of them together take a while."""

from __future__ import annotations

import re
from typing import Any, cast

_METHODS = ("match", "fullmatch", "search", "split", "findall", "finditer", "sub", "subn")


class _Pattern:
    """Becomes the compiled pattern's methods the first time that any of them is asked for."""

    def __init__(self, text: str, flags: int) -> None:
        self.pattern = text
        self.flags = flags

    def __getattr__(self, name: str) -> Any:
        if name not in _METHODS:
            raise AttributeError(name)
        compiled = re.compile(self.pattern, self.flags)
        self.__dict__.update((method, getattr(compiled, method)) for method in _METHODS)
        return getattr(compiled, name)


def pattern(text: str, flags: int = 0) -> re.Pattern[str]:
    """What re.compile gives, but for the time when it is compiled."""
    return cast("re.Pattern[str]", _Pattern(text, flags))
