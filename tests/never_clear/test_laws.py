"""Laws: nothing that makes a car worse, or less known, ever improves what may be done with it.

Over cars drawn from a seed: sound ones with some readings bad, missing or repeated, some jobs done. States are compared
as nothing measured = DO NOT DRIVE < shop road test only < no finding. Two readings that stop contradicting each other
are set aside here; `test_by_fill.py` holds that no such pair is forgotten.
"""

from __future__ import annotations

import dataclasses
import functools
from random import Random

import pytest

from estimator.pricing.plan import plan
from tests.limit_cars import demo, with_car
from tests.never_clear import good_car
from tests.never_clear.good_car import FILES, Appraised, Visit, record_of
from tests.never_ground.grounded import sound_car

CARS, CHANGES = 7, 2
LOOK_WORSE = {"no fault found": ("fault found", "unable to check")}


@dataclasses.dataclass(frozen=True)
class Drawn:
    """A car and what follows from it."""

    visit: Visit
    found: Appraised
    seed: int


@functools.cache
def drawn(seed: int) -> Drawn:
    """The n-th car: each third is wholly sound, the others have a few faults, gaps and readings after work."""
    rng = Random(f"law {seed}")
    visit = sound_car(rng.choice("AB"), seed)
    refs = [
        key[len("reading.") : -len(".before")] for key in visit.entries if key.endswith(".before") and "reading" in key
    ]
    if seed % 3:
        for ref in rng.sample(refs, rng.randint(1, 3)):
            rng.choice((_spoil, _take_away, _repeat))(visit, ref, rng)
    if seed % 4 == 3:
        line = rng.choice([line.ref for line in plan(visit.record).lines])
        visit.done(line)
        for ref in visit.voided(line):
            if rng.random() < 0.9:
                visit.read_again(ref)
    return Drawn(visit, visit.appraise(), seed)


def _spoil(visit: Visit, ref: str, rng: Random) -> None:
    value = visit.get(f"reading.{ref}.before")
    visit.read(ref, value * rng.choice((0.5, 0.8, 1.3)) if isinstance(value, float) else "fault found")


def _take_away(visit: Visit, ref: str, _rng: Random) -> None:
    visit.unset(f"reading.{ref}.before")


def _repeat(visit: Visit, ref: str, _rng: Random) -> None:
    visit.read_again(ref)


def readings_of(car: Drawn) -> list[tuple[str, str]]:
    """(check row, phase) of every reading that stands in a box."""
    keys = [key.split(".", 1)[1].rsplit(".", 1) for key in car.visit.entries if key.startswith("reading.")]
    return [(ref, phase) for ref, phase in keys if phase in ("before", "after")]


def contradictions(found: Appraised) -> set[str]:
    return {item.key for item in found.said(["readings-disagree"])}


def never_improves(car: Drawn, changed: Visit, what: str) -> None:
    found = changed.appraise()
    if contradictions(car.found) - contradictions(found):
        return
    assert found.rank <= car.found.rank, (
        f"car {car.seed}: {what}: {car.found.state} became {found.state}; before: {car.found.grounding}"
    )


# --- worsening one reading --------------------------------------------------------------------------------------------


def worse(car: Drawn, ref: str, phase: str, rng: Random) -> object | None:
    """A reading nearer to its nearest dangerous limit, on it, or beyond it, also past belief; None where none is worse."""
    value = car.visit.get(f"reading.{ref}.{phase}")
    if isinstance(value, str):
        words = LOOK_WORSE.get(value)
        return rng.choice(words) if words else None
    judged = next((item for item in car.found.appraisal.judged if item.ref == ref), None)
    if judged is None or judged.row.check.kind != "number" or not isinstance(judged.phases[phase].judged, float):
        return None
    if car.found.said(["not-believable"], f"reading.{ref}."):
        return None  # towards danger it may become believable
    sides = {-1: judged.values["danger_low"], 1: judged.values["danger_high"]}
    room = {
        sign: abs(limit - judged.phases[phase].judged) / judged.factor
        for sign, limit in sides.items()
        if not isinstance(limit, str)
    }
    if not room:
        return None
    sign = min(room, key=lambda side: room[side])
    if judged.row.check.judged == "hold-loss":
        sign = -sign
    step = room[sign if judged.row.check.judged != "hold-loss" else -sign]
    return value + sign * rng.choice((0.5 * step, step, 1.5 * step, 3 * step + 1, 50 * step + 10))


@pytest.mark.parametrize("seed", range(CARS))
def test_a_worse_reading_never_improves_the_state(seed):
    car, rng, made = drawn(seed), Random(f"worse {seed}"), 0
    places = readings_of(car)
    rng.shuffle(places)
    for ref, phase in places:
        value = worse(car, ref, phase, rng)
        if value is None:
            continue
        changed = car.visit.copy()
        changed.set(f"reading.{ref}.{phase}", value)
        never_improves(car, changed, f"{ref} {phase} {car.visit.get(f'reading.{ref}.{phase}')} → {value}")
        made += 1
        if made == CHANGES:
            return
    raise AssertionError("no reading could be made worse")


