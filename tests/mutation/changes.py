"""The changes that mutation testing makes to a module, one at a time.

Most are cosmic-ray's operators; of its replacements of one operator by any other those are taken that say most (a bound
moved by a hair, a comparison or a sign turned round), as the rest are killed by the same tests. A few are ours, for
what cosmic-ray has no operator for: conditions of comprehensions, `in`, `min` and `max`, statements left out.

Passed over, since they change no result: annotations, docstrings, imports, `__future__`, `__slots__`, numbers of
digits that a message is rounded to (a format after a colon is text), and the removal of a decorator other than a cache.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

import parso
from cosmic_ray.ast import ast_nodes
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator

_COMPOUND = ("if_stmt", "while_stmt", "for_stmt", "with_stmt", "try_stmt")
_STATEMENTS = (*_COMPOUND, "simple_stmt", "funcdef", "classdef")
_TAKEN = [
    *(f"ReplaceBinaryOperator_{pair}" for pair in (
        "Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "FloorDiv_Div", "Mod_Mul", "Pow_Mul", "BitOr_BitAnd", "BitAnd_BitOr",
    )),
    *(f"ReplaceComparisonOperator_{pair}" for pair in (
        "Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt",
        "Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is",
    )),
    "ReplaceUnaryOperator_Delete_Not", "ReplaceUnaryOperator_Delete_USub",
    "AddNot", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue", "ReplaceAndWithOr", "ReplaceOrWithAnd",
    "ReplaceBreakWithContinue", "ReplaceContinueWithBreak", "ExceptionReplacer", "NumberReplacer", "ZeroIterationForLoop",
]  # fmt: skip


class _Ours(Operator):
    """An operator that changes a node in one way."""

    def mutation_positions(self, node: Any) -> Iterator[Any]:
        if self.fits(node):
            yield node.start_pos, node.end_pos

    def fits(self, node: Any) -> bool:
        raise NotImplementedError

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


class NegateComprehension(_Ours):
    """`[x for x in xs if f(x)]` -> `... if not f(x)]`"""

    def fits(self, node: Any) -> bool:
        return node.type == "comp_if"

    def mutate(self, node: Any, index: int) -> Any:
        node.children[1] = parso.parse(f" not ({node.children[1].get_code().strip()})")
        return node


class SwapIn(_Ours):
    """`in` <-> `not in`"""

    def fits(self, node: Any) -> bool:
        return node.type == "comparison" and any(_word(each) in ("in", "not in") for each in node.children[1::2])

    def mutate(self, node: Any, index: int) -> Any:
        for at, each in enumerate(node.children):
            if at % 2 and _word(each) in ("in", "not in"):
                node.children[at] = parso.parse(" not in" if _word(each) == "in" else " in")
        return node


class SwapName(_Ours):
    """min <-> max, any <-> all"""

    pairs = {"min": "max", "max": "min", "any": "all", "all": "any"}

    def fits(self, node: Any) -> bool:
        return node.type == "name" and node.value in self.pairs and node.parent.children[0] is node

    def mutate(self, node: Any, index: int) -> Any:
        node.value = self.pairs[node.value]
        return node


class LeaveOut(_Ours):
    """A call, a yield or an augmented assignment as a statement -> `pass`"""

    def fits(self, node: Any) -> bool:
        if node.type not in ("expr_stmt", "yield_expr", "atom_expr", "power") or node.parent.type != "simple_stmt":
            return False
        return node.type != "expr_stmt" or _word(node.children[1])[:1] in "+-*/|&"

    def mutate(self, node: Any, index: int) -> Any:
        return parso.parse(node.get_first_leaf().prefix + "pass")


class ReturnNothing(_Ours):
    """`return x` -> `return None`, where x is neither None nor a plain truth value"""

    def fits(self, node: Any) -> bool:
        return node.type == "return_stmt" and _word(node.children[1]) not in ("None", "True", "False", "()", "[]")

    def mutate(self, node: Any, index: int) -> Any:
        node.children[1] = parso.parse(" None")
        return node


class Change(NamedTuple):
    """One change of a module. lines: of the statement changed; within: dotted names of function and class around it,
    empty outside; in_function: the change is of a function's body; source: the whole module, changed."""

    operator: str
    line: int
    lines: range
    within: str
    in_function: bool
    source: str


OURS = (NegateComprehension, SwapIn, SwapName, LeaveOut, ReturnNothing)
OPERATORS: dict[str, Operator] = {
    **{name: get_operator(f"core/{name}")() for name in _TAKEN},
    **{each.__name__: each() for each in OURS},
}


def changes(source: str) -> Iterator[Change]:
    """All changes of a module, in the order of its lines."""
    tree = parso.parse(source)
    for node in list(ast_nodes(tree)):
        if node.parent is not None and not _passed_over(node):
            for name, maker in OPERATORS.items():
                if name == "AddNot" and _turned_otherwise(node):
                    continue
                for index in range(len(list(maker.mutation_positions(node)))):
                    new = _changed(tree, node, maker, index)
                    if new != source:
                        yield Change(name, node.start_pos[0], _statement(node), _within(node), _in_body(node), new)


def _changed(tree: Any, node: Any, maker: Operator, index: int) -> str:
    """The source with one change; the tree is as before."""
    parts = [node, *ast_nodes(node), node.parent]
    before = [(each, each.children[:] if hasattr(each, "children") else each.value) for each in parts]
    new = maker.mutate(node, index)
    if new is not node:
        siblings = node.parent.children
        siblings[[each is node for each in siblings].index(True)] = new
    source = str(tree.get_code())
    for each, value in before:
        setattr(each, "children" if hasattr(each, "children") else "value", value)
    return source


def _statement(node: Any) -> range:
    """Lines of the smallest statement around a node; of a compound one its head."""
    while node.parent is not None and node.type not in _STATEMENTS:
        node = node.parent
    last = node.end_pos[0]
    if node.type in _COMPOUND:
        last = next(each.start_pos[0] for each in node.children if each.get_code().strip() == ":")
    return range(node.start_pos[0], last + 1)


def _within(node: Any) -> str:
    names = []
    while (node := node.parent) is not None:
        if node.type in ("funcdef", "classdef"):
            names.append(node.name.value)
    return ".".join(reversed(names))


def _in_body(node: Any) -> bool:
    while node is not None and node.type != "funcdef":
        child, node = node, node.parent
    return node is not None and child is node.children[-1]


def _turned_otherwise(node: Any) -> bool:
    """Is the condition one comparison or one `not`, which another operator turns round?"""
    if node.type not in ("if_stmt", "while_stmt", "test"):
        return False
    condition = node.children[2 if node.type == "test" else 1]
    return condition.type == "not_test" or (condition.type == "comparison" and len(condition.children) == 3)


def _passed_over(node: Any) -> bool:
    if node.type == "if_stmt" and _word(node.children[1]) == "TYPE_CHECKING":
        return True
    if node.parent.type == "parameters":  # the lone star before keywords
        return True
    child, parent = node, node.parent
    while parent is not None:
        if parent.type in ("tfpdef", "import_from", "import_name", "decorator", "fstring_format_spec"):
            return True
        if parent.type in ("annassign", "param", "funcdef") and child is _annotation(parent):
            return True
        child, parent = parent, parent.parent
    return False


def _annotation(node: Any) -> Any:
    return node.children[1] if node.type == "annassign" else node.annotation


def _word(node: Any) -> str:
    return " ".join(node.get_code().split())
