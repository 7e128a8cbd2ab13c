"""Which causes the readings of a car point to."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from estimator.boxes.keys import LineRef, line_ref
from estimator.diagnosis.causes.arithmetic import Arithmetic, pairs_of, plain_group, system_groups
from estimator.diagnosis.causes.car_hypotheses import pedal_hypotheses, wheel_hypotheses
from estimator.diagnosis.causes.conclude import Weighing, concluded
from estimator.diagnosis.causes.evidence import Evidence, Reading
from estimator.diagnosis.causes.foretell import stop_at
from estimator.diagnosis.causes.hypotheses import At, Foretold, Hypothesis
from estimator.diagnosis.causes.joint import Joint, joined
from estimator.diagnosis.causes.outcomes import Outcomes
from estimator.diagnosis.causes.result import READ_AGAIN_JOB, READING_ERRORS, Cause, Diagnosis
from estimator.diagnosis.causes.scenarios import (
    COUNTS,
    GAUGE_OFF,
    GAUGES,
    SLOW_IDLE,
    WATCHED,
    Rows,
    Scenario,
    Told,
    gauge_factor,
    of_the_better,
    scenarios,
)
from estimator.diagnosis.causes.setup import Figures, SystemSetup, system_setup
from estimator.diagnosis.causes.system_hypotheses import LOOKED, system_hypotheses
from estimator.diagnosis.causes.weigh import IDLE_SPEED, PAN, SharedReadings, believed, idles, likelihoods
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.visual_checks import Looked
from estimator.limits.working import Workings
from estimator.places import AXLES, PEDAL_CIRCUIT, WHEELS, Place
from estimator.records import Car, CauseRow, JobRecord
from estimator.records.modes import MODES, PEDAL, READINGS, SYSTEM
from estimator.records.modes import WHEELS as WHEEL_GROUP

# The causes that a row takes to hold, and its probability.
Entry = tuple[tuple[At, ...], float]
MOST_FAULTY = 0.97
NO_DATA = "data in the car file for"
LEAK, RESERVE, FLOOR = "leaks-at-cut-out", "integrity", "first-floor"
LAMPS, PRESSES = "first-lamps.car", "first-presses"
# Names of readings, of each several one is enough.
Needed = tuple[tuple[str, ...], ...]
NEEDS: Mapping[str, Callable[[Car], bool]] = {
    "": lambda car: True,
    "supply-user": lambda car: bool(car.supply_users),
    "deceleration-valve": lambda car: car.deceleration_valve is not None,
    "pedal-circuit": lambda car: car.places.pedal_circuit,
    "elastomer-buffer": lambda car: car.car.variant == "B",
    "two-systems": lambda car: len(car.systems) > 1,
}


def diagnose(
    record: JobRecord,
    workings: Workings,
    judged: Sequence[Judged],
    looked: Sequence[Looked],
    standings: Sequence[Standing],
) -> Diagnosis:
    """Return the causes that the latest readings point to, with their probabilities."""
    return _Car(record, workings, judged, Evidence(judged, looked, standings)).diagnosis()


@functools.lru_cache(maxsize=64)
def _of_system(
    setup: SystemSetup, priors: tuple[tuple[str, float], ...], of_all: frozenset[str]
) -> tuple[Hypothesis, ...]:
    """The hypotheses of a system; of what holds for all systems at once those whose cause is listed."""
    rows = system_hypotheses(setup, dict(priors))
    return tuple(row for row in rows if SLOW_IDLE in of_all or not row.scenario.startswith(SLOW_IDLE))


class _Car:
    """A car with its readings."""

    def __init__(self, record: JobRecord, workings: Workings, judged: Sequence[Judged], evidence: Evidence) -> None:
        self.record, self.car, self.evidence = record, record.car, evidence
        by_place = {f"{item.row.check.id}.{item.row.place.id}": item for item in judged}
        self.figures = Figures(workings, by_place | {item.ref: item for item in judged})
        self.jobs = {job.job_id: job for job in record.tables.jobs}
        concern = record.job.complaint.casefold()
        self.rows = {(row.mode_id, row.place_kind): row for row in record.tables.causes if NEEDS[row.needs](self.car)}
        self.priors = {key: _prior(row, concern) for key, row in self.rows.items()}

    def priors_of(self, group: str) -> dict[tuple[str, str], float]:
        """The priors of a group's causes, together at most 0.97."""
        found = {key: prior for key, prior in self.priors.items() if MODES[key].group == group}
        total = sum(prior * (len(WHEELS) if kind == "wheel" else 1) for (_, kind), prior in found.items())
        return {key: prior * MOST_FAULTY / max(total, MOST_FAULTY) for key, prior in found.items()}

    def told(self, readings: Mapping[str, str], looks: Mapping[str, str]) -> Told:
        """The readings and looks that stand, by the name that hypotheses give them."""
        numbers = {name: self.reading(check) for name, check in readings.items()}
        seen = {name: self.evidence.look(check) for name, check in looks.items()}
        return Told(
            {name: item for name, item in numbers.items() if item is not None},
            {name: item for name, item in seen.items() if item is not None},
        )

    def reading(self, check: str) -> Reading | None:
        """A number that stands; presses to the lamp say nothing where a lamp is dark at key-on."""
        lamps = self.evidence.look(LAMPS) if check.startswith(PRESSES) else None
        return None if lamps is not None and lamps.fault else self.evidence.reading(check)

    def existing(self, *names: Mapping[str, str]) -> dict[str, str]:
        """The checks that the car has, by the name that hypotheses give them."""
        return {name: check for several in names for name, check in several.items() if self.evidence.exists(check)}

    def weighing(
        self,
        ident: str,
        entries: Sequence[Entry],
        names: Mapping[str, str],
        needed: Sequence[Needed],
        row: Hypothesis,
    ) -> Weighing:
        """A group with the sets of readings of which each is enough to rank it, and what is missing of the one least lacking.

        names: its checks by the name that hypotheses give them. needed: the gauges' set first. row: one of its hypotheses.
        """
        sets = [self.lacking(names, one, row) for one in needed]
        missing = min((missing for _, missing in sets), key=lambda words: (_lacks_data(words), len(words)))
        usable = tuple(() if _lacks_data(words) else wanted for wanted, words in sets)
        return Weighing(ident, entries, missing, usable, gauged=not sets[0][1])

    def lacking(self, names: Mapping[str, str], needed: Needed, row: Hypothesis) -> tuple[Needed, tuple[str, ...]]:
        """The checks of a set of readings, and what of them is missing: a reading, or data that foretell it."""
        wanted, missing = [], []
        for several in needed:
            here = [name for name in several if name in names]
            foretold = [name for name in here if name in row.readings or name in row.looks]
            labels = " or ".join(self.evidence.label(names[name]) for name in here)
            if not foretold:
                missing += [f"{NO_DATA} {labels}"] if here else []
                continue
            wanted.append(tuple(names[name] for name in foretold))
            if not any(self.reading(check) or self.evidence.look(check) for check in wanted[-1]):
                missing.append(labels)
        return tuple(wanted), tuple(missing)

    def diagnosis(self) -> Diagnosis:
        if not self.rows:
            return Diagnosis(missing=("labor_tables/causes.csv",))
        setups = [system_setup(self.figures, self.car, system) for system in self.car.systems]
        priors = {mode: prior for (mode, _), prior in self.priors_of(SYSTEM).items()}
        common = {mode: prior for (mode, _), prior in self.priors_of(READINGS).items()}
        tests = Outcomes(self.record.tables.tests, self.car)
        tables = [
            tests.foretold(_of_system(setup, tuple(priors.items()), frozenset(common)), setup.id) for setup in setups
        ]
        said = [tests.named(_system_names(setup), setup.id) for setup in setups]
        told = [of_the_better(rows, self.told(*one)) for rows, one in zip(tables, said, strict=True)]
        cases = list(scenarios(tables, told, common, priors.get("gauge-off", 0.0)))
        pedal_said, wheel_said = tests.named(_PEDAL_NAMES, PEDAL_CIRCUIT), tests.named(_WHEEL_NAMES, "car")
        pedal_told, wheel_told = self.told(*pedal_said), self.told(*wheel_said)
        pedal_rows = pedal_hypotheses(self.figures, self.car, self.priors_of(PEDAL))
        wheel_rows = wheel_hypotheses(self.figures, self.car, self.priors_of(WHEEL_GROUP))
        pedal = self.weighed(tests.foretold(pedal_rows, PEDAL_CIRCUIT), pedal_told)
        wheels = self.weighed(tests.foretold(wheel_rows, "car"), wheel_told)
        heard = SharedReadings(
            self.evidence.reading(f"{PAN}.car"),
            self.evidence.look(f"{LEAK}.car"),
            self.evidence.look(f"{RESERVE}.car"),
            self.evidence.look(f"{FLOOR}.car"),
            *self.idle(common),
        )
        shared = heard.without_nonsense(len(setups))
        joint = joined(cases, pedal, shared)
        names = [self.existing(*one) for one in said]
        of_pedal, of_wheels = self.existing(*pedal_said), self.existing(*wheel_said)
        shares = [weight / sum(wheels.weights) for weight in wheels.weights]
        found = [
            self.weighing(setup.id, _entries(cases, joint, at), names[at], _needed(setup), tables[at][0])
            for at, setup in enumerate(setups)
        ]
        lacking = tuple(words for item in found for words in item.missing)
        found += [
            self.weighing(PEDAL, _alone(pedal, joint.pedal), of_pedal, _PEDAL_NEEDED, pedal.hypotheses[0]),
            self.weighing(WHEEL_GROUP, _alone(wheels, shares), of_wheels, _WHEELS_NEEDED, wheels.hypotheses[0]),
            Weighing(READINGS, _of_cases(cases, joint), lacking, gauged=all(item.gauged for item in found)),
        ]
        stops = {setup.id: count for setup in setups if (count := stop_at(setup)) is not None}
        result = replace(concluded(found, self.cause), stops=stops)
        if not all(setup.shells for setup in setups):
            return result
        tags = len({case.tag for case in cases if case.mode == GAUGE_OFF})
        factors = [gauge_factor(rows, tags, priors.get(GAUGE_OFF, 0.0)) for rows in tables]
        systems = system_groups([setup.id for setup in setups], tables, names, told, cases, joint, factors)
        pedal_steps = plain_group(PEDAL, of_pedal, pedal_told, pedal, joint.pedal)
        wheel_steps = plain_group(WHEEL_GROUP, of_wheels, wheel_told, wheels, shares)
        masses = [sum(row.weight for row in pedal_steps.rows if row.hypothesis.shared.leak == leak) for leak in (0, 1)]
        pairs = tuple(pairs_of(systems, cases, shared, masses))
        return replace(result, arithmetic=Arithmetic(systems, pedal_steps, wheel_steps, heard, shared, pairs))

    def idle(self, common: Mapping[str, float]) -> tuple[Reading | None, tuple[Foretold, ...]]:
        """The idle speed and what is foretold of it, where the car states one."""
        speeds = [system.pump.idle_speed for system in self.car.systems]
        stated = next((speed.si for speed in speeds if speed is not None), None)
        if stated is None or SLOW_IDLE not in common or not self.evidence.exists(f"{IDLE_SPEED}.car"):
            return None, ()
        return self.evidence.reading(f"{IDLE_SPEED}.car"), idles(stated)

    def weighed(self, rows: Sequence[Hypothesis], told: Told) -> Rows:
        told = Told(believed(rows, told.readings), told.looks)
        return Rows(rows, likelihoods(rows, told.readings, told.looks), told)

    def cause(self, at: At, probability: float) -> Cause:
        """A cause with its title, its prior and the repair that the car can have there."""
        place = self.car.places.find(at.part) or Place("car", "car")
        row = next(row for (mode, kind), row in self.rows.items() if mode == at.mode and _stands(kind, at))
        able = (job_id for job_id in row.job_ids if self.lines(job_id, place))
        job_id = next(able, "")
        mere = at.mode in READING_ERRORS
        lines = self.lines(READ_AGAIN_JOB if mere else job_id, place)
        either = () if mere or len(lines) < 2 else lines
        if either:
            tests = [row.job_id for row in self.record.tables.tests if row.mode == at.mode]
            lines = next((found for job in tests if (found := self.lines(job, place))), ())
        title = MODES[row.mode_id, row.place_kind].title
        prior = self.priors[row.mode_id, row.place_kind]
        return Cause(at.mode, at.place, at.part, title, prior, probability, job_id, lines, either)

    def lines(self, job_id: str, place: Place) -> tuple[LineRef, ...]:
        """The lines of a job to which a place leads."""
        job = self.jobs.get(job_id)
        there = self.car.places.at(place, job.place_kind) if job else ()
        return tuple(line_ref(job_id, one.id) for one in job.places(self.car) if one in there) if job else ()


