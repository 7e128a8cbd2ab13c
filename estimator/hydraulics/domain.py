"""Checks on what a formula is given: each refusal says what was found, what is allowed and why."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from estimator.errors import DomainError


@dataclass(frozen=True)
class Band:
    """The two ends between which a physical answer lies; `low` is never above `high`."""

    low: float
    high: float


def finite(**values: float) -> None:
    """Refuses what isn't a finite number. Raises DomainError."""
    for name, value in values.items():
        if not math.isfinite(value):
            raise DomainError(f"{name} is {value}: a finite number is needed")


def positive(**values: float) -> None:
    """Refuses what isn't a finite number above 0. Raises DomainError."""
    finite(**values)
    for name, value in values.items():
        if value <= 0:
            raise DomainError(f"{name} is {value:g}: it must be above 0")


def not_negative(**values: float) -> None:
    """Refuses what isn't a finite number of 0 or more. Raises DomainError."""
    finite(**values)
    for name, value in values.items():
        if value < 0:
            raise DomainError(f"{name} is {value:g}: it can't be below 0")


def within(low: float, high: float, why: str, **values: float) -> None:
    """Refuses what lies outside [low, high]; `why` says where the range comes from. Raises DomainError."""
    finite(**values)
    for name, value in values.items():
        if not low <= value <= high:
            raise DomainError(f"{name} is {value:g}: allowed is {low:g} to {high:g}, {why}")


def rising(why: str, **values: float) -> None:
    """Refuses numbers that don't rise in the order given; `why` says what the order means. Raises DomainError."""
    finite(**values)
    names = list(values)
    for lower, upper in itertools.pairwise(names):
        if not values[lower] < values[upper]:
            raise DomainError(f"{lower} is {values[lower]:g} and {upper} is {values[upper]:g}: {why}")
