"""What the causes that call explain of the readings: one rule for words, jobs, band and `check --json`.

A reading is explained that lies more than two standard deviations from a car with no fault and at most two from what the causes
that call foretell. Between two and three from these, with a car with no fault more than one farther off, it is explained in part:
one right reading in twenty lies there. It is remeasured and recommends nothing of its own, for the repair of its causes voids it,
and what is out after that recommends for itself. What is more than three away nothing explains.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, WeighedRow, said
from estimator.diagnosis.causes.conclude import DIGITS
from estimator.diagnosis.causes.evidence import Reading
from estimator.diagnosis.causes.hypotheses import Foretold
from estimator.diagnosis.causes.result import Cause, Group
from estimator.diagnosis.causes.scenarios import COUNTS, GAUGE_OFF, GAUGES
from estimator.diagnosis.causes.weigh import PAN, PAN_SOUND, distance
from estimator.limits.constants import CALLS_FROM, LOOK_EXPLAINED

EXPLAINS, CANNOT = 2.0, 3.0
EXPLAINED, IN_PART, REMEASURE = "explained by ", "explained in part by ", ": remeasure"
NOT_EXPLAINED = "not explained" + REMEASURE
SOUND, ELSEWHERE = "none", "–"
PRESSURES = ("cut-out", "cut-in", "distribution-output", "hold", "lamp-pressure")
# The readings that an error of all systems concerns: they are read again before anything rests on them.
CONCERNED: Mapping[str, tuple[str, ...]] = {
    "readings-swapped": GAUGES,
    "counts-swapped": COUNTS,
    GAUGE_OFF: PRESSURES,
    "slow-idle": ("charge-time",),
}
# The readings that all systems share, and what of a hypothesis moves each.
SHARED: Mapping[str, str] = {f"{PAN}.car": "pan", "leaks-at-cut-out.car": "leak", "integrity.car": "dead"}
PAN_CHECK, *SHARED_LOOKS = SHARED


@dataclass(frozen=True)
class Picked:
    """Of a group: the gas and the other cause that call (of the readings the error, among the others) with their titles; the
    most probable row that takes these alone, that of a car with no fault where none calls and most likely nothing is wrong, else
    none; the one of a car with no fault; the probability that nothing is wrong; how many findings are its checks'."""

    gas: str = ""
    other: str = ""
    title: str = ""
    row: WeighedRow | None = None
    sound: WeighedRow | None = None
    nothing: float = 0.0
    findings: int = 0

    @property
    def key(self) -> str:
        return " + ".join(part for part in (self.gas, self.other) if part)

    def adds(self, check: str) -> int:
        """What it adds to a reading that all systems share: a level of the pan, a leak to be seen, a system without reserve."""
        return getattr(self.row.hypothesis.shared, SHARED[check]) if self.row else 0


@dataclass(frozen=True)
class Beside:
    """A check that is weighed (group 0: by all): what the causes that call and a car with no fault foretell of it (of a look the
    probability of a fault), how many standard deviations the reading lies from each, what is said of it, its boxes."""

    check: str
    group: int
    name: str
    mean: float | str = ""
    sound: float | str = ""
    off: float | str = ""
    far: float | str = ""
    said: str = ""
    keys: tuple[str, ...] = ()

    @property
    def ref(self) -> str:
        return self.check

    @property
    def explained(self) -> int:
        return int(self.said not in ("", NOT_EXPLAINED))

    @property
    def again(self) -> bool:
        """Whether it is to be remeasured."""
        return self.said.endswith(REMEASURE)


def picked(group: GroupSheet, whole: Group, gas: Cause | None, other: Cause | None, findings: int) -> Picked:
    """Return what is picked in a group: the gas and the other cause that call."""
    calling = [cause for cause in (gas, other) if cause]
    rows: dict[str, list[WeighedRow]] = {}
    for one in group.rows:
        rows.setdefault(picked_as(group, one), []).append(one)

    def best(key: str) -> WeighedRow | None:
        return max(rows.get(key, ()), key=lambda row: (probability_of(group, row), row.number), default=None)

    title = " and ".join(cause.whole_title for cause in calling)
    sound, keys = best(SOUND), [cause.key if cause else "" for cause in (gas, other)]
    found = Picked(keys[0], keys[1], title, None, sound, nothing(whole), findings)
    row = best(found.key) if found.key else sound if whole.ranked and found.nothing >= CALLS_FROM else None
    return replace(found, row=row)


def nothing(group: Group) -> float:
    """Return the probability that none of a group's causes holds."""
    return round(sum(item.probability for item in group.hypotheses if not item.causes), DIGITS)


