"""From readings to verdicts: what is judged, its uncertainty, its distance from the limits, and the words.

A reading is judged with its expanded uncertainty as guard band: within limit only if it is better than the limit by
U, outside only if it is worse by U, and between the two too close to call. The distance is compared in the shown
unit, rounded to six decimals on both sides, in Python as in the sheet. An empty box is never good.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from estimator.boxes import keys
from estimator.boxes.entries import ReadingBoxes, StatedBoxes
from estimator.boxes.keys import CheckRef
from estimator.facts.checks import Check
from estimator.limits.judging.box_values import GaugeRow, read
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.distances import Phase, distance
from estimator.limits.judging.stated import Certificate, stated
from estimator.limits.judging.typed_readings import shown_unit
from estimator.limits.judging.verdict_words import COVERAGE, PHASES, SIDES
from estimator.limits.needs import Need
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import Si, Workings
from estimator.quantities import UNITS, after_number
from estimator.records import JobRecord


@dataclass(frozen=True)
class Conflict:
    """The maker's limit on the unsafe side of a computed or published one: a side, and the labels of both rows."""

    side: str
    maker: str
    stricter: str


@dataclass(frozen=True)
class Limits:
    """Where the limits of a check at a place come from: labels of working rows, or nothing on that side. `danger`
    sides stand for the service ones where the datum gives none. `why` says why there would be none, `reason` does where
    there is none or one isn't known; `needs` are the data for want of which there is none."""

    ref: str
    label: str
    service_low: str
    service_high: str
    danger_low: str
    danger_high: str
    source: str
    status: str
    why: str = ""
    reason: str = ""
    needs: frozenset[Need] = frozenset()
    conflicts: tuple[Conflict, ...] = ()

    @property
    def sides(self) -> int:
        """How many sides a row gives; at least one is wanted."""
        return max(1, sum(bool(getattr(self, side)) for side in SIDES))


@dataclass(frozen=True)
class Derived:
    """The working rows that give what is judged, and its U, where that isn't the reading itself; "" where it is."""

    before: str = ""
    after: str = ""
    u_before: str = ""
    u_after: str = ""

    def labels(self, phase: str) -> tuple[str, str]:
        return (self.before, self.u_before) if phase == "before" else (self.after, self.u_after)


@dataclass(frozen=True)
class Believable:
    """The working rows beyond which what is judged isn't believed; "" for none, where every number but a temperature is
    0 or more."""

    low_before: str = ""
    high_before: str = ""
    low_after: str = ""
    high_after: str = ""

    def of(self, phase: str, end: str) -> str:
        """The label for a phase and an end, "low" or "high"."""
        return str(getattr(self, f"{end}_{phase}"))


@dataclass(frozen=True)
class Against:
    """The working rows that say whether a reading contradicts another, for both phases."""

    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()

    def of(self, phase: str) -> tuple[str, ...]:
        return self.before if phase == "before" else self.after


@dataclass(frozen=True)
class Judged:
    """A row of numbers judged, before and after work."""

    row: CheckRow
    unit: str
    limits: Limits
    values: Mapping[str, Si]
    derived: Derived
    believable: Believable
    against: Against
    fixed_u: float | str
    plain: int
    phases: Mapping[str, Phase]

    @property
    def ref(self) -> CheckRef:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    def shown_in(self, phase: str) -> Si:
        """What is judged in a phase, in the shown unit; "" for nothing."""
        return self._shown(self.phases[phase].judged)

    def danger_shown(self, side: str) -> Si:
        """The limit for driving on a side, "low" or "high", in the shown unit; "" for none."""
        return self._shown(self.values[f"danger_{side}"])

    def limit_shown(self, side: str) -> Si:
        """A limit in the shown unit, rounded as the sheet rounds it; "" for none."""
        shown = self._shown(self.values[side])
        return "" if isinstance(shown, str) else sheet_round(shown, 6)

    def _shown(self, si: Si) -> Si:
        return "" if isinstance(si, str) else (si - self.offset) / self.factor

    @property
    def factor(self) -> float:
        return UNITS[self.unit].factor

    @property
    def said_unit(self) -> str:
        """Its unit as it stands after a number."""
        return after_number(self.unit)

    @property
    def digits(self) -> int:
        """The decimals that its unit is shown with."""
        return UNITS[self.unit].decimals

    @property
    def offset(self) -> float:
        return UNITS[self.unit].offset


