"""NamedTuple as in `typing`, made in a tenth of the time: a review starts with more than a hundred of them.

typing's checks every annotation and evaluates the source of a constructor for each class; here one constructor for each
number of fields is evaluated and renamed. What a record can do is the same, and a checker of types sees typing's own.
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

    _constructors = {}

    def _constructor(name, fields, defaults):
        """The __new__ of a record with these fields."""
        count = len(fields)
        if count not in _constructors:
            names = ", ".join(f"_{number}" for number in range(count))
            inside = {"_new": tuple.__new__, "__builtins__": {}}
            _constructors[count] = eval(f"lambda _cls, {names}: _new(_cls, ({names},))", inside)
        pattern = _constructors[count]
        code = pattern.__code__.replace(co_varnames=("_cls", *fields), co_name="__new__")
        made = FunctionType(code, pattern.__globals__, "__new__", defaults)
        made.__qualname__ = f"{name}.__new__"
        return made

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