def _prior(row: CauseRow, concern: str) -> float:
    """The prior as a share, greater where the concern names it."""
    named = any(words.casefold() in concern for words in row.concerns)
    return float(row.prior) / 100 * (float(row.factor) if named else 1.0)


def _stands(kind: str, at: At) -> bool:
    """Whether a kind of place is that of a cause: one for all systems stands at the car."""
    return (kind == "car") == (at.place == "car")


def _alone(rows: Rows, shares: Iterable[float]) -> list[Entry]:
    return [(item.causes, p) for item, p in zip(rows.hypotheses, shares, strict=True)]


def _entries(cases: Sequence[Scenario], joint: Joint, at: int) -> list[Entry]:
    """The rows of a system in every scenario; a gauge that is off on all systems isn't a cause of this one's."""
    return [
        (tuple(cause for cause in item.causes if not case.mode or cause.mode != case.mode), p)
        for case, shares in zip(cases, joint.systems, strict=True)
        for item, p in zip(case.systems[at].hypotheses, shares[at], strict=True)
    ]


_PEDAL_NAMES = (
    {"pedal-movement": "pedal-movement.car", "pedal-circuit-sink": f"pedal-circuit-sink.{PEDAL_CIRCUIT}"},
    {
        "pedal-fluid-level": f"pedal-fluid-level.{PEDAL_CIRCUIT}",
        "pedal-circuit-grip": f"pedal-circuit-grip.{PEDAL_CIRCUIT}",
        "road-pedal": "road-pedal.car",
        "first-pedal": "first-pedal.car",
    },
)
_PEDAL_NEEDED = ((("pedal-movement",), ("pedal-circuit-sink",)), (("first-pedal",), ("pedal-fluid-level",)))
_WHEEL_NAMES = (
    {f"road-balance.{axle}": f"road-balance.{axle}" for axle in AXLES}
    | {check: f"{check}.car" for check in ("road-stop", "valve-tilt")},
    {f"drag.{wheel}": f"drag.{wheel}" for wheel in WHEELS}
    | {check: f"{check}.car" for check in ("road-pull", "first-signs")},
)
_WHEELS_NEEDED = (tuple((f"drag.{wheel}",) for wheel in WHEELS),)


