"""How the probabilities came about, step by step: what the workbook works out again.

A zone is what a system's hypotheses add to the readings that all systems share, in one scenario.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from estimator.diagnosis.causes.evidence import Reading
from estimator.diagnosis.causes.hypotheses import At, Hypothesis, Shared
from estimator.diagnosis.causes.joint import Joint
from estimator.diagnosis.causes.scenarios import (
    COUNTS,
    COUNTS_SWAPPED,
    GAUGE_OFF,
    GAUGES,
    GAUGES_SWAPPED,
    Rows,
    Scenario,
    Told,
)
from estimator.diagnosis.causes.weigh import SharedReadings, normal_part, wrong

AS_READ = 0


def key_of(cause: At) -> str:
    """A cause as a word: `gas-low.accumulator-2`."""
    return f"{cause.mode}.{cause.part}"


def said(causes: Sequence[At]) -> str:
    """Causes that hold at once as words."""
    return " + ".join(map(key_of, causes)) or "none"


@dataclass(frozen=True)
class Zone:
    """A scenario, what its rows add to shared readings, and the sum of their weights."""

    number: int
    case: int
    shared: Shared
    weight: float
    probability: float
    factor: float
    # Which weights of the rows are summed, and by which number of theirs.
    source: str
    zone: str
    among: int

    @property
    def ref(self) -> str:
        return f"z{self.number}"

    @property
    def message(self) -> float:
        """What makes of a row's weight its probability."""
        return self.probability / self.weight if self.weight > 0 else 0.0


@dataclass(frozen=True)
class WeighedRow:
    """A hypothesis of a group with its weight; in a system under swapped readings too."""

    number: int
    hypothesis: Hypothesis
    log: float
    looks: float
    weight: float
    zone: int = 0
    tag_zone: int = 0
    parts: Mapping[str, float] = field(default_factory=dict)
    probability: float = 0.0

    @property
    def ref(self) -> str:
        return f"h{self.number}"


@dataclass(frozen=True)
class Held:
    """The probability of causes in a zone: `among` is the zone by which their rows are found."""

    number: int
    zone: Zone
    causes: tuple[At, ...]
    of_rows: tuple[At, ...]
    probability: float

    @property
    def ref(self) -> str:
        return f"p{self.number}"


@dataclass(frozen=True)
class Pair:
    """One zone of each system, and what they add together."""

    number: int
    case: int
    mode: str
    prior: float
    zones: tuple[Zone, ...]
    joint: float

    @property
    def ref(self) -> str:
        return f"j{self.number}"

    @property
    def pan(self) -> tuple[int, ...]:
        return tuple(sorted(zone.shared.pan for zone in self.zones))

    @property
    def leaks(self) -> int:
        return sum(zone.shared.leak for zone in self.zones)

    @property
    def dead(self) -> int:
        return sum(zone.shared.dead for zone in self.zones)


@dataclass(frozen=True)
class GroupSheet:
    """The readings and looks of a group by the names that its hypotheses give them, and what was believed of them."""

    id: str
    names: tuple[str, ...]
    looks: tuple[str, ...]
    checks: Mapping[str, str]
    heard: Told
    believed: Told
    rows: tuple[WeighedRow, ...]
    zones: tuple[Zone, ...] = ()
    held: tuple[Held, ...] = ()


@dataclass(frozen=True)
class Arithmetic:
    """All steps: the systems, the pedal, the wheels, the shared readings, the zones taken together."""

    systems: tuple[GroupSheet, ...]
    pedal: GroupSheet
    wheels: GroupSheet
    shared: SharedReadings
    believed: SharedReadings
    pairs: tuple[Pair, ...]

    @property
    def groups(self) -> tuple[GroupSheet, ...]:
        return (*self.systems, self.pedal, self.wheels)

    @property
    def whole(self) -> float:
        return math.fsum(pair.joint for pair in self.pairs)

    @property
    def pedal_sums(self) -> tuple[float, float]:
        """The weights of the pedal's hypotheses, without and with a leak to be seen."""
        sums = [0.0, 0.0]
        for row in self.pedal.rows:
            sums[row.hypothesis.shared.leak] += row.weight
        return sums[0], sums[1]