def judge(
    row: CheckRow,
    record: JobRecord,
    workings: Workings,
    limits: Limits,
    gauges: Mapping[str, GaugeRow],
    boxes: ReadingBoxes,
    said: StatedBoxes,
    certified: Mapping[tuple[CheckRef, str], Certificate],
    derived: Derived,
    believable: Believable,
    against: Against,
    labels: Mapping[str, str],
) -> Judged:
    """Judge a row of numbers in both phases. `labels` leads from a working row's label to its reference."""
    unit = shown_unit(row, record)
    factor = UNITS[unit].factor
    plain = record.shop.verdicts.plain_comparison and not row.check.safety
    fixed: float | str = "" if row.check.uncertainty is None else row.check.uncertainty

    def working(label: str) -> Si:
        return workings.si(labels[label]) if label else ""

    values = {side: working(getattr(limits, side)) for side in SIDES}
    phases: dict[str, Phase] = {}
    for phase in PHASES:
        reading = read(row, phase, boxes)
        si = workings.readings[keys.judged_si(row.ref, phase)]
        gauge_u = workings.readings[keys.gauge_u(row.ref, phase)]
        value_label, u_label = derived.labels(phase)
        judged = working(value_label) if value_label else si
        u_own: Si = "" if isinstance(gauge_u, str) else COVERAGE * gauge_u
        if isinstance(fixed, float):
            u_own = fixed * factor
        u_any = working(u_label) if u_label else u_own
        u = 0.0 if plain else u_any
        gauge = gauges.get(reading.gauge.casefold())
        fits = gauge is not None and gauge.gives(row.check)
        low_label = believable.of(phase, "low")
        believe_low: Si = working(low_label) if low_label or row.check.quantity == "temperature" else 0.0
        believe_high = working(believable.of(phase, "high"))
        top: Si = "" if gauge is None or fixed != "" else gauge.top_si
        late = 0 if gauge is None else gauge.overdue(phase)
        u_shown: Si = "" if isinstance(u, str) else sheet_round(u / factor, 6)
        service = distance(judged, values["service_low"], values["service_high"], factor)
        phases[phase] = Phase(
            si=si,
            said=stated(said, phase, si, factor, certified.get((row.ref, phase))),
            u_alone=gauge.u_si if gauge and fits else "",
            gauge_u=gauge_u,
            gave_up=int(reading.gave_up and not row.check.unasked),
            recorded=row.check.kind == "recorded",
            judged=judged,
            gauge_at=0 if gauge is None else list(gauges).index(gauge.ref) + 1,
            u_own=u_own,
            u_any=u_any,
            u=u,
            u_shown=u_shown,
            service=service,
            danger=distance(judged, values["danger_low"], values["danger_high"], factor),
            believe_low=believe_low,
            believe_high=believe_high,
            top=top,
            belief=distance(judged, believe_low, believe_high, factor),
            scale=distance(si, "", top, factor),
            held=workings.readings[keys.held(row.ref, phase)],
            against=tuple(int(working(label) == 1) for label in against.of(phase)),
            unjudged_low=_unjudged(row.check, values, "low", service.above, u_shown),
            unjudged_high=_unjudged(row.check, values, "high", service.below, u_shown),
            in_date=1 - late,
        )
    return Judged(row, unit, limits, values, derived, believable, against, fixed, int(plain), phases)


def _lacks(check: Check, values: Mapping[str, Si], side: str) -> int:
    return int(check.danger(side) == "own" and isinstance(values[f"danger_{side}"], str))


def _unjudged(check: Check, values: Mapping[str, Si], side: str, room: Si, u_shown: Si) -> int:
    """Whether a side that is dangerous by a limit of its own has none, and the service limit doesn't clear the reading."""
    cleared = not isinstance(room, str) and not isinstance(u_shown, str) and room >= u_shown
    return 0 if cleared else _lacks(check, values, side)


def with_doubts(judged: Sequence[Judged]) -> tuple[Judged, ...]:
    """The same rows, each in doubt where its reading or one that its verdict rests on isn't believed."""
    by_ref = {item.ref: item for item in judged}

    def doubted(item: Judged) -> Judged:
        phases = {
            phase: replace(found, rests_on=tuple(by_ref[ref].phases[phase] for ref in item.row.rests_on))
            for phase, found in item.phases.items()
        }
        return replace(item, phases=phases)

    return tuple(doubted(item) for item in judged)
