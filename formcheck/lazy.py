"""functools.cached_property as it is from Python 3.12 on: before, every first look took a lock that cost more than most
of what we work out lazily, fifty times a review. What is worked out twice by two threads is the same both times.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING or sys.version_info >= (3, 12):
    from functools import cached_property as cached_property
else:

    class cached_property:
        """A property that is worked out when first asked for, and then stands in the object's dictionary."""

        def __init__(self, func):
            self.func = func
            self.__doc__ = func.__doc__

        def __set_name__(self, owner, name):
            self.name = name

        def __get__(self, instance, owner=None):
            if instance is None:
                return self
            value = instance.__dict__[self.name] = self.func(instance)
            return value