def plain_group(ident: str, checks: Mapping[str, str], heard: Told, rows: Rows, shares: Sequence[float]) -> GroupSheet:
    """Return the steps of a group that shares no more than a leak with others."""
    names, looks = _foretold(rows.hypotheses, checks)
    pairs = zip(rows.hypotheses, rows.weights, shares, strict=True)
    made = [
        WeighedRow(number, item, _log(item, names, rows.told), _looked(item, rows.told), weight, probability=share)
        for number, (item, weight, share) in enumerate(pairs, 1)
    ]
    return GroupSheet(ident, names, looks, checks, heard, rows.told, tuple(made))


def system_groups(
    ids: Sequence[str],
    tables: Sequence[Sequence[Hypothesis]],
    checks: Sequence[Mapping[str, str]],
    heard: Sequence[Told],
    cases: Sequence[Scenario],
    joint: Joint,
    factors: Sequence[float],
) -> tuple[GroupSheet, ...]:
    """Return the steps of all systems."""
    found = []
    for at, ident in enumerate(ids):
        zones = tuple(_zones(at, cases, joint, factors[at]))
        names, looks = _foretold(tables[at], checks[at])
        own = cases[AS_READ].systems[at].told
        other = cases[AS_READ].systems[1 - at].told if len(ids) > 1 else own
        weights = _weights(at, cases)
        number_of = {(zone.case, zone.shared): zone.number for zone in zones}
        rows = []
        for number, item in enumerate(tables[at], 1):
            case = _case_of(item, cases)
            swapped = {
                mode: weights[mode, id(item)]
                for mode in (GAUGES_SWAPPED, COUNTS_SWAPPED)
                if (mode, id(item)) in weights
            }
            parts = dict(_parts(item, names, own, other)) | swapped if swapped else {}
            plain = not item.scenario or (case and cases[case].mode == GAUGE_OFF)
            rows.append(
                WeighedRow(
                    number,
                    item,
                    _log(item, names, own),
                    _looked(item, own),
                    weights["", id(item)],
                    number_of[AS_READ, item.shared] if plain else number_of[case, item.shared],
                    number_of[case, item.shared] if case and plain else 0,
                    parts,
                )
            )
        held = tuple(_held(at, cases, joint, zones))
        found.append(GroupSheet(ident, names, looks, checks[at], heard[at], own, tuple(rows), zones, held))
    return tuple(found)


def pairs_of(
    groups: Sequence[GroupSheet], cases: Sequence[Scenario], shared: SharedReadings, pedal: Sequence[float]
) -> Iterator[Pair]:
    """Yield each zone of one system beside each of the other, scenario by scenario."""
    number = 0
    for case, scenario in enumerate(cases):
        mine = [[zone for zone in group.zones if zone.case == case] for group in groups]
        for zones in itertools.product(*mine):
            number += 1
            classes = [zone.shared for zone in zones]
            chance = sum(mass * shared.likelihood([*classes, Shared(leak=leak)]) for leak, mass in enumerate(pedal))
            joint = scenario.prior * math.prod(zone.weight for zone in zones) * chance
            yield Pair(number, case, scenario.mode, scenario.prior, zones, joint)