def _of_cases(cases: Sequence[Scenario], joint: Joint) -> list[Entry]:
    """What holds for all systems at once, with its probability."""
    return [
        ((At(case.mode, "car", "car"),) if case.mode else (), p) for case, p in zip(cases, joint.scenarios, strict=True)
    ]


def _lacks_data(missing: Iterable[str]) -> bool:
    return any(words.startswith(NO_DATA) for words in missing)


def _system_names(setup: SystemSetup) -> tuple[dict[str, str], dict[str, str]]:
    """The checks of a system, and its looks, by the names that hypotheses give them."""
    found = {f"precharge.{shell.id}": f"precharge.{shell.id}" for shell in setup.shells}
    found |= {check: f"{check}.{setup.id}" for check in (*WATCHED, *COUNTS, *GAUGES)}
    return found, {check: f"{check}.{setup.id}" for check in LOOKED}


def _needed(setup: SystemSetup) -> tuple[Needed, Needed]:
    """What a system is ranked with: precharge or count, charge time, hold; or what the first ten minutes say of reserve and
    leaks (presses), leaks while it idles, fluid and delivery (pump starts while braking), and of the feed (a look)."""
    gauges = *((f"precharge.{shell.id}", "applications") for shell in setup.shells), ("charge-time",), ("hold",)
    return gauges, (*WATCHED.items(), ("cycle-interval",), ("first-pump", "sight-glass"))
