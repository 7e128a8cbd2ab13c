"""Expressions of working rows worked out as a spreadsheet works them out.

Numbers are SI values, as a Limits tab holds them. What a spreadsheet answers with an error (words where a number is
asked for, a division by zero, a root of a negative number, a number past all size) is SheetError here; IFERROR
catches both. Comparisons and whole parts look through the 15 digits that a spreadsheet keeps. A box that holds words
counts as words even where they look like a number; there are no ranges, no dates and no joining of texts.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimator.limits.sheet_functions import FUNCTIONS, LAZY, Given, SheetError, Value, compare, number

_NAME = re.compile(r"\{([^{}]+)\}")
_TOKEN = re.compile(
    r'\s*(?:(?P<name>\{[^{}]+\})|(?P<text>"(?:[^"]|"")*")|(?P<number>\d+(?:\.\d+)?(?:E[+-]?\d+)?)'
    r"|(?P<word>[A-Z][A-Z0-9]*)|(?P<sign><=|>=|<>|[-+*/^=<>(),]))"
)
# From the loosest binding to the tightest; a sign before a number binds tighter than any of them.
_LEVELS = (("=", "<>", "<", ">", "<=", ">="), ("+", "-"), ("*", "/"), ("^",))

Node = Callable[[Sequence[Value]], Value]


@dataclass(frozen=True)
class Expression:
    """An expression that was parsed: the names in it, and how it is worked out from their values in that order."""

    names: tuple[str, ...]
    node: Node

    def value(self, names: Mapping[str, Value]) -> Value:
        """Return the value with these values of the names.

        Raises SheetError where a spreadsheet shows an error.

        >>> parse("MAX(0,{read}-{least})/{spare}").value({"read": 9.0, "least": 3.0, "spare": 4.0})
        1.5
        >>> parse('IFERROR({read}/0,"not known")').value({"read": 9.0})
        'not known'
        """
        return self.node([names[name] for name in self.names])


@functools.lru_cache(maxsize=1 << 14)
def parse(text: str) -> Expression:
    """Return an expression ready to be worked out; one of the same shape with other names is parsed once.

    Raises ValueError for what no formula of ours may hold: an unknown function, too many or too few arguments, a
    bracket without its other, a character that means nothing.

    >>> parse("{a}+{b}*{a}").names
    ('a', 'b')
    """
    names: dict[str, int] = {}
    shape = _NAME.sub(lambda match: f"{{{names.setdefault(match[1], len(names))}}}", text)
    try:
        return Expression(tuple(names), _shaped(shape))
    except ValueError as wrong:
        raise ValueError(f"the expression {text!r}: {wrong}") from None


@functools.cache
def _shaped(shape: str) -> Node:
    return _Parser(shape).whole()


class _Parser:
    def __init__(self, shape: str) -> None:
        self.tokens = list(_tokens(shape))
        self.at = 0

    def whole(self) -> Node:
        node = self.binary(0)
        if self.at < len(self.tokens):
            raise ValueError(f"{self.tokens[self.at][1]!r} is one too many")
        return node

    def took(self, *signs: str) -> str:
        """The next token if it is one of these signs, which is then behind us."""
        if self.at < len(self.tokens) and self.tokens[self.at][0] == "sign" and self.tokens[self.at][1] in signs:
            self.at += 1
            return self.tokens[self.at - 1][1]
        return ""

    def must(self, sign: str) -> None:
        if not self.took(sign):
            raise ValueError(f"a {sign!r} is missing")

    def binary(self, level: int) -> Node:
        if level == len(_LEVELS):
            return self.signed()
        left = self.binary(level + 1)
        while sign := self.took(*_LEVELS[level]):
            left = _operation(sign, left, self.binary(level + 1))
        return left

    def signed(self) -> Node:
        if sign := self.took("-", "+"):
            inner = self.signed()
            return (lambda names: -number(inner(names))) if sign == "-" else inner
        return self.operand()

    def operand(self) -> Node:
        if self.took("("):
            inner = self.binary(0)
            self.must(")")
            return inner
        if self.at == len(self.tokens):
            raise ValueError("it ends too soon")
        kind, token = self.tokens[self.at]
        self.at += 1
        if kind == "name":
            place = int(token[1:-1])
            return lambda names: names[place]
        if kind == "number":
            value = float(token)
            return lambda names: value
        if kind == "text":
            words = token[1:-1].replace('""', '"')
            return lambda names: words
        if kind == "word":
            return self.call(token)
        raise ValueError(f"{token!r} stands where a value should")

    def call(self, function: str) -> Node:
        self.must("(")
        arguments: list[Node] = []
        referred: list[bool] = []
        if not self.took(")"):
            while True:
                start = self.at
                arguments.append(self.binary(0))
                referred.append(self.at == start + 1 and self.tokens[start][0] == "name")
                if not self.took(","):
                    break
            self.must(")")
        known = LAZY.get(function) or FUNCTIONS.get(function)
        if known is None:
            raise ValueError(f"there is no function {function}")
        if not known.least <= len(arguments) <= known.most:
            raise ValueError(f"{function} takes {known.least} to {known.most} arguments, not {len(arguments)}")
        if function in LAZY:
            lazy = LAZY[function].compute
            return lambda names: lazy([functools.partial(argument, names) for argument in arguments])
        compute = FUNCTIONS[function].compute
        pairs = tuple(zip(arguments, referred, strict=True))
        return lambda names: compute([Given(argument(names), by_name) for argument, by_name in pairs])


def _tokens(text: str) -> Iterator[tuple[str, str]]:
    at = 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match.lastgroup is None:
            raise ValueError(f"{text[at]!r} means nothing there")
        yield match.lastgroup, match[match.lastgroup]
        at = match.end()


def _operation(sign: str, left: Node, right: Node) -> Node:
    if sign in _LEVELS[0]:
        answers = _COMPARED[sign]
        return lambda names: compare(left(names), right(names)) in answers
    if sign == "^":
        return lambda names: FUNCTIONS["POWER"].compute([Given(left(names)), Given(right(names))])
    compute = _ARITHMETIC[sign]

    def operation(names: Sequence[Value]) -> Value:
        first, second = number(left(names)), number(right(names))
        try:
            value = compute(first, second)
        except ZeroDivisionError:
            raise SheetError("a division by zero") from None
        if not math.isfinite(value):
            raise SheetError("a number past all size")
        return value

    return operation


_COMPARED = {"=": (0,), "<>": (-1, 1), "<": (-1,), ">": (1,), "<=": (-1, 0), ">=": (0, 1)}
_ARITHMETIC: Mapping[str, Callable[[float, float], float]] = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
}
