"""The labor tables read as plain CSV, and two full cars on which their rules are tried."""

import csv
from pathlib import Path

from estimator.facts.checks import checks
from estimator.places import PEDAL_CIRCUIT, Places

TABLES = Path(__file__).parents[1] / "labor_tables"


def read(name):
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


JOBS = {row["job_id"]: row for row in read("jobs")}
STEPS = {row["step_id"]: row for row in read("steps")}
PARTS = {row["part_id"]: row for row in read("parts")}
CHECKS = {check.id: check for check in checks()}
CALLS = [(row["check_id"], row["verdict"], row["job_id"]) for row in read("calls")]
JOB_PARTS = [(row["job_id"], row["part_id"], row["quantity"]) for row in read("job_parts")]


def _of_job(name, column):
    found = {job_id: [] for job_id in JOBS}
    for row in read(name):
        found[row["job_id"]].append(row[column])
    return found


STEPS_OF, CHECKS_OF = _of_job("job_steps", "step_id"), _of_job("job_checks", "check_id")
OPENS_SYSTEM = [job for job, steps in STEPS_OF.items() if "bleed-setup-system" in steps]
OPENS_PEDAL_CIRCUIT = [job for job, steps in STEPS_OF.items() if "bleed-setup-pedal-circuit" in steps]


def _car(feeds):
    """A car from (wheel, caliper, sources)."""
    calipers = [(f"{wheel}-{name}", wheel, sources) for wheel, name, sources in feeds]
    return Places(
        systems=("system-1", "system-2"),
        accumulators=(("accumulator-1", "system-1"), ("accumulator-2", "system-2")),
        calipers=tuple((caliper, wheel) for caliper, wheel, _ in calipers),
        feeds=tuple((caliper, source) for caliper, _, sources in calipers for source in sources),
        pedal_circuit=True,
    )


FRONT, REAR = ("front-left", "front-right"), ("rear-left", "rear-right")
# Front calipers on both systems; rear ones on system 2, and others there on the pedal circuit.
CAR = _car(
    [
        *((wheel, "caliper", ("system-1", "system-2")) for wheel in FRONT),
        *((wheel, "caliper", ("system-2",)) for wheel in REAR),
        *((wheel, "pedal", (PEDAL_CIRCUIT,)) for wheel in REAR),
    ]
)
# The other way round: the pedal circuit feeds pistons at the front.
TURNED_CAR = _car(
    [
        *((wheel, "caliper", ("system-1", PEDAL_CIRCUIT)) for wheel in FRONT),
        *((wheel, "caliper", ("system-2",)) for wheel in REAR),
    ]
)


def places_of(job_id, car=CAR):
    """Where a job stands on a car."""
    return [place for place in car.of_kind(JOBS[job_id]["place_kind"]) if place.id.startswith(JOBS[job_id]["only_at"])]
