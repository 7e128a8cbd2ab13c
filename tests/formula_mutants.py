"""Formulas changed a little, as a slip of the hand or a bad fill-down changes them."""

import random
import re
from collections.abc import Iterator

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token

_OTHERS = {
    "SUM(": "MAX(",
    "MAX(": "MIN(",
    "MIN(": "MAX(",
    "IF(": "IFERROR(",
    "AND(": "OR(",
    "OR(": "AND(",
    "ROUND(": "ROUNDDOWN(",
    "ROUNDDOWN(": "ROUND(",
    "SUMIFS(": "COUNTIFS(",
    "COUNTIFS(": "SUMIFS(",
    "IFERROR(": "IF(",
    "ISNUMBER(": "ISTEXT(",
    "SQRT(": "ABS(",
    "ABS(": "SQRT(",
    "INDEX(": "CHOOSE(",
    "SUMPRODUCT(": "SUM(",
}
_OPERATORS = {
    "+": "-",
    "-": "+",
    "*": "/",
    "/": "*",
    "<": "<=",
    "<=": "<",
    ">": ">=",
    ">=": ">",
    "=": "<>",
    "<>": "=",
    "&": "+",
    "^": "*",
}
_CORNER = re.compile(r"(\$?)([A-Z]{1,3})(\$?)([0-9]+)$")


def mutants(formula: str) -> Iterator[tuple[str, str]]:
    """Kind and text of every formula that differs from this one in one token, without "=".

    >>> list(mutants("A1+2"))
    [('row', 'A2+2'), ('column', 'B1+2'), ('dollar', '$A1+2'), ('operator', 'A1-2'), ('number', 'A1+3')]
    """
    tokens = Tokenizer("=" + formula).items
    for number, token in enumerate(tokens):
        for kind, text in _others(token):
            yield kind, "".join(text if at == number else other.value for at, other in enumerate(tokens))


def _others(token: Token) -> Iterator[tuple[str, str]]:
    value = token.value
    if token.type == Token.OPERAND and token.subtype == Token.RANGE:
        yield from _other_references(value)
    elif token.type == Token.OPERAND and token.subtype == Token.NUMBER:
        yield "number", str(float(value) + 1).removesuffix(".0")
    elif token.type == Token.OPERAND and token.subtype == Token.TEXT:
        yield "text", value[:-1] + 'x"'
    elif token.type == Token.FUNC and token.subtype == Token.OPEN and value in _OTHERS:
        yield "function", _OTHERS[value]
    elif token.type == Token.OP_IN and value in _OPERATORS:
        yield "operator", _OPERATORS[value]
    elif token.type == Token.OP_PRE:
        yield "sign", ""


def _other_references(text: str) -> Iterator[tuple[str, str]]:
    match = _CORNER.search(text)
    if not match:
        return
    start, (fixed, letters, held, row) = text[: match.start()], match.groups()
    yield "row", f"{start}{fixed}{letters}{held}{int(row) + 1}"
    yield "column", f"{start}{fixed}{letters[:-1]}{chr((ord(letters[-1]) - 64) % 26 + 65)}{held}{row}"
    yield "dollar", f"{start}{'' if fixed else '$'}{letters}{held}{row}"
    if "!" in start:
        yield "tab", f"{start.rsplit('!', 1)[1]}{match[0]}"


def sample(
    formulas: list[tuple[tuple[str, str], str]], count: int, rng: random.Random
) -> list[tuple[tuple[str, str], str, str]]:
    """So many mutants of different cells: place, kind, text."""
    chosen = rng.sample(formulas, min(count, len(formulas)))
    return [(place, *rng.choice(options)) for place, formula in chosen if (options := list(mutants(formula)))]
