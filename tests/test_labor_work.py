"""What the labor tables say makes sense to a brake mechanic: order of the work, parts, what a finding calls for.

The rules are common practice, no source.
"""

from decimal import Decimal

import pytest
from labor_csv import (
    CALLS,
    CHECKS,
    CHECKS_OF,
    JOB_PARTS,
    JOBS,
    OPENS_PEDAL_CIRCUIT,
    OPENS_SYSTEM,
    PARTS,
    STEPS,
    STEPS_OF,
    read,
)  # fmt: skip

from estimator.facts.checks import checks

# --- the order of a brake mechanic's work -----------------------------------------------------------------------------

HANDS_OFF = {"road-test"}  # nothing is taken apart and nobody reaches into the brakes


def test_pressure_is_released_before_anything_is_touched():
    for job in JOBS.keys() - HANDS_OFF:
        assert STEPS_OF[job].index("first-pressure-release") <= 1, job


def test_release_is_repeated_for_each_job_that_runs_the_engine():
    assert STEPS["first-pressure-release"]["shared"] == "once a visit"
    assert STEPS["release-after-engine-run"]["shared"] == "each job"
    runs = (
        "diagnose-charging",
        "isolate-in-turn",
        "repeat-readings",
        "clean-down-and-charge",
        "set-charging-valve",
        "watch-sight-glass",
        "time-cycles",
    )
    for job, steps in STEPS_OF.items():
        if set(runs) & set(steps):
            assert "release-after-engine-run" in steps, job


def test_many_jobs_open_a_circuit():
    assert len(OPENS_SYSTEM) >= 20
    assert len(OPENS_PEDAL_CIRCUIT) >= 8


@pytest.mark.parametrize("job", OPENS_SYSTEM)
def test_an_opened_system_is_bled_tested_and_measured_again(job):
    steps, again = set(STEPS_OF[job]), set(CHECKS_OF[job])
    assert steps & {"purge-supply", "bleed-caliper-screws", "purge-behind-valve"}
    assert {"fill-and-level", "connect-gauges", "final-test-engine-running", "final-test-engine-stopped"} <= steps
    assert {"road-test-drive", "clean-up-and-dispose"} <= steps
    assert {"fluid-level", "cut-out", "cut-in", "leaks-at-cut-out", "hold", "applications", "integrity"} <= again
    assert {"distribution-output", "lamp-pressure", "road-stop", "road-pull", "road-pedal"} <= again


@pytest.mark.parametrize("job", OPENS_PEDAL_CIRCUIT)
def test_an_opened_pedal_circuit_is_bled_tested_and_measured_again(job):
    steps, again = set(STEPS_OF[job]), set(CHECKS_OF[job])
    assert {"bleed-pedal-circuit-through", "fill-and-level", "final-test-pedal-circuit", "road-test-drive"} <= steps
    assert {"pedal-fluid-level", "pedal-circuit-sink", "pedal-circuit-grip", "pedal-movement"} <= again
    assert {"leaks-at-cut-out", "integrity", "road-stop", "road-pedal"} <= again


# What is taken off or drained can't be put back without opening the circuit.
OPENING_STEPS = [
    *((OPENS_SYSTEM, step) for step in (
        "drain-system", "accumulator-off-and-on", "pump-off-and-on", "charging-valve-off-and-on",
        "pressure-switch-off-and-on", "distribution-valve-off-and-on", "deceleration-valve-off-and-on",
        "front-caliper-off-and-on", "rear-caliper-off-and-on", "renew-wheel-hoses", "renew-supply-hoses",
        "renew-low-pressure-hoses", "make-and-fit-pipe", "reservoir-off-and-on", "isolate-in-turn",
        "gauge-at-rear-caliper", "system-valve-off-and-on", "find-other-circuit",
    )),
    *((OPENS_PEDAL_CIRCUIT, step) for step in (
        "drain-pedal-circuit", "master-cylinder-off-and-on", "rear-caliper-off-and-on", "renew-wheel-hoses",
        "distribution-valve-off-and-on", "make-and-fit-pedal-pipe", "reservoir-off-and-on", "plug-and-press",
    )),
]  # fmt: skip


@pytest.mark.parametrize(("bled", "step"), OPENING_STEPS)
def test_a_step_that_opens_a_circuit_stands_in_jobs_that_bleed_it(bled, step):
    with_step = [job for job, steps in STEPS_OF.items() if step in steps]
    assert with_step
    assert set(with_step) <= set(bled)


