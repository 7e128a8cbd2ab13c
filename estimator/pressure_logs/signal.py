"""How a log moves: its noise, its turns, where it collapses, its steps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
_BLOCKS = 4000
# A bleed falls by no more than the share of its time that has passed; what loses 40 % within 5 % has collapsed.
COLLAPSE_WITHIN, COLLAPSE_TO = 0.05, 0.6


def noise(pressure: Numbers) -> float:
    """Return the standard deviation of a log's noise [Pa]: second differences, the step of the figures at least.

    >>> import numpy as np
    >>> round(noise(np.linspace(1e7, 0.9e7, 2000) + np.random.default_rng(1).normal(0, 1e4, 2000)) / 1e4, 1)
    1.0
    """
    part = pressure[:50_000]
    second = np.diff(part, 2)
    by_differences = (
        1.4826 * float(np.median(np.abs(second - np.median(second)))) / math.sqrt(6) if second.size else 0.0
    )
    return max(by_differences, step_of(part) / math.sqrt(12), 1.0)


def step_of(pressure: Numbers) -> float:
    """Return the least step between the figures that a log shows [Pa]; 0 where all are alike."""
    shown = np.unique(np.round(pressure[:20_000]))
    return float(np.diff(shown).min()) if shown.size > 1 else 0.0


def turns(pressure: Numbers, least: float) -> list[int]:
    """Return the first sample, each turn whose swings are `least` or more, and the last sample, as indexes.

    >>> import numpy as np
    >>> turns(np.array([0.0, 9, 8, 9, 3, 4, 3, 10]), 4)
    [0, 1, 4, 7]
    """
    size = max(1, len(pressure) // _BLOCKS)
    full = len(pressure) // size * size
    blocks = pressure[:full].reshape(-1, size)
    starts = np.arange(len(blocks)) * size
    low, high = starts + blocks.argmin(axis=1), starts + blocks.argmax(axis=1)
    places = np.unique(np.concatenate([low, high, np.arange(full, len(pressure)), [0, len(pressure) - 1]]))
    found, high, low, direction = [0], 0, 0, 0
    for at, value in enumerate(pressure[places].tolist()):
        top, bottom = pressure[places[high]], pressure[places[low]]
        if direction >= 0 and value > top:
            high = at
        if direction <= 0 and value < bottom:
            low = at
        if direction >= 0 and top - value >= least:
            found.append(int(places[high]))
            direction, low = -1, at
        elif direction <= 0 and value - bottom >= least:
            found.append(int(places[low]))
            direction, high = 1, at
    last = {1: [int(places[high])], -1: [int(places[low])], 0: []}[direction]
    return [*dict.fromkeys([*found, *last, len(pressure) - 1])]


def smooth(pressure: Numbers) -> Numbers:
    """Return running medians of five samples, which keep a fall as sharp as it is.

    >>> smooth(np.array([5.0, 5, 9, 5, 5, 0, 0, 0]))
    array([5., 5., 5., 5., 5., 0., 0., 0.])
    """
    wide = np.pad(pressure, 2, mode="edge")
    a, b, c, d, e = (wide[first : len(pressure) + first] for first in range(5))
    low = np.maximum(np.minimum(a, b), np.minimum(c, d))
    high = np.minimum(np.maximum(a, b), np.maximum(c, d))
    found: Numbers = np.maximum(np.minimum(low, high), np.minimum(np.maximum(low, high), e))
    return found


def fall_begins(pressure: Numbers, sigma: float) -> int:
    """Return the sample at which a fall begins: the last that is within 2 % and the noise of the highest."""
    top = float(smooth(pressure).max())
    high = np.flatnonzero(pressure >= min(0.98 * top, top - 3 * sigma))
    return int(high[-1]) if high.size else 0


def collapse(time: Numbers, pressure: Numbers, sigma: float, start: int) -> int | None:
    """Return the last sample before a log collapses for good, coarsely; None where it doesn't.

    Collapsed is what has lost 40 % within 5 % of the time since the fall began, or from one sample to the next, and
    doesn't come back.
    """
    later = np.maximum.accumulate(smooth(pressure)[::-1])[::-1]
    ahead = np.searchsorted(time, time + COLLAPSE_WITHIN * np.maximum(time - time[start], 0.0), side="right")
    ahead = np.minimum(np.maximum(ahead, np.arange(len(time)) + 1), len(time) - 1)
    lost = later[ahead] < np.minimum(COLLAPSE_TO * pressure, pressure - 4 * sigma)
    lost[:start] = lost[-1] = False
    if not lost.any():
        return None
    first = int(np.argmax(lost))
    level = pressure[first] * 0.8
    high = np.flatnonzero(pressure[first : ahead[first] + 1] >= level)
    return first + int(high[-1])


@dataclass(frozen=True)
class Steps:
    """Where a pressure steps down: the sample of each step, its size, and the least that stands out [Pa]."""

    places: tuple[int, ...] = ()
    sizes: tuple[float, ...] = ()
    least: float = math.inf


def steps(time: Numbers, pressure: Numbers, sigma: float) -> Steps:
    """Return the steps of a log; none where it falls evenly.

    The means of 2.5 s on each side of 1 s are compared. A step is the greatest fall within 2.5 s of it, 4.5 times what noise
    makes, and three times what is usual in this log; between steps the pressure stays.
    """
    import pandas as pd

    step = float(np.median(np.diff(time)))
    width, gap = (max(least, math.ceil(span / step)) for span, least in ((2.5, 2), (1.0, 1)))
    if len(pressure) < 2 * width + gap:
        return Steps()
    total = np.concatenate([[0.0], np.cumsum(pressure - pressure[0])])
    means = (total[width:] - total[:-width]) / width
    drop = means[: -width - gap] - means[width + gap :]
    least = max(4.5 * sigma * math.sqrt(2 / width), 3 * float(np.quantile(drop, 0.1)))
    highest = pd.Series(drop).rolling(2 * width + 1, center=True, min_periods=1).max().to_numpy()
    found = np.flatnonzero((drop > least) & (drop >= highest))
    found = found[np.diff(found, prepend=-2) > 1]
    between = drop[(found[1:] + found[:-1]) // 2]
    if not found.size or (between.size and np.median(between) > 0.4 * np.median(drop[found])):
        return Steps()
    return Steps(tuple((found + width + gap // 2).tolist()), tuple(drop[found].tolist()), least)
