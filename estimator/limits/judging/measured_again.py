"""Further readings of a check ("measured again"): whether they agree with the better one, and who gave them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.boxes.entries import Entries, ReadingBoxes, VisitBoxes, number
from estimator.boxes.keys import CheckRef
from estimator.limits.constants import REPEAT_SHARE
from estimator.limits.judging.again_lines import AgainLine
from estimator.limits.judging.distances import Distance, distance
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import Standing, Thirds
from estimator.limits.judging.verdict_words import COVERAGE, FAULT
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import Si
from estimator.quantities import UNITS


@dataclass(frozen=True)
class Third:
    """A line held against the readings of its check, of which that after work is the better one, and against the
    limits for driving."""

    line: AgainLine
    made_after: int
    cures: int
    boxes: ReadingBoxes
    visits: Mapping[str, VisitBoxes]
    judged: Judged | None
    day_after: int

    @property
    def ref(self) -> str:
        return str(self.line.number)

    @property
    def label(self) -> str:
        return f"again {self.line.number}"

    @property
    def number(self) -> int:
        return self.line.number

    @property
    def phase_after(self) -> int:
        return self.made_after

    @property
    def phase(self) -> str:
        return "after" if self.made_after else "before"

    def raw(self, phase: str) -> Si:
        """The number that stands in a box of its check."""
        return number(self.boxes.value(phase))

    @property
    def better(self) -> Si:
        return self.raw(self.phase)

    @property
    def worse(self) -> Si:
        return self.raw("before") if self.made_after else ""

    @property
    def off(self) -> Si:
        """How far it is from the better reading, in the shown unit."""
        return self._from(self.better)

    @property
    def off_worse(self) -> Si:
        return self._from(self.worse)

    def _from(self, other: Si) -> Si:
        if isinstance(self.line.shown, str) or isinstance(other, str):
            return ""
        return sheet_round(abs(self.line.shown - other), 6)

    @property
    def step(self) -> float:
        return UNITS[self.line.unit].step if self.line.unit else 0.0

    @property
    def room(self) -> Si:
        """How far apart two readings of the same may lie: a share of the better one and a step of its unit."""
        if isinstance(self.better, str) or not self.line.unit:
            return ""
        return sheet_round(REPEAT_SHARE * abs(self.better) + self.step, 6)

    @property
    def closer(self) -> int:
        """Whether it isn't nearer to the worse reading than to the better one."""
        if isinstance(self.off_worse, str):
            return 1
        return int(not isinstance(self.off, str) and self.off < self.off_worse)

    @property
    def near(self) -> int:
        """Whether it agrees with the better reading."""
        if isinstance(self.off, str) or isinstance(self.room, str):
            return 0
        return int(self.closer == 1 and self.off <= self.room)

    @property
    def factor(self) -> Si:
        return "" if self.judged is None else self.judged.factor

    @property
    def offset(self) -> Si:
        return "" if self.judged is None else self.judged.offset

    @property
    def danger_low(self) -> Si:
        return "" if self.judged is None else self.judged.values["danger_low"]

    @property
    def danger_high(self) -> Si:
        return "" if self.judged is None else self.judged.values["danger_high"]

    @property
    def fixed_u(self) -> float:
        fixed = "" if self.judged is None else self.judged.fixed_u
        return fixed if isinstance(fixed, float) else 0.0

    @property
    def u_gauge(self) -> float:
        """The expanded uncertainty of its gauge, in the shown unit."""
        if self.judged is None or self.line.gauge is None:
            return 0.0
        return sheet_round(COVERAGE * self.line.gauge.u_si / self.judged.factor, 6)

    @property
    def u_shown(self) -> float:
        return self.u_gauge if self.line.gauged == "yes" else self.fixed_u

    @property
    def distance(self) -> Distance:
        if isinstance(self.factor, str):
            return Distance("", "")
        return distance(self.line.si, self.danger_low, self.danger_high, self.factor)

    @property
    def above(self) -> Si:
        return self.distance.above

    @property
    def below(self) -> Si:
        return self.distance.below

    @property
    def margin(self) -> Si:
        """How far within the limits for driving it is, less its uncertainty, in the shown unit; "" for no limit."""
        room = self.distance.margin
        return "" if isinstance(room, str) else sheet_round(room - self.u_shown, 6)

    @property
    def late(self) -> int:
        """Whether it isn't past, as one taken before the readings after a cure is."""
        return int(self.line.at > 0 and (self.cures == 0 or self.line.day >= self.day_after))

    @property
    def counts(self) -> int:
        return self.line.read * self.late

    @property
    def derived(self) -> int:
        """Whether what is judged isn't the reading itself: then a reading that disagrees is taken as bad."""
        return int(self.judged is not None and self.judged.derived.before != "")

    @property
    def bad_number(self) -> int:
        if self.derived:
            return 1 - self.near
        return int(not isinstance(self.margin, str) and self.margin < 0)

    @property
    def bad(self) -> int:
        """Whether it counts and is no good reading."""
        if self.counts == 0:
            return 0
        return self.bad_number if self.line.unit else int(self.line.seen == FAULT)

    @property
    def same_gauge(self) -> int:
        return self.same_gauge_in(self.phase)

    def same_gauge_in(self, phase: str) -> int:
        """Whether its gauge is the one of a phase."""
        return int(self.read_by_in(phase) == self.line.gauge_at)

    @property
    def read_by(self) -> int:
        return self.read_by_in(self.phase)

    def read_by_in(self, phase: str) -> int:
        """The place of the gauge of the reading of a phase among the shop's, 0 for none."""
        return 0 if self.judged is None else self.judged.phases[phase].gauge_at

    @property
    def same_by(self) -> int:
        return self.same_by_in(self.phase)

    def same_by_in(self, phase: str) -> int:
        """Whether the readings of a phase were taken by the same person, or nobody says by whom."""
        by = self.visits[phase].by.casefold()
        return int(by in ("", self.line.boxes.by.casefold()))

    @property
    def other(self) -> int:
        """Whether it counts and another gauge gave it than the better reading; where none is needed, another person."""
        same = self.same_gauge if self.line.gauged == "yes" else self.same_by
        return self.counts * (1 - same)

    @property
    def agree(self) -> int:
        return int(self.other == 1 and self.bad == 0 and (self.near == 1 or not self.line.unit))

    @property
    def apart(self) -> int:
        """Whether another gauge or person gave it and it doesn't agree."""
        return self.other - self.agree


def thirds_of(
    lines: Iterable[AgainLine],
    standings: Mapping[CheckRef, Standing],
    judged: Mapping[CheckRef, Judged],
    entries: Entries,
    day_after: int,
) -> tuple[Third, ...]:
    """Each line against the readings of its check."""

    def third(line: AgainLine) -> Third:
        if line.row is None:
            return Third(line, 0, 0, ReadingBoxes(), entries.visits, None, day_after)
        ref = line.row.ref
        of, boxes = standings[ref], entries.readings[ref]
        return Third(line, of.made_after, of.cures, boxes, entries.visits, judged.get(ref), day_after)

    return tuple(third(line) for line in lines)


def thirds_by_check(thirds: Iterable[Third]) -> dict[CheckRef, Thirds]:
    """How many lines of each check count, are bad, are by another gauge, agree."""
    found: dict[CheckRef, list[Third]] = {}
    for item in thirds:
        if item.line.row is not None:
            found.setdefault(item.line.row.ref, []).append(item)
    return {
        ref: Thirds(
            sum(item.line.read for item in items),
            sum(item.bad for item in items),
            sum(item.other for item in items),
            sum(item.agree for item in items),
        )
        for ref, items in found.items()
    }
