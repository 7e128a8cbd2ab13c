"""What is due when: by the manufacturer's intervals and ages, and sooner where a trend says so."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from estimator.car_history.series import Series, in_order
from estimator.car_history.trend import DAYS, Trend, trend
from estimator.limits.working import Si
from estimator.quantities import UNITS
from estimator.records import Car, Interval
from estimator.records.visits import PastReading, PastVisit

NOT_PERMISSION = (
    "These dates are not permission to drive until then: gas can be lost at once, and a trend foretells only what goes on as "
    "it did. A trend brings a date forward, never past the manufacturer's interval or age."
)
_MOST_AGE = 100  # years
Limits = Mapping[str, Mapping[str, Si]]


@dataclass(frozen=True)
class Due:
    """What is due, from a day on; with a trend, `latest` ends the band, or is None where it has no end. `why` says on
    what it rests."""

    title: str
    earliest: dt.date
    latest: dt.date | None
    why: str

    @property
    def banded(self) -> bool:
        return self.latest != self.earliest


@dataclass(frozen=True)
class Undated:
    """What has an interval or an age, and nothing on file from which it could be counted."""

    title: str
    why: str


def trends(series: Iterable[Series]) -> tuple[Trend, ...]:
    """Return the trends of those quantities that were read at four visits or more."""
    return tuple(found for item in series if (found := trend(item)) is not None)


def due(car: Car, visits: Iterable[PastVisit], series: Iterable[Series], limits: Limits) -> tuple[Due, ...]:
    """Return all that is due, the earliest first.

    visits: of this car, and of others that held its accumulators; series: of its quantities; limits: by the reference of a
    check, its sides. What a trend foretells for an accumulator ends with the day on which it goes by age.
    """
    mine = _mine(car, visits)
    aged = {item.id: _by_age(car, item.id, mine) for item in car.accumulators}
    found = [item for item in aged.values() if isinstance(item, Due)]
    found += [item for interval in car.intervals for item in _by_interval(interval, mine) if isinstance(item, Due)]
    for line in trends(series):
        age = aged.get(line.series.place.id)
        last = age.earliest if isinstance(age, Due) else dt.date.max
        found += [_no_later(item, last) for item in _by_trend(line, limits) if item.earliest < last]
    return tuple(sorted(found, key=lambda item: (item.earliest, item.title)))


def _no_later(item: Due, last: dt.date) -> Due:
    return replace(item, latest=last) if last < (item.latest or dt.date.max) else item


def undated(car: Car, visits: Iterable[PastVisit]) -> tuple[Undated, ...]:
    """Return what can't be dated, and what is missing for it."""
    mine = _mine(car, visits)
    found = [*(_by_age(car, item.id, mine) for item in car.accumulators)]
    found += [item for interval in car.intervals for item in _by_interval(interval, mine)]
    without = [] if car.intervals else [Undated("fluid, seals, hoses", "car.toml gives no [[intervals]] for them")]
    return (*(item for item in found if isinstance(item, Undated)), *without)


def _mine(car: Car, visits: Iterable[PastVisit]) -> tuple[PastVisit, ...]:
    return tuple(visit for visit in in_order(visits) if visit.is_of(car.car))


def standing_reading(ref: str, visits: Sequence[PastVisit]) -> tuple[PastVisit, PastReading] | None:
    """Return the last reading of a check that no completed job has made obsolete, and its visit."""
    found: tuple[PastVisit, PastReading] | None = None
    for visit in visits:
        found = None if ref in visit.renewed_earlier else found
        read = {item.phase: item for item in visit.readings if item.check == ref}
        found = (visit, read["before"]) if "before" in read else found
        found = None if ref in visit.renewed else found
        found = (visit, read["after"]) if "after" in read else found
        found = None if ref in visit.renewed_since else found
    return found


def _by_age(car: Car, place: str, visits: Sequence[PastVisit]) -> Due | Undated:
    """When the manufacturer has an accumulator replaced, counted from its date stamp as it was read."""
    item = next(one for one in car.accumulators if one.id == place)
    title = f"replace {place.replace('-', ' ')}"
    if item.most_age is None:
        return Undated(title, "car.toml gives no most_age")
    read = standing_reading(f"accumulator-age.{place}", visits)
    if read is None or read[1].si is None:
        return Undated(title, f"{item.most_age} by age, and no age was read since it was fitted")
    if read[1].si > _MOST_AGE * DAYS * 86400:
        return Undated(title, f"an age of {read[1].value} {read[1].unit} is no accumulator's")
    made = read[0].day(read[1].phase) - dt.timedelta(seconds=read[1].si)
    day = made + dt.timedelta(seconds=item.most_age.si)
    return Due(title, day, day, f"age {item.most_age}, from the date stamp")


def _by_interval(interval: Interval, visits: Sequence[PastVisit]) -> Iterator[Due | Undated]:
    """When an interval ends, of places with one date together."""
    places: dict[dt.date | None, list[str]] = {}
    for place in interval.at:
        refs = {f"{job}.{place}" for job in interval.jobs}
        done = [visit.after for visit in visits if refs & set(visit.done)]
        last = max([*done, *([interval.last] if interval.last else [])], default=None)
        places.setdefault(last, []).append(place.replace("-", " "))
    for last, of in places.items():
        title = interval.title if len(of) == len(interval.at) else f"{interval.title}, {', '.join(of)}"
        if last is None:
            yield Undated(title, f"every {interval.every}, and nothing on file says when it was done last")
            continue
        day = later(last, interval.every.si)
        yield Due(title, day, day, f"every {interval.every}, last {last}")


def later(day: dt.date, seconds: float) -> dt.date:
    """Return the day so much later; whole months by the calendar.

    >>> later(dt.date(2024, 1, 31), 13 * 365.25 / 12 * 86400), later(dt.date(2024, 1, 1), 90 * 86400)
    (datetime.date(2025, 2, 28), datetime.date(2024, 3, 31))
    """
    months = seconds / (DAYS / 12 * 86400)
    if abs(months - round(months)) > 0.02:
        return day + dt.timedelta(seconds=seconds)
    years, month = divmod(day.month - 1 + round(months), 12)
    return day.replace(
        year=day.year + years, month=month + 1, day=min(day.day, calendar.monthrange(day.year + years, month + 1)[1])
    )


def _by_trend(line: Trend, limits: Limits) -> Iterator[Due]:
    for item in line.crossings(limits.get(line.series.ref, {})):
        why = f"trend of {len(line.points)} visits"
        yield Due(f"{line.series.label}: {item.title}", item.earliest, item.latest, why)


def unit_of(ref: str, visits: Iterable[PastVisit]) -> str:
    """The unit in which the readings of a check were shown last; that of SI where none is known."""
    units = [visit.latest[ref].unit for visit in in_order(visits) if ref in visit.latest]
    return next((unit for unit in reversed(units) if unit in UNITS), "1")
