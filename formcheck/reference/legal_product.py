"""Which of the law's product words a product answers to: yes, no, or not to be told from what is stated."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Protocol

Answer = bool | None
"""True, False, or None where the formula does not say enough."""


class ProductLike(Protocol):
    """What is looked at: the words of the formula file's product block."""

    @property
    def use(self) -> str | None: ...
    @property
    def form(self) -> str | None: ...
    @property
    def area(self) -> tuple[str, ...]: ...
    @property
    def users(self) -> tuple[str, ...]: ...


class ProductWords:
    """Answers for one product.

    types: word -> test, implied: form -> use, both as compiled from product_types.yaml, which explains the tests.
    Every word's answer is worked out once.
    """

    __slots__ = ("_area", "_form", "_memo", "_types", "_use", "_users")

    def __init__(self, types: Mapping[str, Any], implied: Mapping[str, str], product: ProductLike) -> None:
        self._types = types
        self._memo: dict[str, Answer] = {}
        self._form = product.form
        self._use = product.use or implied.get(product.form or "")
        self._area = frozenset(product.area)
        self._users = frozenset(product.users)

    @property
    def professional(self) -> bool:
        """Whether the product says that it is for professionals."""
        return "professionals" in self._users

    def answer(self, word: str) -> Answer:
        """Whether the product is what the word says. Raises KeyError for a word that no test explains."""
        if word not in self._memo:
            self._memo[word] = self._test(self._types[word])
        return self._memo[word]

    def any_of(self, words: Iterable[str]) -> Answer:
        """Whether at least one word fits; False for no words."""
        return _any(self.answer(word) for word in words)

    def fits(self, wanted: Sequence[str], excluded: Sequence[str]) -> Answer:
        """Whether the product is one of the wanted kinds (no words: any product) and none of the excluded ones."""
        inside = self.any_of(wanted) if wanted else True
        outside = self.any_of(excluded)
        return _all((inside, None if outside is None else not outside))

    def _test(self, test: str | Mapping[str, Any]) -> Answer:
        if isinstance(test, str):
            return self.answer(test)
        missing: Answer = False if "rare" in test else None
        found = _all(self._part(key, test, missing) for key in test)
        return None if found and "unsure" in test else found

    def _part(self, key: str, test: Mapping[str, Any], missing: Answer) -> Answer:
        value = test[key]
        if key == "use":
            return missing if self._use is None else self._use == value
        if key in ("form", "maybe form"):
            return self._form_part(test, missing)
        if key == "not form":
            return missing if self._form is None else self._form not in value
        if key == "area":
            return bool(self._area & set(value)) if self._area else missing
        if key == "not area":
            return bool(self._area - set(value)) if self._area else missing
        if key == "users":
            return bool(self._users & set(value))
        if key == "not users":
            return not self._users & set(value)
        if key in ("all", "any"):
            return (_all if key == "all" else _any)(self._test(part) for part in value)
        return True

    def _form_part(self, test: Mapping[str, Any], missing: Answer) -> Answer:
        if self._form is None:
            return missing
        if self._form in test.get("form", ()):
            return True
        return None if self._form in test.get("maybe form", ()) else False


def _all(answers: Iterable[Answer]) -> Answer:
    result: Answer = True
    for answer in answers:
        if answer is False:
            return False
        if answer is None:
            result = None
    return result


def _any(answers: Iterable[Answer]) -> Answer:
    result: Answer = False
    for answer in answers:
        if answer:
            return True
        if answer is None:
            result = None
    return result
