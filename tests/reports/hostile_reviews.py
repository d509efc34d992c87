"""Reviews in which every text is hostile."""

from __future__ import annotations

import re

from formcheck.formula.model import Deviation
from formcheck.plugins import Fault
from formcheck.reading.document import Place, Problem
from formcheck.review.model import HOLD, UNREAD, Accepted, Review
from formcheck.review.rule import Finding, Unchecked

SHORT = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
phases:
  A: {Helianthus Annuus Seed Oil: 95, Tocopherol: 0.5}
"""
NAMES = [
    "</name><script>alert(1)</script>",
    "]]> & <!-- -->",
    "::error file=x::y",
    "a\n::add-mask::b\r\n##[group]c",
    "%0A::warning::x%",
    "![x](https://example.org/a.png) [y](javascript:z) [z][1] <https://example.org>",
    "[text](0) {0} {{1}} \\[a](1)",
    "@octocat #1 !2 &3 ~bug %4 $5 :tada: GH-12 a@example.org www.example.org 0123abcd",
    "\n/close\n- x\n# y\n> z\n```\n|a|b|\n---\n<details>",
    "*a* _b_ **c** __d__ ~~e~~ `f` ``g`` $`h`$ $i$",
    "`<b>`|`@x` `",
    "\x00\x1b[31m\x7f\x85\u2028\u2029\u202e\u2066\u200b\ufeff\ufffe\uffff\ud800",
    '"quoted" \'quoted\' \\"',
    "ready,line=1:2",
    "</details></summary>]({{x}})",
]
"""Names that mean something to a format, a host or a terminal."""


def file_name(text: str) -> str:
    """The nearest to the text that a system would give as a name: no NUL, no surrogate but those of undecoded bytes."""
    return re.sub("[\0\ud800-\udc7f\udd00-\udfff]", "", text) or "x"


def hostile_review(text: str) -> Review:
    """A review in which the formula could put its text everywhere."""
    finding = Finding("total-not-100", "major", Place(4, 1), f"/phases/{text}", text, text, text, text, (text,), 1)
    light = finding._replace(severity="note", message=f"other {text}")
    accepted = Accepted(finding._replace(message=f"third {text}"), Deviation("x", text, Place(9, 3), "/d/0", text))
    return Review(
        file_name(text),
        text,
        HOLD,
        (finding, light),
        (accepted,),
        (Unchecked("rule", text),),
        (),
        (Fault(text, text),),
        (text,),
    )


def hostile_unread(text: str) -> Review:
    """A file that could not be read, its name and its error hostile."""
    return Review(file_name(text), text, UNREAD, errors=(Problem(Place(1, 1), text),))
