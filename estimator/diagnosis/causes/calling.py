"""Which causes call for their jobs, and the findings that they explain: these call for nothing of their own."""

from __future__ import annotations

import functools
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from estimator.boxes.keys import CheckRef, LineRef
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, WeighedRow, said
from estimator.diagnosis.causes.conclude import DIGITS
from estimator.diagnosis.causes.evidence import Reading
from estimator.diagnosis.causes.explain import LOOK_EXPLAINED
from estimator.diagnosis.causes.hypotheses import Foretold
from estimator.diagnosis.causes.looks import LOOKS
from estimator.diagnosis.causes.result import Cause, Diagnosis, Group
from estimator.diagnosis.causes.scenarios import COUNTS, GAUGE_OFF, GAUGES
from estimator.diagnosis.causes.system_hypotheses import GAS
from estimator.diagnosis.causes.weigh import PAN, PAN_SOUND
from estimator.diagnosis.causes.words import weighed
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import BAD
from estimator.records.modes import READINGS

CALLS_FROM, CALLS_AS_FIRST = 0.5, 0.35
# Of two standard deviations: -z²/2.
NEAR = -2.0
# A fourth of a standard deviation, squared and halved: less isn't named as a sign.
MOVED = 1 / 32
# By what a check is explained: the gas of its group, its other cause, an error of all readings.
GAS_CODE, OTHER_CODE, ERROR_CODE = 1, 2, 3
ALL, OF_GAS, OTHER, SOUND = "all", "gas", "other", "sound"
NO_CAUSE = "none"
# The readings that an error of all systems concerns: they are read again before anything rests on them.
CONCERNED: Mapping[str, tuple[str, ...]] = {
    "readings-swapped": GAUGES,
    "counts-swapped": COUNTS,
    GAUGE_OFF: ("cut-out", "cut-in", "distribution-output", "hold", "lamp-pressure"),
    "slow-idle": ("charge-time",),
}
PAN_CHECK, LEAK_CHECK, RESERVE_CHECK = SHARED = (f"{PAN}.car", "leaks-at-cut-out.car", "integrity.car")


@dataclass(frozen=True)
class Caller:
    """A cause with a job: its group, whether it is probable enough and its job isn't done, the checks at places that it moves,
    by its code, and the findings that it explains."""

    cause: Cause
    group: str
    likely: int
    code: int
    moves: tuple[str, ...]
    explains: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        return f"{self.cause.mode_id}.{self.cause.at}"

    @property
    def which(self) -> str:
        """Whether it is one of gas or another, "" for an error of all readings."""
        return "" if self.group == READINGS else OF_GAS if self.cause.mode_id in GAS else OTHER

    @property
    def ref(self) -> str:
        """The reference of its cause."""
        return f"{self.group}.{self.key}"


@dataclass(frozen=True)
class Picked:
    """Likely causes of a group and the most probable row that takes these alone."""

    group: str
    which: str
    key: str
    row: WeighedRow | None = None

    @property
    def ref(self) -> str:
        return f"{self.group}.{self.which}"

    @property
    def best(self) -> float:
        return self.row.weight if self.row else 0.0

    @property
    def number(self) -> int:
        return self.row.number if self.row else 0


@dataclass(frozen=True)
class Callers:
    """Every cause with a job, what is picked in each group, the code of each check at a place that hypotheses foretell (0:
    nothing explains it), its rows of the inspection, and the verdict of each row that counts."""

    all: tuple[Caller, ...] = ()
    picked: Mapping[str, Mapping[str, Picked]] = field(default_factory=dict)
    codes: Mapping[str, int] = field(default_factory=dict)
    refs: Mapping[str, tuple[CheckRef, ...]] = field(default_factory=dict)
    words: Mapping[CheckRef, str] = field(default_factory=dict)

    @functools.cached_property
    def check_of(self) -> Mapping[CheckRef, str]:
        """The check at a place of each row."""
        return {ref: check for check, refs in self.refs.items() for ref in refs}

    def explained(self, ref: CheckRef) -> bool:
        """Whether a calling cause explains what a row found."""
        return self.codes.get(self.check_of.get(ref, ""), 0) > 0


