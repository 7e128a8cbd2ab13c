"""The places of a car at which a check is made or a job is done, and how one kind of place leads to another.

| from | to | means |
| --- | --- | --- |
| caliper, wheel | wheel, axle, car | the one that holds it |
| axle | wheels, calipers | those on it |
| caliper, wheel, axle | system, pedal circuit | every one that feeds pistons there |
| system, pedal circuit | caliper, wheel | every one that it feeds, and its wheel |
| system | accumulator, car | its own; the car |
| accumulator | system, car | its system |
| car | anything | all that the car has |

Systems aren't sides of the car: which pistons a system feeds is data of the car (its source map).
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import dataclass, field

ALL = "all"  # of a job: every place that it can have
AXLES = ("front-axle", "rear-axle")
WHEELS = ("front-left", "front-right", "rear-left", "rear-right")
PEDAL_CIRCUIT = "pedal-circuit"
PLACE_KINDS = ("car", "axle", "wheel", "caliper", "system", "pedal-circuit", "accumulator")
# The kinds to which each kind can lead, by the table above; every kind leads to itself and to the car.
LEADS_TO = {
    "car": frozenset(PLACE_KINDS),
    "axle": frozenset(("axle", "car", "wheel", "caliper", "system", "pedal-circuit")),
    "wheel": frozenset(("wheel", "car", "axle", "caliper", "system", "pedal-circuit")),
    "caliper": frozenset(("caliper", "car", "axle", "wheel", "system", "pedal-circuit")),
    "system": frozenset(("system", "car", "accumulator", "caliper", "wheel")),
    "pedal-circuit": frozenset(("pedal-circuit", "car", "caliper", "wheel")),
    "accumulator": frozenset(("accumulator", "car", "system")),
}


def axle_of(wheel: str) -> str:
    return f"{wheel.split('-')[0]}-axle"


@dataclass(frozen=True)
class Place:
    """One place: its kind, its id (`front-left`), and what is printed (`front left`)."""

    kind: str
    id: str

    @property
    def title(self) -> str:
        return self.id.replace("-", " ")


@dataclass(frozen=True)
class Places:
    """All places of one car. `feeds` is the source map: (caliper, source) pairs; sources are systems and, in
    variant A, the pedal circuit. `accumulators` are (accumulator, system) pairs."""

    systems: tuple[str, ...]
    accumulators: tuple[tuple[str, str], ...]
    calipers: tuple[tuple[str, str], ...]
    feeds: tuple[tuple[str, str], ...]
    pedal_circuit: bool
    _led_to: dict[tuple[Place, str], tuple[Place, ...]] = field(default_factory=dict, compare=False, repr=False)

    def all(self) -> tuple[Place, ...]:
        return self._all

    @functools.cached_property
    def _all(self) -> tuple[Place, ...]:
        found = [Place("car", "car")]
        found += [Place("axle", axle) for axle in AXLES]
        found += [Place("wheel", wheel) for wheel in WHEELS]
        found += [Place("caliper", caliper) for caliper, _ in self.calipers]
        found += [Place("system", system) for system in self.systems]
        found += [Place("pedal-circuit", PEDAL_CIRCUIT)] * self.pedal_circuit
        found += [Place("accumulator", accumulator) for accumulator, _ in self.accumulators]
        return tuple(found)

    def of_kind(self, kind: str) -> tuple[Place, ...]:
        return tuple(place for place in self.all() if place.kind == kind)

    def find(self, place_id: str) -> Place | None:
        return next((place for place in self.all() if place.id == place_id), None)

    def at(self, origin: Place, kind: str) -> tuple[Place, ...]:
        """The places of a kind to which something at `origin` leads, by the table above; none where it leads nowhere.

        >>> places = Places(("system-1",), (("accumulator-1", "system-1"),), (), (), False)
        >>> [place.id for place in places.at(Place("system", "system-1"), "accumulator")]
        ['accumulator-1']
        """
        if (origin, kind) not in self._led_to:
            self._led_to[origin, kind] = self._at(origin, kind)
        return self._led_to[origin, kind]

    def _at(self, origin: Place, kind: str) -> tuple[Place, ...]:
        if kind == origin.kind:
            return (origin,)
        if kind == "car":
            return (Place("car", "car"),)
        if origin.kind == "car":
            return self.of_kind(kind)
        wanted = set(self._ids(origin, kind))
        return tuple(place for place in self.of_kind(kind) if place.id in wanted)

    def _ids(self, origin: Place, kind: str) -> Iterable[str]:
        if origin.kind == "accumulator" and kind == "system":
            return [system for accumulator, system in self.accumulators if accumulator == origin.id]
        if origin.kind == "system" and kind == "accumulator":
            return [accumulator for accumulator, system in self.accumulators if system == origin.id]
        if origin.kind in ("system", "pedal-circuit"):
            calipers = {caliper for caliper, source in self.feeds if source == origin.id}
            return calipers if kind == "caliper" else {wheel for caliper, wheel in self.calipers if caliper in calipers}
        wheels = self._wheels(origin)
        if kind == "axle":
            return {axle_of(wheel) for wheel in wheels}
        if kind == "wheel":
            return wheels
        calipers = {origin.id} if origin.kind == "caliper" else {c for c, wheel in self.calipers if wheel in wheels}
        if kind == "caliper":
            return calipers
        return {source for caliper, source in self.feeds if caliper in calipers}

    def _wheels(self, origin: Place) -> set[str]:
        if origin.kind == "wheel":
            return {origin.id}
        if origin.kind == "axle":
            return {wheel for wheel in WHEELS if axle_of(wheel) == origin.id}
        return {wheel for caliper, wheel in self.calipers if caliper == origin.id}
