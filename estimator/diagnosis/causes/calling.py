"""Which causes call for their jobs, and the findings that they explain: these call for nothing of their own."""

from __future__ import annotations

import functools
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace

from estimator.boxes.keys import CheckRef, LineRef
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, WeighedRow, said
from estimator.diagnosis.causes.conclude import DIGITS
from estimator.diagnosis.causes.evidence import Reading
from estimator.diagnosis.causes.hypotheses import Foretold
from estimator.diagnosis.causes.result import Cause, Diagnosis, Group
from estimator.diagnosis.causes.scenarios import COUNTS, GAUGE_OFF, GAUGES
from estimator.diagnosis.causes.system_hypotheses import GAS
from estimator.diagnosis.causes.weigh import PAN, PAN_SOUND
from estimator.diagnosis.causes.words import weighed
from estimator.limits.constants import CALLS_AS_FIRST, CALLS_FROM, LOOK_EXPLAINED
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import BAD
from estimator.records.modes import READINGS

# Of two standard deviations: -z²/2.
NEAR = -2.0
SOUND, ELSEWHERE = "none", "–"
# So many checks are named as signs of a cause, first of those that it moves by two standard deviations (a look: ever).
NAMED, STRONG = 3, 2.0
PRESSURES = ("cut-out", "cut-in", "distribution-output", "hold", "lamp-pressure")
# The readings that an error of all systems concerns: they are read again before anything rests on them.
CONCERNED: Mapping[str, tuple[str, ...]] = {
    "readings-swapped": GAUGES,
    "counts-swapped": COUNTS,
    GAUGE_OFF: PRESSURES,
    "slow-idle": ("charge-time",),
}
PAN_CHECK, LEAK_CHECK, RESERVE_CHECK = SHARED = (f"{PAN}.car", "leaks-at-cut-out.car", "integrity.car")


@dataclass(frozen=True)
class Caller:
    """A cause with a job: its group, whether it is probable enough and its job isn't done, the checks at places that it moves
    (those it moves clearly first), and the findings that it explains while it calls."""

    cause: Cause
    group: str
    likely: int
    moves: tuple[str, ...]
    explains: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        return f"{self.cause.mode_id}.{self.cause.at}"

    @property
    def is_gas(self) -> bool:
        return self.cause.mode_id in GAS

    @property
    def named(self) -> tuple[str, ...]:
        """The checks that are named as its signs."""
        return self.moves[:NAMED]


@dataclass(frozen=True)
class Bar:
    """Of a group: the probability of its first cause, and that from which one calls."""

    first: float
    least: float


@dataclass(frozen=True)
class Picked:
    """Of a group: the gas and the other cause that call, the most probable row that takes these alone, and that of a sound
    car, which is taken where none calls."""

    gas: str = ""
    other: str = ""
    row: WeighedRow | None = None
    sound: WeighedRow | None = None

    @property
    def key(self) -> str:
        return " + ".join(part for part in (self.gas, self.other) if part)


@dataclass(frozen=True)
class Callers:
    """Every cause with a job; by group from which probability one calls, what is picked, what is explained (checks at places);
    the rows of the inspection of each check that hypotheses foretell, and the verdict of each row that counts."""

    all: tuple[Caller, ...] = ()
    bars: Mapping[str, Bar] = field(default_factory=dict)
    picked: Mapping[str, Picked] = field(default_factory=dict)
    explained_in: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    refs: Mapping[str, tuple[CheckRef, ...]] = field(default_factory=dict)
    words: Mapping[CheckRef, str] = field(default_factory=dict)

    @functools.cached_property
    def check_of(self) -> Mapping[CheckRef, str]:
        """The check at a place of each row."""
        return {ref: check for check, refs in self.refs.items() for ref in refs}

    @functools.cached_property
    def explained(self) -> frozenset[CheckRef]:
        """The rows that a calling cause explains."""
        bad = {ref for ref, word in self.words.items() if word in BAD}
        checks = {check for several in self.explained_in.values() for check in several}
        return frozenset(ref for check in checks for ref in self.refs[check] if ref in bad)