def callers(diagnosis: Diagnosis, standings: Iterable[Standing], done: Container[LineRef]) -> Callers:
    """Return which causes call. done: the job lines that are done: what their causes explained calls for itself again."""
    steps = diagnosis.arithmetic
    return Callers() if steps is None else _Calling(diagnosis, steps, standings, done).callers()


def nearness(expected: Foretold, reading: Reading) -> float:
    """Return how near a reading lies to what is foretold: -z²/2, to six decimals."""
    return round(-((reading.value - expected.mean) ** 2) / (expected.spread + reading.spread), DIGITS)


def errors_of(steps: Arithmetic, group: GroupSheet, name: str) -> list[str]:
    """Return the errors of all readings that concern a reading."""
    return [mode for mode, names in CONCERNED.items() if name in names] if group in steps.systems else []


def gauge_off(group: GroupSheet) -> str:
    """Return the key of a gauge that is off on one system: whatever it read is read again first."""
    return f"{GAUGE_OFF}.{group.id}"


def moves(group: GroupSheet, check: str, mode: str) -> bool:
    """Return whether a cause in a group moves a reading that all systems share."""
    if check == PAN_CHECK:
        alone = (row.hypothesis for row in group.rows if [at.mode for at in row.hypothesis.causes] == [mode])
        return any(hypothesis.shared.pan for hypothesis in alone)
    return LOOKS[check.partition(".")[0]].get(mode, 0.0) >= LOOK_EXPLAINED


