"""Which causes call for their jobs, and the findings that they explain: these call for nothing of their own."""

from __future__ import annotations

import functools
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from estimator.boxes.keys import CheckRef, LineRef
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, WeighedRow
from estimator.diagnosis.causes.explain import CONCERNED, SHARED, SOUND, Beside, Picked, beside, picked, picked_as
from estimator.diagnosis.causes.result import Cause, Diagnosis, Group
from estimator.diagnosis.causes.system_hypotheses import GAS
from estimator.diagnosis.causes.words import weighed
from estimator.limits.constants import CALLS_AS_FIRST, CALLS_FROM, LOOK_EXPLAINED
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import BAD
from estimator.records.modes import READINGS

# So many checks are named as signs of a cause, first of those that it moves by two standard deviations (a look: ever).
NAMED, STRONG = 3, 2.0


@dataclass(frozen=True)
class Caller:
    """A cause with a job: its group, whether it is probable enough and its job isn't done, the checks at places that it moves
    (those it moves clearly first); the findings that it explains while it calls, and the boxes of all readings that it does."""

    cause: Cause
    group: str
    likely: int
    moves: tuple[str, ...]
    explains: tuple[str, ...] = ()
    boxes: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        return self.cause.key

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
class Callers:
    """Every cause with a job; by group from which probability one calls, what is picked, the findings that are explained (checks at
    places); what is said of each check; the rows of the inspection of each check that hypotheses foretell, and the verdict of each
    row that counts."""

    all: tuple[Caller, ...] = ()
    bars: Mapping[str, Bar] = field(default_factory=dict)
    picked: Mapping[str, Picked] = field(default_factory=dict)
    explained_in: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    beside: tuple[Beside, ...] = ()
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

    def boxes_of(self, cause: Cause) -> tuple[str, ...]:
        """Return the boxes of the readings that a cause explains."""
        return next((item.boxes for item in self.all if item.cause == cause), ())


def callers(diagnosis: Diagnosis, standings: Iterable[Standing], done: Container[LineRef]) -> Callers:
    """Return which causes call. done: the job lines that are done: what their causes explained calls for itself again."""
    steps = diagnosis.arithmetic
    return Callers() if steps is None else _Calling(diagnosis, steps, standings, done).callers()


def signs_of(group: GroupSheet) -> tuple[str, ...]:
    """Return the checks at places that a group's causes may explain: its numbers, its looks, what all systems share."""
    own = (group.checks[name] for name in (*group.names, *group.looks))
    return *own, *(check for check in SHARED if _moving(group.rows, check))


def _moving(rows: Iterable[WeighedRow], check: str) -> bool:
    return any(getattr(row.hypothesis.shared, SHARED[check]) for row in rows)


class _Calling:
    def __init__(
        self, diagnosis: Diagnosis, steps: Arithmetic, standings: Iterable[Standing], done: Container[LineRef]
    ) -> None:
        self.diagnosis, self.steps, self.done = diagnosis, steps, done
        self.sheets = {group.id: group for group in steps.groups}
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
        bars = {group.id: bar(group) for group in self.diagnosis.groups if group.causes}
        found = [
            Caller(cause, group.id, int(self.likely(cause, group, bars[group.id])), self.moves(cause, group.id))
            for group in self.diagnosis.groups
            for cause in group.in_order
            if cause.lines
        ]
        self.picked = {group.id: self.picks(group, found) for group in self.diagnosis.groups}
        errors = [item.cause for item in found if item.likely and item.group == READINGS]
        self.beside = {row.check: row for row in beside(self.steps, self.picked, errors)}
        findings = self.explained(lambda row: any(self.words[ref] in BAD for ref in self.refs[row.check]))
        readings = self.explained(lambda row: True)
        made = []
        for item in found:
            boxes = (key for check in self.explains(item, readings) for key in self.beside[check].keys)
            made.append(replace(item, explains=self.explains(item, findings), boxes=tuple(boxes)))
        return Callers(tuple(made), bars, self.picked, findings, tuple(self.beside.values()), self.refs, self.words)

    def likely(self, cause: Cause, group: Group, least: Bar) -> bool:
        enough = group.gauged and weighed(cause, group) >= least.least
        return enough and any(line not in self.done for line in cause.lines)

    def moves(self, cause: Cause, ident: str) -> tuple[str, ...]:
        if ident == READINGS:
            names = CONCERNED[cause.mode_id]
            return tuple(group.checks[name] for group in self.steps.systems for name in group.names if name in names)
        group = self.sheets[ident]
        alone, sound = ([row for row in group.rows if picked_as(group, row) == key] for key in (cause.key, SOUND))
        by_far = {group.checks[name]: _most(name, sound, alone) for name in (*group.names, *group.looks)}
        shared = [check for check in SHARED if _moving(alone, check)]
        own = sorted((check for check, most in by_far.items() if most > 0), key=lambda check: by_far[check] < STRONG)
        return *own, *shared

    def picks(self, group: Group, found: Sequence[Caller]) -> Picked:
        mine = [item for item in found if item.likely and item.group == group.id]
        gas = next((item.cause for item in mine if item.is_gas), None)
        other = next((item.cause for item in mine if not item.is_gas), None)
        if group.id == READINGS:
            return Picked(other=other.key if other else "", title=other.whole_title if other else "")
        findings = sum(self.words[ref] in BAD for check in self.signs[group.id] for ref in self.refs[check])
        return picked(self.sheets[group.id], group, gas, other, findings)

    def explained(self, wanted: Callable[[Beside], bool]) -> dict[str, tuple[str, ...]]:
        """The checks that what is picked in each group explains."""
        return {
            ident: tuple(filter(lambda check: self.is_explained(ident, check, wanted), self.signs[ident]))
            for ident in self.sheets
        }

    def is_explained(self, ident: str, check: str, wanted: Callable[[Beside], bool]) -> bool:
        row = self.beside[check]
        return bool(row.explained and wanted(row) and (check not in SHARED or self.picked[ident].adds(check)))

    def explains(self, item: Caller, explained: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
        """What it explains while it calls: all that is explained where none of that is what it moves."""
        mine = self.picked[item.group]
        if not item.likely or item.key != (mine.gas if item.is_gas else mine.other):
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