def callers(diagnosis: Diagnosis, standings: Iterable[Standing], done: Container[LineRef]) -> Callers:
    """Return which causes call. done: the job lines that are done: what their causes explained calls for itself again."""
    steps = diagnosis.arithmetic
    return Callers() if steps is None else _Calling(diagnosis, steps, standings, done).callers()


def nearness(expected: Foretold, reading: Reading) -> float:
    """Return how near a reading lies to what is foretold: -z²/2."""
    return -((reading.value - expected.mean) ** 2) / (expected.spread + reading.spread)


def gauge_off(group: str) -> str:
    """Return the key of a gauge that is off on one system: what it read is read again first."""
    return f"{GAUGE_OFF}.{group}"


def signs_of(group: GroupSheet) -> tuple[str, ...]:
    """Return the checks at places that a group's causes may explain: its numbers, its looks, what all systems share."""
    own = (group.checks[name] for name in (*group.names, *group.looks))
    return *own, *(check for check in SHARED if _moving(group.rows, check))


def shared_of(check: str) -> str:
    """Return what of a hypothesis moves a reading that all systems share."""
    return {PAN_CHECK: "pan", LEAK_CHECK: "leak", RESERVE_CHECK: "dead"}[check]


def _moving(rows: Iterable[WeighedRow], check: str) -> bool:
    return any(getattr(row.hypothesis.shared, shared_of(check)) for row in rows)


def picked_as(group: GroupSheet, row: WeighedRow) -> str:
    """Return the causes of a row where readings are taken as read."""
    as_read = not group.zones or any(zone.case == 0 and zone.number == row.zone for zone in group.zones)
    return said(row.hypothesis.causes) if as_read else ELSEWHERE


def told_by_look(group: GroupSheet, name: str) -> bool:
    """Return whether a look finds a fault seldom on a sound car, so that a fault tells of a cause."""
    return group.rows[0].hypothesis.looks[name] < LOOK_EXPLAINED


