"""A figure that a log gives: its value, its standard uncertainty by parts, and what it may decide."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from estimator.pressure_logs.log_file import PressureLog

# A reading may be judged; a bound decides its own side only; an indication decides nothing.
Standing = Literal["reading", "at most", "at least", "indication"]
Kind = Literal["bleed-down", "charging", "hold", "applications"]
KINDS: tuple[Kind, ...] = ("bleed-down", "charging", "hold", "applications")


@dataclass(frozen=True)
class Figure:
    """One figure, in SI (pressures as a gauge reads them). `parts` are standard uncertainties by what they come from."""

    ref: str
    title: str
    quantity: Literal["pressure", "time", "flow", "count"]
    value: float
    parts: tuple[tuple[str, float], ...]
    standing: Standing
    rests_on: str
    at: float | None = None  # seconds from the first sample

    @property
    def u(self) -> float:
        """The standard uncertainty: the parts in quadrature."""
        return math.sqrt(sum(part * part for _, part in self.parts))


@dataclass(frozen=True)
class Line:
    """A fitted curve, for the picture: seconds, pascals."""

    time: NDArray[np.float64]
    pressure: NDArray[np.float64]


@dataclass(frozen=True)
class LogFindings:
    """What a log of one kind gives: figures, fitted curves, what couldn't be had and why."""

    log: PressureLog
    kind: Kind
    guessed: bool
    figures: tuple[Figure, ...]
    lines: tuple[Line, ...] = ()
    remarks: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class Setting:
    """What the figures of a log rest on beside the log: the system's data, its gauge, how fast its gas settles."""

    gas_volume: float | None  # m³, of all accumulators of the system; None where the car's data don't give it
    lamp: float | None  # Pa
    gauge_u: float  # Pa, standard uncertainty of one reading
    gauge_top: float  # Pa, the end of the gauge's scale; inf where no gauge is known
    settling: float  # s, time constant with which the gas takes the temperature of its shell


def duration(seconds: float) -> str:
    """A time as people say it.

    >>> duration(42.0), duration(5400.0), duration(36000.0)
    ('42 s', '90 min', '10 h')
    """
    if seconds < 120:
        return f"{seconds:.3g} s"
    return f"{seconds / 60:.3g} min" if seconds < 7200 else f"{seconds / 3600:.3g} h"
