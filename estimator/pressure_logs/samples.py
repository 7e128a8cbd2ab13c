"""Samples gathered chunk by chunk: empty ones left out, times in order, means of neighbors where there are too many."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.errors import InputError, InputProblem
from estimator.intake.model_errors import printable
from estimator.pressure_logs.signal import noise

Numbers = NDArray[np.float64]
MOST_SAMPLES = 1 << 21
HIGHEST_PA, LOWEST_PA = 1000e5, -5e5  # noise of a gauge at zero goes below a vacuum
DAY = 86_400.0
_CLOCK = re.compile(r"(\d{1,2}):(\d{2}):(\d{2}(?:[.,]\d+)?) ?([AaPp][Mm])?Z?$")


class Kept:
    """The samples read so far. `line` gives the line of a row of data, for what is refused."""

    def __init__(self, path: Path, line: Callable[[int], int]) -> None:
        self.path, self.line = path, line
        self.remarks: list[str] = []
        self._parts: list[tuple[Numbers | None, ...]] = []
        self._held = self._rows = self._empty = 0
        self._block = 1
        self._last = -np.inf
        self._day = 0.0

    def add(self, time: Any, others: tuple[Numbers | None, ...], factor: float) -> None:
        """Take a chunk: times as numbers to be multiplied by `factor`, or of a clock where it is 0. Raises InputError."""
        seconds = time * factor if factor else self._clock(time)
        pressure = others[0]
        assert pressure is not None
        wrong = (pressure > HIGHEST_PA) | (pressure < LOWEST_PA)
        if wrong.any():
            place = int(np.argmax(wrong))
            found = f"a pressure of {pressure[place] / 1e5:.6g} bar"
            allowed = "from -5 to 1,000 bar; a wrong unit shows so too"
            raise self._refused(place, found, allowed, "correct the line or the unit")
        there = ~(np.isnan(seconds) | np.isnan(pressure))
        rows = np.flatnonzero(there)
        self._empty += len(there) - len(rows)
        seconds = seconds[there]
        steps = np.diff(seconds, prepend=self._last)
        if (steps < 0).any():
            place = int(np.argmax(steps < 0))
            raise self._refused(
                int(rows[place]), "a time before that of the sample above it", "times rise", "correct the line"
            )
        if len(seconds):
            self._last = float(seconds[-1])
        self._rows += len(there)
        part = (seconds, *(None if other is None else other[there] for other in others))
        self._parts.append(tuple(_means(column, self._block) for column in part))
        self._held += len(seconds) // self._block
        while self._held > MOST_SAMPLES:
            self._parts = [tuple(_means(column, 2) for column in self._joined())]
            self._block *= 2
            self._held //= 2

    def samples(self) -> tuple[Numbers, Numbers, Numbers | None, Numbers | None]:
        """Seconds from the first sample, pressures, temperatures, lamp. Raises InputError where there are too few."""
        time, pressure, temperature, lamp = self._joined() if self._parts else (None,) * 4
        if time is None or pressure is None or len(time) < 2 or time[-1] == time[0]:
            found = f"{0 if time is None else len(time)} samples with a time and a pressure of their own"
            place = InputProblem(str(self.path), "the file", found, "a log holds many", "record or export it again")
            raise InputError([place])
        if self._empty:
            self.remarks.append(f"samples without a reading, not used: {self._empty:,}")
        if self._block > 1:
            self.remarks.append(f"a long log: each point is the mean of {self._block} samples")
        time = self._spread(time - time[0])
        return time, self._without_spikes(pressure), _whole(temperature), lamp

    def _joined(self) -> tuple[Numbers | None, ...]:
        columns = zip(*self._parts, strict=True)
        return tuple(None if parts[0] is None else np.concatenate([*parts]) for parts in columns)

    def _spread(self, time: Numbers) -> Numbers:
        """Samples that share a time, as those of a clock without fractions do, spread evenly up to the next time."""
        first = np.flatnonzero(np.diff(time, prepend=-1.0) > 0)
        if len(first) == len(time):
            return time
        self.remarks.append("several samples share a time: spread evenly")
        count = np.diff(np.append(first, len(time)))
        step = np.diff(time[first], append=2 * time[first[-1]] - time[first[-2]])
        spread: Numbers = np.repeat(time[first], count) + np.repeat(step / count, count) * (
            np.arange(len(time)) - np.repeat(first, count)
        )
        return spread

    def _without_spikes(self, pressure: Numbers) -> Numbers:
        """Single samples far from both neighbors, which agree, are dropouts: the neighbors' mean in their place."""
        if len(pressure) < 5:
            return pressure
        before, here, after = pressure[:-2], pressure[1:-1], pressure[2:]
        far = max(0.05 * float(np.ptp(pressure)), 8 * noise(pressure))
        low, high = np.minimum(before, after), np.maximum(before, after)
        spike = ((low - here > far) | (here - high > far)) & (high - low < far / 2)
        if spike.any():
            self.remarks.append(f"single samples far from both neighbors, not used: {int(spike.sum()):,}")
            pressure = pressure.copy()
            pressure[1:-1][spike] = ((before + after) / 2)[spike]
        return pressure

    def _clock(self, cells: Any) -> Numbers:
        """Times of day as seconds, a day added after each midnight."""
        found = np.empty(len(cells))
        for place, cell in enumerate(cells):
            if not isinstance(cell, str):
                found[place] = np.nan
                continue
            match = _CLOCK.search(cell)
            if match is None or int(match[2]) > 59 or float(match[3].replace(",", ".")) >= 61 or int(match[1]) > 23:
                raise self._refused(
                    place, f'found "{printable(cell[:60])}"', "a time such as 10:15:03.5", "correct the line"
                )
            hour = int(match[1])
            if match[4]:
                hour = hour % 12 + (12 if match[4].casefold() == "pm" else 0)
            seconds = self._day + hour * 3600.0 + int(match[2]) * 60.0 + float(match[3].replace(",", "."))
            if seconds < self._last_clock(found, place) - DAY / 2:
                self._day += DAY
                seconds += DAY
            found[place] = seconds
        return found

    def _last_clock(self, found: Numbers, place: int) -> float:
        return float(found[place - 1]) if place and not np.isnan(found[place - 1]) else self._last

    def _refused(self, place: int, found: str, allowed: str, fix: str) -> InputError:
        line = self.line(self._rows + place)
        return InputError([InputProblem(str(self.path), f"line {line}", found, allowed, fix)])


def _means(column: Numbers | None, count: int) -> Numbers | None:
    """Means of so many neighbors; what doesn't fill the last group is left out."""
    if column is None or count == 1:
        return column
    means: Numbers = column[: len(column) // count * count].reshape(-1, count).mean(axis=1)
    return means


def _whole(temperature: Numbers | None) -> Numbers | None:
    """Temperatures with those between where a logger reads them less often; none where there are none."""
    if temperature is None or np.isnan(temperature).all():
        return None
    known = np.flatnonzero(~np.isnan(temperature))
    filled: Numbers = np.interp(np.arange(len(temperature)), known, temperature[known])
    return filled
