"""The functions of a spreadsheet that expressions may call, each as a spreadsheet has it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from estimator.limits.sheet_arithmetic import sheet_round, through_15_digits

Value = float | str | bool
MANY = 255


class SheetError(Exception):
    """What a spreadsheet would show as an error value."""


class Given(NamedTuple):
    """An argument, and whether it is a name alone: functions over many arguments pass over words in a cell."""

    value: Value
    by_name: bool = False


@dataclass(frozen=True)
class Function:
    """A function, and how many arguments it takes."""

    least: int
    most: int
    compute: Callable[[Sequence[Given]], Value]


@dataclass(frozen=True)
class Lazy:
    """A function that works out only the arguments that it needs, or catches the error of one."""

    least: int
    most: int
    compute: Callable[[Sequence[Callable[[], Value]]], Value]


def number(value: Value) -> float:
    """Return a value as arithmetic takes it: TRUE is 1, FALSE is 0. Raises SheetError for words."""
    if isinstance(value, str):
        raise SheetError("words where a number is required")
    return float(value)


def truth(value: Value) -> bool:
    """Return a value as a condition takes it: any number but 0 is true. Raises SheetError for words."""
    return number(value) != 0


def compare(left: Value, right: Value) -> int:
    """Return -1, 0 or 1: numbers through 15 digits, below words (whatever their case), below FALSE, below TRUE."""
    if isinstance(left, float) and isinstance(right, float):
        if left == right or (
            math.isclose(left, right, rel_tol=1e-14) and through_15_digits(left) == through_15_digits(right)
        ):
            return 0
        return -1 if left < right else 1
    first, second = _rank(left), _rank(right)
    return (first > second) - (first < second)


def _rank(value: Value) -> tuple[int, float, str]:
    if isinstance(value, bool):
        return 2, float(value), ""
    return (1, 0.0, value.casefold()) if isinstance(value, str) else (0, float(value), "")


def _numbers(given: Iterable[Given]) -> list[float]:
    """The numbers among arguments: in a cell, words and truth values aren't counted; written out, words are an error."""
    return [number(one.value) for one in given if not (one.by_name and isinstance(one.value, str | bool))]


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise SheetError("a number past all size")
    return value


def _plain(function: Callable[..., float]) -> Callable[[Sequence[Given]], Value]:
    """A function of numbers alone."""

    def compute(given: Sequence[Given]) -> Value:
        try:
            return _finite(float(function(*(number(one.value) for one in given))))
        except (ValueError, OverflowError, ZeroDivisionError):
            raise SheetError("no such number") from None

    return compute


def _over(function: Callable[[list[float]], float]) -> Callable[[Sequence[Given]], Value]:
    """A function of as many numbers as there are."""
    return lambda given: _finite(float(function(_numbers(given))))


def _average(numbers: list[float]) -> float:
    if not numbers:
        raise SheetError("no numbers to average")
    return sum(numbers) / len(numbers)


def _logical(choose: Callable[[Iterable[bool]], bool]) -> Callable[[Sequence[Given]], Value]:
    def compute(given: Sequence[Given]) -> Value:
        held = [truth(one.value) for one in given if not (one.by_name and isinstance(one.value, str))]
        if not held:
            raise SheetError("no truth values")
        return choose(held)

    return compute


def _power(base: float, exponent: float) -> float:
    if base == 0 and exponent == 0:
        raise ValueError("0^0")
    value = base**exponent
    if isinstance(value, complex):
        raise ValueError("a root of a negative number")
    return float(value)


def _cut(value: float, digits: float, away: bool) -> float:
    scaled = through_15_digits(abs(value) * 10 ** int(digits))
    return math.copysign((math.ceil if away else math.floor)(scaled) / 10 ** int(digits), value)


FUNCTIONS = {
    "ABS": Function(1, 1, _plain(abs)),
    "AND": Function(1, MANY, _logical(all)),
    "AVERAGE": Function(1, MANY, _over(_average)),
    "EXP": Function(1, 1, _plain(math.exp)),
    "INT": Function(1, 1, _plain(lambda x: math.floor(through_15_digits(x)))),
    "LN": Function(1, 1, _plain(math.log)),
    "LOG10": Function(1, 1, _plain(math.log10)),
    "MAX": Function(1, MANY, _over(lambda numbers: max(numbers, default=0.0))),
    "MIN": Function(1, MANY, _over(lambda numbers: min(numbers, default=0.0))),
    "NORMSDIST": Function(1, 1, _plain(lambda z: math.erfc(-z / math.sqrt(2.0)) / 2.0)),
    "NOT": Function(1, 1, lambda given: not truth(given[0].value)),
    "OR": Function(1, MANY, _logical(any)),
    "PI": Function(0, 0, lambda given: math.pi),
    "POWER": Function(2, 2, _plain(_power)),
    "ROUND": Function(2, 2, _plain(lambda x, digits: sheet_round(x, int(digits)))),
    "ROUNDDOWN": Function(2, 2, _plain(lambda x, digits: _cut(x, digits, away=False))),
    "ROUNDUP": Function(2, 2, _plain(lambda x, digits: _cut(x, digits, away=True))),
    "SIGN": Function(1, 1, _plain(lambda x: (x > 0) - (x < 0))),
    "SQRT": Function(1, 1, _plain(math.sqrt)),
    "SUM": Function(1, MANY, _over(sum)),
    "SUMSQ": Function(1, MANY, _over(lambda numbers: sum(one * one for one in numbers))),
    "TAN": Function(1, 1, _plain(math.tan)),
    "TRUNC": Function(1, 1, _plain(math.trunc)),
}


def _if(given: Sequence[Callable[[], Value]]) -> Value:
    if truth(given[0]()):
        return given[1]()
    return given[2]() if len(given) == 3 else False


def _iferror(given: Sequence[Callable[[], Value]]) -> Value:
    try:
        return given[0]()
    except SheetError:
        return given[1]()


def _iserror(given: Sequence[Callable[[], Value]]) -> Value:
    try:
        given[0]()
    except SheetError:
        return True
    return False


def _count(given: Sequence[Callable[[], Value]]) -> Value:
    """How many numbers there are: words and errors are passed over."""
    return float(sum(not isinstance(_iferror((one, str)), str) for one in given))


def _isnumber(given: Sequence[Callable[[], Value]]) -> Value:
    return not isinstance(_iferror((given[0], str)), str | bool)


def _istext(given: Sequence[Callable[[], Value]]) -> Value:
    return isinstance(_iferror((given[0], bool)), str)


LAZY = {
    "COUNT": Lazy(1, MANY, _count),
    "COUNTA": Lazy(1, MANY, lambda given: float(len(given))),
    "IF": Lazy(2, 3, _if),
    "IFERROR": Lazy(2, 2, _iferror),
    "ISERROR": Lazy(1, 1, _iserror),
    "ISNUMBER": Lazy(1, 1, _isnumber),
    "ISTEXT": Lazy(1, 1, _istext),
}
