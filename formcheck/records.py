"""NamedTuple as in `typing`, made in a tenth of the time: a review starts with more than a hundred of them.

typing's checks every annotation and evaluates the source of a constructor for each class; here one constructor for each
number of fields is at hand and renamed. What a record can do is the same, and a checker of types sees typing's own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import NamedTuple as NamedTuple
else:
    from _collections import _tuplegetter
    from types import FunctionType

    class _Record(tuple):
        """What all records have in common."""

        __slots__ = ()

        @classmethod
        def _make(cls, values):
            """A record of values in the order of the fields."""
            made = tuple.__new__(cls, values)
            if len(made) != len(cls._fields):
                raise TypeError(f"Expected {len(cls._fields)} arguments, got {len(made)}")
            return made

        def _replace(self, /, **changed):
            """The same record with some fields changed."""
            made = self._make(map(changed.pop, self._fields, self))
            if changed:
                raise ValueError(f"Got unexpected field names: {list(changed)!r}")
            return made

        def _asdict(self):
            """The fields by name."""
            return dict(zip(self._fields, self))

        def __repr__(self):
            inside = ", ".join(f"{name}={value!r}" for name, value in zip(self._fields, self))
            return f"{type(self).__name__}({inside})"

        def __getnewargs__(self):
            return tuple(self)

    _new = tuple.__new__
    _PATTERNS = (
        lambda _cls: _new(_cls, ()),
        lambda _cls, a: _new(_cls, (a,)),
        lambda _cls, a, b: _new(_cls, (a, b)),
        lambda _cls, a, b, c: _new(_cls, (a, b, c)),
        lambda _cls, a, b, c, d: _new(_cls, (a, b, c, d)),
        lambda _cls, a, b, c, d, e: _new(_cls, (a, b, c, d, e)),
        lambda _cls, a, b, c, d, e, f: _new(_cls, (a, b, c, d, e, f)),
        lambda _cls, a, b, c, d, e, f, g: _new(_cls, (a, b, c, d, e, f, g)),
        lambda _cls, a, b, c, d, e, f, g, h: _new(_cls, (a, b, c, d, e, f, g, h)),
        lambda _cls, a, b, c, d, e, f, g, h, i: _new(_cls, (a, b, c, d, e, f, g, h, i)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j: _new(_cls, (a, b, c, d, e, f, g, h, i, j)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o, p: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o, p)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r, s: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r, s)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r, s, t: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r, s, t)),
        lambda _cls, a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r, s, t, u: _new(_cls, (a, b, c, d, e, f, g, h, i, j, k, m, n, o, p, q, r, s, t, u)),
    )  # fmt: skip
    """Constructors by the number of fields; written out, so that nothing has to be evaluated at a start."""

    def _constructor(name, fields, defaults):
        """The __new__ of a record with these fields."""
        pattern = _PATTERNS[len(fields)] if len(fields) < len(_PATTERNS) else _long_pattern(len(fields))
        code = pattern.__code__.replace(co_varnames=("_cls", *fields), co_name="__new__")
        made = FunctionType(code, pattern.__globals__, "__new__", defaults)
        made.__qualname__ = f"{name}.__new__"
        return made

    def _long_pattern(count):
        from collections import namedtuple

        return namedtuple("Long", [f"f{number}" for number in range(count)]).__new__

    class _Maker(type):
        """Turns the body of a class into a record."""

        def __new__(maker, name, bases, body):
            fields = tuple(body["__annotations__"])
            defaults = {field: body.pop(field) for field in fields if field in body}
            if tuple(defaults) != fields[len(fields) - len(defaults) :]:
                raise TypeError(f"{name}: a field without a default stands after one with a default")
            body.update({field: _tuplegetter(at, field) for at, field in enumerate(fields)})
            body.update(
                __slots__=(),
                __match_args__=fields,
                _fields=fields,
                _field_defaults=defaults,
                __new__=_constructor(name, fields, tuple(defaults.values())),
            )
            return type(name, (_Record,), body)

    NamedTuple = type.__new__(_Maker, "NamedTuple", (), {"__doc__": "What a record's class names as its base."})
