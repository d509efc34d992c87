"""formcheck reviews a skincare formula before anything is weighed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .review.many import review_lines as review_lines
    from .review.many import review_many as review_many

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """review_many and review_lines, brought in when somebody asks for them."""
    if name in ("review_many", "review_lines"):
        from .review import many

        return getattr(many, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