def _foretold(rows: Sequence[Hypothesis], checks: Mapping[str, str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The readings and looks that the car has, of which all rows say something: precharges, counts, then gauges."""
    order = (*COUNTS, *GAUGES)
    names = [name for name in rows[0].readings if name in checks and all(name in item.readings for item in rows)]
    looks = [name for name in rows[0].looks if name in checks and all(name in item.looks for item in rows)]
    return tuple(sorted(names, key=lambda name: order.index(name) if name in order else -1)), tuple(looks)


def _log(item: Hypothesis, names: Sequence[str], told: Told) -> float:
    return math.fsum(_log_of(item, name, told.readings[name]) for name in names if name in told.readings)


def _log_of(item: Hypothesis, name: str, reading: Reading) -> float:
    check = name.partition(".")[0]
    return math.log(normal_part(check, item.readings[name], reading) + wrong(check))


def _looked(item: Hypothesis, told: Told) -> float:
    return math.prod(
        item.looks[name] if look.fault else 1 - item.looks[name]
        for name, look in told.looks.items()
        if name in item.looks
    )


def _parts(item: Hypothesis, names: Sequence[str], own: Told, other: Told) -> Iterator[tuple[str, float]]:
    """The logarithms of counts and of gauges, from a system's own readings and from the other's."""
    for part, checks in (("counts", COUNTS), ("gauges", GAUGES)):
        mine = [name for name in names if name in checks]
        yield f"own_{part}", _log(item, mine, own)
        yield f"other_{part}", _log(item, mine, other)


def _weights(at: int, cases: Sequence[Scenario]) -> dict[tuple[str, int], float]:
    """The weight of each row, as read and with swapped readings, by the scenario ("" as read) and the row."""
    found: dict[tuple[str, int], float] = {}
    for case in cases:
        rows = case.systems[at]
        swapped = case.mode in (GAUGES_SWAPPED, COUNTS_SWAPPED)
        for item, weight in zip(rows.hypotheses, rows.weights, strict=True):
            if swapped:
                found[case.mode, id(item)] = weight
            elif case.mode != GAUGE_OFF:
                found["", id(item)] = weight
    return found


def _case_of(item: Hypothesis, cases: Sequence[Scenario]) -> int:
    """The scenario for all systems that a row speaks of; 0 for none."""
    for number, case in enumerate(cases):
        if item.scenario and case.tag == item.scenario:
            return number
    return AS_READ


def _zones(at: int, cases: Sequence[Scenario], joint: Joint, factor: float) -> Iterator[Zone]:
    first: dict[Shared, int] = {}
    number = 0
    for case, (scenario, shares) in enumerate(zip(cases, joint.systems, strict=True)):
        sums: dict[Shared, list[float]] = {}
        rows = scenario.systems[at]
        for item, weight, share in zip(rows.hypotheses, rows.weights, shares[at], strict=True):
            one = sums.setdefault(item.shared, [0.0, 0.0])
            one[0] += weight
            one[1] += share
        for shared in sorted(sums):
            number += 1
            if case == AS_READ:
                first[shared] = number
            swapped = scenario.mode in (GAUGES_SWAPPED, COUNTS_SWAPPED)
            of_gauge = scenario.mode == GAUGE_OFF
            yield Zone(
                number,
                case,
                shared,
                sums[shared][0],
                sums[shared][1],
                factor if of_gauge else 1.0,
                {GAUGES_SWAPPED: "gauges", COUNTS_SWAPPED: "counts"}.get(scenario.mode, "weight"),
                "tag_zone" if of_gauge else "zone",
                first[shared] if swapped else number,
            )


def _held(at: int, cases: Sequence[Scenario], joint: Joint, zones: Sequence[Zone]) -> Iterator[Held]:
    by_class = {(zone.case, zone.shared): zone for zone in zones}
    sums: dict[tuple[int, tuple[At, ...]], float] = {}
    for case, (scenario, shares) in enumerate(zip(cases, joint.systems, strict=True)):
        rows = scenario.systems[at]
        for item, share in zip(rows.hypotheses, shares[at], strict=True):
            key = by_class[case, item.shared].number, item.causes
            sums[key] = sums.get(key, 0.0) + share
    for number, ((zone, causes), share) in enumerate(sums.items(), 1):
        held = zones[zone - 1]
        mode = cases[held.case].mode
        left = tuple(cause for cause in causes if not mode or cause.mode != mode)
        yield Held(number, held, left, causes, share)