# What a job makes void it also measures again: (check, steps of which one measures it).
MEASURED_BY = {
    "cut-out": {"final-test-engine-running", "repeat-readings"},
    "distribution-output": {"final-test-engine-running", "repeat-readings"},
    "hold": {"final-test-engine-stopped", "repeat-readings"},
    "integrity": {"final-test-engine-stopped", "press-and-look"},
    "pedal-circuit-sink": {"final-test-pedal-circuit"},
    "pedal-movement": {"final-test-engine-running", "measure-pedal-movement", "press-and-look"},
    "lamp-pressure": {"final-test-engine-stopped", "repeat-readings", "prove-lamp-pressure"},
    "warning-lamps": {"final-test-engine-running", "prove-lamps"},
    "precharge": {"read-precharge", "settle-and-read-again"},
    "parking-brake-hold": {"slope-hold-test"},
    "valve-tilt": {"bench-tilt-test"},
    "wheel-torque": {"wheels-off-and-on"},
    "road-stop": {"road-test-drive"},
    "hub-play": {"measure-wheel", "adjust-hub", "rotor-off-and-on"},
}


@pytest.mark.parametrize("check", MEASURED_BY)
def test_a_job_has_time_to_measure_what_it_makes_void(check):
    void = [job for job, found in CHECKS_OF.items() if check in found]
    assert void
    assert [job for job in void if not MEASURED_BY[check] & set(STEPS_OF[job])] == []


def test_readings_that_belong_together_are_void_together():
    hold = {"hold-start", "hold-start-temperature", "hold-end-temperature", "hold"}
    for job, found in CHECKS_OF.items():
        assert not hold & set(found) or hold <= set(found), job
        assert ("precharge" in found) == ("gas-temperature" in found), job
        assert ("pedal-circuit-sink" in found) == ("pedal-circuit-grip" in found), job


def test_wheels_taken_off_are_torqued_and_checked():
    for job, steps in STEPS_OF.items():
        if "wheels-off-and-on" in steps:
            assert "wheel-torque" in CHECKS_OF[job], job
            assert "raise-and-support" in steps, job


def test_every_job_makes_something_be_measured():
    """None of these jobs is so pure a test that it leaves every port shut and every reading standing."""
    assert [job for job, found in CHECKS_OF.items() if not found] == []


def test_the_pedal_circuit_takes_anything_from_minutes_to_hours():
    step = STEPS["bleed-pedal-circuit-through"]
    assert Decimal(step["hours_high"]) >= 5 * Decimal(step["hours_low"])


def test_set_up_is_shared_and_overhaul_is_not():
    for step in (
        "raise-and-support",
        "wheels-off-and-on",
        "drain-system",
        "bleed-setup-system",
        "bleed-caliper-screws",
    ):
        assert STEPS[step]["shared"] == "once a visit"
        assert sum(step in steps for steps in STEPS_OF.values()) >= 5
    for step in ("overhaul-front-caliper", "overhaul-rear-caliper", "reseal-pump", "purge-opened-caliper", "fit-pads"):
        assert STEPS[step]["shared"] == "each job"


# --- parts ------------------------------------------------------------------------------------------------------------


def test_what_fluid_touches_comes_for_both_families():
    for job in JOBS:
        of_family = {"glycol": set(), "mineral": set()}
        for job_id, part, quantity in JOB_PARTS:
            family = PARTS[part]["fluid_family"]
            if job_id == job and family != "any":
                of_family[family].add((part.removesuffix(f"-{family}"), Decimal(quantity)))
        assert of_family["glycol"] == of_family["mineral"], job


def test_rubber_and_fluid_have_a_family():
    words = ("fluid", "seal kit", "body seals", "diaphragm", "hose,", "pump,", "accumulator,", "master cylinder")
    for part in PARTS.values():
        text = part["description"].lower()
        if any(word in text for word in words) and "with fluid label" not in text and "sample" not in text:
            assert part["fluid_family"] in ("glycol", "mineral"), part["part_id"]


def test_only_rebuilt_parts_carry_a_core_deposit():
    for part in PARTS.values():
        assert (Decimal(part["core_deposit"]) > 0) == (part["condition"] == "rebuilt"), part["part_id"]
        assert Decimal(part["core_deposit"]) < Decimal(part["unit_cost"])