# --- taking away a good reading ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(CARS))
def test_taking_away_a_good_reading_never_improves_the_state(seed):
    car, rng = drawn(seed), Random(f"away {seed}")
    good = {item.ref for item in car.found.standings if item.good}
    places = [place for place in readings_of(car) if place[0] in good]
    for ref, phase in rng.sample(places, CHANGES):
        changed = car.visit.copy()
        changed.unset(f"reading.{ref}.{phase}")
        if rng.random() < 0.3:
            changed.set(f"reading.{ref}.why", "no access")
        never_improves(car, changed, f"{ref} {phase} taken away")


@pytest.mark.parametrize("seed", range(CARS))
def test_taking_away_a_gauge_never_improves_the_state(seed):
    car, rng = drawn(seed), Random(f"gauge {seed}")
    gauged = [key for key in car.visit.entries if key.endswith(".gauge_before")]
    key = rng.choice(gauged)
    changed = car.visit.copy()
    changed.unset(key)
    never_improves(car, changed, f"{key} taken away")


# --- marking a job done -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(CARS))
def test_marking_a_job_done_never_improves_the_state(seed):
    """Whatever was read was read before it: boxes of readings after work are empty, or the job was done since them.

    (A job done before the readings after work explains why they are good: it is meant to improve the state.)
    """
    car, rng = drawn(seed), Random(f"done {seed}")
    full = with_car(demo(FILES[_kind(car)]), car.visit.record.car)
    since = any(phase == "after" for _, phase in readings_of(car))
    base = Visit(full, dict(car.visit.entries))
    before = Drawn(base, base.appraise(), seed)
    undone = [line.ref for line in plan(full).lines if base.get(f"line.{line.ref}.done") is None]
    for line in rng.sample(undone, 2):
        changed = base.copy()
        changed.done(
            line, "completed since last readings" if since else "completed", rng.choice(("authorized", "undecided"))
        )
        never_improves(before, changed, f"{line} marked done")


def _kind(car: Drawn) -> str:
    return next(kind for kind in FILES if record_of(kind).job.document == car.visit.record.job.document)


@pytest.mark.parametrize(
    "ref", ["road-stop.car", "road-pull.car", "pad-thickness.front-left", "precharge.accumulator-1"]
)
def test_no_job_that_only_measures_clears_a_bad_reading(ref):
    """With one bad reading and all else good, marking the road test done clears nothing: it cures nothing."""
    bad = {"road-stop.car": 40.0, "road-pull.car": "fault found", "pad-thickness.front-left": 1.0}
    visit = good_car.good_car("A")
    visit.read(ref, bad.get(ref, 200.0))
    only_road = [
        line.ref
        for line in plan(visit.record).lines
        if visit.voided(line.ref) and all(item.startswith("road-") for item in visit.voided(line.ref))
    ]
    assert only_road == ["road-test.car"]
    for line in only_road:
        changed = visit.copy()
        changed.done(line)
        assert changed.appraise().state == "do-not-drive"


# --- a larger uncertainty ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(CARS))
def test_a_worse_gauge_never_improves_the_state(seed):
    car, rng = drawn(seed), Random(f"class {seed}")
    for gauge in rng.sample([item for item in car.visit.record.shop.gauges if item.usual or rng.random() < 0.5], 2):
        factor = rng.choice((2, 5, 30))
        worse_class = str(min(10.0, float(gauge.accuracy_class) * factor))
        changed = car.visit.copy()
        changed.record = good_car.with_gauge(car.visit.record, gauge.id, accuracy_class=worse_class)
        never_improves(car, changed, f"{gauge.id} of class {gauge.accuracy_class} → {worse_class}")


@pytest.mark.parametrize("contradiction", [{"charge-time.system-1": 30}, {"applications.system-1": 16}])
def test_a_worse_gauge_never_ends_a_contradiction(contradiction):
    """Contradictions have tolerances from facts, never the chosen gauge's."""
    visit = good_car.good_car("A")
    for ref, value in contradiction.items():
        visit.read(ref, value)
    assert visit.appraise().state == "do-not-drive"
    for gauge in ("precharge-1500", "stopwatch", "pressure-3000-a", "thermometer"):
        changed = visit.copy()
        changed.record = good_car.with_gauge(visit.record, gauge, accuracy_class="10")
        found = changed.appraise()
        assert found.state == "do-not-drive" and found.said(["readings-disagree"]), gauge


def test_the_cars_drawn_are_of_every_state():
    """Or the laws would hold of nothing."""
    assert {drawn(seed).found.rank for seed in range(CARS)} >= {0, 2}
