"""The small language of predicates: comparisons over named facts, read from data, never evaluated as program code."""

from __future__ import annotations

import ast
import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any, Final

from bloomless.rules.decimals import dec

__all__ = ["FactMissing", "Facts", "Predicate", "predicate"]

Facts = Mapping[str, Any]
_Node = Callable[[Facts], Any]

_COMPARE: Final[dict[type[ast.cmpop], Callable[[Any, Any], bool]]] = {
    ast.Lt: operator.lt,
    ast.LtE: operator.le,
    ast.Gt: operator.gt,
    ast.GtE: operator.ge,
    ast.Eq: operator.eq,
    ast.NotEq: operator.ne,
    ast.In: lambda a, b: a in b,
    ast.NotIn: lambda a, b: a not in b,
}
_ARITHMETIC: Final[dict[type[ast.operator], Callable[[Any, Any], Any]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


class FactMissing(Exception):
    """A predicate asked for a fact nobody knows; the rule then gives a finding of its own, never a silent pass."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


@dataclass(frozen=True)
class Predicate:
    """One parsed predicate.

    ``measure``, ``sign`` and ``limit`` are set when it is one comparison of a fact with a number: then the distance to
    the limit can be told.
    """

    text: str
    holds: Callable[[Facts], bool]
    names: frozenset[str]
    measure: str = ""
    sign: str = ""
    limit: Decimal | None = None


def _name(name: str) -> _Node:
    def read(facts: Facts) -> Any:
        value = facts.get(name)
        if value is None:
            raise FactMissing(name)
        return value

    return read


def _constant(value: object) -> _Node:
    fixed = dec(value) if isinstance(value, int | float) and not isinstance(value, bool) else value
    return lambda _facts: fixed


def _compare(node: ast.Compare) -> _Node:
    if len(node.ops) != 1:
        raise ValueError("a predicate may not hold a chain of comparisons")
    left, test, right = _build(node.left), _COMPARE[type(node.ops[0])], _build(node.comparators[0])
    return lambda facts: test(left(facts), right(facts))


def _build(node: ast.expr) -> _Node:
    match node:
        case ast.Name(id=name):
            return _name(name)
        case ast.Constant(value=bool() | int() | float() | str() as value):
            return _constant(value)
        case ast.Compare():
            return _compare(node)
        case ast.BoolOp(op=ast.And(), values=values):
            parts = [_build(value) for value in values]
            return lambda facts: all(part(facts) for part in parts)
        case ast.BoolOp(values=values):
            options = [_build(value) for value in values]
            return lambda facts: any(option(facts) for option in options)
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            inner = _build(operand)
            return lambda facts: not inner(facts)
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _ARITHMETIC:
            a, b, work = _build(left), _build(right), _ARITHMETIC[type(op)]
            return lambda facts: work(a(facts), b(facts))
    raise ValueError(f"a predicate may not hold {ast.dump(node)}")


@cache
def predicate(text: str) -> Predicate:
    """Parse one predicate.

    Allowed are facts by name, numbers, quoted words, ``and or not in``, comparisons and the four operations.

    Raises
    ------
    ValueError
        If the text holds anything else: the table of rules is then broken.
    """
    tree = ast.parse(text, mode="eval").body
    holds = _build(tree)
    names = frozenset(node.id for node in ast.walk(tree) if isinstance(node, ast.Name))
    simple: dict[str, Any] = {}
    match tree:
        case ast.Compare(
            left=ast.Name(id=measure), ops=[op], comparators=[ast.Constant(value=int() | float() as n)]
        ) if not isinstance(n, bool):
            sign = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">="}.get(type(op), "")
            simple = {"measure": measure, "sign": sign, "limit": dec(n)} if sign else {}
    return Predicate(text, lambda facts: bool(holds(facts)), names, **simple)