def test_an_opened_circuit_is_filled_with_fluid():
    filled = {job for job, part, _ in JOB_PARTS if part.startswith("brake-fluid-")}
    assert set(OPENS_SYSTEM) | set(OPENS_PEDAL_CIRCUIT) == filled


# --- calls ------------------------------------------------------------------------------------------------------------

NUMBER_WORDS = {"out of limits", "too close to limit", "unable to measure"}
LOOK_WORDS = {"fault found", "unable to check"}
DIAGNOSTIC = {job for job, row in JOBS.items() if row["rate"] == "diagnostic"}


def test_verdicts_suit_the_kind_of_check():
    for check, verdict, _ in CALLS:
        kind = CHECKS[check].kind
        assert kind in ("number", "look", "family"), check
        assert verdict in (NUMBER_WORDS if kind == "number" else LOOK_WORDS), (check, verdict)


@pytest.mark.parametrize("check", [check.id for check in checks() if check.kind in ("number", "look", "family")])
def test_every_verdict_that_is_no_good_one_calls_a_job(check):
    called = {verdict for check_id, verdict, _ in CALLS if check_id == check}
    if CHECKS[check].unasked:  # what nobody has to answer calls where it found something
        assert called == {"fault found"}
    else:
        assert called == (NUMBER_WORDS if CHECKS[check].kind == "number" else LOOK_WORDS)


def test_a_reading_too_close_to_call_calls_for_a_test():
    """But for three: a clean pan and a clean valve are measured anew as part of the work; the stop is driven again."""
    own_test = {"leakage-pan-service", "deceleration-valve-service", "road-test"}
    called = {job for _, verdict, job in CALLS if verdict == "too close to limit"}
    assert called - DIAGNOSTIC == own_test


@pytest.mark.parametrize("check", ["charge-time", "cut-out", "cut-in", "hold", "applications", "distribution-output"])
def test_what_has_several_causes_calls_an_isolating_test_first(check):
    assert {job for check_id, _, job in CALLS if check_id == check} <= DIAGNOSTIC


def test_a_called_job_measures_again_what_called_it():
    """Else the finding could never be lifted: the check itself is void after the job, or a test leads on from it."""
    lead_on = {"pressure-test-diagnostic", "leak-trace", "isolate-one-system", "precharge-measurement", "line-survey"}
    for check, verdict, job in CALLS:
        assert check in CHECKS_OF[job] or job in lead_on, (check, verdict, job)


# --- what leads to a job ----------------------------------------------------------------------------------------------

# Decided by people: no reading points to them.
ORDERED = {"final-pressure-test", "recommissioning", "transport-preparation", "seized-bleed-screw"}


def test_every_job_can_be_come_to_from_a_call_a_cause_or_a_test():
    called = {job for _, _, job in CALLS} | {row["job_id"] for row in read("tests")}
    called |= {job for row in read("causes") for job in row["job_ids"].split()}
    assert JOBS.keys() - called == ORDERED


def test_each_test_tells_at_least_two_causes_apart():
    """By its rows: "other" and one that differs from it; and the causes are those of causes.csv."""
    modes = {row["mode_id"] for row in read("causes")}
    by_test = {}
    for row in read("tests"):
        by_test.setdefault((row["job_id"], row["check_id"]), {})[row["mode"]] = float(row["probability"])
    assert len(by_test) >= 11
    for test, of in by_test.items():
        assert of.keys() - {"other"} <= modes, test
        assert len(set(of.values())) >= 2, test


def test_a_test_asks_again_for_the_check_in_which_it_is_written():
    """A test done voids what stood there, so that its outcome is what counts."""
    for row in read("tests"):
        assert row["check_id"] in CHECKS_OF[row["job_id"]], row


def test_an_accumulator_that_is_replaced_is_not_recharged_as_well():
    assert "accumulator-check-recharge" in JOBS["accumulator-exchange"]["supersedes"].split()


def test_a_doubted_fluid_is_sampled_before_everything_of_rubber_is_replaced():
    assert [job for check, verdict, job in CALLS if (check, verdict) == ("fluid-family", "fault found")] == [
        "fluid-sample-test"
    ]
    assert ("fluid-family-tested", "fault found", "wrong-fluid-recovery") in CALLS
