"""A hypothesis: causes that hold at once, how probable they were, and what they foretell."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from estimator.diagnosis.causes.setup import Expected

_DIGITS = 5


class At(NamedTuple):
    """A cause at a place; `part` is the accumulator of a system that has several, else the place."""

    mode: str
    place: str
    part: str


class Shared(NamedTuple):
    """What a hypothesis adds to the readings that all systems share: fluid in the pan (its level among PAN_LEVELS), a leak to
    be seen, a reserve that fails."""

    pan: int = 0
    leak: int = 0
    dead: int = 0


class Foretold(NamedTuple):
    """What a hypothesis foretells of a reading, with the digits that the workbook holds: the mean, twice the variance."""

    mean: float
    spread: float


@dataclass(frozen=True)
class Hypothesis:
    """Causes with their prior, the readings they foretell, the probability of each look; `scenario` names what holds for all
    systems at once ("" for nothing)."""

    causes: tuple[At, ...]
    prior: float
    readings: Mapping[str, Foretold]
    looks: Mapping[str, float] = field(default_factory=dict)
    shared: Shared = field(default_factory=Shared)
    scenario: str = ""


class Cell(NamedTuple):
    """A range of severities with the point that stands for it, and its share of the cause's prior."""

    low: float
    mid: float
    high: float
    share: float


def cells(*edges: float, log: bool = False) -> tuple[Cell, ...]:
    """Return the ranges between edges, each with its middle (or geometric mean) and an equal share.

    >>> cells(0.0, 1.0, 3.0)
    (Cell(low=0.0, mid=0.5, high=1.0, share=0.5), Cell(low=1.0, mid=2.0, high=3.0, share=0.5))
    """
    pairs = list(itertools.pairwise(edges))
    share = 1 / len(pairs)
    return tuple(Cell(a, math.sqrt(a * b) if log else (a + b) / 2, b, share) for a, b in pairs)


def evenly(low: float, high: float, number: int) -> tuple[float, ...]:
    """Return the edges of so many equal ranges."""
    return tuple(low + (high - low) * at / number for at in range(number + 1))


def widened(
    middle: Mapping[str, Expected], ends: Iterable[tuple[Mapping[str, Expected], Mapping[str, Expected]]]
) -> dict[str, Foretold]:
    """Return what is foretold, its spread wider by what each pair of ends makes: their difference over √12."""
    pairs = list(ends)
    found = {}
    for check, item in middle.items():
        parts = [
            (high[check].mean - low[check].mean) / math.sqrt(12)
            for low, high in pairs
            if check in low and check in high
        ]
        found[check] = rounded(Expected(item.mean, math.hypot(item.sd, *parts)))
    return found


def rounded(item: Expected) -> Foretold:
    """Return mean and spread with the digits that the workbook holds."""
    return Foretold(five_digits(item.mean), five_digits(2 * item.sd**2))


def five_digits(value: float) -> float:
    """Return a number rounded to 5 significant digits.

    >>> five_digits(123456.0), five_digits(0.00012345678)
    (123460.0, 0.00012346)
    """
    return float(f"{value:.{_DIGITS - 1}e}")
