"""Each quantity of a car over its visits, in stretches that no renewal interrupts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimator.facts.checks import Check, checks
from estimator.limits.judging.verdict_words import PHASES
from estimator.places import Place
from estimator.records import Car
from estimator.records.visits import PastReading, PastVisit

FALLS, RISES, SAME = "falls", "rises", "same"
_OF_ACCUMULATORS = "accumulator"


@dataclass(frozen=True)
class Point:
    """What was judged at a visit, in SI, with its standard uncertainty, and the document that holds it."""

    day: dt.date
    si: float
    u: float
    document: str


@dataclass(frozen=True)
class Series:
    """A quantity that wears or leaks, at a place: stretches of points, the last one that of the part fitted now."""

    check: Check
    place: Place
    stretches: tuple[tuple[Point, ...], ...]

    @property
    def ref(self) -> str:
        return f"{self.check.id}.{self.place.id}"

    @property
    def label(self) -> str:
        return self.check.title if self.place.kind == "car" else f"{self.check.title}, {self.place.title}"

    @property
    def side(self) -> str:
        """The side of its limits that the years bring it to."""
        return "low" if self.check.over_time == FALLS else "high"

    @property
    def present(self) -> tuple[Point, ...]:
        """The points since the last renewal; none where it was renewed and not read since."""
        return self.stretches[-1]

    @property
    def points(self) -> tuple[Point, ...]:
        return tuple(point for stretch in self.stretches for point in stretch)


def in_order(visits: Iterable[PastVisit]) -> tuple[PastVisit, ...]:
    """Return visits by date, of each document the last revision alone."""
    last: dict[str, PastVisit] = {}
    for visit in visits:
        if visit.document not in last or visit.revision >= last[visit.document].revision:
            last[visit.document] = visit
    return tuple(sorted(last.values(), key=lambda item: (item.before, item.after, item.document)))


def all_series(car: Car, visits: Iterable[PastVisit]) -> tuple[Series, ...]:
    """Return the series of each quantity of a car that falls or rises over the years.

    visits: of this car, and of others that held one of its accumulators; what hangs on an accumulator follows its
    serial. A completed job that renews a part begins a new stretch, and so does another serial.
    """
    ordered = in_order(visits)
    mine = [visit for visit in ordered if visit.is_of(car.car)]
    held = _held(mine)
    found = []
    for check in checks():
        if check.over_time in (FALLS, RISES):
            for place in check.places(car):
                stretches = _stretches(check, place, ordered, mine, held)
                if any(stretches):
                    found.append(Series(check, place, stretches))
    return tuple(found)


def _held(mine: Sequence[PastVisit]) -> Mapping[str, str]:
    """The serial that each place of an accumulator holds now."""
    held: dict[str, str] = {}
    for visit in mine:
        held |= visit.serials
    return held


def _stretches(
    check: Check, place: Place, visits: Sequence[PastVisit], mine: Sequence[PastVisit], held: Mapping[str, str]
) -> tuple[tuple[Point, ...], ...]:
    stretches: list[list[Point]] = [[]]
    serial = ""
    for visit in visits:
        where = place.id
        if visit not in mine:
            if place.kind != _OF_ACCUMULATORS or place.id not in held:
                continue
            where = next((at for at, item in visit.serials.items() if item == held[place.id]), "")
        ref = f"{check.id}.{where}"
        now = visit.serials.get(where, "") if place.kind == _OF_ACCUMULATORS else ""
        if ref in visit.renewed_earlier or (now and serial and now != serial):
            stretches.append([])
        serial = now or serial
        readings = {item.phase: item for item in visit.readings if item.check == ref}
        for phase in PHASES:
            if phase == "after" and ref in visit.renewed:
                stretches.append([])
            if (point := _point(visit, readings.get(phase))) is not None:
                if stretches[-1] and stretches[-1][-1].document == visit.document:
                    stretches[-1].pop()  # read again at the same visit: the later reading stands
                stretches[-1].append(point)
        if ref in visit.renewed_since:
            stretches.append([])
    kept = [tuple(item) for item in stretches[:-1] if item]
    return (*kept, tuple(stretches[-1]))


def _point(visit: PastVisit, reading: PastReading | None) -> Point | None:
    if reading is None or reading.si is None or reading.u is None:
        return None
    return Point(visit.day(reading.phase), reading.si, reading.u, visit.document)


def trimmed(car: Car, visits: Iterable[PastVisit], most: int = 12) -> tuple[PastVisit, ...]:
    """Return visits as a workbook carries them: the car's last one whole, of the others what the years change.

    Of another car, which held one of the accumulators, nothing that names it is kept.
    """
    ordered = in_order(visits)[-most:]
    last = next((visit for visit in reversed(ordered) if visit.is_of(car.car)), None)
    return tuple(visit if visit is last else _little_of(visit, visit.is_of(car.car)) for visit in ordered)


def _little_of(visit: PastVisit, mine: bool) -> PastVisit:
    nameless = {} if mine else {"car": "another car", "chassis": "", "car_id": "", "odometer": "", "done": ()}
    return visit.model_copy(update={"readings": tuple(_over_time(visit)), **nameless})


def _over_time(visit: PastVisit) -> Iterator[PastReading]:
    for item in visit.readings:
        name = item.check.partition(".")[0]
        if any(check.id == name and (check.over_time or name == "accumulator-serial") for check in checks()):
            yield item
