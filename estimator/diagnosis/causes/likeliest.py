"""The likeliest hypothesis of each group beside what was read: what the workbook shows at the boxes.

The same rules as in `explain`, from the steps of the arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, Held, WeighedRow
from estimator.diagnosis.causes.explain import CANNOT, EXPLAINS
from estimator.diagnosis.causes.hypotheses import At, Foretold
from estimator.diagnosis.causes.looks import ELSE, LOOKS
from estimator.diagnosis.causes.result import Diagnosis
from estimator.diagnosis.causes.system_hypotheses import pan_levels
from estimator.diagnosis.causes.weigh import PAN, PAN_SOUND, distance
from estimator.limits.constants import LOOK_EXPLAINED

EXPLAINED, NOT_EXPLAINED = "explained by ", "not explained: remeasure"
LEAK, RESERVE = "leaks-at-cut-out", "integrity"


@dataclass(frozen=True)
class Likeliest:
    """A group's likeliest hypothesis: numbers of rows in the tables of its causes (0 outside systems) and of its hypotheses (0
    under swapped readings), that of the likeliest car with no fault, its causes in words, whether the group is ranked."""

    group: GroupSheet
    held: int
    row: int
    sound: int
    title: str
    ranked: bool

    @property
    def ref(self) -> str:
        return self.group.id

    @property
    def zone(self) -> int:
        """The number of its zone."""
        return self.group.held[self.held - 1].zone.number if self.held else 0

    @property
    def pan(self) -> Foretold:
        """What it adds to the pan."""
        return pan_levels()[self.group.held[self.held - 1].zone.shared.pan if self.held else 0]

    @property
    def leak(self) -> int:
        """Whether it makes a leak to be seen."""
        at = (
            self.group.held[self.held - 1].zone.shared if self.held else self.group.rows[self.row - 1].hypothesis.shared
        )
        return at.leak

    @property
    def dead(self) -> int:
        """Whether it leaves no reserve."""
        return self.group.held[self.held - 1].zone.shared.dead if self.held else 0


@dataclass(frozen=True)
class Beside:
    """A check that is weighed: what its group's likeliest hypothesis and a car with no fault foretell of it (of a look the
    probability of a fault), how many standard deviations the reading lies from the first, and what is said of it."""

    check: str
    group: int
    name: str
    mean: float | str = ""
    sound: float | str = ""
    off: float | str = ""
    said: str = ""

    @property
    def ref(self) -> str:
        return self.check


def titles(diagnosis: Diagnosis) -> Mapping[tuple[str, str], str]:
    """Return the title of each cause, by mode and place."""
    return {(cause.mode_id, cause.at): cause.whole_title for group in diagnosis.groups for cause in group.causes}


def title_of(causes: Sequence[At], mode: str, known: Mapping[tuple[str, str], str]) -> str:
    """Return causes that hold at once in words; `mode` is what holds for all systems."""
    every = [(cause.mode, cause.part) for cause in causes] + ([(mode, "car")] if mode else [])
    return " and ".join(known[one] for one in every)


def likeliest(diagnosis: Diagnosis) -> tuple[Likeliest, ...]:
    """Return the likeliest hypothesis of each group."""
    steps, known = diagnosis.arithmetic, titles(diagnosis)
    assert steps is not None
    ranked = {group.id: group.ranked for group in diagnosis.groups}
    return tuple(_likeliest(group, known, ranked[group.id]) for group in steps.groups)


def _likeliest(group: GroupSheet, known: Mapping[tuple[str, str], str], ranked: bool) -> Likeliest:
    if not group.held:
        shares = _sums((row.hypothesis.causes, row.probability) for row in group.rows)
        row = _first(group.rows, lambda one: (shares[one.hypothesis.causes], one.probability))
        causes = group.rows[row - 1].hypothesis.causes
        return Likeliest(group, 0, row, 1, title_of(causes, "", known), ranked)
    cases = _sums((held.case, held.probability) for held in group.held)
    at = _first(group.held, lambda one: (cases[one.case], one.probability))
    held = group.held[at - 1]
    row = 0 if held.swapped else _first(group.rows, lambda one: one.weight if _is_of(one, held) else -1.0)
    plain = group.rows[0].zone
    sound = _first(group.rows, lambda one: one.weight if not one.hypothesis.causes and one.zone == plain else -1.0)
    return Likeliest(group, at, row, sound, title_of(held.causes, held.zone.mode, known), ranked)


def _is_of(row: WeighedRow, held: Held) -> bool:
    return row.hypothesis.causes == held.of_rows and held.zone.among in (row.zone, row.tag_zone)


def _sums(pairs: Iterable[tuple[Any, float]]) -> dict[Any, float]:
    found: dict[Any, float] = {}
    for key, share in pairs:
        found[key] = found.get(key, 0.0) + share
    return found


def _first(items: Sequence[Any], key: Callable[[Any], Any]) -> int:
    """The number, from 1, of the first of the greatest."""
    return max(range(len(items)), key=lambda at: (key(items[at]), -at)) + 1


def beside(steps: Arithmetic, found: Sequence[Likeliest]) -> Iterator[Beside]:
    """Yield each check that is weighed, group by group, those that all groups share last."""
    for number, item in enumerate(found, 1):
        for name in item.group.names:
            yield _number(number, item, name)
        for name in item.group.looks:
            yield _look(number, item, name)
    yield _pan(steps, found)
    for check, heard, flag in ((LEAK, steps.shared.leak, "leak"), (RESERVE, steps.shared.reserve, "dead")):
        able = [item for item in found if item.ranked and getattr(item, flag)]
        yield Beside(f"{check}.car", 0, check, said=_by(able) if heard is not None and heard.fault else "")


def _by(able: Sequence[Likeliest]) -> str:
    return EXPLAINED + able[0].title if able else ""


def _said(off: float, sound: float, title: str) -> str:
    if off > CANNOT:
        return NOT_EXPLAINED
    return EXPLAINED + title if off <= EXPLAINS < sound else ""


def _number(number: int, item: Likeliest, name: str) -> Beside:
    check, reading = item.group.checks[name], item.group.believed.readings.get(name)
    if not item.row:
        return Beside(check, number, name)
    likely, sound = (item.group.rows[at - 1].hypothesis.readings[name] for at in (item.row, item.sound))
    if reading is None or not item.ranked:
        return Beside(check, number, name, likely.mean, sound.mean)
    off = distance(likely, reading)
    return Beside(check, number, name, likely.mean, sound.mean, off, _said(off, distance(sound, reading), item.title))


def _look(number: int, item: Likeliest, name: str) -> Beside:
    check, look = item.group.checks[name], item.group.heard.looks.get(name)
    if not item.row:
        return Beside(check, number, name)
    if least(name) > 1:
        return Beside(check, number, name)
    likely = item.group.rows[item.row - 1].hypothesis.looks[name]
    told = look is not None and look.fault and item.ranked and likely >= least(name)
    return Beside(check, number, name, likely, said=EXPLAINED + item.title if told else "")


def least(name: str) -> float:
    """Return from which probability of a fault on a look is explained: more than that without its causes; of a test's never."""
    of = LOOKS.get(name.partition(".")[0])
    if of is None:
        return 2.0
    return min((seen for seen in of.values() if seen >= LOOK_EXPLAINED and seen > of[ELSE]), default=2.0)


def _pan(steps: Arithmetic, found: Sequence[Likeliest]) -> Beside:
    reading = steps.believed.pan
    tops = [item for item in found if item.ranked]
    foretold = Foretold(
        PAN_SOUND.mean + sum(item.pan.mean for item in tops), PAN_SOUND.spread + sum(item.pan.spread for item in tops)
    )
    if reading is None:
        return Beside(f"{PAN}.car", 0, PAN, foretold.mean, PAN_SOUND.mean)
    off, leaking = distance(foretold, reading), [item for item in tops if item.pan.mean > 0]
    said = NOT_EXPLAINED if off > CANNOT else ""
    if leaking and off <= EXPLAINS < distance(PAN_SOUND, reading):
        said = _by(leaking)
    return Beside(f"{PAN}.car", 0, PAN, foretold.mean, PAN_SOUND.mean, off, said)
