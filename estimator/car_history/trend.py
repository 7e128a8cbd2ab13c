"""The trend of a quantity with its own uncertainty, and when it will cross its limits: a band, never a day."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from statistics import fmean

from estimator.car_history.least_squares import Line, crossing, fitted, student
from estimator.car_history.series import FALLS, Point, Series
from estimator.limits.judging.verdict_words import COVERAGE
from estimator.limits.working import Si

LEAST_VISITS = 4
CONFIDENCE = 0.95
# Years beyond which nothing is foretold: ours, no source.
HORIZON = 20.0
DAYS = 365.25
# A limit in words, and its side in the dangerous direction without "_low" or "_high".
KINDS = (("service", "service limit"), ("danger", "do-not-drive limit"))


@dataclass(frozen=True)
class Crossing:
    """Between which days a quantity will cross a limit; `latest` is None where no end can be told."""

    kind: str
    level: float
    earliest: dt.date
    latest: dt.date | None

    @property
    def title(self) -> str:
        return dict(KINDS)[self.kind]


@dataclass(frozen=True)
class Trend:
    """A line through the points since the last renewal.

    The readings scatter about it; beside that, all of them share what gauge and thermometer may be off by, which no number
    of visits averages out: `shared_u`, the root mean square of their standard uncertainties. A straight line is meant
    for gas, since it stands at the system's pressure while the car is in use: ours, no source.
    """

    series: Series
    points: tuple[Point, ...]
    line: Line

    @property
    def t(self) -> float:
        return student(CONFIDENCE, self.line.freedom)

    @cached_property
    def shared_u(self) -> float:
        return math.sqrt(fmean(point.u**2 for point in self.points))

    def years(self, day: dt.date) -> float:
        return (day - self.points[0].day).days / DAYS

    def day(self, years: float) -> dt.date:
        return self.points[0].day + dt.timedelta(days=round(years * DAYS))

    @property
    def per_year(self) -> tuple[float, float]:
        """The change in a year, and its standard uncertainty, in SI."""
        return self.line.slope, self.line.u_slope

    def foretold(self, day: dt.date) -> tuple[float, float]:
        """What one more reading on a day would give, and the half of its interval: scatter, and twice what gauges share."""
        at = self.years(day)
        return self.line.at(at), math.hypot(self.t * self.line.u(at, 1.0), COVERAGE * self.shared_u)

    def band(self, day: dt.date) -> tuple[float, float]:
        """Where the quantity itself lies on a day, and the half of its interval."""
        at = self.years(day)
        return self.line.at(at), math.hypot(self.t * self.line.u(at), COVERAGE * self.shared_u)

    def crossing(self, kind: str, level: float) -> Crossing | None:
        """When it crosses a limit on its dangerous side; None where that isn't foretold within 20 years."""
        sign = 1.0 if self.series.check.over_time == FALLS else -1.0
        line = replace(self.line, mean_y=sign * self.line.mean_y, slope=sign * self.line.slope)
        now = self.years(self.points[-1].day)
        if line.at(now) <= sign * level:
            return Crossing(kind, level, self.points[-1].day, self.points[-1].day)
        first, last = crossing(line, sign * level, self.t, fixed=COVERAGE * self.shared_u)
        if last <= now or first > now + HORIZON:
            return None
        open_end = line.slope >= 0 or last > now + HORIZON
        return Crossing(kind, level, self.day(max(first, now)), None if open_end else self.day(last))

    def crossings(self, limits: Mapping[str, Si]) -> tuple[Crossing, ...]:
        """Its crossings of the service and the do-not-drive limit, by `service_low`, `danger_low` and so on."""
        levels = ((kind, limits.get(f"{kind}_{self.series.side}", "")) for kind, _ in KINDS)
        found = (self.crossing(kind, level) for kind, level in levels if not isinstance(level, str))
        return tuple(item for item in found if item is not None)


def trend(series: Series) -> Trend | None:
    """Return the trend of what is fitted now; None before the fourth visit. Readings are weighted by 1/u²."""
    points = series.present
    if len(points) < LEAST_VISITS or len({point.day for point in points}) < LEAST_VISITS:
        return None
    weights = [1 / point.u**2 for point in points] if all(point.u > 0 for point in points) else []
    years = [(point.day - points[0].day).days / DAYS for point in points]
    return Trend(series, points, fitted(years, [point.si for point in points], weights))