class _Calling:
    def __init__(
        self, diagnosis: Diagnosis, steps: Arithmetic, standings: Iterable[Standing], done: Container[LineRef]
    ) -> None:
        self.diagnosis, self.steps, self.done = diagnosis, steps, done
        self.sheets = {group.id: group for group in steps.groups}
        wanted = {group.checks[name] for group in steps.groups for name in (*group.names, *group.looks)} | {*SHARED}
        refs: dict[str, list[CheckRef]] = {}
        self.words: dict[CheckRef, str] = {}
        for item in standings:
            check = f"{item.row.check.id}.{item.row.place.id}"
            if check in wanted:
                refs.setdefault(check, []).append(item.ref)
                self.words[item.ref] = item.calls
        self.refs = {check: tuple(these) for check, these in refs.items()}

    def callers(self) -> Callers:
        self.found = [
            Caller(cause, group.id, int(self.likely(cause, group)), *self.moved(cause, group.id))
            for group in self.diagnosis.groups
            for cause in group.in_order
            if cause.lines
        ]
        self.picked = {group.id: self.picks(group) for group in self.steps.groups}
        self.codes = {
            group.checks[name]: self.code(group, name)
            for group in self.steps.groups
            for name in (*group.names, *group.looks)
        }
        self.codes |= {check: self.code_of_shared(check) for check in SHARED}
        made = [
            replace(item, explains=tuple(self.explained(item))) if self.chosen(item) else item for item in self.found
        ]
        return Callers(tuple(made), self.picked, self.codes, self.refs, self.words)

    def likely(self, cause: Cause, group: Group) -> bool:
        share = weighed(cause, group)
        first = share >= max(weighed(one, group) for one in group.causes)
        left = any(line not in self.done for line in cause.lines)
        return left and share >= (CALLS_AS_FIRST if first else CALLS_FROM)

    def moved(self, cause: Cause, ident: str) -> tuple[int, tuple[str, ...]]:
        """The code of a cause, and the checks that it moves, those that all systems share last."""
        if ident == READINGS:
            names = CONCERNED[cause.mode_id]
            systems = self.steps.systems
            return ERROR_CODE, tuple(group.checks[name] for group in systems for name in group.names if name in names)
        group = self.sheets[ident]
        rows, sound = (_rows(group, key) for key in (f"{cause.mode_id}.{cause.at}", NO_CAUSE))
        own = [group.checks[name] for name in (*group.names, *group.looks) if _moved(name, sound, rows)]
        shared = [check for check in SHARED if moves(group, check, cause.mode_id)]
        return GAS_CODE if cause.mode_id in GAS else OTHER_CODE, (*own, *shared)

    def explained(self, item: Caller) -> Iterator[str]:
        """The findings that a cause which calls explains."""
        if item.group == READINGS:
            yield from (check for check in item.moves if self.codes[check] == ERROR_CODE)
            return
        group = self.sheets[item.group]
        own = (group.checks[name] for name in (*group.names, *group.looks))
        yield from (check for check in own if self.codes[check] == item.code)
        yield from (check for check in SHARED if check in item.moves and self.codes[check])

    def picks(self, group: GroupSheet) -> dict[str, Picked]:
        likely = [item for item in self.found if item.likely and item.group == group.id]
        gas, other = ([item.key for item in likely if item.which == which][:1] for which in (OF_GAS, OTHER))
        keys = {ALL: " + ".join((*gas, *other)), OF_GAS: "".join(gas), SOUND: NO_CAUSE}
        found = {which: Picked(group.id, which, key, _best(group, key)) for which, key in keys.items()}
        return found | {OTHER: Picked(group.id, OTHER, "".join(other))}

    def chosen(self, item: Caller) -> bool:
        """Whether it is the cause of its group that calls."""
        if item.group == READINGS:
            return item.likely == 1
        return item.key == self.picked[item.group][item.which].key

    def bad(self, check: str) -> bool:
        return any(self.words[ref] in BAD for ref in self.refs[check])

    def code(self, group: GroupSheet, name: str) -> int:
        picked = self.picked[group.id]
        if not self.bad(group.checks[name]) or self.near(group, name, picked[SOUND]):
            return 0
        if self.near(group, name, picked[ALL]):
            of_gas = picked[OF_GAS].key and (not picked[OTHER].key or self.near(group, name, picked[OF_GAS]))
            return GAS_CODE if of_gas else OTHER_CODE
        if picked[OTHER].key == gauge_off(group) and name in CONCERNED[GAUGE_OFF]:
            return OTHER_CODE
        modes = errors_of(self.steps, group, name)
        errors = [item for item in self.found if item.group == READINGS and item.cause.mode_id in modes]
        return ERROR_CODE if any(item.likely for item in errors) else 0

    def near(self, group: GroupSheet, name: str, picked: Picked) -> bool:
        """Whether a row foretells a reading; of a look, a fault often enough, and more often than a sound car does."""
        sound = self.picked[group.id][SOUND].row
        if picked.row is None or sound is None:
            return False
        if name in group.names:
            return nearness(picked.row.hypothesis.readings[name], group.heard.readings[name]) >= NEAR
        chance = picked.row.hypothesis.looks[name]
        return chance >= LOOK_EXPLAINED and chance > sound.hypothesis.looks[name]

    def code_of_shared(self, check: str) -> int:
        moving = (item for item in self.found if item.which and check in item.moves and self.chosen(item))
        if not self.bad(check) or not any(moving):
            return 0
        pan = self.steps.believed.pan
        return int(check != PAN_CHECK or (pan is not None and nearness(PAN_SOUND, pan) < NEAR))


def _rows(group: GroupSheet, key: str) -> list[WeighedRow]:
    """The rows with these causes alone, as the readings stand."""
    zones = {zone.number for zone in group.zones if zone.case == 0}
    return [row for row in group.rows if said(row.hypothesis.causes) == key and (not zones or row.zone in zones)]


def _best(group: GroupSheet, key: str) -> WeighedRow | None:
    return max(_rows(group, key), key=lambda row: (row.weight, row.number), default=None)


def _moved(name: str, sound: Iterable[WeighedRow], rows: Iterable[WeighedRow]) -> bool:
    """Whether a row foretells another reading than a sound car's, or a fault that a look may find."""
    readings = [row.hypothesis.readings.get(name) for row in sound]
    if not all(readings):
        return any(row.hypothesis.looks[name] >= LOOK_EXPLAINED for row in rows)
    means = (row.hypothesis.readings[name].mean for row in rows)
    return any(all((mean - item.mean) ** 2 > MOVED * item.spread for item in readings if item) for mean in means)