class _Calling:
    def __init__(
        self, diagnosis: Diagnosis, steps: Arithmetic, standings: Iterable[Standing], done: Container[LineRef]
    ) -> None:
        self.diagnosis, self.steps, self.done = diagnosis, steps, done
        self.sheets = {group.id: group for group in steps.groups}
        self.rows: dict[str, dict[str, list[WeighedRow]]] = {}
        for group in steps.groups:
            rows = self.rows.setdefault(group.id, {})
            for row in group.rows:
                rows.setdefault(picked_as(group, row), []).append(row)
        self.signs = {group.id: signs_of(group) for group in steps.groups}
        wanted = {check for several in self.signs.values() for check in several} | {*SHARED}
        refs: dict[str, list[CheckRef]] = {}
        self.words: dict[CheckRef, str] = {}
        for item in standings:
            check = f"{item.row.check.id}.{item.row.place.id}"
            if check in wanted:
                refs.setdefault(check, []).append(item.ref)
                self.words[item.ref] = item.calls
        self.refs = {check: tuple(these) for check, these in refs.items()}

    def callers(self) -> Callers:
        self.bars = {group.id: bar(group) for group in self.diagnosis.groups if group.causes}
        self.found = [
            Caller(cause, group.id, int(self.likely(cause, group)), self.moves(cause, group.id))
            for group in self.diagnosis.groups
            for cause in group.in_order
            if cause.lines
        ]
        self.picked = {group.id: self.picks(group) for group in self.steps.groups}
        explained = {
            group.id: tuple(check for check in self.signs[group.id] if self.is_explained(group, check))
            for group in self.steps.groups
        }
        made = [replace(item, explains=self.explains(item, explained)) for item in self.found]
        return Callers(tuple(made), self.bars, self.picked, explained, self.refs, self.words)

    def likely(self, cause: Cause, group: Group) -> bool:
        enough = group.gauged and weighed(cause, group) >= self.bars[group.id].least
        return enough and any(line not in self.done for line in cause.lines)

    def moves(self, cause: Cause, ident: str) -> tuple[str, ...]:
        if ident == READINGS:
            names = CONCERNED[cause.mode_id]
            return tuple(group.checks[name] for group in self.steps.systems for name in group.names if name in names)
        group, rows = self.sheets[ident], self.rows[ident]
        alone = rows.get(f"{cause.mode_id}.{cause.at}", [])
        by_far = {group.checks[name]: _most(name, rows[SOUND], alone) for name in (*group.names, *group.looks)}
        shared = [check for check in SHARED if _moving(alone, check)]
        own = sorted((check for check, most in by_far.items() if most > 0), key=lambda check: by_far[check] < STRONG)
        return *own, *shared

    def picks(self, group: GroupSheet) -> Picked:
        likely = [item for item in self.found if item.likely and item.group == group.id]
        gas = next((item.key for item in likely if item.is_gas), "")
        other = next((item.key for item in likely if not item.is_gas), "")
        found = Picked(gas, other)
        sound = self.best(group.id, SOUND)
        return replace(found, row=self.best(group.id, found.key) if found.key else sound, sound=sound)

    def best(self, ident: str, key: str) -> WeighedRow | None:
        return max(self.rows[ident].get(key, ()), key=lambda row: (row.weight, row.number), default=None)

    def chosen(self, item: Caller) -> bool:
        """Whether it is the one of its kind in its group that calls."""
        if item.group == READINGS:
            return item.likely == 1
        picked = self.picked[item.group]
        return item.key == (picked.gas if item.is_gas else picked.other)

    def is_explained(self, group: GroupSheet, check: str) -> bool:
        picked = self.picked[group.id]
        if not any(self.words[ref] in BAD for ref in self.refs[check]) or picked.row is None or picked.sound is None:
            return False
        if check in SHARED:
            return self.is_shared_explained(group, check)
        name = next(name for name, one in group.checks.items() if one == check)
        if name in group.looks:
            return told_by_look(group, name) and picked.row.hypothesis.looks[name] >= LOOK_EXPLAINED
        reading = group.heard.readings.get(name)
        if reading is None:
            return False
        near, sound = (
            round(nearness(row.hypothesis.readings[name], reading), DIGITS) for row in (picked.row, picked.sound)
        )
        return sound < NEAR and (near >= NEAR or self.again(group, name))

    def again(self, group: GroupSheet, name: str) -> bool:
        """Whether a reading is to be read again first."""
        if name in PRESSURES and self.picked[group.id].other == gauge_off(group.id):
            return True
        errors = [item for item in self.found if item.group == READINGS and name in CONCERNED[item.cause.mode_id]]
        return group in self.steps.systems and any(item.likely for item in errors)

    def is_shared_explained(self, group: GroupSheet, check: str) -> bool:
        row = self.picked[group.id].row
        if row is None or not _moving([row], check):
            return False
        pan = self.steps.believed.pan
        return check != PAN_CHECK or (pan is not None and round(nearness(PAN_SOUND, pan), DIGITS) < NEAR)

    def explains(self, item: Caller, explained: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
        """What it explains while it calls: all that is explained where none of that is what it moves."""
        if not self.chosen(item):
            return ()
        groups = [group.id for group in self.steps.systems] if item.group == READINGS else [item.group]
        found = [check for group in groups for check in explained[group]]
        return tuple([check for check in found if check in item.moves] or found)


def bar(group: Group) -> Bar:
    """Return the probability from which a cause of a group calls: the first of it calls from less."""
    first = max(weighed(one, group) for one in group.causes)
    return Bar(first, CALLS_FROM if first >= CALLS_FROM else max(CALLS_AS_FIRST, first))


def _most(name: str, sound: Iterable[WeighedRow], rows: Iterable[WeighedRow]) -> float:
    """How far rows foretell another reading than any row of a sound car, at most: z²/2; of a look that may find a fault STRONG."""
    readings = [row.hypothesis.readings.get(name) for row in sound]
    if not all(readings):
        return max(
            (row.hypothesis.looks[name] for row in rows if row.hypothesis.looks[name] >= LOOK_EXPLAINED), default=0.0
        )
    means = (row.hypothesis.readings[name].mean for row in rows)
    far = (min((mean - item.mean) ** 2 / item.spread for item in readings if item) for mean in means)
    return max(far, default=0.0)