def picked_as(group: GroupSheet, row: WeighedRow) -> str:
    """Return the causes of a row where readings are taken as read."""
    as_read = not group.zones or any(zone.case == 0 and zone.number == row.zone for zone in group.zones)
    return said(row.hypothesis.causes) if as_read else ELSEWHERE


def probability_of(group: GroupSheet, row: WeighedRow) -> float:
    """Return the probability of a row."""
    return row.weight * group.zones[row.zone - 1].message if group.zones else row.probability


def told_by_look(group: GroupSheet, name: str) -> bool:
    """Return whether a look finds a fault seldom on a sound car, so that a fault tells of a cause."""
    return group.rows[0].hypothesis.looks[name] < LOOK_EXPLAINED


def own_gauge(group: GroupSheet, name: str) -> str:
    """Return the error of a system's own gauge that concerns a reading."""
    return f"{GAUGE_OFF}.{group.id}" if name in PRESSURES and group.zones else ""


def beside(steps: Arithmetic, found: Mapping[str, Picked], errors: Sequence[Cause]) -> Iterator[Beside]:
    """Yield each check that is weighed, group by group, those that all groups share last. errors: of the readings, that call."""
    for number, group in enumerate(steps.groups, 1):
        for name in group.names:
            yield _number(number, group, name, found[group.id], errors if group.zones else ())
        for name in group.looks:
            yield _look(number, group, name, found[group.id])
    every = [found[group.id] for group in steps.groups]
    yield _pan(steps, [found[group.id] for group in steps.systems])
    for check, heard in zip(SHARED_LOOKS, (steps.shared.leak, steps.shared.reserve), strict=True):
        able = [item.title for item in every if item.adds(check)] if heard is not None and heard.fault else []
        yield Beside(check, 0, check, said=_by(able), keys=(heard.key,) if heard else ())


def _by(titles: Iterable[str]) -> str:
    return next((EXPLAINED + title for title in titles), "")


def _said(off: float, far: float, titles: Sequence[str]) -> str:
    if off > CANNOT:
        return NOT_EXPLAINED
    if off <= EXPLAINS:
        return _by(titles) if far > EXPLAINS else ""
    return f"{IN_PART}{titles[0]}{REMEASURE}" if titles and round(far - off, DIGITS) > CANNOT - EXPLAINS else ""


def _number(number: int, group: GroupSheet, name: str, mine: Picked, errors: Iterable[Cause]) -> Beside:
    assert mine.sound is not None
    check, reading = group.checks[name], group.heard.readings.get(name)
    sound = mine.sound.hypothesis.readings[name]
    likely = mine.row.hypothesis.readings[name] if mine.row else None
    foretold = Beside(check, number, name, likely.mean if likely else "", sound.mean)
    if reading is None:
        return foretold
    far, off = distance(sound, reading), distance(likely, reading) if likely else ""
    wrong = [error.whole_title for error in errors if name in CONCERNED[error.mode_id]]
    wrong += [mine.title] if mine.other and mine.other == own_gauge(group, name) else []
    at = 0.0 if wrong else off
    words = "" if isinstance(at, str) else _said(at, far, wrong or [mine.title])
    return Beside(check, number, name, foretold.mean, sound.mean, off, far, words, reading.keys)


def _look(number: int, group: GroupSheet, name: str, mine: Picked) -> Beside:
    check, look = group.checks[name], group.heard.looks.get(name)
    if mine.row is None or not told_by_look(group, name):
        return Beside(check, number, name)
    chance = mine.row.hypothesis.looks[name]
    told = look is not None and look.fault and chance >= LOOK_EXPLAINED
    return Beside(check, number, name, chance, said=_by([mine.title] if told else ()), keys=(look.key,) if look else ())


def _pan(steps: Arithmetic, systems: Sequence[Picked]) -> Beside:
    reading: Reading | None = steps.shared.pan
    foretold: Foretold = steps.shared.pan_foretold(item.adds(PAN_CHECK) for item in systems)
    if reading is None:
        return Beside(PAN_CHECK, 0, PAN, foretold.mean, PAN_SOUND.mean)
    off, far = distance(foretold, reading), distance(PAN_SOUND, reading)
    titles = [item.title for item in systems if item.adds(PAN_CHECK)]
    words = _said(off, far, titles) if all(item.row for item in systems) else ""
    return Beside(PAN_CHECK, 0, PAN, foretold.mean, PAN_SOUND.mean, off, far, words, reading.keys)
